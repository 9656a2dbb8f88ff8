"""JSON that could not be kept as it came is refused in words."""

from types import MappingProxyType

import pytest

from app.errors import BadInput, TooLarge
from app.place.strict_json import DEEPEST, read_json, write_json

LIMIT_BYTES = 2_000_000


def nested(depth):
    return "[" * depth + "]" * depth


@pytest.mark.parametrize(
    ("source", "words"),
    [
        ("", "not JSON: expecting value at line 1, column 1"),
        ('{\n"a": }', "not JSON: expecting value at line 2, column 6"),
        ("[1] 2", "not JSON: extra data at line 1, column 5"),
        ("[NaN]", "NaN is no number in JSON"),
        ("[-Infinity]", "-Infinity is no number in JSON"),
        ("[1e999]", "number 1e999 is too big"),
        ("9" * 5000, "thousands of digits"),
        ('{"a": {"b": 1, "b": 2}}', "“b” is given twice"),
        ('["\\ud800"]', "half a character"),
        ('"\ud800"', "half a character"),
        (b'"\xff"', "UTF-8; byte 2 is not"),
        (nested(DEEPEST + 2), "more than 60 deep"),
        (nested(100_000), "more than 60 deep"),
        ({"a": float("nan")}, "cannot be written as JSON"),
        ({"a": {1, 2}}, "a set is none of its types"),
        ({(1, 2): 3}, "cannot be written as JSON"),
    ],
)
def test_what_cannot_be_kept_is_told(source, words):
    with pytest.raises(BadInput, match=words):
        read_json(source, LIMIT_BYTES)


def test_a_value_that_holds_itself_is_told():
    endless = {}
    endless["again"] = endless
    with pytest.raises(BadInput, match="cannot be written as JSON"):
        read_json(endless, LIMIT_BYTES)


def test_nesting_up_to_the_limit_is_taken():
    assert write_json(read_json(nested(DEEPEST), LIMIT_BYTES)) == nested(DEEPEST)


@pytest.mark.parametrize("source", ['"ää"', '"ää"'.encode()])
def test_the_limit_counts_bytes_and_not_letters(source):
    assert read_json(source, 6) == "ää"
    with pytest.raises(TooLarge, match="at most"):
        read_json(source, 5)


def test_a_read_only_mapping_is_as_good_as_a_dict():
    inner = MappingProxyType({"b": (1, 2)})
    assert read_json(MappingProxyType({"a": inner}), LIMIT_BYTES) == {"a": {"b": [1, 2]}}
