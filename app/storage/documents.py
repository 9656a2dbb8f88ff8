"""What a document must be to be kept, and the address made from a site's name."""

import hashlib
import json
import re
import unicodedata
from collections.abc import Container, Mapping
from itertools import chain, count
from typing import Any

from app.errors import BadInput

LONGEST_NAME = 200
LONGEST_SLUG = 60
RESERVED = frozenset({"new"})  # addresses under /sites/ that are no site

WITHOUT_PARTS = str.maketrans(  # Latin letters that Unicode does not take apart
    {"æ": "ae", "œ": "oe", "ø": "o", "đ": "d", "ð": "d", "ħ": "h", "ı": "i", "ł": "l", "þ": "th"}
)
NUL = re.compile(r"(?<!\\)(?:\\\\)*\\u0000")  # as JSON writes it; PostgreSQL has no place for it


def as_kept(document: Mapping[str, Any]) -> dict[str, Any]:
    """Return a copy of the document as JSON gives it back.

    Raises ``BadInput`` for what one of the databases could not keep.
    """
    if not isinstance(document, Mapping):
        raise BadInput(f"A site file is one JSON object; {_article(document)} came.")
    return dict(json_copy(dict(document)))


def json_copy(value: Any) -> Any:
    """Return a copy of anything JSON can hold; ``BadInput`` for the rest."""
    try:
        text = json.dumps(value, allow_nan=False, ensure_ascii=False)
        text.encode()
        copy = json.loads(text)
    except (TypeError, ValueError, RecursionError) as error:
        raise BadInput(f"This cannot be kept as JSON: {error}.") from error
    if NUL.search(text):
        raise BadInput("This cannot be kept: a text in it holds the character U+0000. Take it out.")
    return copy


def _article(value: Any) -> str:
    return "nothing" if value is None else f"a {type(value).__name__}"


def name_of(document: Mapping[str, Any]) -> str:
    """Return the site's name on one line; ``BadInput`` when there is none."""
    return one_line_name(document.get("name"), "A site needs a name, such as “Old lighthouse”.")


def one_line_name(name: Any, missing: str) -> str:
    """Return a name on one line; ``BadInput``, saying what is missing, when there is none."""
    if not isinstance(name, str) or not name.strip():
        raise BadInput(missing, field="name")
    name = " ".join(name.split())
    if len(name) > LONGEST_NAME:
        raise BadInput(f"A name has up to {LONGEST_NAME} letters; {len(name)} came.", field="name")
    return name


def slug_of(name: str, kind: str = "site") -> str:
    """Return the name as small ASCII letters, digits and hyphens.

    Accents go; a name without any Latin letter becomes its kind, as "site-", with its
    digits or, lacking those, with a number that is always the same for the same name.
    """
    folded = unicodedata.normalize("NFKD", name).casefold().translate(WITHOUT_PARTS)
    letters = "".join(letter for letter in folded if not unicodedata.combining(letter))
    letters = re.sub(r"['’]s\b", "s", letters)  # the bride's garden
    slug = re.sub("[^a-z0-9]+", "-", letters)[:LONGEST_SLUG].strip("-")
    if re.search("[a-z]", slug):
        return slug
    return f"{kind}-{slug or hashlib.sha256(name.encode()).hexdigest()[:8]}"


def free_slug(wanted: str, taken: Container[str]) -> str:
    """Return the wanted address, or else the first of -2, -3, … that is free."""
    numbered = (f"{wanted}-{number}" for number in count(2))
    return next(slug for slug in chain([wanted], numbered) if slug not in taken and slug not in RESERVED)
