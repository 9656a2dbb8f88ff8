"""Ways between spots: straight over the plan, typed, and guessed aloud."""

from dataclasses import replace
from datetime import time

import pytest

from app.shoot.problem import problem_of
from app.shoot.prospect import prospects
from app.shoot.shoot import Meeting, Walk
from app.shoot.walking import leg, leg_from_meeting
from tests.shoot.evenings import pin, scene, shoot, wish

GATE, JETTY = scene("gate"), scene("jetty", east_m=300)


def test_a_walk_over_the_plan_is_its_distance_at_the_pace_in_whole_minutes():
    """300 m by a sphere's degrees are 301 m on the ellipsoid at 52° N: 251 s at 1.2 m/s, 601 s at 0.5 m/s."""
    way = leg(shoot(), ("meadow", GATE), ("meadow", JETTY))
    assert way.minutes == 5 and not way.loud and "301 m" in way.words
    assert leg(replace(shoot(), pace_m_s=0.5), ("meadow", GATE), ("meadow", JETTY)).minutes == 11


def test_whoever_has_the_longer_way_counts():
    """Cameras 100 m apart, couples 8 m to the west of one and to the east of the other: 116 m."""
    west, east = scene("west", 270), scene("east", 90, east_m=100)
    assert "116 m" in leg(shoot(), ("meadow", west), ("meadow", east)).words


def test_the_same_spot_costs_nothing():
    assert leg(shoot(), ("meadow", GATE), ("meadow", GATE)).minutes == 0


@pytest.mark.parametrize("way", [("meadow/gate", "meadow/jetty"), ("meadow/jetty", "meadow/gate")])
def test_a_typed_time_counts_both_ways(way):
    typed = shoot(walks=(Walk(*way, 17, "stairs"),))
    assert leg(typed, ("meadow", GATE), ("meadow", JETTY)).minutes == 17
    assert leg(typed, ("meadow", JETTY), ("meadow", GATE)).minutes == 17


def test_another_site_is_a_loud_guess_until_somebody_types_it():
    """0.2° of longitude at 52° N are 13.7 km, 20.6 minutes at 40 km/h."""
    far = scene("pier", lon=-0.8)
    guess = leg(shoot(), ("meadow", GATE), ("harbour", far))
    assert guess.loud and guess.minutes == 21 and "guess" in guess.words and "13.7 km" in guess.words
    typed = shoot(walks=(Walk("meadow/gate", "harbour/pier", 35),))
    assert leg(typed, ("meadow", GATE), ("harbour", far)).minutes == 35


def test_the_first_slot_waits_for_the_walk_from_the_meeting_point_and_the_change():
    met = shoot(wish("gate", change_before_min=15, lights_min=30), meeting=Meeting("At the stile", pin(-302)))
    assert leg_from_meeting(met, met.wishes[0], GATE).minutes == 5  # 302 - 8 m to the couple
    assert problem_of(met, prospects(met, {"gate": GATE})).arrival_min.tolist() == [20]
    assert leg_from_meeting(shoot(), met.wishes[0], GATE).minutes == 0


def test_between_slots_clothes_and_lights_go_side_by_side():
    both = shoot(wish("gate"), wish("jetty", change_before_min=15, lights_min=10), free=((time(17), time(20)),))
    task = problem_of(both, prospects(both, {"gate": GATE, "jetty": JETTY}))
    assert task.gap_min.tolist() == [[0, 20], [5, 0]]


def test_a_typed_time_says_why_it_was_typed():
    stairs = shoot(walks=(Walk("meadow/gate", "meadow/jetty", 9, "ninety steps"),))
    assert leg(stairs, ("meadow", GATE), ("meadow", JETTY)).words == "9 min as typed: ninety steps"


def test_a_guess_between_sites_near_by_is_told_in_metres():
    assert "301 m in a straight line" in leg(shoot(), ("meadow", GATE), ("shore", JETTY)).words
