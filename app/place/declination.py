"""What a compass shows, corrected to true north by the World Magnetic Model."""

from dataclasses import dataclass
from datetime import date
from math import hypot

from app.units import FloatOrArray, compass_deg

MODEL = "WMM2025"
VALID_FROM, VALID_TO = 2025.0, 2030.0  # decimal years: WMM2025, NOAA NCEI and BGS, December 2024
BLACKOUT_NT, CAUTION_NT = 2000.0, 6000.0  # horizontal field, from the same model's zones


@dataclass(frozen=True)
class Declination:
    """How far the compass needle points from true north.

    Parameters
    ----------
    east_deg : float
        East positive; to be added to what the compass shows. [°]
    uncertainty_deg : float
        One standard deviation of model and crust together; iron near by is left out. [°]
    note : str, optional
        What the reader has to know before trusting it.
    """

    east_deg: float
    uncertainty_deg: float
    note: str | None = None


def declination(lat_deg: float, lon_deg: float, on: date, height_m: float = 0.0) -> Declination:
    """Return the declination at a place on a day.

    Parameters
    ----------
    lat_deg, lon_deg : float
        On WGS84. [°]
    on : date
        Outside 2025 to 2029 the model is stretched, and the note says so.
    height_m : float
        Above the ellipsoid; sea level does as well. [m]
    """
    return declination_in(lat_deg, lon_deg, decimal_year(on), height_m)


def declination_in(lat_deg: float, lon_deg: float, year: float, height_m: float = 0.0) -> Declination:
    """Return the declination at a place, for a decimal year.

    Notes
    -----
    World Magnetic Model 2025 by pygeomag. Its object keeps workings between
    calls and gives wrong answers when two threads share one, so each call makes
    its own. Uncertainty √(0.26² + (5417 nT / H)²) degrees: the error model
    issued with WMM2025.
    """
    from pygeomag import GeoMag  # 10 to 50 ms with its coefficients, so only when it is wanted
    from pygeomag.wmm.wmm_2025 import WMM_2025

    model = GeoMag(coefficients_data=WMM_2025)
    field = model.calculate(lat_deg, lon_deg, height_m / 1000.0, year, allow_date_outside_lifespan=True)
    notes = [note for note in (_date_note(year), _zone_note(field.h)) if note]
    return Declination(field.d, hypot(0.26, 5417.0 / field.h), " ".join(notes) or None)


def true_bearing_deg(magnetic_deg: FloatOrArray, at_the_place: Declination) -> FloatOrArray:
    """Return the true bearing, 0..360, of what a compass shows; any shape. [°]

    Not for headings that are true already, as some telephones give them.
    """
    return compass_deg(magnetic_deg + at_the_place.east_deg)


def decimal_year(on: date) -> float:
    """Return the year with the part of it that has passed when the day begins."""
    begin, end = date(on.year, 1, 1).toordinal(), date(on.year, 12, 31).toordinal() + 1
    return on.year + (on.toordinal() - begin) / (end - begin)


def _date_note(year: float) -> str | None:
    if VALID_FROM <= year <= VALID_TO:
        return None
    return (
        f"The magnetic model {MODEL} holds from {VALID_FROM:.0f} to {VALID_TO:.0f}; for {int(year)} it is"
        " stretched, so sight a known direction to be sure."
    )


def _zone_note(horizontal_nt: float) -> str | None:
    if horizontal_nt < BLACKOUT_NT:
        return "So near the magnetic pole a compass is of no use; take bearings from the map or the sun."
    if horizontal_nt < CAUTION_NT:
        return (
            "So near the magnetic pole a compass is sluggish; check one bearing against the map or the sun."
        )
    return None
