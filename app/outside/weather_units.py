"""Values of the weather, brought from the units they came in to the core's own."""

import math
from collections.abc import Callable, Mapping
from typing import Any

from app.errors import Unavailable
from app.place.values import short

# One knot is 1852/3600 m/s, one mile 1609.344 m, one inch of mercury 33.8639 hPa: by definition, the last by
# convention at 0 °C (from memory).
_SPEED = {
    "m/s": 1.0, "ms": 1.0, "mps": 1.0, "km/h": 1 / 3.6, "kmh": 1 / 3.6, "kmph": 1 / 3.6,
    "kn": 1852 / 3600, "kt": 1852 / 3600, "knots": 1852 / 3600, "mp/h": 1609.344 / 3600, "mph": 1609.344 / 3600,
}  # fmt: skip
_FACTORS: Mapping[str, Mapping[str, float]] = {
    "share": {"%": 0.01, "percent": 0.01, "1": 1.0, "okta": 0.125, "oktas": 0.125},
    "speed": _SPEED,
    "length": {"m": 1.0, "metre": 1.0, "km": 1000.0, "ft": 0.3048, "mi": 1609.344},
    "water": {"mm": 1.0, "kg/m2": 1.0, "cm": 10.0, "inch": 25.4, "in": 25.4},
    "angle": {"°": 1.0, "degrees": 1.0, "degree": 1.0, "deg": 1.0},
    "pressure": {"hpa": 1.0, "mbar": 1.0, "mb": 1.0, "pa": 0.01, "kpa": 10.0, "inhg": 33.8639},
}
_WARMTH: Mapping[str, Callable[[float], float]] = {
    **dict.fromkeys(("celsius", "°c", "c"), lambda degrees: degrees),
    **dict.fromkeys(("fahrenheit", "°f", "f"), lambda degrees: (degrees - 32.0) / 1.8),
    **dict.fromkeys(("kelvin", "k"), lambda degrees: degrees - 273.15),
}
ROUNDING = 0.006  # by so much a share may go over its ends before it counts as a mistake


def converted(value: Any, unit: str, kind: str) -> float | None:
    """Return a value in m/s, m, mm, °, hPa, °C or as a share of 1; None where it is null.

    Parameters
    ----------
    value : number or None
        As it came.
    unit : str
        As the answer itself calls it.
    kind : str
        share, speed, length, water, angle, pressure or warmth.

    Raises
    ------
    Unavailable
        For a unit that this kind does not have, and for what is no number.
    """
    if value is None:
        return None
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise Unavailable(f"“{short(str(value))}” stands where a number belongs.")
    name = unit.strip().lower()
    if kind == "warmth" and name in _WARMTH:
        return _WARMTH[name](float(value))
    factor = _FACTORS.get(kind, {}).get(name)
    if factor is None:
        raise Unavailable(f"“{short(unit)}” is no unit of {kind} that is known here.")
    return _whole_share(value * factor) if kind == "share" else value * factor


def _whole_share(share: float) -> float:
    return min(1.0, max(0.0, share)) if -ROUNDING <= share <= 1.0 + ROUNDING else share
