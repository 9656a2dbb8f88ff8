"""What is behind the people: by hand for a level lens, one from below, one from above, and over water."""

from dataclasses import replace

import pytest

from app.picture.backdrop import GROUND, SKY, STANDS, WATER, backdrop
from app.place.skyline import level_skyline
from app.web.scenes import scene_of
from tests.picture.pools import box, setup_by, site_with, thing


def behind(setup, site=None):
    scene = scene_of(site or site_with(), setup)
    return backdrop(scene.setup, scene.skyline, scene.site)


def test_from_below_their_heads_stand_against_the_sky():
    """Faces at 0.935 times 1.68 and 1.83 m in the mean, 1.64 m; from 0.5 m at 8 m that is atan(1.14 / 8) = 8.1° up."""
    found = behind(replace(setup_by(8.0, aim=None), lens_height_m=0.5))
    assert found.kind == SKY and found.sky_shows and found.altitude_deg == pytest.approx(8.1, abs=0.1)


def test_from_above_they_stand_against_the_ground_or_the_water():
    high = replace(setup_by(8.0, aim=None), lens_height_m=4.0)
    found = backdrop(high, level_skyline())
    assert found.kind == GROUND and found.altitude_deg == pytest.approx(-16.5, abs=0.2)  # atan(2.36 / 8)


def test_a_wall_behind_them_is_what_stands_there():
    wall = site_with(thing(box(20, 24, -40, 40), 12.0))
    found = behind(replace(setup_by(8.0, aim=None), lens_height_m=1.2), wall)
    assert found.kind == STANDS and found.reflectance == 0.0


def test_water_mirrors_by_fresnel_at_the_angle_of_the_look():
    """At a grazing 3.3° fresh water sends back most of it; Fresnel by hand at incidence 86.7°, n 1.333: 0.70."""
    from app.place.sitefile import parse_site
    from app.web.scenes import find_setup

    with open("demo_sites/ternevag-quay.geojson", encoding="utf-8") as file:
        site = parse_site(file.read())
    found = behind(find_setup(site, "setup-slipway"), site)
    assert found.kind == WATER and found.mirrors_sky and found.altitude_deg > 0
    assert found.reflectance == pytest.approx(0.70, abs=0.03)
