"""Sharing a shoot: the owner's side."""

from dataclasses import dataclass
from typing import ClassVar

from fastapi import APIRouter, Request, Response
from fastapi.responses import RedirectResponse

from app.errors import BadInput
from app.sharing.languages import names_of_languages, tongue
from app.sharing.sheet import CoupleSheet
from app.storage.shoot_book import Revision as KeptRevision
from app.web.conflicts import Posted
from app.web.forms import Form
from app.web.kits import kept_kit
from app.web.now import Now
from app.web.render import render
from app.web.routes.shared import SheetPage
from app.web.shared import Shared, couple_of, shown
from app.web.sharing import (
    ABOUT,
    FreshLink,
    OwnedLink,
    fresh,
    kinds_wanted,
    last_day,
    link_of,
    links_of,
    make_link,
    next_sheet,
    read_end,
    read_language,
    read_said,
    renew,
    revision_of,
    said_in,
    said_typed,
    share,
    told_anew,
    usual_end,
)
from app.web.sheets import for_couple
from app.web.shoots import OpenShoot, Shoots, ShootShelf

router = APIRouter()


@dataclass(frozen=True)
class SharingPage:
    """All that shoot_sharing.html may use.

    ``fresh`` are links made just now, ``news`` what sharing again would tell the couple,
    ``trouble`` why nothing can be shared. ``reachable`` says whether anybody else could
    open a link at all.
    """

    template: ClassVar[str] = "shoot_sharing.html"
    opened: OpenShoot
    form: Form
    stops: tuple[tuple[str, str], ...]
    links: tuple[OwnedLink, ...]
    revisions: tuple[KeptRevision, ...]
    languages: dict[str, str]
    reachable: bool
    fresh: tuple[FreshLink, ...] = ()
    news: tuple[str, ...] = ()
    trouble: str = ""

    @property
    def zone(self) -> str:
        """Whose clock the page is told by."""
        return self.opened.whole.zone

    def last_day(self, link: OwnedLink) -> str:
        """Return the last date on which a link opens, as a form takes it."""
        return last_day(link.kept.ends_utc_s, self.zone).isoformat()


@router.get("/shoots/{shoot}/sharing", name="sharing")
def sharing(request: Request, shoot: str, shelf: Shoots, now: Now) -> Response:
    """What was shared with whom, and the form to share again."""
    opened = shelf.shoot(shoot)
    return render(request, _page(request, shelf, opened, _usual_form(shelf, opened, now), now))


@router.post("/shoots/{shoot}/share", name="share")
def share_shoot(request: Request, shoot: str, form: Posted, shelf: Shoots, now: Now) -> Response:
    """Write a new sheet for couple and crew; links that open already show it, and the first ones are made."""
    opened, store = shelf.shoot(shoot), shelf.store
    said, ends, language = read_said(form, opened, _last(shelf, opened)), read_end(form, opened, now), read_language(form, _language(shelf, opened, now))
    if form.errors or ends is None or language is None:
        return render(request, _page(request, shelf, opened, _whole_form(shelf, opened, form, now), now), 422)
    kinds = kinds_wanted(form, links_of(store, shoot, now))
    share(store, opened, said, kept_kit(store), now)
    tokens = tuple((kind, make_link(store, shoot, kind, language, ends, now)) for kind in kinds)
    if not tokens:
        return RedirectResponse(request.url_for("sharing", shoot=shoot).path, 303)
    made = tuple(fresh(kind, str(request.url_for("shared", token=token))) for kind, token in tokens)
    return render(request, _page(request, shelf, opened, _usual_form(shelf, opened, now), now, made))


@router.post("/shoots/{shoot}/links/{link}/withdraw", name="withdraw_link")
def withdraw_link(request: Request, shoot: str, link: int, shelf: Shoots, now: Now) -> Response:
    """Close a link for good."""
    shelf.store.shoots.withdraw(shoot, link_of(shelf.store, shoot, link).id, now)
    return RedirectResponse(request.url_for("sharing", shoot=shoot).path, 303)


