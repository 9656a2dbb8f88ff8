"""The files a phone keeps for the field page, under addresses that change whenever any of them does.

A kept page so goes on with the files it came with, whatever the server has been updated to since.
"""

import hashlib
from functools import lru_cache
from pathlib import Path

from app.errors import NotFound
from app.web.render import ROOT

SHEETS = ("tokens", "base", "forms", "frame", "utilities", "field")
SCRIPTS = (
    "field", "field-actions", "field-again", "field-clock", "field-compass", "field-frames", "field-keep", "field-meter", "field-now",
    "field-papers", "field-state", "field-sun", "field-wake", "outbox", "outbox-send", "outbox-shelf",
)  # fmt: skip
KEPT = (*(f"css/{name}.css" for name in SHEETS), *(f"js/{name}.js" for name in SCRIPTS), "mark.svg")


@lru_cache
def version() -> str:
    """Return a text that changes with any of the kept files."""
    found = hashlib.sha256()
    for name in KEPT:
        found.update(f"{name}\n".encode() + kept_path(name).read_bytes())
    return found.hexdigest()[:16]


def kept_path(name: str) -> Path:
    """Return where a kept file lies; ``NotFound`` for any other."""
    if name not in KEPT:
        raise NotFound("The field page keeps no such file.")
    return ROOT / "static" / name
