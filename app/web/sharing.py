"""What the owner does with shared sheets: write a revision, make links, close them, look back."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from typing import Any

from app.errors import BadInput, NotFound
from app.light.kit import Kit
from app.place.timezone import civil_day, rules
from app.sharing.changes import changes
from app.sharing.languages import names_of_languages, tongue
from app.sharing.links import (
    LONGEST_S,
    Opens,
    State,
    check_end,
    digest,
    new_token,
    renewed,
    state_of,
    usual_end_utc_s,
)
from app.sharing.qr import QrDrawing, qr_drawing
from app.sharing.sheet import CoupleSheet, CrewSheet, Revision
from app.storage.shoot_book import KeptLink
from app.storage.shoot_book import Revision as KeptRevision
from app.storage.store import Store
from app.units import calendar_date, clock_time
from app.web.forms import Form
from app.web.kept_sheets import couple_document, crew_document
from app.web.render import local
from app.web.shared import core_link, couple_of, crew_of
from app.web.sheets import Said, for_couple, sheets_of
from app.web.shoots import OpenShoot

KINDS = {Opens.COUPLE.value: "the couple's sheet", Opens.CREW.value: "the crew's sheet"}
ABOUT = "about-"  # what the fields for a sentence on a stop begin with, before the wish's id
LONGEST_ABOUT = 600


@dataclass(frozen=True)
class OwnedLink:
    """A link as its owner sees it. Times in seconds since 1970, UTC. [s]"""

    kept: KeptLink
    state: str
    opens: str
    language: str

    @property
    def is_open(self) -> bool:
        """Whether it opens something now."""
        return self.state == State.OPEN.value

    @property
    def is_withdrawn(self) -> bool:
        """Whether it is closed for good."""
        return self.state == State.WITHDRAWN.value


@dataclass(frozen=True)
class FreshLink:
    """A link that was made just now: the only time that its address can be shown."""

    opens: str
    address: str
    code: QrDrawing


def links_of(store: Store, slug: str, now_utc_s: float) -> tuple[OwnedLink, ...]:
    """Return the links of a shoot, the newest first."""
    names = names_of_languages()
    return tuple(
        OwnedLink(kept, state_of(core_link(kept), now_utc_s).value, KINDS.get(kept.kind, kept.kind), names.get(kept.language[:2], kept.language))
        for kept in reversed(store.shoots.links(slug))
    )


def link_of(store: Store, slug: str, link_id: int) -> KeptLink:
    """Return one link of a shoot; ``NotFound`` where it has none of this number."""
    found = next((kept for kept in store.shoots.links(slug) if kept.id == link_id), None)
    if found is None:
        raise NotFound("This shoot has no such link. Its page lists those there are.")
    return found


def revision_of(store: Store, slug: str, number: int) -> KeptRevision:
    """Return one revision of a shoot; ``NotFound`` where there is none of this number."""
    found = next((kept for kept in store.shoots.revisions(slug) if kept.number == number), None)
    if found is None:
        raise NotFound(f"Nothing was shared as sheet {number}. The page of its sharing lists the sheets there are.")
    return found


def next_sheet(store: Store, opened: OpenShoot, said: Said, kit: Kit, now_utc_s: float) -> CrewSheet:
    """Return the sheets as they would be shared now; ``BadInput`` where there is no running order."""
    revisions = store.shoots.revisions(opened.slug)
    before = crew_of(revisions[-1]) if revisions else None
    return sheets_of(opened, said, kit, Revision(len(revisions) + 1, now_utc_s), before)


def share(store: Store, opened: OpenShoot, said: Said, kit: Kit, now_utc_s: float) -> int:
    """Keep a new revision of both sheets and return its number; the last one's where nothing has changed.

    A first sheet without any stop raises ``BadInput``; a later one tells what is called off.
    """
    sheet = next_sheet(store, opened, said, kit, now_utc_s)
    couple, crew = couple_document(for_couple(sheet, opened.telling.exact)), crew_document(sheet)
    revisions = store.shoots.revisions(opened.slug)
    if not revisions and not sheet.couple.stops:
        raise BadInput("No setup has a slot yet, so there is nothing to share: add one, or put one back.", "shoot")
    if revisions and (revisions[-1].couple, revisions[-1].crew) == (_plain(couple), _plain(crew)):
        return revisions[-1].number
    return store.shoots.share(opened.slug, couple, crew, now_utc_s)


def told_anew(sheet: CrewSheet, last: KeptRevision | None, exact: bool) -> tuple[str, ...]:
    """Return in English what a new revision would tell the couple of changes."""
    return changes(couple_of(last), for_couple(sheet, exact), tongue("en")) if last else ()


def make_link(store: Store, slug: str, kind: str, language: str, ends_utc_s: float, now_utc_s: float) -> str:
    """Keep a new link and return its token, which is kept nowhere; ``BadInput`` for an end that cannot be."""
    token = new_token()
    check_end(now_utc_s, ends_utc_s)
    store.shoots.add_link(slug, kind, digest(token), now_utc_s, ends_utc_s, language)
    return token


def renew(store: Store, slug: str, link_id: int, ends_utc_s: float, now_utc_s: float) -> None:
    """Give a link another end; its address stays. ``BadInput`` for a withdrawn one, or an end that cannot be."""
    kept = link_of(store, slug, link_id)
    renewed(core_link(kept), now_utc_s, ends_utc_s)
    store.shoots.renew(slug, link_id, kept.digest, ends_utc_s)


def fresh(kind: str, address: str) -> FreshLink:
    """Return a link made just now with its code."""
    return FreshLink(KINDS[kind], address, qr_drawing(address))


# What is typed


def kinds_wanted(form: Form, links: Sequence[OwnedLink]) -> tuple[str, ...]:
    """Return for which sheets a new link is made: those ticked, and each that no open link opens yet."""
    there = {link.kept.kind for link in links if link.is_open}
    return tuple(kind for kind in KINDS if form.text(f"new-{kind}") == "yes" or kind not in there)


def read_end(form: Form, opened: OpenShoot, now_utc_s: float) -> float | None:
    """Return when a new link ends: with the date typed, on the shoot's clocks, else 30 days after the day. [s]"""
    return form.read("ends", lambda text: _end(text, opened.whole.zone, now_utc_s), usual_end(opened, now_utc_s))


