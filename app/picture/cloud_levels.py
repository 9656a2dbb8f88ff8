"""Low, middle and high cloud: where each begins, and layers of a report sorted into them."""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from app.units import FloatArray

LOW, MIDDLE, HIGH = 0, 1, 2
LEVEL_NAMES = ("low", "middle", "high")
LOW_TO_M = 2000.0
# Where the zones part is our choice, by the polar circles and the tropics; the Atlas names no latitude.
TROPIC_DEG, POLAR_DEG = 23.4, 66.6
# Where each level lies: WMO, International Cloud Atlas (2017). The ranges overlap, as the clouds do. [m, m]
_RANGES_M = {
    "tropical": ((0.0, 2000.0), (2000.0, 8000.0), (6000.0, 18000.0)),
    "temperate": ((0.0, 2000.0), (2000.0, 7000.0), (5000.0, 13000.0)),
    "polar": ((0.0, 2000.0), (2000.0, 4000.0), (3000.0, 8000.0)),
}
# Middle of each amount's range, of 8: FEW 1-2, SCT 3-4, BKN 5-7, OVC 8 (WMO-No. 49, code table D-8).
OKTAS = {"SKC": 0.0, "FEW": 1.5, "SCT": 3.5, "BKN": 6.0, "OVC": 8.0}


@dataclass(frozen=True)
class Layer:
    """A layer of cloud: its amount in the code of airfields, and its base above the ground. [m]"""

    amount: str
    base_m: float

    @property
    def share(self) -> float:
        """Share of the sky that it covers, in the middle of its amount's range. [0..1]"""
        return OKTAS[self.amount] / 8


def zone(lat_deg: float) -> str:
    """Return tropical, temperate or polar."""
    distance_deg = abs(lat_deg)
    return "tropical" if distance_deg < TROPIC_DEG else "polar" if distance_deg > POLAR_DEG else "temperate"


def ranges_m(lat_deg: float) -> tuple[tuple[float, float], ...]:
    """Return from where to where low, middle and high clouds lie at a latitude. [m]"""
    return _RANGES_M[zone(lat_deg)]


def mean_heights_m(lat_deg: float) -> FloatArray:
    """Return the middle of each level's range, low to high, (3,). [m]"""
    return np.array(ranges_m(lat_deg)).mean(axis=1)


def level_of(base_m: float, lat_deg: float) -> int:
    """Return 0 for low, 1 for middle, 2 for high; where ranges overlap, the higher one."""
    if base_m < LOW_TO_M:
        return LOW
    return HIGH if base_m >= ranges_m(lat_deg)[HIGH][0] else MIDDLE


def cover_of(layers: Iterable[Layer], lat_deg: float) -> dict[str, float | None]:
    """Return cover by level, and of the whole sky, from the layers of a report.

    A level's is that of its fullest layer, since layers are not added up; under the
    lowest layer there is none, above the highest nothing is known, as airfields leave
    high cloud out. The whole is that of the fullest layer: at least so much. [0..1]
    """
    known = tuple(layers)
    if not known:
        return {}
    placed = [(level_of(layer.base_m, lat_deg), layer.share) for layer in known]
    highest = max(level for level, _ in placed)
    cover: dict[str, float | None] = {"cloud": max(share for _, share in placed)}
    for level, name in enumerate(LEVEL_NAMES):
        shares = [share for at, share in placed if at == level]
        cover[name] = max(shares, default=0.0) if level <= highest else None
    return cover
