"""What a setup says of its light: read with a kit, in metres about the couple, every fault in words."""

from dataclasses import replace

import pytest

from app.errors import BadInput
from app.light.kit import DEMO_KIT
from app.looks.light_plan import light_plan
from app.picture.people import Person
from tests.picture.pools import FRAME, LINE_DEG, corners, setup_by

FLASH = "Battery head, 400 Ws"


def pin(ahead_m, right_m):
    lon, lat = corners([(ahead_m, right_m)])[0]
    return [lon, lat]


def with_light(**told):
    return replace(setup_by(8.0), lights=({"flash": FLASH, "pin": pin(6.0, 2.0), **told},))


def test_what_is_left_out_takes_the_stated_default():
    plan = light_plan(setup_by(8.0), DEMO_KIT)
    assert (plan.intent.words, plan.ground, plan.lights) == ("faces right", "grass", ())
    assert plan.limits.widest_f_number == 1.8 and plan.limits.nd_stops == (3.0, 6.0)
    assert [face.facing_deg for face in plan.faces] == pytest.approx([(LINE_DEG + 180) % 360] * 2, abs=0.01)


def test_a_light_stands_in_metres_about_the_couple_and_looks_at_them():
    (light,) = light_plan(with_light(height_m=2.4, modifier="Softbox 60 cm", gel="half CTO", power_stops=-2), DEMO_KIT).lights
    east, north, up = light.position_m
    there = FRAME.to_metres(*pin(6.0, 2.0)[::-1])
    couple = FRAME.to_metres(*pin(8.0, 0.0)[::-1])
    assert (east, north, up) == pytest.approx((there[0] - couple[0], there[1] - couple[1], 2.4), abs=0.001)
    assert light.aim_m == pytest.approx((0.0, 0.0, 0.935 * (1.68 + 1.83) / 2), abs=0.001)
    assert (light.modifier.name, light.gel.name, light.power_stops) == ("Softbox 60 cm", "half CTO", -2)


def test_it_may_look_at_one_person_or_at_a_point():
    faces = light_plan(setup_by(8.0), DEMO_KIT).faces
    assert light_plan(with_light(aim=2), DEMO_KIT).lights[0].aim_m == faces[1].position_m
    assert light_plan(with_light(aim=[*pin(8.0, 0.0), 1.0]), DEMO_KIT).lights[0].aim_m == pytest.approx((0, 0, 1.0), abs=0.001)


def test_people_look_where_they_are_told_to():
    setup = setup_by(8.0, people=(Person("Ada", 1.7, 90.0), Person("", 1.8)))
    faces = light_plan(setup, DEMO_KIT).faces
    assert faces[0].facing_deg == 90.0 and (faces[0].name, faces[1].name) == ("Ada", "person 2")


@pytest.mark.parametrize("told,words", [
    ({"flash": "Torch"}, "no flash “Torch”"),
    ({"modifier": "Bin bag"}, "no modifier “Bin bag”"),
    ({"gel": "rose"}, "no gel “rose”"),
    ({"pin": "there"}, "is \\[longitude, latitude\\]"),
    ({"pin": [0.0, 0.0]}, "within 100 m of the couple"),
    ({"aim": 3}, "a person's number from 1 to 2"),
    ({"aim": "the dog"}, "“the dog” came"),
    ({"height_m": 99}, "The light's height"),
    ({"power_stops": 3}, "The power in stops"),
])
def test_what_cannot_be_used_is_told(told, words):
    with pytest.raises((BadInput, ValueError), match=words):
        light_plan(with_light(**told), DEMO_KIT)


@pytest.mark.parametrize("told,words", [
    ({"intent": "dark"}, "An intent is one of"),
    ({"ground": "lava"}, "The ground is"),
    ({"camera": "Box"}, "no camera “Box”"),
    ({"lens": "Glass"}, "no lens “Glass”"),
    ({"f_number": 0.2}, "outside the lens|lies between"),
])
def test_an_exposure_that_cannot_be_used_is_told(told, words):
    with pytest.raises(BadInput, match=words):
        light_plan(replace(setup_by(8.0), exposure=told), DEMO_KIT)
