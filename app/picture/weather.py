"""The weather a picture needs to know: wind, and what it does to water."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from app.errors import BadInput
from app.place.site import Water
from app.units import FloatOrArray

# Lower bounds of Beaufort 1 to 12, ten-minute means at 10 m: WMO-No. 306, code table 1100. [m/s]
FORCE_FROM_M_S = (0.3, 1.6, 3.4, 5.5, 8.0, 10.8, 13.9, 17.2, 20.8, 24.5, 28.5, 32.7)
# Beaufort 0 is printed as 0 to 0.2 m/s, so it ends where a tenth is rounded up.
STILL_TO_M_S = 0.25
SHELTERED_STILL_TO_M_S = 1.0  # small water among banks or trees; common practice, no source
STRONGEST_M_S = 120.0


@dataclass(frozen=True)
class Weather:
    """What is known of the weather.

    Attributes
    ----------
    wind_m_s : float, optional
        Ten-minute mean at 10 m, 0 to 120; None where nobody knows. [m/s]
    wind_from_deg : float, optional
        Where it blows from, from true north. [°]
    people_in_water : bool
        Whether somebody wades or swims in the picture's water.
    """

    wind_m_s: float | None = None
    wind_from_deg: float | None = None
    people_in_water: bool = False

    def __post_init__(self) -> None:
        if self.wind_m_s is not None and not 0 <= self.wind_m_s <= STRONGEST_M_S:
            raise BadInput(f"Wind is between 0 and {STRONGEST_M_S:g} m/s; {self.wind_m_s:g} came.", "wind_m_s")
        if self.wind_from_deg is not None and not 0 <= self.wind_from_deg <= 360:
            raise BadInput(f"Wind comes from a bearing of 0 to 360°; {self.wind_from_deg:g} came.", "wind_from_deg")


def beaufort(wind_m_s: FloatOrArray) -> NDArray[np.intp]:
    """Return the Beaufort force of a wind, any shape, rounded to 0.1 m/s first as the scale is printed. [1]"""
    return np.searchsorted(FORCE_FROM_M_S, np.round(wind_m_s, 1), side="right")


def wind_of_force_m_s(force: float) -> float:
    """Return a wind in the middle of a whole Beaufort force, 0 to 12; the last has no end and gives where it begins. [m/s]

    Raises ``ValueError`` with a sentence for a force that is not whole.
    """
    if force not in range(len(FORCE_FROM_M_S) + 1):
        raise ValueError(f"A Beaufort force is a whole number from 0 to {len(FORCE_FROM_M_S)}; {force:g} came.")
    if force == 0:
        return 0.0
    return round(float(np.mean(FORCE_FROM_M_S[int(force) - 1 : int(force) + 1])), 1)


def still_to_m_s(water: Water) -> float:
    """Return the wind at which a sheet of water stops being a mirror. [m/s]"""
    return SHELTERED_STILL_TO_M_S if water.sheltered else STILL_TO_M_S


def stillness(weather: Weather, water: Water) -> float:
    """Return how far water is from losing its mirror.

    1 in a calm or where the wind is not known, 0 at the wind that breaks it, down
    to -1; people in the water break it at once. [1]
    """
    if weather.people_in_water:
        return -1.0
    if weather.wind_m_s is None:
        return 1.0
    return max(-1.0, 1.0 - weather.wind_m_s / still_to_m_s(water))


def mirror_strength(weather: Weather, water: Water) -> float:
    """Return how strongly an image in the water is drawn, 1 whole to 0 gone at twice the breaking wind.

    To look right; how ripples smear an image is left out.
    """
    return 0.0 if weather.people_in_water else min(1.0, max(0.0, (1.0 + stillness(weather, water)) / 2))
