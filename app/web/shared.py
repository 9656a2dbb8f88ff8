"""What a shared link opens, and how slowly one may guess."""

from base64 import b64encode
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime

from app.errors import NotFound
from app.sharing.languages import LANGUAGES, Tongue, tongue
from app.sharing.links import Link, Opens, digest, opened
from app.sharing.print_sheet import Paper, print_sheet
from app.sharing.sheet import CoupleSheet, CrewSheet, Revision
from app.sharing.told import ToldSheet, told
from app.storage import shoot_book
from app.storage.store import Store
from app.web.kept_sheets import read_couple, read_crew

FREE_GUESSES = 20  # a guest mistypes once or twice, and a household shares one address
LONGEST_WAIT_S = 60.0


@dataclass(frozen=True)
class Shared:
    """A sheet as somebody may see it; ``before`` is the revision they may know."""

    sheet: CoupleSheet | CrewSheet
    before: CoupleSheet | None
    tongue: Tongue

    @property
    def couple(self) -> CoupleSheet:
        """The couple's sheet, or what the crew's has of it."""
        return self.sheet.couple if isinstance(self.sheet, CrewSheet) else self.sheet

    @property
    def told(self) -> ToldSheet:
        """The sheet in words."""
        return told(self.sheet, self.tongue, self.before)

    @property
    def frames(self) -> dict[str, str]:
        """The drawings by their stops' ids, whole SVG documents."""
        return {stop.id: str(stop.frame) for stop in self.couple.stops if stop.frame}

    @property
    def pictures(self) -> dict[str, str]:
        """The same as addresses of pictures, within which no script runs."""
        return {key: _address(frame) for key, frame in self.frames.items()}

    @property
    def sketches(self) -> dict[str, str]:
        """The crew's drawings of positions by their stops' ids, as such addresses too."""
        notes = self.sheet.notes if isinstance(self.sheet, CrewSheet) else ()
        return {one.stop_id: _address(one.sketch) for one in notes if one.sketch}

    def printed(self, paper: str, link: str = "") -> bytes:
        """Return the sheet as a PDF; any paper but “letter” is A4."""
        size = Paper.LETTER if paper == "letter" else Paper.A4
        return print_sheet(self.told, self.tongue, size, self.frames, self.couple.revision.written_utc_s, link)


def opened_by(store: Store, token: str, now_utc_s: float, is_reader: bool = True) -> Shared | None:
    """Return what a token opens; None alike for one that is wrong, expired or withdrawn.

    ``is_reader`` notes the time for the owner; a calendar program that asks every hour is none.
    """
    kept = store.shoots.link(digest(token))
    try:
        link = opened(core_link(kept) if kept else None, token, now_utc_s)
    except NotFound:
        return None
    revisions = store.shoots.revisions(link.shoot)
    if not kept or not revisions:
        return None
    if is_reader:
        store.shoots.opened(kept.id, now_utc_s)
    before = known_before(revisions, kept.made_utc_s, kept.opened_utc_s)
    return shown(revisions[-1], before, link.opens is Opens.CREW, link.language)


def core_link(kept: shoot_book.KeptLink) -> Link:
    """Return a kept link as the rules of links know it."""
    return Link(
        str(kept.id), kept.slug, Opens(kept.kind), kept.digest, kept.made_utc_s, kept.ends_utc_s, kept.language,
        kept.withdrawn_utc_s, kept.opened_utc_s,
    )  # fmt: skip


def known_before(
    revisions: Sequence[shoot_book.Revision], made_utc_s: float, opened_utc_s: float | None
) -> shoot_book.Revision | None:
    """Return the revision that whoever holds a link may know beside the newest; None where there was none.

    It is the one they saw when they opened the link last, if that is not the newest; else
    the one before the newest. A link made after the newest was written tells of no change.
    """
    *older, newest = revisions
    if not older or made_utc_s >= newest.made_utc_s:
        return None
    if opened_utc_s is None or opened_utc_s >= newest.made_utc_s:
        return older[-1]
    seen = [one for one in older if one.made_utc_s <= opened_utc_s]
    return seen[-1] if seen else older[-1]


def shown(kept: shoot_book.Revision, before: shoot_book.Revision | None, for_crew: bool, language: str) -> Shared:
    """Return one revision as the couple or the crew sees it."""
    speaks = tongue(language)
    if for_crew:
        return Shared(crew_of(kept), crew_of(before).couple if before else None, speaks)
    return Shared(couple_of(kept), couple_of(before) if before else None, speaks)


def couple_of(kept: shoot_book.Revision) -> CoupleSheet:
    """Return the couple's sheet of a revision."""
    return read_couple(kept.couple, Revision(kept.number, kept.made_utc_s))


def crew_of(kept: shoot_book.Revision) -> CrewSheet:
    """Return the crew's sheet of a revision."""
    return read_crew(kept.crew, Revision(kept.number, kept.made_utc_s))


def wait_before_guess_s(store: Store, who: str, now_utc_s: float) -> float:
    """Return how long somebody has to wait after too many links that open nothing; 0 or less for not at all. [s]"""
    tries = store.door.wrong_tries(_guest(who), _utc(now_utc_s))
    if tries.last_utc is None or tries.count < FREE_GUESSES:
        return 0.0
    wait_s = min(2.0 ** (tries.count - FREE_GUESSES + 1), LONGEST_WAIT_S)
    return wait_s - (now_utc_s - tries.last_utc.timestamp())


def note_guess(store: Store, who: str, now_utc_s: float) -> None:
    """Count one link that opened nothing; guests are counted apart from those at the owner's door."""
    store.door.note_wrong_try(_guest(who), _utc(now_utc_s))


def tongue_asked_for(headers: Mapping[str, str]) -> Tongue:
    """Return the first language of a browser's wishes that the sheets speak, else English."""
    wishes = (one.split(";")[0].strip().split("-")[0].lower() for one in headers.get("accept-language", "").split(","))
    return tongue(next((wish for wish in wishes if wish in LANGUAGES), "en"))


def _address(drawing: str) -> str:
    return f"data:image/svg+xml;base64,{b64encode(drawing.encode()).decode()}"


def _guest(who: str) -> str:
    return f"with {who}"


def _utc(utc_s: float) -> datetime:
    return datetime.fromtimestamp(utc_s, UTC)
