"""Single values out of a JSON object, each checked and worded for its writer."""

import math
from collections.abc import Mapping, Sequence
from typing import Any

from app.errors import BadInput
from app.units import listed


def number_in(
    members: Mapping[str, Any], name: str, low: float, high: float, default: float | None = None
) -> float:
    """Return a member that is a number in [low, high]; it may be left out if there is a default."""
    value = members.get(name)
    if value is None and default is not None:
        return default
    number = as_number(value, name)
    if not low <= number <= high:
        raise BadInput(f"{name} lies between {low:g} and {high:g}; {number:g} came.", name)
    return number


def as_number(value: Any, name: str) -> float:
    """Return a JSON number as a float, infinite when it is too big for one."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        hint = " Write it without quotes." if isinstance(value, str) else ""
        raise BadInput(f"{name} is a number; {shown(value)} came.{hint}", name)
    try:
        number = float(value)
    except OverflowError:
        return math.inf
    if math.isnan(number):
        raise BadInput(f"{name} is a number; NaN came.", name)
    return number


def text_in(members: Mapping[str, Any], name: str, default: str = "") -> str:
    """Return a member that is a text, without the blanks around it; the default when it is left out."""
    value = members.get(name)
    if value is None:
        return default
    if not isinstance(value, str):
        raise BadInput(f"{name} is a text; {shown(value)} came. Put it in quotes.", name)
    return value.strip() or default


def flag_in(members: Mapping[str, Any], name: str, default: bool = False) -> bool:
    """Return a member that is true or false; the default when it is left out."""
    value = members.get(name)
    if value is None:
        return default
    if not isinstance(value, bool):
        raise BadInput(f"{name} is true or false, without quotes; {shown(value)} came.", name)
    return value


def choice_in(
    members: Mapping[str, Any], name: str, choices: Sequence[str], default: str | None = None
) -> str:
    """Return a member that is one of a few words; it may be left out if there is a default."""
    value = members.get(name)
    if value is None and default is not None:
        return default
    if value not in choices:
        raise BadInput(f"{name} is {listed(choices)}; {shown(value)} came.", name)
    return value


def object_in(members: Mapping[str, Any], name: str) -> Mapping[str, Any]:
    """Return a member that is an object; an empty one when it is left out."""
    value = members.get(name)
    if value is None:
        return {}
    if not isinstance(value, Mapping):
        raise BadInput(f"{name} is an object in curly brackets; {shown(value)} came.", name)
    return value


def shown(value: Any) -> str:
    """Return a JSON value in a few words, for a sentence about it."""
    if isinstance(value, str):
        return f"“{short(value)}”"
    if isinstance(value, Mapping):
        return "an object"
    if isinstance(value, list | tuple):
        return f"a list of {len(value)}"
    words = {None: "nothing", True: "true", False: "false"}
    named = value is None or isinstance(value, bool)
    return words[value] if named else f"{as_number(value, 'It'):g}"


def short(text: str, longest: int = 40) -> str:
    """Return a text in one line, cut when it is long."""
    line = " ".join(text.split())
    return line if len(line) <= longest else f"{line[:longest]}…"