@router.post("/shoots/{shoot}/links/{link}/renew", name="renew_link")
def renew_link(request: Request, shoot: str, link: int, form: Posted, shelf: Shoots, now: Now) -> Response:
    """Give a link another last day; its address stays."""
    opened = shelf.shoot(shoot)
    ends = read_end(form, opened, now)
    if ends is None:
        raise BadInput(form.errors["ends"], "ends")
    renew(shelf.store, shoot, link, ends, now)
    return RedirectResponse(request.url_for("sharing", shoot=shoot).path, 303)


@router.get("/shoots/{shoot}/preview", name="preview_sheet")
def preview_sheet(request: Request, shoot: str, shelf: Shoots, now: Now, sheet: str = "couple", language: str = "en") -> Response:
    """The sheet as it would be shared now."""
    opened = shelf.shoot(shoot)
    made = next_sheet(shelf.store, opened, said_in(_last(shelf, opened)), kept_kit(shelf.store), now)
    found = Shared(made if sheet == "crew" else for_couple(made, opened.telling.exact), _last(shelf, opened), tongue(language))
    return render(request, _owners(request, shoot, found))


@router.get("/shoots/{shoot}/revisions/{number}", name="revision")
def show_revision(request: Request, shoot: str, number: int, shelf: Shoots, sheet: str = "couple", language: str = "en") -> Response:
    """A sheet as it was shared, whatever has changed since."""
    return render(request, _owners(request, shoot, _revision(shelf, shoot, number, sheet, language)))


@router.get("/shoots/{shoot}/revisions/{number}/sheet.pdf", name="revision_paper")
def print_revision(shoot: str, number: int, shelf: Shoots, sheet: str = "couple", language: str = "en", paper: str = "a4") -> Response:
    """The same on paper."""
    return Response(_revision(shelf, shoot, number, sheet, language).printed(paper), media_type="application/pdf")


def _revision(shelf: ShootShelf, shoot: str, number: int, sheet: str, language: str) -> Shared:
    before = revision_of(shelf.store, shoot, number - 1) if number > 1 else None
    return shown(revision_of(shelf.store, shoot, number), before, sheet == "crew", language)


def _owners(request: Request, shoot: str, found: Shared) -> SheetPage:
    return SheetPage(found.told, found.pictures, found.sketches, back=request.url_for("sharing", shoot=shoot).path)


def _last(shelf: ShootShelf, opened: OpenShoot) -> CoupleSheet | None:
    revisions = shelf.store.shoots.revisions(opened.slug)
    return couple_of(revisions[-1]) if revisions else None


def _language(shelf: ShootShelf, opened: OpenShoot, now: float) -> str:
    """Return the language of the newest link, English where there is none."""
    return next((link.kept.language for link in links_of(shelf.store, opened.slug, now)), "en")


def _usual_form(shelf: ShootShelf, opened: OpenShoot, now: float) -> Form:
    said = said_typed(said_in(_last(shelf, opened)), opened)
    ends = last_day(usual_end(opened, now), opened.whole.zone).isoformat()
    return Form({**said, "ends": ends, "language": _language(shelf, opened, now)})


def _whole_form(shelf: ShootShelf, opened: OpenShoot, form: Form, now: float) -> Form:
    """Return a form with what it did not ask filled in, and its errors."""
    return Form({**_usual_form(shelf, opened, now).typed, **form.typed}, form.errors)


def _page(
    request: Request, shelf: ShootShelf, opened: OpenShoot, form: Form, now: float, made: tuple[FreshLink, ...] = ()
) -> SharingPage:
    revisions, news, trouble = shelf.store.shoots.revisions(opened.slug), (), ""
    try:
        sheet = next_sheet(shelf.store, opened, read_said(Form(form.typed), opened, _last(shelf, opened)), kept_kit(shelf.store), now)
        news = told_anew(sheet, revisions[-1] if revisions else None, opened.telling.exact)
        stops = tuple((f"{ABOUT}{stop.id}", stop.title) for stop in sheet.couple.stops)
    except BadInput as error:
        stops, trouble = (), str(error)
    return SharingPage(
        opened, form, stops, links_of(shelf.store, opened.slug, now), revisions, names_of_languages(),
        bool(request.app.state.closed), made, news, trouble,
    )  # fmt: skip
