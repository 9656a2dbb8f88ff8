"""The map of low evening sun: against single squares worked out by shadow lengths and by asking each minute."""

from datetime import UTC, datetime

import numpy as np
import pytest

from app.light.low_sun import LowSunMap, low_sun_minutes
from app.place.shade import ShadeField
from app.place.skyline import Skyline, level_skyline
from app.sky.track import Observer
from tests.place.venue import HERE, box, disc, house, site_of, wall

FELLS = Observer(HERE.lat_deg, HERE.lon_deg)
START = datetime(2027, 9, 23, tzinfo=UTC).timestamp()
END = START + 86_400.0
ONE_STEP = 1.0  # minutes


def at(found: LowSunMap, east_m, north_m):
    """The minutes of the square around a point."""
    column, row = (int((place - corner) // found.cell_m) for place, corner in ((east_m, found.west_m), (north_m, found.south_m)))
    return found.minutes[row, column]


def sinking(low_deg, high_deg):
    """Minutes in which the sun's middle sinks from one altitude to another, looked at every second."""
    sun = FELLS.sun_at(np.arange(START + 43_200.0, END))
    return np.count_nonzero((sun.refracted_deg <= high_deg) & (sun.refracted_deg > low_deg)) / 60.0


def test_open_ground_gets_all_there_is_from_fifteen_degrees_down():
    found = low_sun_minutes(site_of(), FELLS, START, END)
    assert found.minutes.shape == (100, 100)
    assert np.all(found.minutes == found.open_minutes)
    assert found.open_minutes == pytest.approx(sinking(0.0, 15.0), abs=ONE_STEP)
    assert (found.west_m, found.south_m) == (-100.0, -100.0)


def test_only_the_evening_counts():
    morning = low_sun_minutes(site_of(), FELLS, START, START + 43_200.0)
    assert morning.open_minutes == 0.0


def test_from_now_on_only_what_is_left_counts():
    whole = low_sun_minutes(site_of(), FELLS, START, END)
    later = low_sun_minutes(site_of(), FELLS, END - 21_600.0 - 1800.0, END)
    assert 0.0 < later.open_minutes < whole.open_minutes


def test_behind_a_long_wall_the_sun_goes_when_its_shadow_arrives():
    """A face at 1.6 m, 20.5 m east of a wall of 4.6 m: hidden once tan(altitude) < 3 / (20.5 / sin(azimuth off the wall))."""
    site = site_of(wall([(-20.0, -900.0), (-20.0, 900.0)], 4.6))
    found = low_sun_minutes(site, FELLS, START, END, cell_m=1.0)
    sun = FELLS.sun_at(np.arange(START + 43_200.0, END))
    height = np.tan(np.radians(sun.refracted_deg)) * 20.5 / np.sin(np.radians(sun.azimuth_deg - 180.0))
    expected = np.count_nonzero((height > 3.0) & (sun.refracted_deg <= 15.0)) / 60.0
    assert 10.0 < expected < found.open_minutes - 10.0
    assert at(found, 0.5, 0.5) == pytest.approx(expected, abs=ONE_STEP)
    assert at(found, -30.5, 0.5) == found.open_minutes


def test_foliage_counts_by_its_share():
    opaque, thin = (
        low_sun_minutes(site_of(wall([(-20.0, -900.0), (-20.0, 900.0)], 4.6, lets_through=share)), FELLS, START, END, cell_m=4.0)
        for share in (0.0, 0.25)
    )
    dark, whole = at(opaque, 1.0, 1.0), opaque.open_minutes
    assert at(thin, 1.0, 1.0) == pytest.approx(dark + 0.25 * (whole - dark))


def test_a_hill_far_away_takes_the_end_of_the_evening_everywhere():
    hill = Skyline([0.0], [4.0], ("the hill",))
    found = low_sun_minutes(site_of(), FELLS, START, END, skyline=hill)
    assert found.open_minutes == pytest.approx(sinking(4.0, 15.0), abs=ONE_STEP)


def test_squares_in_a_house_are_told_apart():
    found = low_sun_minutes(site_of(house(box(-10, 10, -10, 10), 6.0)), FELLS, START, END)
    assert found.built_on.sum() == 100
    assert np.all(found.minutes[found.built_on] == 0.0)


def test_every_square_agrees_with_asking_it_alone_each_minute():
    rng = np.random.default_rng(5)
    houses = [house(disc(*rng.uniform(-90, 90, 2), rng.uniform(3, 12), 5), rng.uniform(3, 15), f"{i}") for i in range(12)]
    site = site_of(*houses)
    found = low_sun_minutes(site, FELLS, START, END, cell_m=20.0, skyline=level_skyline())
    sun = FELLS.sun_at(np.arange(START + 43_230.0, END, 60.0))
    low = (sun.refracted_deg > 0.0) & (sun.refracted_deg <= 15.0)
    point = ShadeField(site, above_ground_m=1.6).at([30.0], [-50.0])
    minutes = sum(point.light(*pair)[0] for pair in zip(sun.azimuth_deg[low], sun.refracted_deg[low], strict=True))
    assert at(found, 30.0, -50.0) == pytest.approx(minutes)
    assert found.minutes.min() < found.open_minutes
