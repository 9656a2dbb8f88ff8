"""Coordinates as people type and paste them: read strictly, with nothing guessed."""

import re

from app.errors import BadInput
from app.place.map_links import read_geo_uri, read_link, read_wkt_point
from app.place.positions import Coordinates, check_position

LONGEST_TEXT = 2000  # characters; the longest map links have a few hundred

_INVISIBLE = re.compile("[\u200b-\u200f\u202a-\u202e\u2066-\u2069\ufeff]")
_SAME_MARK = str.maketrans("º˚’‘′´”“″\N{MINUS SIGN}\N{EN DASH}", "°°''''\"\"\"--")
_UNIT_LETTERS = str.maketrans("dms", "°'\"")
_NUMBER = r"([0-9]+(?:[.,][0-9]+)?)(?![0-9.,])"
_DEGREES = rf"([+-]?) ?{_NUMBER}"
_ANGLES = [  # degrees; degrees and minutes; degrees, minutes and seconds
    re.compile(rf"{_DEGREES} ?°?"),
    re.compile(rf"{_DEGREES}(?: ?° ?|[ :]){_NUMBER} ?'?"),
    re.compile(rf"{_DEGREES}(?: ?° ?|[ :]){_NUMBER}(?: ?' ?|[ :]){_NUMBER} ?\"?"),
]
_LETTER_BEFORE = re.compile(r"([NSEW]) ?([^NSEW]+?)[ ,;]*([NSEW]) ?([^NSEW]+)")
_LETTER_AFTER = re.compile(r"([^NSEW]+?) ?([NSEW])[ ,;]*([^NSEW]+?) ?([NSEW])")
_MARKED_PAIR = re.compile(rf"(.+?[°'\"]) ?[,;]? ?([+-]? ?{_NUMBER} ?°.*)")
_PLUS_CODE = re.compile(r"(?:[023456789CFGHJMPQRVWX]{2}){1,4}\+[23456789CFGHJMPQRVWX]{0,7}(?:[ ,].*)?", re.I)


def parse_coordinates(text: str) -> Coordinates:
    """Return the point that a pasted or typed text names.

    Parameters
    ----------
    text : str
        Degrees with a decimal point or comma, degrees and minutes, or degrees,
        minutes and seconds, latitude first, or in either order with the letters
        N, S, E, W; a ``geo:`` address (RFC 5870); a WKT point; a map link that
        holds coordinates. Of a link with a marked point and a view, the point.

    Returns
    -------
    Coordinates
        Never a guess: what can be read in two ways is refused.

    Raises
    ------
    BadInput
        One sentence on what came and how to write it.
    """
    typed = _tidy(text)
    for read in (read_geo_uri, read_wkt_point, read_link, _read_plus_code, _read_letters):
        found = read(typed)
        if found is not None:
            return found
    return _read_pair(typed)


def format_coordinates(lat_deg: float, lon_deg: float) -> str:
    """Return “latitude, longitude” in degrees with six places, about 10 cm."""
    return ", ".join(f"{round(angle, 6) + 0.0:.6f}" for angle in (lat_deg, lon_deg))


def _tidy(text: str) -> str:
    typed = " ".join(_INVISIBLE.sub("", str(text)).split())
    if not typed:
        raise BadInput("Coordinates are wanted here, like 51.454500, -2.587900; nothing came.")
    if len(typed) > LONGEST_TEXT:
        raise BadInput(f"Coordinates take less than {LONGEST_TEXT} characters; {len(typed)} came.")
    return typed


def _read_plus_code(typed: str) -> None:
    if _PLUS_CODE.fullmatch(typed):
        raise BadInput(
            f"“{_short(typed)}” is a plus code, which names a square and not a point;"
            " paste latitude and longitude instead, like 51.454500, -2.587900."
        )


def _read_letters(typed: str) -> Coordinates | None:
    text = _plain_marks(typed)
    if not re.search("[NSEW]", text):
        return None
    before, after = _LETTER_BEFORE.fullmatch(text), _LETTER_AFTER.fullmatch(text)
    if before:
        return _lettered(typed, (before[1], before[2]), (before[3], before[4]))
    if after:
        return _lettered(typed, (after[2], after[1]), (after[4], after[3]))
    raise _unreadable(typed)


