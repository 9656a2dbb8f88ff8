"""Ids that stay the same from one reading to the next."""

import pytest

from app.errors import BadInput
from app.place.naming import feature_ids, label, slug


def feature(role=None, name=None, **members):
    return {"type": "Feature", "properties": {"role": role, "name": name}, **members}


def test_an_id_is_derived_from_role_and_name_or_else_from_the_place_in_the_list():
    features = [feature("setup", "End of the jetty"), feature("drawing"), feature(), feature("water", "河")]
    assert feature_ids(features) == ["setup-end-of-the-jetty", "drawing-2", "feature-3", "water-4"]


def test_given_ids_stay_and_derived_ones_make_way():
    features = [
        feature("wall", "Barn"),
        feature("wall", "Barn"),
        feature(id=7),
        feature(id=7.5),
        feature(id="wall-barn"),
        feature(id="wall-barn-1"),
    ]
    assert feature_ids(features) == [
        "wall-barn-1-more",
        "wall-barn-2",
        "7",
        "7.5",
        "wall-barn",
        "wall-barn-1",
    ]


def test_a_later_feature_does_not_change_the_ids_before_it():
    features = [feature("setup", "A"), feature("setup", "A"), feature("drawing")]
    assert feature_ids([*features, feature("setup", "A")])[:3] == feature_ids(features)


def test_the_same_id_twice_is_told():
    with pytest.raises(BadInput, match="Two features have the id “b”"):
        feature_ids([feature(id="a"), feature(id="b"), feature(id="b")])


def test_a_slug_has_plain_letters_only():
    assert slug("  Ternevåg, Østre kai!  ") == "ternevag-stre-kai"
    assert slug("河") == ""


@pytest.mark.parametrize(
    ("value", "words"),
    [
        (feature("setup", "End of\nthe jetty"), "setup “End of the jetty”"),
        (feature("setup"), "setup (feature 3)"),
        (feature(), "feature (feature 3)"),
        (None, "feature 3"),
    ],
)
def test_a_sentence_calls_a_feature_by_role_and_name(value, words):
    assert label(value, 3) == words
