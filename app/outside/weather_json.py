"""What answers of weather services have in common: JSON from an address, or something in its place."""

import re
from typing import Any

import httpx

from app.errors import BadInput, Unavailable, WesteringError
from app.place.strict_json import read_json


def check_address(address: str) -> None:
    """Raise ``BadInput`` unless it is the address of a web service, without a question in it."""
    try:
        url = httpx.URL(address)
    except httpx.InvalidURL:
        url = httpx.URL()
    if url.scheme not in ("https", "http") or not re.fullmatch(r"[\w.:-]+", url.host) or url.query:
        raise BadInput(f"A forecast's address begins https:// and has no “?”; “{address[:80]}” came.", "address")


def unreadable(name: str, error: WesteringError) -> Unavailable:
    """Return the error with the source's name before it, unless it begins so."""
    words = str(error)
    return Unavailable(words if words.startswith(name) else f"{name} sent a forecast that cannot be read. {words}")


def read_answer(name: str, body: str, most_bytes: int) -> Any:
    """Return the JSON of an answer; raises ``Unavailable`` when it is a web page, cut off or something else."""
    if body.lstrip()[:1] == "<":
        raise Unavailable(f"{name} sent a web page in place of a forecast. Its address may be wrong; try again later.")
    try:
        return read_json(body, most_bytes)
    except WesteringError:
        words = f"{name} sent something in place of a forecast that is not whole JSON. Is the address right?"
        raise Unavailable(words) from None
