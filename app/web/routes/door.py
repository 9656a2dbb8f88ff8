"""The owner's door: the passphrase, and the way out."""

import secrets
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Annotated, ClassVar

from fastapi import APIRouter, Depends, Request, Response
from fastapi.responses import PlainTextResponse, RedirectResponse

from app.web.door import LASTS, cookie_name, session_token, where_from
from app.web.forms import Form, query_form, read_form
from app.web.now import Now
from app.web.passphrase import hashed, is_right, needs_new_hash, wait_s
from app.web.render import render
from app.web.shelf import Shelf, Sites

router = APIRouter()


@dataclass(frozen=True)
class DoorPage:
    """All that door.html may use."""

    template: ClassVar[str] = "door.html"
    form: Form
    needed: bool
    inside: bool


@router.get("/robots.txt", name="robots", include_in_schema=False)
def robots() -> Response:
    """Nothing here is for search machines."""
    return PlainTextResponse("User-agent: *\nDisallow: /\n")


@router.get("/door", name="door")
def door(request: Request, sites: Sites, now: Now) -> Response:
    """Ask for the passphrase."""
    return render(request, _page(request, sites, now, query_form(request)))


@router.post("/door")
def come_in(request: Request, form: Annotated[Form, Depends(read_form)], sites: Sites, now: Now) -> Response:
    """Let in who knows the passphrase; whoever guesses waits longer each time."""
    book, at = sites.store.door, datetime.fromtimestamp(now, UTC)
    kept, who, passphrase = book.passphrase_hash(), where_from(request.client.host if request.client else None), form.text("passphrase")
    tries = book.wrong_tries(who, at)
    wait = wait_s(tries.count) - (at - tries.last_utc).total_seconds() if tries.last_utc else 0.0
    if wait > 0:
        return _refused(request, sites, now, form, f"Wait {wait:.0f} s before the next try: there were {tries.count} wrong ones.", 429, wait)
    if kept is None or not is_right(passphrase, kept):
        count = book.note_wrong_try(who, at).count
        more = f" The next try counts only after {wait_s(count):.0f} s." if wait_s(count) else ""
        return _refused(request, sites, now, form, f"That is not the passphrase.{more}", 403, wait_s(count))
    book.forgive(who)
    if needs_new_hash(kept):
        book.improve_hash(hashed(passphrase))
    return _let_in(request, sites, form, at)


@router.post("/door/leave", name="leave")
def leave(request: Request, sites: Sites) -> Response:
    """End this browser's session and wipe what it kept."""
    token = session_token(request.scope)
    if token:
        sites.store.door.send_out(token)
    answer = RedirectResponse(request.url_for("door").path, 303)
    answer.delete_cookie(cookie_name(request.scope), secure=request.url.scheme == "https", httponly=True, samesite="lax")
    answer.headers["clear-site-data"] = '"cache", "storage"'
    return answer


def _let_in(request: Request, sites: Shelf, form: Form, now: datetime) -> Response:
    token, wanted = secrets.token_urlsafe(32), form.text("to")
    sites.store.door.let_in(token, now, LASTS)
    own = wanted.startswith("/") and not wanted.startswith(("//", "/\\", "/door"))  # never a way to another host
    answer = RedirectResponse(wanted if own else request.url_for("home").path, 303)
    secure = request.url.scheme == "https"
    age_s = int(LASTS / timedelta(seconds=1))
    answer.set_cookie(cookie_name(request.scope), token, max_age=age_s, httponly=True, samesite="lax", secure=secure)
    return answer


def _refused(request: Request, sites: Shelf, now: float, form: Form, words: str, status: int, wait: float) -> Response:
    form.errors["passphrase"] = words
    answer = render(request, _page(request, sites, now, form), status)
    if wait > 0:
        answer.headers["retry-after"] = f"{wait:.0f}"
    return answer


def _page(request: Request, sites: Shelf, now: float, form: Form) -> DoorPage:
    token, book = session_token(request.scope), sites.store.door
    inside = token is not None and book.is_in(token, datetime.fromtimestamp(now, UTC))
    return DoorPage(Form({"to": form.text("to")}, form.errors), bool(request.app.state.closed), inside)
