"""Which setup takes a slot, for each trouble."""

import math
import re
from dataclasses import replace
from datetime import time

import pytest

from app.looks.catalogue import LOOKS
from app.looks.margin import Scene
from app.picture.weather import Weather
from app.place.skyline import Skyline, level_skyline
from app.shoot.order import running_order
from app.shoot.prospect import looks_wanted
from app.shoot.standby import (
    BATHERS,
    BREAKS,
    CLOUD,
    CROWD,
    LOST,
    WIND,
    NoStandby,
    Standby,
    answers,
    standbys,
    survives,
)
from app.sky.track import Observer
from tests.picture.pools import LAT as POOL_LAT
from tests.picture.pools import LON as POOL_LON
from tests.picture.pools import box, pool, setup_by, site_with
from tests.shoot.evenings import scene, shoot, wish

FREE = ((time(17), time(20)),)


def proposals(scenes, *wishes, extra=None):
    order = running_order(shoot(*wishes, free=FREE), scenes)
    candidates = {("meadow", name): of for name, of in (scenes | (extra or {})).items()}
    found = standbys(order.shoot, order.light, order.plan, candidates)
    return {(one.wish_id, one.trouble): one for one in found}


def shade(name="wall", east_m=90.0):
    """A setup in the shade of a wall to the west, facing open sky."""
    wall = Skyline([0.0, 200.0, 210.0, 330.0, 340.0], [0.0, 0.0, 30.0, 30.0, 0.0], ("the wall",) * 5)
    return scene(name, 270, ("open shade",), east_m, skyline=wall)


def test_every_look_has_what_breaks_it():
    assert set(BREAKS) == set(LOOKS)


def test_cloud_sends_a_backlit_slot_to_open_shade():
    found = proposals({"gate": scene("gate", 258)}, wish("gate"), extra={"wall": shade(), "oak": scene("oak", 262, east_m=60)})
    standby = found["gate", CLOUD]
    assert isinstance(standby, Standby) and (standby.spot, standby.look, standby.cost_min) == ("meadow/wall", "open shade", 2)
    assert not standby.named and "Cloud before the sun" in standby.words and "costs 2 min" in standby.words


def closed_in(name, east_m=60.0):
    """A setup among high walls, where nobody faces open sky."""
    return scene(name, 262, east_m=east_m, skyline=Skyline([0.0], [60.0], ("walls",)))


def test_cloud_leaves_no_look_that_needs_the_sun_and_open_shade_is_the_spare_one():
    found = proposals({"gate": scene("gate", 258)}, wish("gate"), extra={"oak": scene("oak", 262, east_m=60)})
    spare = found["gate", CLOUD]
    assert spare.look == "open shade" and not spare.own_look and "none of its looks" in spare.words
    found = proposals({"gate": scene("gate", 258)}, wish("gate"), extra={"court": closed_in("court")})
    assert isinstance(found["gate", CLOUD], NoStandby) and "nothing within 10 min" in found["gate", CLOUD].words


def test_a_crowd_sends_people_some_way_off_and_not_next_door():
    near, far = scene("near", 258, east_m=30), scene("oak", 262, east_m=90)
    found = proposals({"gate": scene("gate", 258)}, wish("gate"), extra={"near": near, "oak": far})
    assert found["gate", CROWD].spot == "meadow/oak"


def test_twenty_minutes_late_takes_what_still_has_light_then():
    late, early = scene("late", 285, ("afterglow",), 60), scene("early", 252, east_m=60)
    at = shoot(wish("gate", fixed_start_utc_s=shoot(free=FREE).open_time[0].starts_utc_s + 115 * 60), free=FREE)
    order = running_order(at, {"gate": scene("gate", 258)})
    found = standbys(at, order.light, order.plan, {("meadow", "late"): late, ("meadow", "early"): early})
    (lost,) = [one for one in found if one.trouble == LOST]
    assert lost.spot == "meadow/late" and lost.look == "afterglow"


def test_a_named_standby_goes_first_and_is_told_of_when_it_would_fail_too():
    gate = replace(scene("gate", 258), setup=replace(scene("gate", 258).setup, standby="steps"))
    wall, steps = shade(), shade("steps", east_m=200.0)
    found = proposals({"gate": gate}, wish("gate"), extra={"wall": wall, "steps": steps})
    assert found["gate", CLOUD].spot == "meadow/steps" and found["gate", CLOUD].named
    sunny = proposals({"gate": gate}, wish("gate"), extra={"steps": closed_in("steps")})
    assert "“Steps”, which you named, would fail too" in sunny["gate", CLOUD].words


def test_too_far_on_foot_is_no_standby():
    found = proposals({"gate": scene("gate", 258)}, wish("gate"), extra={"wall": shade(east_m=900)})
    assert isinstance(found["gate", CLOUD], NoStandby)


def test_a_standby_with_a_slot_of_its_own_says_so():
    found = proposals({"gate": scene("gate", 258), "wall": shade()}, wish("gate"), wish("wall"))
    assert re.search(r"It is planned for \d\d:\d\d as well\.$", found["gate", CLOUD].words)


def test_a_look_that_a_wish_asks_of_a_spot_is_one_of_its_own():
    oak = scene("oak", 262, east_m=60)  # which by itself asks for no open shade
    at = shoot(wish("gate"), wish("oak", looks=("open shade",)))
    order = running_order(at, {"gate": scene("gate", 258), "oak": oak})
    found = standbys(at, order.light, order.plan, {("meadow", "oak"): oak})
    (standby,) = [one for one in found if (one.wish_id, one.trouble) == ("gate", CLOUD)]
    assert standby.look == "open shade" and standby.own_look and "none of its looks" not in standby.words


def test_troubles_with_one_answer_share_a_sentence():
    found = tuple(proposals({"gate": scene("gate", 258)}, wish("gate"), extra={"wall": shade()}).values())
    words = answers(found)
    assert len({one.words.partition(": ")[2] for one in found}) == len(words) < len(found)
    assert any("; or " in one and one.count("go to “Wall”") == 1 for one in words)
    assert all(one.trigger.lower() in " ".join(words).lower() for one in found)


@pytest.mark.parametrize(("trouble", "holds"), [(WIND, False), (BATHERS, False), (CROWD, True)])
def test_water_looks_are_tried_in_wind_and_with_people_in_the_water(trouble, holds):
    held, site = setup_by(people=()), site_with(pool(box(5, 100, -60, 60)))
    of = Scene(Observer(POOL_LAT, POOL_LON), held, level_skyline(), level_skyline(), site=site, weather=Weather(0.0))
    (look,) = looks_wanted(wish("any", looks=("mirror",)), of)
    start = 1_821_282_600.0  # 18 September 2027, 15:30 UTC: some 20 minutes after the mirror's image comes
    lit = [survives(look, of, trouble, start + 600 * step, start + 600 * (step + 1)) for step in range(18)]
    assert (max(lit) > 0.1) == holds and not math.isnan(sum(lit))
