"""Setups read from site files, their geometry and the rule of aim."""

import math

import pytest

from app.errors import BadInput
from app.picture.people import Person
from app.picture.setup import properties_of, setup_from
from app.place.site import Pin, SetupFeature
from tests.picture.scenes import setup_along

HERE, THERE = Pin(54.57, -3.13, 0.0), Pin(54.5701, -3.1302, 1.0)


def feature(**properties) -> SetupFeature:
    return SetupFeature("jetty", "End of the jetty", HERE, THERE, properties)


def test_defaults_are_stated_ones():
    setup = setup_from(feature())
    assert (setup.camera.focal_mm, setup.camera.width_mm, setup.lens_height_m) == (50, 36, 1.6)
    assert setup.looks == ("backlit",) and len(setup.people) == 2


def test_what_is_read_can_be_written_back():
    given = {
        "lens_height_m": 1.2, "focal_length_mm": 85.0, "format": "23.6x15.7", "orientation": "portrait",
        "aim": {"bearing_deg": 271.0, "tilt_deg": 4.0}, "people": [{"name": "Ines", "height_m": 1.68}],
        "looks": ["backlit", {"look": "custom", "offset_deg": [-5, 5]}], "notes": "wet planks", "standby": "Meadow",
    }
    assert properties_of(setup_from(feature(**given))) == given


@pytest.mark.parametrize("properties,words", [
    ({"focal_length_mm": 0}, "focal length is between"),
    ({"focal_length_mm": "wide"}, "focal length is a number"),
    ({"format": "full"}, "format is typed"),
    ({"orientation": "upside"}, "landscape or portrait"),
    ({"aim": "there"}, "aim is “auto”"),
    ({"aim": {"bearing_deg": 400, "tilt_deg": 0}}, "bearing is between"),
    ({"aim": {"bearing_deg": 40}}, "tilt is a number"),
    ({"people": "two"}, "list of at most 12"),
    ({"people": [{"height_m": 18}]}, "height is between"),
    ({"people": [{"name": "Ines"}]}, "height is a number"),
    ({"looks": "backlit"}, "list of names"),
    ({"lens_height_m": 500}, "lens is between"),
])
def test_what_cannot_be_used_names_the_setup(properties, words):
    with pytest.raises(BadInput, match=f"Setup “End of the jetty”: .*{words}"):
        setup_from(feature(**properties))


def test_camera_on_top_of_the_couple_is_refused():
    with pytest.raises(BadInput, match="on top of the couple"):
        setup_from(SetupFeature("a", "A", HERE, HERE, {}))


def test_ground_heights_move_the_eye():
    assert setup_along(couple_ground_m=1.0, lens_m=1.6).eye_m == pytest.approx(0.6, abs=1e-4)


def test_the_rule_of_aim():
    """The line up the middle and the tallest crown at half height: tilt = atan((crown - eye) / distance)."""
    setup = setup_along(268.0, 5.0, lens_m=1.5, people=(Person("", 1.6), Person("", 1.9)))
    assert setup.view.bearing_deg == pytest.approx(268.0, abs=1e-6)
    assert setup.view.tilt_deg == pytest.approx(math.degrees(math.atan(0.4 / 5)), abs=1e-4)
    assert setup_along(aim=(10.0, 3.0)).view.tilt_deg == 3.0
