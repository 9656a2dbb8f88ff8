"""Which documents can be kept, and the addresses made from names."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.errors import BadInput
from app.storage.documents import LONGEST_SLUG, as_kept, free_slug, json_copy, name_of, slug_of


@pytest.mark.parametrize(
    ("name", "slug"),
    [
        ("Old Lighthouse", "old-lighthouse"),
        ("  Château d’Été — Orangerie ", "chateau-d-ete-orangerie"),
        ("The bride's garden", "the-brides-garden"),
        ("Straße am Ørsted-Æble", "strasse-am-orsted-aeble"),
        ("Łódź", "lodz"),
        ("İstanbul Kız Kulesi", "istanbul-kiz-kulesi"),
        ("Ｑｕａｙ ①", "quay-1"),
        ("東京 Garden", "garden"),
        ("1066", "site-1066"),
        ("x/../../etc", "x-etc"),
    ],
)
def test_addresses_are_plain(name, slug):
    assert slug_of(name) == slug


@pytest.mark.parametrize("name", ["東京", "Ακρόπολη", "Красная поляна", "حديقة", "🌅", "—"])
def test_a_name_without_latin_letters_still_gets_an_address_always_the_same(name):
    assert re.fullmatch("site-[0-9a-f]{8}", slug_of(name))
    assert slug_of(name) == slug_of(name)


def test_different_names_without_latin_letters_get_different_addresses():
    assert slug_of("東京") != slug_of("京都")


@given(st.text())
def test_every_name_gives_an_address_that_needs_no_quoting(name):
    slug = slug_of(name)
    assert re.fullmatch("[a-z0-9]+(-[a-z0-9]+)*", slug)
    assert len(slug) <= LONGEST_SLUG + len("site-")


def test_an_address_that_is_taken_is_numbered():
    assert free_slug("quay", {"quay", "quay-2"}) == "quay-3"


def test_a_site_never_gets_the_address_of_a_page():
    assert free_slug("new", set()) == "new-2"


@pytest.mark.parametrize("document", [{}, {"name": ""}, {"name": " \n"}, {"name": None}, {"name": 3}])
def test_a_site_without_a_name_is_refused(document):
    with pytest.raises(BadInput, match="A site needs a name") as refused:
        name_of(document)
    assert refused.value.field == "name"


def test_a_name_as_long_as_a_page_is_refused():
    with pytest.raises(BadInput, match="up to 200 letters; 201 came"):
        name_of({"name": "a" * 201})


def test_a_name_is_one_line():
    assert name_of({"name": " Old\n\tquay "}) == "Old quay"


@pytest.mark.parametrize("document", [None, [], "name", 3])
def test_a_document_that_is_no_object_is_refused(document):
    with pytest.raises(BadInput, match="one JSON object"):
        as_kept(document)


@pytest.mark.parametrize("number", [float("nan"), float("inf"), -float("inf")])
def test_numbers_that_json_does_not_have_are_refused(number):
    with pytest.raises(BadInput, match="cannot be kept as JSON"):
        as_kept({"name": "Quay", "base_m": [number]})


@pytest.mark.parametrize("value", [object(), {1, 2}, b"bytes", "\ud800"])
def test_values_that_json_does_not_have_are_refused(value):
    with pytest.raises(BadInput, match="cannot be kept as JSON"):
        json_copy(value)


@pytest.mark.parametrize("value", ["\0", "\\\0", {"a\0": 1}])
def test_the_character_that_postgresql_cannot_keep_is_refused(value):
    with pytest.raises(BadInput, match=r"U\+0000"):
        json_copy(value)


def test_a_text_that_only_looks_like_that_character_is_kept():
    assert json_copy(r"\u0000 and \\u0000") == r"\u0000 and \\u0000"


def test_a_document_nested_without_end_is_refused():
    nested: list = []
    for _ in range(200_000):
        nested = [nested]
    with pytest.raises(BadInput, match="cannot be kept as JSON"):
        json_copy(nested)


def test_what_is_kept_shares_nothing_with_what_came():
    came = {"name": "Quay", "features": [{"role": "water"}]}
    kept = as_kept(came)
    came["features"][0]["role"] = "obstacle"
    assert kept == {"name": "Quay", "features": [{"role": "water"}]}