def _lettered(typed: str, one: tuple[str, str], other: tuple[str, str]) -> Coordinates:
    angles = {"NS" if letter in "NS" else "EW": _signed(typed, letter, half) for letter, half in (one, other)}
    if len(angles) < 2:
        raise BadInput(
            f"“{_short(typed)}” has two letters of one kind; one of N, S and one of E, W are wanted."
        )
    return Coordinates(angles["NS"], angles["EW"])


def _signed(typed: str, letter: str, half: str) -> float:
    if re.match("[+-]", half):
        raise BadInput(f"“{_short(typed)}” has a sign and a letter for one angle; write one of the two.")
    return _angle_deg(typed, half) * (-1.0 if letter in "SW" else 1.0)


def _read_pair(typed: str) -> Coordinates:
    text = _plain_marks(typed)
    inside = re.fullmatch(r"\( ?(.*?) ?\)", text)
    halves = _halves(typed, inside[1] if inside else text)
    lat_deg, lon_deg = (_angle_deg(typed, half.strip()) for half in halves)
    check_position(lat_deg, lon_deg, first="latitude")
    return Coordinates(lat_deg, lon_deg)


def _halves(typed: str, text: str) -> list[str]:
    """Cut between latitude and longitude, at the one place where that is possible."""
    text = re.sub(" ,|, ", ", ", text)
    marked = _MARKED_PAIR.fullmatch(text) if text.count("°") == 2 else None
    if marked:
        return [marked[1], marked[2]]
    separator = next((mark for mark in (";", ", ", " ", ",") if mark in text), "")
    halves = text.split(separator) if separator else []
    if len(halves) != 2 or (separator == " " and text.count(",") == 1):
        raise _unreadable(typed)
    if separator == "," and re.fullmatch("[+-]?[0-9]+,[0-9]+", text):
        raise BadInput(
            f"“{_short(typed)}” may be two whole numbers or one with a decimal comma;"
            f" write {halves[0]}; {halves[1]} if it is two."
        )
    return halves


def _angle_deg(typed: str, half: str) -> float:
    match = next(filter(None, (pattern.fullmatch(half) for pattern in _ANGLES)), None)
    if match is None:
        raise _unreadable(typed)
    sign, *numbers = match.groups()
    *whole, last = [number.replace(",", ".") for number in numbers]
    if any("." in number for number in whole):
        raise BadInput(
            f"“{_short(typed)}” has a fraction before its last number; only the last may have one."
        )
    degrees, minutes, seconds = [*map(float, [*whole, last]), 0.0, 0.0][:3]
    if minutes >= 60.0 or seconds >= 60.0:
        raise BadInput(f"“{_short(typed)}” has 60 or more minutes or seconds; both lie below 60.")
    return (degrees + minutes / 60.0 + seconds / 3600.0) * (-1.0 if sign == "-" else 1.0)


def _plain_marks(typed: str) -> str:
    """Write every degree, minute and second mark in one way: ° ' and double quotes.

    The letters d, m, s count as marks only after a number with d; a small s is
    then never south. Otherwise small n, s, e, w are as good as capitals.
    """
    text = typed.translate(_SAME_MARK).replace("''", '"')
    if re.search("[0-9] ?d", text):
        return text.translate(_UNIT_LETTERS)
    words = r"\b(N)ORTH\b|\b(S)OUTH\b|\b(E)AST\b|\b(W)EST\b"
    return re.sub(words, lambda word: word[0][0], text.upper())


def _unreadable(typed: str) -> BadInput:
    return BadInput(
        f"“{_short(typed)}” cannot be read without guessing; write latitude and longitude like"
        " 51.454500, -2.587900 or N 51° 27.270' W 2° 35.274',"
        " and with decimal commas a semicolon between them."
    )


def _short(typed: str) -> str:
    return typed if len(typed) <= 60 else f"{typed[:60]}…"
