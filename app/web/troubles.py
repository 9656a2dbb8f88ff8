"""Errors become pages, or JSON under /api/, in this one place."""

from dataclasses import dataclass
from http import HTTPStatus
from typing import ClassVar

from fastapi import FastAPI, Request, Response
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse
from starlette.exceptions import HTTPException

from app.errors import BadInput, Conflict, NotFound, TooLarge, Unavailable, WesteringError
from app.web.render import render

STATUS = {NotFound: 404, Conflict: 409, TooLarge: 413, BadInput: 422, Unavailable: 503, WesteringError: 500}


@dataclass(frozen=True)
class TroublePage:
    """All that trouble.html may use; ``typed`` gives back what a form held."""

    template: ClassVar[str] = "trouble.html"
    title: str
    words: str
    typed: tuple[tuple[str, str], ...] = ()


def install(app: FastAPI) -> None:
    """Tell the application how each kind of error is answered."""
    app.add_exception_handler(WesteringError, _westering)
    app.add_exception_handler(RequestValidationError, _validation)
    app.add_exception_handler(HTTPException, _http)


def status_of(error: WesteringError) -> int:
    """Return the HTTP status for an error of our tree."""
    return next(STATUS[kind] for kind in type(error).__mro__ if kind in STATUS)


async def _westering(request: Request, error: WesteringError) -> Response:
    return await _answer(request, status_of(error), str(error), error.field)


async def _validation(request: Request, error: RequestValidationError) -> Response:
    first = error.errors()[0]
    field = str(first["loc"][-1])
    return await _answer(request, 422, f"{field}: {first['msg']}; “{str(first.get('input'))[:60]}” came.", field)


async def _http(request: Request, error: HTTPException) -> Response:
    words = {
        404: "There is no such page. The list of sites is a good place to start again.",
        405: "That address does not take this kind of request.",
    }
    return await _answer(request, error.status_code, words.get(error.status_code, str(error.detail)))


async def _answer(request: Request, status: int, words: str, field: str | None = None) -> Response:
    if request.url.path.startswith("/api/"):
        return JSONResponse({"error": words, "field": field}, status)
    typed = () if status == 413 else await _typed(request)  # what is too large is not read to its end
    return render(request, TroublePage(HTTPStatus(status).phrase, words, typed), status)


async def _typed(request: Request) -> tuple[tuple[str, str], ...]:
    """Return what a form held, so that nothing typed is lost with the error."""
    if request.method != "POST" or "form" not in request.headers.get("content-type", ""):
        return ()
    async with request.form() as form:  # which closes what files came with it
        return tuple((name, value) for name, value in form.multi_items() if isinstance(value, str) and value)
