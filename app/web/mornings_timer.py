"""The timer of the morning check: at the owner's hours, on the day before a shoot and on its day; off unless hours are set."""

import logging
import random
import threading
import time
from collections.abc import Callable, Iterable
from datetime import date, datetime, timedelta
from datetime import time as clock_time

from app.errors import WesteringError
from app.outside.kept_answer import off_the_hour_utc_s
from app.place.timezone import rules
from app.storage.store import Store
from app.web.mornings import MorningDesk
from app.web.weather_services import WeatherServices

LOOK_EVERY_S = 60.0
LATE_S = 3 * 3600.0  # a machine that slept through its hour still asks so long after it


def start_timer(store: Store, services: WeatherServices) -> threading.Event | None:
    """Begin to look at the clock in a thread of its own; set what comes back to end it. None where no hours are set."""
    if not services.check_hours:
        return None
    ended = threading.Event()
    timer = Timer(MorningDesk(store, services), services.check_hours, random.random())

    def run() -> None:
        while not ended.wait(LOOK_EVERY_S):
            timer.look(time.time())

    threading.Thread(target=run, name="morning checks", daemon=True).start()
    return ended


class Timer:
    """Asks for each shoot at its hours, once each; ``chance`` in 0..1 keeps us off the full hour, when everybody asks."""

    def __init__(self, desk: MorningDesk, hours: Iterable[int], chance: float, ask: Callable[[str, float], object] | None = None) -> None:
        self.desk, self.hours, self.chance = desk, tuple(hours), chance
        self.ask = ask or (lambda slug, now_utc_s: desk.ask(slug, now_utc_s, chance))
        self._done: dict[str, float] = {}

    def look(self, now_utc_s: float) -> tuple[str, ...]:
        """Ask for every shoot whose hour has come since it was last asked for; return which. Nothing is raised."""
        try:
            due = [slug for slug in self._due(now_utc_s)]
        except WesteringError:
            return ()
        for slug in due:
            self._done[slug] = now_utc_s
            try:
                self.ask(slug, now_utc_s)
            except WesteringError as error:  # the page tells it too, when somebody looks
                logging.getLogger(__name__).warning("The check of %s: %s", slug, error)
            except Exception:  # one shoot that breaks must not end the timer for all
                logging.getLogger(__name__).exception("The check of %s broke", slug)
        return tuple(due)

    def _due(self, now_utc_s: float) -> Iterable[str]:
        for kept in self.desk.store.shoots.all():
            day, zone = kept.document.get("day"), kept.document.get("zone")
            if not day or not zone:
                continue
            last = last_hour_utc_s(date.fromisoformat(day), zone, self.hours, now_utc_s, self.chance)
            if last is not None and last > self._done.get(kept.slug, 0.0):
                yield kept.slug


def last_hour_utc_s(day: date, zone: str, hours: Iterable[int], now_utc_s: float, chance: float) -> float | None:
    """Return the last of a shoot's hours that has come, at most three hours ago; None where there is none. [s since 1970 UTC]

    Hours are those of its zone's clocks on its date and the date before it, each some
    minutes late by ``chance``.
    """
    dates = (day - timedelta(days=1), day)
    moments = (datetime.combine(one, clock_time(hour), rules(zone)).timestamp() for one in dates for hour in hours)
    come = [at for moment in moments if 0.0 <= now_utc_s - (at := off_the_hour_utc_s(moment, chance)) <= LATE_S]
    return max(come, default=None)
