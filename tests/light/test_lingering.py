"""Where low sun stays longest, and mornings beside evenings, on venues small enough to be worked by hand."""

from dataclasses import replace
from datetime import UTC, datetime

import numpy as np
import pytest

from app.light.lingering import lingering_places, squares_m
from app.light.low_sun import low_sun_minutes
from app.place.site import Pin, Water
from app.sky.track import Observer
from tests.place.venue import HERE, box, house, site_of, wall

FELLS = Observer(HERE.lat_deg, HERE.lon_deg)
START = datetime(2027, 9, 23, tzinfo=UTC).timestamp()
END = START + 86_400.0
LONG_WALL = [(0.0, -900.0), (0.0, 900.0)]


def mapped(site, **how):
    return low_sun_minutes(site, FELLS, START, END, cell_m=4.0, **how)


def test_the_best_place_is_the_best_square_of_the_map():
    site = site_of(wall(LONG_WALL, 30.0))
    low = mapped(site)
    first, *others = lingering_places(site, low)
    assert first.minutes == low.minutes.max() and first.east_m < 0.0  # west of the wall the evening is free
    assert all(other.minutes <= first.minutes for other in others)


def test_of_equal_squares_the_one_nearest_to_a_pin_comes_first():
    site = site_of()
    lat_deg, lon_deg, _ = site.local_frame.to_degrees(50.0, -30.0)
    first = lingering_places(site, mapped(site), [Pin(float(lat_deg), float(lon_deg))])[0]
    assert (first.east_m, first.north_m) == (50.0, -30.0)


def test_places_keep_apart():
    site = site_of()
    places = lingering_places(site, mapped(site), few=5, apart_m=25.0)
    apart = [np.hypot(a.east_m - b.east_m, a.north_m - b.north_m) for n, a in enumerate(places) for b in places[:n]]
    assert len(places) == 5 and min(apart) >= 25.0


def test_nobody_is_sent_into_a_house_or_into_water():
    """A house over the site's middle, and water all round it but for a strip in the east."""
    ring = [(-100.0, -100.0), (60.0, -100.0), (60.0, 100.0), (-100.0, 100.0), (-100.0, -100.0)]
    site = site_of(house(box(-10, 10, -10, 10), 6.0))
    lat_deg, lon_deg, _ = site.local_frame.to_degrees(*np.array(ring).T)
    water = Water("w", "the pond", tuple(zip(lon_deg.tolist(), lat_deg.tolist(), strict=True)), (), 0.0, True)
    assert all(place.east_m > 60.0 for place in lingering_places(replace(site, waters=(water,)), mapped(site)))


def test_where_no_low_sun_comes_there_is_no_best_place():
    site = site_of()
    assert lingering_places(site, low_sun_minutes(site, FELLS, END - 7200.0, END, cell_m=4.0)) == ()


def test_squares_are_told_by_their_middles():
    east_m, north_m = squares_m(mapped(site_of()))
    assert east_m.shape == (50, 50)
    assert (east_m[0, 0], north_m[0, 0], east_m[0, -1], north_m[-1, 0]) == (-98.0, -98.0, 98.0, 98.0)


def test_a_wall_takes_the_morning_in_the_west_and_the_evening_in_the_east():
    """At the equinox the sun goes from east to west, so the two maps are each other's mirror image."""
    site = site_of(wall(LONG_WALL, 5.0))
    morning, evening = mapped(site, rising=True).minutes, mapped(site).minutes
    assert morning[:, :20].mean() < morning[:, 30:].mean()
    assert evening[:, :20].mean() > evening[:, 30:].mean()
    assert morning.mean() == pytest.approx(evening.mean(), abs=2.0)  # two steps; the sun's declination moves 0.4° in a day
