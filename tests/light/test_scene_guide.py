"""Predicted light against the scenes of the trade's exposure guide.

ANSI PH2.7-1973 and PH2.7-1986, values at ISO 100 as tabulated in an encyclopedia article; the
standards themselves were not seen. The guide goes by whole stops, so one stop either way is as
near as it can be met. Which cloud cover each of its words means is an assumption of this test.
"""

import numpy as np
import pytest

from app.light.day import daylight_over, face_lux, ground_lux, sky_cd_m2
from app.light.exposure import ev100_of_cd_m2, ev100_of_lux, ev100_of_settings
from app.light.faces import Face
from app.light.ground import albedo_of
from app.light.spot import Spot
from tests.light.test_day_by_table import from_noon

STOP = 1.0
JUNE = from_noon(45.0, 6)
HIGH_DEG = (20.0, 30.0, 45.0, 60.0)  # the rows of direct sun hold from 2 h after sunrise to 2 h before sunset
OFF_SUN_DEG, OVER_DEG = 40.0, 1.0  # of the sky that a sunset is metered at: beside the sun, over the skyline


def day_at(altitude_deg, cover=0.0, linke=3.0):
    """The moment of an evening in June at which the sun's middle has sunk to an airless altitude."""
    moment = int(np.argmin(np.abs(JUNE.airless_deg - altitude_deg)))
    return daylight_over(JUNE[moment : moment + 1], linke, cover)


def facing_the_sun(day):
    return Face("the cell", (0.0, 0.0, 1.6), float(day.sun.azimuth_deg[0]), float(day.sun.refracted_deg[0]))


def beside_the_sun_ev(altitude_deg):
    day = day_at(altitude_deg)
    return ev100_of_cd_m2(sky_cd_m2(day, day.sun.azimuth_deg + OFF_SUN_DEG, OVER_DEG))[0]


@pytest.mark.parametrize("sun_deg", HIGH_DEG)
def test_full_sun_is_15(sun_deg):
    """The cell faces the sun, as ANSI's tables of incident light have it."""
    day = day_at(sun_deg)
    found = ev100_of_lux(face_lux(day, Spot(), facing_the_sun(day)))
    assert found == pytest.approx(15.0, abs=STOP)
    assert found == pytest.approx(ev100_of_settings(16, 1 / 100, 100), abs=STOP), "sunny sixteen"


@pytest.mark.parametrize(("ground", "sun_deg"), [("sand", 30.0), ("sand", 45.0), ("sand", 60.0), ("snow", 20.0), ("snow", 30.0)])
def test_sand_and_snow_in_full_sun_are_16(ground, sun_deg):
    """What such ground itself sends to a spot meter; snow under the low sun of the months that have it."""
    assert ev100_of_cd_m2(albedo_of(ground) * ground_lux(day_at(sun_deg), Spot()) / np.pi) == pytest.approx(16.0, abs=STOP)


@pytest.mark.parametrize("sun_deg", HIGH_DEG)
def test_hazy_sun_with_soft_shadows_is_14(sun_deg):
    """Taken as a cover of three quarters."""
    day = day_at(sun_deg, cover=0.75)
    assert ev100_of_lux(face_lux(day, Spot(), facing_the_sun(day))) == pytest.approx(14.0, abs=STOP)


@pytest.mark.parametrize("sun_deg", HIGH_DEG)
def test_full_cover_lies_from_heavy_overcast_12_to_bright_cloud_13(sun_deg):
    """The cell looks up at a grey sky. The cloud factor is a mean over all overcast skies, bright and heavy, so half a stop past either."""
    assert 11.5 <= ev100_of_lux(ground_lux(day_at(sun_deg, cover=1.0), Spot())) <= 13.5


@pytest.mark.parametrize("sun_deg", HIGH_DEG)
def test_open_shade_under_a_clear_sky_is_12(sun_deg):
    assert ev100_of_lux(ground_lux(day_at(sun_deg), Spot(light_share=0.0))) == pytest.approx(12.0, abs=STOP)


@pytest.mark.parametrize(("sun_deg", "low_ev", "high_ev"), [(2.0, 12.0, 14.0), (1.0, 12.0, 14.0), (-0.8333, 12.0, 12.0), (-2.0, 9.0, 11.0), (-3.0, 9.0, 11.0)])
def test_the_sky_of_a_sunset(sun_deg, low_ev, high_ev):
    """Just before 12 to 14, at sunset 12, just after 9 to 11: of the sky, not of the land."""
    assert low_ev - STOP <= beside_the_sun_ev(sun_deg) <= high_ev + STOP


def test_at_sunset_the_land_is_four_stops_and_a_half_under_the_sky():
    """454 lx on level ground (*Explanatory Supplement*, column A) are EV 7.5, where the guide's sky is 12."""
    land = ev100_of_lux(ground_lux(day_at(-0.8333), Spot()))
    assert land == pytest.approx(7.5, abs=0.1)
    assert beside_the_sun_ev(-0.8333) - land == pytest.approx(4.5, abs=STOP)
