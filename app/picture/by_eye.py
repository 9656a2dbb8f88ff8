"""The weather as somebody on site sees it; it wins over any forecast, field by field."""

from dataclasses import dataclass, replace

from app.errors import BadInput
from app.picture.forecast import Hour
from app.picture.weather import wind_of_force_m_s

STILL, RUFFLED = "still", "ruffled"
# Water that is seen ruffled mirrors nowhere: force 2 breaks even a sheltered mirror. Common practice, no source.
RUFFLED_FORCE = 2
OKTAS = 8
_EIGHTHS = ("cloud_oktas", "low_oktas", "middle_oktas", "high_oktas")


@dataclass(frozen=True)
class ByEye:
    """What was seen, and when; None is "not looked at".

    Attributes
    ----------
    utc_s : float
        [s since 1970 UTC]
    cloud_oktas, low_oktas, middle_oktas, high_oktas : int, optional
        Eighths of the sky that are covered, WMO-No. 306, code table 2700. [0..8]
    force : int, optional
        Of the wind, Beaufort. [0..12]
    wind_from_deg : float, optional
        [°]
    water : str, optional
        "still" or "ruffled": it counts more than the force, which a shore can hide from.
    temperature_c : float, optional
        [°C]
    """

    utc_s: float
    cloud_oktas: int | None = None
    low_oktas: int | None = None
    middle_oktas: int | None = None
    high_oktas: int | None = None
    force: int | None = None
    wind_from_deg: float | None = None
    water: str | None = None
    temperature_c: float | None = None

    def __post_init__(self) -> None:
        for name in _EIGHTHS:
            _check_whole(getattr(self, name), name, OKTAS, "eighths of the sky")
        _check_whole(self.force, "force", 12, "Beaufort")
        if self.water not in (None, STILL, RUFFLED):
            raise BadInput(f"Water is “{STILL}” or “{RUFFLED}”; “{self.water}” came.", "water")
        Hour(self.utc_s, wind_from_deg=self.wind_from_deg, temperature_c=self.temperature_c)

    def over(self, hour: Hour | None) -> Hour:
        """Return an hour with everything seen in place of what was forecast for it.

        Levels never exceed the whole that was seen, and the whole is never less
        than a level that was seen. In less wind than forecast the gusts shrink as the wind
        does, or they would be what counts, against what is seen; never less than the wind.
        """
        hour = hour or Hour(self.utc_s)
        named = {"wind_from_deg": self.wind_from_deg, "temperature_c": self.temperature_c}
        named |= {name.removesuffix("_oktas"): _share(getattr(self, name)) for name in _EIGHTHS}
        named["wind_m_s"] = None if self.force is None else wind_of_force_m_s(self.force)
        seen = {name: value for name, value in named.items() if value is not None}
        changed = replace(hour, **seen)
        return replace(changed, **self._fitted(changed, hour.wind_m_s))

    def wind_on_water_m_s(self, hour: Hour) -> float | None:
        """Return the wind that the seen water speaks of: none where still, at least force 2 where ruffled. [m/s]"""
        if self.water == STILL:
            return 0.0
        if self.water == RUFFLED:
            return max(hour.wind_m_s or 0.0, wind_of_force_m_s(RUFFLED_FORCE))
        return hour.wind_m_s

    def _fitted(self, hour: Hour, forecast_m_s: float | None) -> dict[str, float]:
        fitted: dict[str, float] = {}
        levels = {name: value for name in ("low", "middle", "high") if (value := getattr(hour, name)) is not None}
        if self.cloud_oktas is not None:
            unseen = [name for name in levels if getattr(self, f"{name}_oktas") is None]
            fitted |= {name: min(levels[name], hour.cloud) for name in unseen}
        seen = [levels[name] for name in levels if getattr(self, f"{name}_oktas") is not None]
        if seen:
            fitted["cloud"] = max(hour.cloud or 0.0, *seen)
        if self.force is not None and hour.gust_m_s is not None:
            calmer = min(1.0, hour.wind_m_s / forecast_m_s) if forecast_m_s else 1.0
            fitted["gust_m_s"] = max(calmer * hour.gust_m_s, hour.wind_m_s)
        return fitted


def _share(oktas: int | None) -> float | None:
    return None if oktas is None else oktas / OKTAS


def _check_whole(value: int | None, name: str, most: int, what: str) -> None:
    if value is not None and value not in range(most + 1):
        raise BadInput(f"Give 0 to {most} {what}, a whole number; {value:g} came.", name)
