"""Choosing the paper all pages are shown on."""

from urllib.parse import urlsplit

from fastapi import APIRouter, Request, Response
from fastapi.responses import RedirectResponse

from app.errors import BadInput
from app.web.forms import read_form
from app.web.papers import COOKIE, PAPERS

router = APIRouter()
A_YEAR_S = 31_536_000


@router.post("/papers", name="choose_paper")
async def choose_paper(request: Request) -> Response:
    """Keep the chosen paper in a cookie and go back to the page it was chosen on."""
    chosen = (await read_form(request)).text("paper")
    if chosen not in {paper.name for paper in PAPERS}:
        raise BadInput(f"The papers are proof, glare and safelight; “{chosen[:40]}” came.", "paper")
    back = urlsplit(request.headers.get("referer", "/"))
    answer = RedirectResponse(f"{back.path or '/'}{'?' + back.query if back.query else ''}", 303)
    answer.set_cookie(COOKIE, chosen, max_age=A_YEAR_S, httponly=True, samesite="lax")
    return answer
