"""Grounds are checked when they are made."""

import math

import pytest

from app.errors import BadInput
from app.storage.records import Ground, LaidPoint

TILES = {"tiles_url": "https://tiles.example/{z}/{x}/{y}.png", "attribution": "© surveyors", "max_zoom": 18}
LOWER_LEFT = LaidPoint(0, 900, lon_deg=2.0, lat_deg=48.0)


def test_a_ground_is_blank_until_it_is_told_otherwise():
    assert (Ground().kind, Ground().laying, Ground().version) == ("blank", (), 0)


def test_an_unknown_kind_is_refused():
    with pytest.raises(BadInput, match="blank, picture or tiles; “satellite” came"):
        Ground(kind="satellite")


@pytest.mark.parametrize(
    ("wrong", "match", "field"),
    [
        ({"tiles_url": None}, "address begins", "tiles_url"),
        ({"tiles_url": "javascript:alert(1)//{z}{x}{y}"}, "address begins", "tiles_url"),
        ({"tiles_url": "https://tiles.example/{z}/{x}"}, "{y}", "tiles_url"),
        ({"attribution": " "}, "whose tiles", "attribution"),
        ({"max_zoom": None}, "0 to 24; None came", "max_zoom"),
        ({"max_zoom": 25}, "0 to 24; 25 came", "max_zoom"),
    ],
)
def test_tiles_that_could_not_be_shown_are_refused(wrong, match, field):
    with pytest.raises(BadInput, match=match) as refused:
        Ground(kind="tiles", **{**TILES, **wrong})
    assert refused.value.field == field


def test_a_picture_is_laid_by_two_points():
    with pytest.raises(BadInput, match="two points; 1 came"):
        Ground(laying=(LOWER_LEFT,))


@pytest.mark.parametrize("other", [LaidPoint(0, 900, 3.0, 48.0), LaidPoint(10, 0, 2.0, 48.0)])
def test_a_picture_cannot_be_laid_by_the_same_point_twice(other):
    with pytest.raises(BadInput, match="are the same"):
        Ground(laying=(LOWER_LEFT, other))


@pytest.mark.parametrize("lon_lat", [(181, 0), (0, 91), (math.nan, 0), (0, math.inf)])
def test_a_point_off_the_earth_is_refused(lon_lat):
    with pytest.raises(BadInput, match="-180 to 180° and latitude -90 to 90°"):
        LaidPoint(0, 0, *lon_lat)


def test_a_pixel_without_numbers_is_refused():
    with pytest.raises(BadInput, match="two finite numbers"):
        LaidPoint(math.nan, 0, 2.0, 48.0)
