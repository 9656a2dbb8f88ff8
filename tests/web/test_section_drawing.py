"""The drawing of the sky's section: rays straight, cloud where it is told, nothing outside the sheet."""

import re

import numpy as np
import pytest

from app.picture.sunset_colour import lit_decks
from app.picture.west_section import DISTANCES_M, EARTH_M, WestSection
from app.web.drawing.section import DESK, HAND, LastRay, Sight, draw_section, tone_of

HEIGHTS = np.array([1000.0, 4500.0, 9000.0])


def section(low=0.0, middle=0.0, high=0.5):
    """The same cover everywhere, or one for each place."""
    cover = np.stack([np.broadcast_to(np.asarray(one, float), (9,)) for one in (low, middle, high)])
    return WestSection(270.0, 0.0, np.array(DISTANCES_M), cover, HEIGHTS)


def points(path):
    return np.array([[float(one) for one in pair] for pair in re.findall(r"(-?[\d.]+) (-?[\d.]+)", path)])


@pytest.mark.parametrize(("oktas", "tone"), [(0, ""), (0.4, ""), (1, "few"), (2, "few"), (3, "some"), (4, "some"), (5, "broken"), (7, "broken"), (8, "solid"), (np.nan, "")])
def test_hatching_goes_by_eighths_and_what_is_not_told_is_not_drawn(oktas, tone):
    assert tone_of(oktas / 8) == tone


@pytest.mark.parametrize("sheet", [DESK, HAND])
def test_nothing_is_drawn_outside_the_sheet(sheet):
    whole = section(1.0, 1.0, 0.5)
    drawing = draw_section(whole, [Sight("17:50", 12.0), Sight("19:05", 2.0), Sight("19:20", 0.0)], [LastRay("19:46", deck) for deck in lit_decks(section())[:1]], sheet)
    every = np.concatenate([points(path) for path in (drawing.ground, drawing.earth, *(band.path for band in drawing.bands), *(ray.path for ray in (*drawing.sights, *drawing.last_rays)))])
    assert every.min() >= 0 and every[:, 0].max() <= sheet.width and every[:, 1].max() <= sheet.height
    assert all(10 <= ray.y for ray in drawing.sights)


def test_the_ground_is_an_arch_as_high_as_the_earth_makes_it():
    """By hand: half way of 300 km the ground stands 150² / (2 · 6371) = 1.766 km over the straight line."""
    drawing = draw_section(section(), [], [])
    ground, heights = points(drawing.ground), {mark.words: mark.y for mark in drawing.heights}
    per_km = (heights["0 km"] - heights["12 km"]) / 12
    arch_km = (ground[0, 1] - ground[len(ground) // 2, 1]) / per_km
    assert arch_km == pytest.approx(150**2 / (2 * EARTH_M / 1000), abs=0.01)


def test_a_level_line_of_sight_leaves_the_ground_as_the_earth_falls_away():
    """By hand: looking level, the ray is 300² / (2 · 6371) = 7.06 km up at 300 km."""
    drawing = draw_section(section(), [Sight("19:20", 0.0)], [])
    heights = {mark.words: mark.y for mark in drawing.heights}
    per_km = (heights["0 km"] - heights["12 km"]) / 12
    (_, (x, y)) = points(drawing.sights[0].path)
    assert x == pytest.approx(DESK.width - DESK.right) and (heights["0 km"] - 4 - y) / per_km == pytest.approx(7.06, abs=0.02)


def test_the_last_ray_grazes_the_ground_where_the_cloud_loses_it():
    """√(2 R H) of 9 km is 338.6 km, beyond the sheet; of 4.5 km it is 239.5 km."""
    (deck,) = [one for one in lit_decks(section(middle=0.5, high=0.0)) if one.towards_sun_m == 0]
    drawing = draw_section(section(middle=0.5, high=0.0), [], [LastRay("19:37", deck)])
    ((x, _),) = drawing.touches
    km = (x - DESK.left) / (DESK.width - DESK.left - DESK.right) * 300
    assert km == pytest.approx(239.5, abs=3.0)
    (deck,) = [one for one in lit_decks(section(high=0.5)) if one.towards_sun_m == 0]
    assert draw_section(section(), [], [LastRay("19:46", deck)]).touches == ()


def test_cloud_is_drawn_where_it_is_and_labelled_once_for_each_stretch():
    drawing = draw_section(section(high=[0, 0, 0.5, 0.5, 0.5, 0, 0, 0, 0]), [], [])
    (band,) = drawing.bands
    assert band.tone == "some" and [mark.words for mark in drawing.labels] == ["4 of 8"]
    km = (points(band.path)[:, 0] - DESK.left) / (DESK.width - DESK.left - DESK.right) * 300
    assert (km.min(), km.max()) == (pytest.approx(37.5, abs=0.1), pytest.approx(125.0, abs=0.1))


def test_a_level_that_nobody_tells_of_is_left_out():
    assert draw_section(section(high=np.nan), [], []).bands == ()
