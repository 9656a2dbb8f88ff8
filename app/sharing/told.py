"""A sheet put in words: every time, date and label ready to show, on a page or on paper."""

from dataclasses import dataclass
from datetime import datetime, time

from app.place.timezone import rules
from app.sharing.changes import changes, was_utc_s
from app.sharing.labels import Labels, labels
from app.sharing.languages import Tongue
from app.sharing.sheet import Contact, CoupleSheet, CrewNotes, CrewSheet, Meeting, Stop


@dataclass(frozen=True)
class ToldStop:
    """One stop in words. ``start`` is the clock alone, ``span`` from when to when, ``was`` empty if unmoved.

    ``stop`` keeps what needs no words, its texts and its frame among them.
    """

    number: int
    stop: Stop
    start: str
    span: str
    was: str
    walk: str
    frame_alt: str
    notes: CrewNotes | None = None


@dataclass(frozen=True)
class ToldSheet:
    """A whole sheet in one language. Empty words are not shown.

    ``notes``, ``crew`` and ``cautions`` are for the crew only.
    """

    language: str
    labels: Labels
    names: str
    place: str
    date: str
    ready: str
    done: str
    meeting: Meeting
    contact: Contact
    stops: tuple[ToldStop, ...]
    turns: tuple[tuple[str, str], ...]
    decide: str
    changes: tuple[str, ...]
    changed: str
    zone: str
    written: str
    crew: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    for_crew: bool = False


def told(sheet: CoupleSheet | CrewSheet, tongue: Tongue, before: CoupleSheet | None = None) -> ToldSheet:
    """Return a sheet in words.

    Parameters
    ----------
    sheet : CoupleSheet or CrewSheet
        What is told.
    tongue : Tongue
        In which language.
    before : CoupleSheet, optional
        The revision that the reader had, for what has changed since.
    """
    couple, crew = (sheet.couple, sheet) if isinstance(sheet, CrewSheet) else (sheet, None)
    teller = _Teller(couple, tongue, before, crew)
    news = changes(before, couple, tongue) if before else ()
    return ToldSheet(
        language=tongue.tag,
        labels=labels(tongue, couple.contact.name),
        names=tongue.items(couple.names),
        place=couple.place,
        date=tongue.date(couple.day),
        ready=teller.clock(couple.ready_utc_s),
        done=teller.done(),
        meeting=couple.meeting,
        contact=couple.contact,
        stops=tuple(teller.stop(number, stop) for number, stop in enumerate(couple.stops, start=1)),
        turns=tuple((turn.trigger, turn.instead) for turn in couple.turns),
        decide=teller.decide(),
        changes=news,
        changed=tongue.say("Changed {moment}.", moment=teller.written()) if news else "",
        zone=teller.zone(),
        written=tongue.say(
            "Sheet {number}, written {moment}.", number=couple.revision.number, moment=teller.written()
        ),
        crew=crew.crew if crew else (),
        cautions=crew.cautions if crew else (),
        for_crew=crew is not None,
    )


@dataclass(frozen=True)
class _Teller:
    sheet: CoupleSheet
    tongue: Tongue
    before: CoupleSheet | None
    crew: CrewSheet | None

    def clock(self, utc_s: float | None) -> str:
        return "" if utc_s is None else self.tongue.clock_on(utc_s, self.sheet.zone, self.sheet.day)

    def done(self) -> str:
        """By the clocks at the last stop, which say whose they are where they are others than at the first."""
        if self.sheet.done is None or not self.sheet.stops:
            return self.clock(self.sheet.done)
        zone = self.sheet.zone_of(self.sheet.stops[-1])
        return self._whose(self.tongue.clock_on(self.sheet.done, zone, self.sheet.day), self.sheet.done, zone)

    def moment(self, utc_s: float) -> str:
        return self.tongue.moment(utc_s, self.sheet.zone, self.sheet.day)

    def written(self) -> str:
        return self.moment(self.sheet.revision.written_utc_s)

    def decide(self) -> str:
        by_utc_s = self.sheet.decide_utc_s
        if by_utc_s is None:
            return ""
        return self.tongue.say("I decide by {moment} and write to you.", moment=self.moment(by_utc_s))

    def zone(self) -> str:
        midday = datetime.combine(self.sheet.day, time(12), rules(self.sheet.zone))  # the clocks of the day, not of the writing
        at_utc_s = self.sheet.stops[0].starts_utc_s if self.sheet.stops else midday.timestamp()
        zone = self.tongue.zone(at_utc_s, self.sheet.zone)
        return self.tongue.say("All times are local: {zone}.", zone=zone)

    def stop(self, number: int, stop: Stop) -> ToldStop:
        zone = self.sheet.zone_of(stop)
        return ToldStop(
            number=number,
            stop=stop,
            start=self.tongue.clock_on(stop.starts_utc_s, zone, self.sheet.day),
            span=self._span(stop, zone),
            was=self._was(stop, zone),
            walk=self._walk(stop),
            frame_alt=self.tongue.say("Drawing of the picture planned here: {title}", title=stop.title),
            notes=self.crew.notes_of(stop) if self.crew else None,
        )

    def _span(self, stop: Stop, zone: str) -> str:
        return self._whose(self.tongue.span(stop.starts_utc_s, stop.ends_utc_s, zone, self.sheet.day), stop.starts_utc_s, zone)

    def _whose(self, words: str, at_utc_s: float, zone: str) -> str:
        # Two sites may keep two clocks; a time by the other one says whose it is.
        other = self.tongue.zone(at_utc_s, zone)
        return words if other == self.tongue.zone(at_utc_s, self.sheet.zone) else f"{words} ({other})"

    def _was(self, stop: Stop, zone: str) -> str:
        was = was_utc_s(self.before, self.sheet, stop) if self.before else None
        if was is None or self.before is None:
            return ""
        return self.tongue.say("was {time}", time=self.tongue.clock_on(was, zone, self.before.day))

    def _walk(self, stop: Stop) -> str:
        count, told = self.tongue.count, []
        if stop.walk_min is not None:
            told.append(count("{count} minute on foot.", "{count} minutes on foot.", stop.walk_min))
        if stop.way_min is not None:
            told.append(count("{count} minute on the way.", "{count} minutes on the way.", stop.way_min))
        if stop.change_min is not None:
            told.append(count("{count} minute to change clothes.", "{count} minutes to change clothes.", stop.change_min))
        return " ".join(filter(None, (*told, stop.walk)))
