"""Instants as the answers write them: ISO 8601, to the nearest second."""

from datetime import UTC, date, datetime

from app.errors import BadInput
from app.place.timezone import civil_day, local_time


def iso_utc(utc_s: float) -> str:
    """Return “2027-09-18T17:40:00Z”."""
    return _with_z(datetime.fromtimestamp(round(utc_s), UTC))


def iso_local(utc_s: float, zone: str) -> str:
    """Return “2027-09-18T18:40:00+01:00”, by the clocks of a zone."""
    return local_time(round(utc_s), zone).isoformat()


def iso_asked(when: datetime) -> str:
    """Return an instant in UTC with all the digits it came with."""
    return _with_z(when.astimezone(UTC))


def lived_day(zone: str, day: date) -> tuple[float, float]:
    """Return a date's start and end, seconds since 1970 UTC; ``BadInput`` for one the clocks skipped."""
    start, end = civil_day(zone, day)
    if start == end:
        raise BadInput(f"{day} did not come in {zone}: its calendar skipped that date. Take one beside it.", "date")
    return start, end


def _with_z(when: datetime) -> str:
    return when.isoformat().replace("+00:00", "Z")
