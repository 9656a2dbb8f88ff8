"""What a new revision of a sheet changes, in words for those who had the one before."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from app.place.timezone import local_time
from app.sharing.languages import Tongue
from app.sharing.sheet import CoupleSheet, Point, Stop

SMALL_SHIFT_MIN = 90  # a shift is told in minutes up to here, beyond it by the two times


def changes(before: CoupleSheet, after: CoupleSheet, tongue: Tongue) -> tuple[str, ...]:
    """Return what has changed, a sentence each, the weightiest first; empty when nothing did."""
    news = _News(before, after, tongue)
    found = (*news.day(), *news.moved(), *news.ready(), *news.meeting(), *news.come_and_gone())
    found = (*found, *news.stops(), *news.around())
    return (*found, *news.rest()) if found else ()


def was_utc_s(before: CoupleSheet, after: CoupleSheet, stop: Stop) -> float | None:
    """Return when a stop began in the revision before, if it moved by a minute or more. [s since 1970 UTC]"""
    old = next((old for old in before.stops if old.id == stop.id), None)
    if old is None or not _shift_min(before, after, old, stop):
        return None
    return old.starts_utc_s


@dataclass(frozen=True)
class _News:
    before: CoupleSheet
    after: CoupleSheet
    tongue: Tongue

    def day(self) -> tuple[str, ...]:
        if self.before.day == self.after.day:
            return ()
        dates = {"date": self.tongue.date(self.after.day), "before": self.tongue.date(self.before.day)}
        return (self.tongue.say("The day has changed: {date}, no longer {before}.", **dates),)

    def kept(self) -> tuple[tuple[Stop, Stop], ...]:
        old = {stop.id: stop for stop in self.before.stops}
        return tuple((old[stop.id], stop) for stop in self.after.stops if stop.id in old)

    def shifts(self) -> dict[str, int]:
        every = {new.id: _shift_min(self.before, self.after, old, new) for old, new in self.kept()}
        return {key: minutes for key, minutes in every.items() if minutes}

    def rest(self) -> tuple[str, ...]:
        """Return what can be relied on still."""
        shifts, kept, clocks = self.shifts(), self.kept(), (self._ready(self.before), self._ready(self.after))
        if 0 < len(shifts) < len(kept):
            return (self.tongue.say("The rest has not moved."),)
        as_before = kept and not shifts and not self._longer() and clocks[0] == clocks[1]
        return (self.tongue.say("The times have not changed."),) if as_before else ()

    def moved(self) -> tuple[str, ...]:
        shifts, kept = self.shifts(), self.kept()
        together = len(kept) > 1 and len(shifts) == len(kept) and len(set(shifts.values())) == 1
        minutes = next(iter(shifts.values()), 0)
        if together and abs(minutes) <= SMALL_SHIFT_MIN:
            return (self._everything(minutes), *self._longer())
        told = tuple(self._start(old, new, shifts[new.id]) for old, new in kept if new.id in shifts)
        return (*told, *self._longer(), *self._order())

    def _everything(self, minutes: int) -> str:
        if minutes > 0:
            return self.tongue.count(
                "Everything starts {count} minute later.", "Everything starts {count} minutes later.", minutes
            )
        return self.tongue.count(
            "Everything starts {count} minute earlier.", "Everything starts {count} minutes earlier.",
            -minutes,
        )  # fmt: skip

    def _start(self, old: Stop, new: Stop, minutes: int) -> str:
        time = self._clock(new)
        if abs(minutes) > SMALL_SHIFT_MIN:
            before = self.tongue.clock_on(old.starts_utc_s, self.before.zone_of(old), self.before.day)
            return self.tongue.say(
                "“{title}” starts at {time}, no longer at {before}.",
                title=new.title, time=time, before=before,
            )  # fmt: skip
        if new.id == self.after.stops[0].id:
            return self._first(minutes, time)
        return self._titled(new, minutes, time)

    def _first(self, minutes: int, time: str) -> str:
        if minutes > 0:
            return self.tongue.count(
                "The first stop is {count} minute later: {time}.",
                "The first stop is {count} minutes later: {time}.",
                minutes, time=time,
            )  # fmt: skip
        return self.tongue.count(
            "The first stop is {count} minute earlier: {time}.",
            "The first stop is {count} minutes earlier: {time}.",
            -minutes, time=time,
        )  # fmt: skip

    def _titled(self, new: Stop, minutes: int, time: str) -> str:
        if minutes > 0:
            return self.tongue.count(
                "“{title}” is {count} minute later: {time}.",
                "“{title}” is {count} minutes later: {time}.",
                minutes, title=new.title, time=time,
            )  # fmt: skip
        return self.tongue.count(
            "“{title}” is {count} minute earlier: {time}.",
            "“{title}” is {count} minutes earlier: {time}.",
            -minutes, title=new.title, time=time,
        )  # fmt: skip

    def _longer(self) -> tuple[str, ...]:
        return tuple(
            self.tongue.say(
                "“{title}” lasts until {time}.",
                title=new.title,
                time=self.tongue.clock_on(new.ends_utc_s, self.after.zone_of(new), self.after.day),
            )
            for old, new in self.kept()
            if abs(_length_s(new) - _length_s(old)) >= 60
        )

    def _order(self) -> tuple[str, ...]:
        old = [stop.id for stop in self.before.stops]
        places = [old.index(new.id) for _, new in self.kept()]
        return () if places == sorted(places) else (self.tongue.say("The stops come in another order."),)

    def ready(self) -> tuple[str, ...]:
        time, was = (self._ready(sheet) for sheet in (self.after, self.before))
        if not time or time == was:
            return ()
        if not was:
            return (self.tongue.say("Be ready at {time}.", time=time),)
        return (self.tongue.say("Be ready at {time}, no longer at {before}.", time=time, before=was),)

    def _ready(self, sheet: CoupleSheet) -> str:
        utc_s = sheet.ready_utc_s
        return "" if utc_s is None else self.tongue.clock_on(utc_s, sheet.zone, sheet.day)

    def meeting(self) -> tuple[str, ...]:
        old, new = self.before.meeting, self.after.meeting
        if old.words == new.words and not _apart(old.point, new.point):
            return ()
        if new.words in ("", old.words):
            return (self.tongue.say("The meeting point has moved."),)
        return (self.tongue.say("New meeting point: {words}", words=new.words),)

    def come_and_gone(self) -> tuple[str, ...]:
        say = self.tongue.say
        old, new = ({stop.id for stop in sheet.stops} for sheet in (self.before, self.after))
        gone = (stop for stop in self.before.stops if stop.id not in new)
        come = (stop for stop in self.after.stops if stop.id not in old)
        return (
            *(f"{say('Called off: {title}', title=stop.title)}." for stop in gone),
            *(say("New: “{title}”, {span}.", title=stop.title, span=self._span(stop)) for stop in come),
        )

    def stops(self) -> tuple[str, ...]:
        return tuple(words for old, new in self.kept() for words in self._words_of(old, new))

    def _words_of(self, old: Stop, new: Stop) -> tuple[str, ...]:
        say, found = self.tongue.say, []
        if old.title != new.title:
            found.append(say("“{before}” is now called “{title}”.", before=old.title, title=new.title))
        if _elsewhere(old, new):
            found.append(say("“{title}” is in another place.", title=new.title))
        if old.bring != new.bring:
            found.append(say("What to wear or bring for “{title}” has changed.", title=new.title))
        if _other_words(old) != _other_words(new):
            found.append(say("The words about “{title}” have changed.", title=new.title))
        return tuple(found)

    def around(self) -> tuple[str, ...]:
        found = []
        if (self.before.turns, self.before.decide_utc_s) != (self.after.turns, self.after.decide_utc_s):
            found.append(self.tongue.say("What happens if the weather turns has changed."))
        if self.before.contact != self.after.contact:
            found.append(self.tongue.say("How to reach me has changed."))
        return tuple(found)

    def _clock(self, stop: Stop) -> str:
        return self.tongue.clock_on(stop.starts_utc_s, self.after.zone_of(stop), self.after.day)

    def _span(self, stop: Stop) -> str:
        return self.tongue.span(stop.starts_utc_s, stop.ends_utc_s, self.after.zone_of(stop), self.after.day)


def _shift_min(before: CoupleSheet, after: CoupleSheet, old: Stop, new: Stop) -> int:
    """Return how much later a stop begins; on another day, by what the clocks show. [min]"""
    if before.day == after.day:
        return round((new.starts_utc_s - old.starts_utc_s) / 60)
    on_clocks = _shown(new, after) - _shown(old, before) - (after.day - before.day)
    return round(on_clocks / timedelta(minutes=1))


def _shown(stop: Stop, sheet: CoupleSheet) -> datetime:
    return local_time(stop.starts_utc_s, sheet.zone_of(stop)).replace(tzinfo=None)


def _length_s(stop: Stop) -> float:
    return stop.ends_utc_s - stop.starts_utc_s


def _other_words(stop: Stop) -> tuple[object, ...]:
    return (stop.about, stop.standby, stop.walk_min, stop.walk, stop.way_min, stop.change_min)


def _elsewhere(old: Stop, new: Stop) -> bool:
    """Return whether a stop has moved: by its points where both are shown, else by its words, which may come and go with a second site."""
    if old.point and new.point:
        return old.point != new.point
    return bool(old.where and new.where) and old.where != new.where


def _apart(old: Point | None, new: Point | None) -> bool:
    """Return whether a point has moved; one that is shown now and was not, or no longer, has not."""
    return old is not None and new is not None and old != new
