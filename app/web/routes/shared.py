"""Shared sheets: the only pages that others may open, read-only."""

from dataclasses import dataclass
from typing import ClassVar
from urllib.parse import quote

from fastapi import APIRouter, Request, Response

from app.sharing.calendar import calendar_feed, calendar_file
from app.sharing.labels import ShutLabels, shut_labels
from app.sharing.told import ToldSheet
from app.web.door import where_from
from app.web.now import Now
from app.web.render import render
from app.web.shared import Shared, note_guess, opened_by, tongue_asked_for, wait_before_guess_s
from app.web.shelf import Shelf, Sites

router = APIRouter()

# Not for search machines, and kept by no proxy: what a link opens is its holder's own. The guard adds the rest.
HEADERS = {"x-robots-tag": "noindex, nofollow", "cache-control": "private, no-cache"}
READ_ONLY = ["GET", "HEAD"]
ALL_METHODS = [*READ_ONLY, "POST", "PUT", "PATCH", "DELETE"]


@dataclass(frozen=True)
class SheetAddresses:
    """Where a shared sheet is kept and printed."""

    calendar: str
    follow: str
    paper_a4: str
    paper_letter: str


@dataclass(frozen=True)
class SheetPage:
    """All that with.html may use; ``addresses`` and ``back`` exclude each other: guests have no way to the owner's pages."""

    template: ClassVar[str] = "with.html"
    told: ToldSheet
    pictures: dict[str, str]
    sketches: dict[str, str]
    addresses: SheetAddresses | None = None
    back: str = ""

    @property
    def phone(self) -> str:
        """The telephone number as a link takes it."""
        return "".join(sign for sign in self.told.contact.phone if sign.isdecimal() or sign in "+*#")

    @property
    def mail(self) -> str:
        """The mail address as a link takes it (RFC 6068)."""
        return quote(self.told.contact.email, safe="@")


@dataclass(frozen=True)
class ShutPage:
    """All that with_shut.html may use."""

    template: ClassVar[str] = "with_shut.html"
    labels: ShutLabels
    language: str
    busy: bool


@router.api_route("/with/{token}", methods=READ_ONLY, include_in_schema=False, name="shared")
def shared(request: Request, token: str, sites: Sites, now: Now) -> Response:
    """The sheet that a link opens, in the language it was made for."""
    found = _found(request, token, sites, now, is_reader=request.method == "GET")
    if isinstance(found, Response):
        return found
    return _guarded(render(request, SheetPage(found.told, found.pictures, found.sketches, _addresses(request, token))))


@router.api_route("/with/{token}/calendar.ics", methods=READ_ONLY, include_in_schema=False, name="shared_calendar")
def shared_calendar(request: Request, token: str, sites: Sites, now: Now, follow: str = "") -> Response:
    """Its stops as a calendar, to keep once or to follow."""
    found = _found(request, token, sites, now, is_reader=not follow)
    if isinstance(found, Response):
        return found
    write, link = calendar_feed if follow else calendar_file, str(request.url_for("shared", token=token))
    return _file(write(found.couple, found.tongue, link), "text/calendar; charset=utf-8", f"photographs-{found.couple.day}.ics", "attachment")


@router.api_route("/with/{token}/sheet.pdf", methods=READ_ONLY, include_in_schema=False, name="shared_paper")
def shared_paper(request: Request, token: str, sites: Sites, now: Now, paper: str = "a4") -> Response:
    """Its printed sheet, A4 or Letter, with a code that opens the newest one."""
    found = _found(request, token, sites, now, is_reader=request.method == "GET")
    if isinstance(found, Response):
        return found
    link = str(request.url_for("shared", token=token))
    return _file(found.printed(paper, link), "application/pdf", f"photographs-{found.couple.day}.pdf", "inline")


@router.api_route("/with", methods=ALL_METHODS, include_in_schema=False)
@router.api_route("/with/{rest:path}", methods=ALL_METHODS, include_in_schema=False)
def nothing_there(request: Request, sites: Sites, now: Now) -> Response:
    """Whatever else is tried under these addresses: the page of a link that opens nothing."""
    return _shut(request, sites, now)


def _found(request: Request, token: str, sites: Shelf, now: float, is_reader: bool = True) -> Shared | Response:
    """Return what the token opens, or the answer that says nothing of why it opens nothing."""
    if (wait_s := wait_before_guess_s(sites.store, _who(request), now)) > 0:
        return _busy(request, wait_s)
    return opened_by(sites.store, token, now, is_reader) or _shut(request, sites, now)


def _shut(request: Request, sites: Shelf, now: float) -> Response:
    if (wait_s := wait_before_guess_s(sites.store, _who(request), now)) > 0:
        return _busy(request, wait_s)
    note_guess(sites.store, _who(request), now)
    return _closed(request, 404)


def _busy(request: Request, wait_s: float) -> Response:
    answer = _closed(request, 429)
    answer.headers["retry-after"] = f"{wait_s:.0f}"
    return answer


def _closed(request: Request, status: int) -> Response:
    speaks = tongue_asked_for(request.headers)
    answer = _guarded(render(request, ShutPage(shut_labels(speaks), speaks.tag, status == 429), status))
    answer.headers["vary"] = "accept-language"
    return answer


def _who(request: Request) -> str:
    return where_from(request.client.host if request.client else None)


def _addresses(request: Request, token: str) -> SheetAddresses:
    calendar, paper = request.url_for("shared_calendar", token=token), request.url_for("shared_paper", token=token)
    follow = str(calendar.include_query_params(follow="yes").replace(scheme="webcal"))
    sizes = (f"{paper.path}?paper={size}" for size in ("a4", "letter"))
    return SheetAddresses(calendar.path, follow, *sizes)


def _file(data: bytes, kind: str, name: str, placed: str) -> Response:
    return _guarded(Response(data, media_type=kind, headers={"content-disposition": f'{placed}; filename="{name}"'}))


def _guarded(answer: Response) -> Response:
    answer.headers.update(HEADERS)
    return answer
