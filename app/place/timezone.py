"""Which clock a place keeps, and when its days begin and end."""

from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from app.errors import BadInput
from app.place.positions import check_position
from app.units import FIRST_YEAR, LAST_YEAR

# Names that the tz database knows but that mean another clock on each machine, or none.
_NO_PLACE = ("localtime", "posixrules", "Factory", "right/", "posix/")


def zone_name(lat_deg: float, lon_deg: float) -> str:
    """Return the name of the time zone of a point, like Europe/London.

    Out at sea the name is one of Etc/GMT±n. Borders are simplified by up to about
    100 m, so near one the answer has to be shown and be changeable. Data: the
    time zone boundaries drawn from OpenStreetMap (ODbL), by tzfpy.
    """
    from tzfpy import get_tz  # its map takes 35 MB, so only when it is wanted

    check_position(lat_deg, lon_deg)
    return get_tz(lon_deg, lat_deg)


def rules(name: str) -> ZoneInfo:
    """Return the rules of the time zone of this name; ``BadInput`` when there is none."""
    try:
        if name.startswith(_NO_PLACE):
            raise ValueError(name)
        return ZoneInfo(name)
    except (LookupError, ValueError, OSError):
        raise BadInput(
            f"“{name[:40]}” is no time zone; names look like Europe/London or Etc/GMT-2."
        ) from None


def civil_day(zone: str, day: date) -> tuple[float, float]:
    """Return when a calendar day begins and ends.

    Parameters
    ----------
    zone : str
        Like Europe/London.
    day : date
        From 1950 to 2100.

    Returns
    -------
    start_utc_s, end_utc_s : float
        Seconds since 1970, UTC; 23, 24 or 25 hours apart on most days, and equal
        for a day that a zone left out when it crossed the date line.

    Raises
    ------
    BadInput
        For an unknown zone, or a day outside those years.
    """
    if not FIRST_YEAR <= day.year <= LAST_YEAR:
        raise BadInput(f"Dates from {FIRST_YEAR} to {LAST_YEAR} are known here; {day} is outside.")
    return _midnight_utc_s(zone, day), _midnight_utc_s(zone, day + timedelta(days=1))


def local_time(utc_s: float, zone: str) -> datetime:
    """Return what the clocks of a zone show, aware of their offset.

    ``utc_s`` counts seconds since 1970, UTC; ``BadInput`` for an unknown zone.
    """
    return datetime.fromtimestamp(utc_s, rules(zone))


def _midnight_utc_s(zone: str, day: date) -> float:
    # Where the clocks skip midnight this is the moment of the skip; where they
    # strike it twice, the first stroke.
    return datetime(day.year, day.month, day.day, tzinfo=rules(zone)).timestamp()
