"""A point on the Earth, and the sentence for one that cannot be."""

from dataclasses import dataclass

from app.errors import BadInput


@dataclass(frozen=True)
class Coordinates:
    """A point on WGS84, with what its writer said about height and doubt.

    Parameters
    ----------
    lat_deg, lon_deg : float
        North and east positive. [°]
    height_m : float, optional
        Height as it was written, whatever zero the writer had in mind. [m]
    uncertainty_m : float, optional
        Radius within which the point lies. [m]
    """

    lat_deg: float
    lon_deg: float
    height_m: float | None = None
    uncertainty_m: float | None = None

    def __post_init__(self) -> None:
        check_position(self.lat_deg, self.lon_deg, first=None)


def check_position(lat_deg: float, lon_deg: float, first: str | None = "latitude") -> None:
    """Raise ``BadInput`` when there is no such point on the Earth.

    Parameters
    ----------
    lat_deg, lon_deg : float
        NaN is refused too. [°]
    first : str, optional
        What comes first where the two were read, "latitude" or "longitude", for
        the hint that they look swapped; None gives no hint.
    """
    if not abs(lat_deg) <= 90.0:
        hint = _swap_hint(lat_deg, lon_deg, first)
        raise BadInput(f"A latitude lies between -90 and 90 degrees; {lat_deg:g} came{hint}.")
    if not abs(lon_deg) <= 180.0:
        raise BadInput(f"A longitude lies between -180 and 180 degrees; {lon_deg:g} came.")


def _swap_hint(lat_deg: float, lon_deg: float, first: str | None) -> str:
    would_fit = abs(lat_deg) <= 180.0 and abs(lon_deg) <= 90.0
    return f", which looks swapped: {first} comes first" if first and would_fit else ""
