"""Outlines held against a site: which is new, the same, different, or in the way of another."""

import pytest

from app.place.edit import new_document, with_features
from app.place.outline_match import DIFFERS, NEW, OVERLAPS, SAME, credits_of, matched, with_outlines
from app.place.outlines import obstacles_from_outlines
from app.place.sitefile import parse_site
from tests.place.test_outlines import BARN, WHERE, collection, polygon, way
from tests.place.venue import box, corners

WALL = way(3, {"type": "LineString", "coordinates": [list(one) for one in corners([(40, 0), (40, 30)])]}, barrier="wall")


def features(*found):
    return obstacles_from_outlines(collection(*found), *WHERE, 300.0).features


def site_with(*found):
    return parse_site(with_features(new_document("Trial", *WHERE), features(*found)))


def state(site, *found):
    return [match.state for match in matched(features(*found), site)]


def test_on_an_empty_site_everything_is_new():
    assert state(site_with(), BARN, WALL) == [NEW, NEW]


def test_the_same_again_is_the_same_and_no_change_at_all():
    site = site_with(BARN, WALL)
    found = matched(features(BARN, WALL), site)
    assert [match.state for match in found] == [SAME, SAME]
    assert with_outlines(site, found)["features"] == site.document["features"]


@pytest.mark.parametrize(
    ("tags", "words"),
    [
        ({"height": "9"}, ("top at 7.5 m there, 9.0 m here",)),
        ({"height": "7.5", "min_height": "3"}, ("base at 0.0 m there, 3.0 m here", "building there, canopy here")),
    ],
)
def test_what_differs_is_told(tags, words):
    (match,) = matched(features(way(7, polygon(box(10, 20, 10, 20)), building="barn", **tags)), site_with(BARN))
    assert (match.state, match.differences) == (DIFFERS, words)


def test_a_corner_that_moved_is_another_outline():
    moved = way(7, polygon([(10, 10), (20, 10), (20, 20.5), (10, 20)]), building="barn", height="7.5")
    assert matched(features(moved), site_with(BARN))[0].differences == ("another outline",)


@pytest.mark.parametrize(
    ("east_m", "expected"),
    [(0.4, DIFFERS), (4.0, OVERLAPS), (8.9, OVERLAPS), (9.2, NEW), (11.0, NEW)],
)
def test_how_much_ground_is_shared_decides(east_m, expected):
    """Of two squares of 10 m moved by d, 10 - d of 10 + d is shared: nine tenths at 0.53 m; a tenth of one at 9 m."""
    other = way(8, polygon(box(10 + east_m, 20 + east_m, 10, 20)), building="yes", height="7.5")
    assert state(site_with(BARN), other) == [expected]


def test_trees_over_a_house_are_no_overlap():
    assert state(site_with(BARN), way(9, polygon(box(0, 30, 0, 30)), natural="wood")) == [NEW]


def test_an_obstacle_is_replaced_by_one_outline_only():
    part = way(8, polygon(box(10, 20, 10, 20)), **{"building:part": "yes", "height": "3"})
    found = matched(features(BARN, part), site_with(BARN))
    assert [match.state for match in found] == [SAME, OVERLAPS]
    assert len({match.feature["id"] for match in found}) == 2


def test_whose_they_are_is_named_once():
    assert credits_of(site_with(BARN, WALL)) == ("© OpenStreetMap contributors, ODbL",)
    assert credits_of(site_with()) == ()


def test_several_features_are_put_in_as_one_after_the_other_would_be():
    document = with_features(new_document("Trial", *WHERE), features(BARN, WALL))
    again = with_features(document, [{**document["features"][0], "properties": {"role": "drawing"}}, {"type": "Feature", "geometry": None, "properties": {}}])
    assert [one["properties"].get("role") for one in again["features"]] == ["drawing", "obstacle", None]
    assert len({one["id"] for one in again["features"]}) == 3