def read_language(form: Form, usual: str) -> str | None:
    """Return the language typed, in which a new link speaks."""
    return form.read("language", lambda text: tongue(text).tag, usual)


def usual_end(opened: OpenShoot, now_utc_s: float) -> float:
    """Return when a link ends unless told otherwise: with a whole day on the shoot's clocks, as a form can type it. [s]"""
    zone = opened.whole.zone
    starts, ends = civil_day(zone, last_day(usual_end_utc_s(civil_day(zone, opened.whole.day)[1], now_utc_s), zone))
    return ends if ends - now_utc_s <= LONGEST_S else starts


def last_day(ends_utc_s: float, zone: str) -> date:
    """Return the last date on which a link opens."""
    return local(ends_utc_s - 1, zone).date()


def read_said(form: Form, opened: OpenShoot, last: CoupleSheet | None) -> Said:
    """Return what is typed when sharing; what the form does not ask stays as it was shared last."""
    before = said_in(last)
    about = {wish.id: form.read(f"{ABOUT}{wish.id}", _sentence, "") for wish in opened.shoot.wishes if f"{ABOUT}{wish.id}" in form.typed}
    decide = _decided(form, opened) if "decide_day" in form.typed else before.decide_utc_s
    return Said({**before.about, **{key: text or "" for key, text in about.items()}}, decide)


def said_in(last: CoupleSheet | None) -> Said:
    """Return what was said when a sheet was shared."""
    return Said({stop.id: stop.about for stop in last.stops}, last.decide_utc_s) if last else Said()


def said_typed(said: Said, opened: OpenShoot) -> dict[str, str]:
    """Return the same as a form would hold it."""
    decide = local(said.decide_utc_s, opened.whole.zone) if said.decide_utc_s is not None else None
    about = {f"{ABOUT}{wish.id}": said.about.get(wish.id, "") for wish in opened.shoot.wishes}
    return {**about, "decide_day": f"{decide:%Y-%m-%d}" if decide else "", "decide_time": f"{decide:%H:%M}" if decide else ""}


def _decided(form: Form, opened: OpenShoot) -> float | None:
    """Return by when the weather is decided about; nothing where both fields are empty. [s]"""
    if not form.text("decide_day") and not form.text("decide_time"):
        return None
    day = form.read("decide_day", calendar_date, opened.whole.day)
    at = form.read("decide_time", clock_time)
    if day is None or not isinstance(at, time):
        return None
    return datetime.combine(day, at, rules(opened.whole.zone)).timestamp()


def _end(text: str, zone: str, now_utc_s: float) -> float:
    ends_utc_s = civil_day(zone, calendar_date(text))[1]
    check_end(now_utc_s, ends_utc_s)
    return ends_utc_s


def _sentence(text: str) -> str:
    if len(text) > LONGEST_ABOUT:
        raise BadInput(f"A sentence or two: {LONGEST_ABOUT} characters at most; {len(text)} came.")
    return text


def _plain(document: Mapping[str, Any]) -> Any:
    return json.loads(json.dumps(document))
