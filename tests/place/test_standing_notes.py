"""What is said of camera and couple that stand in buildings, in water and at its edge."""

from dataclasses import replace

import pytest

from app.place.site import Water
from app.place.standing_notes import EDGE_M, standing_notes
from tests.place.venue import box, closed, corners, house, pin_at, site_of, wall

AWAY = pin_at(0, -80)


def pond(*islands, surface_m=0.0, name="the pond"):
    rings = [corners(closed(ring)) for ring in (box(-20, 20, 0, 30), *islands)]
    return Water("pond", name, rings[0], tuple(rings[1:]), surface_m, False)


def drawing(kind, metres, name="jetty"):
    lonlat = [list(corner) for corner in (corners(metres) if metres else ())]
    return {
        "type": "Feature",
        "properties": {"role": "drawing", "name": name},
        "geometry": {"type": kind, "coordinates": [lonlat] if kind == "Polygon" else lonlat},
    }


def site(*obstacles, waters=(), drawn=()):
    return replace(site_of(*obstacles), waters=tuple(waters), document={"features": list(drawn)})


def told(where, camera=AWAY, couple=AWAY, lens_height_m=1.6):
    return [(note.title, note.words) for note in standing_notes(where, camera, couple, lens_height_m)]


def test_in_the_open_on_dry_ground_there_is_nothing_to_say():
    assert told(site(house(box(-5, 5, 20, 30), 6.0), waters=[pond()])) == []


def test_a_camera_in_a_building_is_told_that_it_is_left_out_of_the_view():
    boathouse = house(box(-5, 5, -5, 5), 6.0, name="the boathouse")
    assert told(site(boathouse), camera=pin_at(1, 1)) == [
        ("Inside a building", "The camera stands inside the boathouse: it is left out of the view.")
    ]


def test_a_camera_on_the_roof_is_not_inside():
    assert told(site(house(box(-5, 5, -5, 5), 6.0)), camera=pin_at(0, 0, ground_m=6.0)) == []


@pytest.mark.parametrize(
    ("obstacle", "title", "words"),
    [
        (house(box(-5, 5, -5, 5), 9.0, "the larches", "trees"), "Among trees", "The couple stand among the larches: they are left out of the light"),
        (wall([(-5, 0), (5, 0)], 2.0), "In a wall", "The couple stand in the wall: it is left out of the light on them."),
        (house(box(-5, 5, -5, 5), 3.0, "the pergola", "canopy", base_m=1.0), "Inside a roof", "The couple stand up in the pergola"),
    ],
)  # fmt: skip
def test_each_kind_of_obstacle_has_its_words(obstacle, title, words):
    ((found, sentence),) = told(site(obstacle), couple=pin_at(0, 0))
    assert found == title and sentence.startswith(words)


def test_under_a_canopy_is_not_inside():
    assert told(site(house(box(-5, 5, -5, 5), 3.0, kind="canopy", base_m=2.4)), couple=pin_at(0, 0)) == []


def test_several_buildings_round_one_pin_stand_in_one_sentence():
    both = (house(box(-5, 5, -5, 5), 6.0, "the barn"), house(box(-2, 2, -2, 2), 9.0, "the tower"))
    ((_, words),) = told(site(*both), camera=pin_at(0, 0))
    assert words == "The camera stands inside the barn and the tower: they are left out of the view."


@pytest.mark.parametrize(
    ("ground_m", "words"),
    [(0.0, "level with the surface"), (-0.4, "0.4 m under the surface"), (0.6, "0.6 m above the surface")],
)
def test_a_camera_in_the_water_is_asked_to_check_the_depth(ground_m, words):
    ((title, sentence),) = told(site(waters=[pond()]), camera=pin_at(0, 10, ground_m))
    assert title == "In the water"
    assert sentence.startswith("The camera stands in the pond, ") and words in sentence
    assert "check the depth" in sentence and "Local rules" in sentence


def test_the_ground_is_compared_with_the_surface_and_not_with_the_site_s_zero():
    ((_, sentence),) = told(site(waters=[pond(surface_m=2.0)]), camera=pin_at(0, 10, 1.5))
    assert "0.5 m under the surface" in sentence


@pytest.mark.parametrize("kind,metres", [("Polygon", closed(box(-2, 2, -5, 12))), ("LineString", [(0.5, -5), (0.5, 12)])])
def test_a_jetty_drawn_there_carries_them_and_its_edge_is_wet(kind, metres):
    ((title, sentence),) = told(site(waters=[pond()], drawn=[drawing(kind, metres)]), couple=pin_at(0, 10, 0.5))
    assert title == "Wet edge" and sentence.startswith("The couple stand on the jetty, over the pond.")


def test_a_jetty_elsewhere_carries_nobody():
    elsewhere = [drawing("LineString", [(8, -5), (8, 12)]), drawing("Polygon", closed(box(5, 7, 0, 5))), drawing("Point", [])]
    ((title, _),) = told(site(waters=[pond()], drawn=elsewhere), couple=pin_at(0, 10))
    assert title == "In the water"


def test_a_boathouse_over_the_water_has_a_floor():
    notes = told(site(house(box(-5, 5, 5, 15), 6.0, "the boathouse"), waters=[pond()]), camera=pin_at(0, 10))
    assert [title for title, _ in notes] == ["Inside a building", "Wet edge"]
    assert "on the floor of the boathouse" in notes[1][1]


def test_an_island_is_dry_in_its_middle_and_wet_at_its_edge():
    lake = pond(box(-10, 10, 10, 20))
    assert told(site(waters=[lake]), camera=pin_at(0, 15)) == []
    ((title, sentence),) = told(site(waters=[lake]), camera=pin_at(0, 18.5))
    assert title == "Wet edge" and "1.5 m from the edge" in sentence


@pytest.mark.parametrize(("south_m", "wet"), [(EDGE_M - 0.05, True), (EDGE_M + 0.05, False)])
def test_an_edge_is_wet_within_two_metres(south_m, wet):
    assert bool(told(site(waters=[pond()]), couple=pin_at(0, -south_m))) is wet


def test_both_at_the_edge_hear_the_caution_once():
    ((title, sentence),) = told(site(waters=[pond(name="water")]), camera=pin_at(3, -1), couple=pin_at(0, -1))
    assert title == "Wet edge" and sentence.count("slippery") == 1
    assert "The camera stands 1.0 m from the edge of the water. The couple stand 1.0 m" in sentence


def test_drawings_that_are_damaged_carry_nobody():
    """The site file keeps roles it does not know as they came."""
    odd = [{"type": "Feature", "geometry": None, "properties": None}, drawing("Polygon", []), {"type": "Feature", "properties": {"role": "drawing"}}]
    ((title, _),) = told(site(waters=[pond()], drawn=odd), couple=pin_at(0, 10))
    assert title == "In the water"
