"""JSON that can be kept and written again without loss; anything else is refused."""

import json
from collections import Counter
from collections.abc import Mapping
from typing import Any

from app.errors import BadInput, TooLarge
from app.place.values import short

DEEPEST = 60  # lists and objects inside each other; GeoJSON itself needs eight


def read_json(source: str | bytes | Mapping[str, Any], max_bytes: int) -> Any:
    """Return the value of a JSON text, or a copy of a value made of JSON's types.

    Raises
    ------
    TooLarge
        When its text is longer than ``max_bytes``.
    BadInput
        For what is not JSON by RFC 8259, and for what Python would take but not
        give back: NaN, infinite numbers, a name twice in one object, half a
        surrogate pair, deep nesting.
    """
    text = _text(source, max_bytes)
    try:
        value = json.loads(
            text, parse_float=_finite, parse_constant=_refuse_constant, object_pairs_hook=_unique_names
        )
    except RecursionError:
        raise _too_deep() from None
    except json.JSONDecodeError as error:
        where = f"line {error.lineno}, column {error.colno}"
        raise BadInput(f"This is not JSON: {error.msg.lower()} at {where}.") from None
    except ValueError:
        raise BadInput("A whole number in this JSON has thousands of digits; shorten it.") from None
    _check_depth(value)
    _check_characters(text, value)
    return value


def write_json(value: Any) -> str:
    """Return the JSON text of a value, in one line."""
    return json.dumps(value, ensure_ascii=False, allow_nan=False)


def _text(source: str | bytes | Mapping[str, Any], max_bytes: int) -> str:
    if isinstance(source, bytes | bytearray):
        _check_size(len(source), max_bytes)
        return _decoded(bytes(source))
    text = source if isinstance(source, str) else _dumped(source)
    try:
        _check_size(len(text.encode()), max_bytes)
    except UnicodeEncodeError:
        raise _half_character() from None
    return text.removeprefix("\ufeff")


def _decoded(source: bytes) -> str:
    try:
        return source.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise BadInput(
            f"A site file is written in UTF-8; byte {error.start + 1} is not. Save it as UTF-8."
        ) from None


def _dumped(value: Any) -> str:
    try:
        return json.dumps(value, allow_nan=False, default=_mapping)
    except RecursionError:
        raise _too_deep() from None
    except (TypeError, ValueError) as error:
        raise BadInput(f"This cannot be written as JSON: {error}.") from None


def _mapping(value: Any) -> dict[str, Any]:
    if isinstance(value, Mapping):
        return dict(value)
    raise TypeError(f"a {type(value).__name__} is none of its types")


def _check_size(size_bytes: int, max_bytes: int) -> None:
    if size_bytes > max_bytes:
        limit, came = max_bytes / 1e6, size_bytes / 1e6
        raise TooLarge(
            f"A site file has at most {limit:g} MB; {came:.1f} MB came. Leave out what is far away."
        )


def _finite(digits: str) -> float:
    number = float(digits)
    if number in (float("inf"), float("-inf")):
        raise BadInput(f"The number {digits[:20]} is too big to be kept.")
    return number


def _refuse_constant(word: str) -> float:
    raise BadInput(f"{word} is no number in JSON; write a finite number or null.")


def _unique_names(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) < len(pairs):
        twice = Counter(name for name, _ in pairs).most_common(1)[0][0]
        raise BadInput(f"“{short(twice)}” is given twice in one object; keep one of the two.")
    return found


def _check_depth(value: Any) -> None:
    level, depth = [value], 0
    while level := [child for item in level for child in _children(item)]:
        depth += 1
        if depth > DEEPEST:
            raise _too_deep()


def _children(item: Any) -> list[Any]:
    if isinstance(item, dict):
        return list(item.values())
    return item if isinstance(item, list) else []


def _check_characters(text: str, value: Any) -> None:
    if "\\ud" in text.lower():
        try:
            write_json(value).encode()
        except UnicodeEncodeError:
            raise _half_character() from None


def _half_character() -> BadInput:
    return BadInput("A text holds half a character (a lone surrogate); type that name or note again.")


def _too_deep() -> BadInput:
    return BadInput(f"Lists and objects lie more than {DEEPEST} deep in each other; flatten them.")
