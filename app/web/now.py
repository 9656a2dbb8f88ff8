"""The one clock of the pages, so that a test can set it."""

import time
from datetime import date
from typing import Annotated

from fastapi import Depends

from app.place.timezone import local_time


def now_utc_s() -> float:
    """Return the present instant, seconds since 1970 UTC."""
    return time.time()


Now = Annotated[float, Depends(now_utc_s)]


def today_at(zone: str, now: float) -> date:
    """Return the date that the clocks of a zone show."""
    return local_time(now, zone).date()
