"""Terrain that is kept for a site counts in every window of it, and damage to it is told."""

from datetime import datetime

import numpy as np
import pytest

from app.place.geodesy import LocalFrame
from app.place.sitefile import parse_site
from app.sky.track import Observer
from app.web.scenes import find_setup, ridges_from, scene_of
from app.web.terrains import kept_terrain
from tests.web.conftest import DEMO

SITE = "merrowmere-boathouse"
CREST_M, GROUND_M = 1100, 70
LAST_HIGH_DEG = -4 + 899 / 1200  # longitude of the last high post; from there the ground falls to the next


def wall_of_rock() -> bytes:
    """One degree at three seconds, low, and high from 3.25° W on westwards, 8 km from the site."""
    heights = np.full((1201, 1201), GROUND_M)
    heights[:, :900] = CREST_M
    return heights.astype(">i2").tobytes()


def load(client) -> None:
    sent = [("files", ("N54W004.hgt", wall_of_rock()))]
    assert client.post(f"/sites/{SITE}/terrain", files=sent, data={"owner": "the surveyors"}).status_code == 200


@pytest.fixture
def setup_id(client) -> str:
    site = parse_site((DEMO / f"{SITE}.geojson").read_bytes())
    return find_setup(site, "End of the jetty").id


def test_a_loaded_ridge_takes_the_sun_earlier_by_its_own_angle(client, setup_id):
    """The ridge's angle by hand: rise over distance along the sun's bearing, the Earth's curve taken off."""
    asked = f"/api/sites/{SITE}/setups/{setup_id}/windows?date=2027-09-18&look=backlit"
    load(client)
    closes = [window for window in client.get(asked).json()["windows"] if window["closes_because"] == "behind the ridge"]
    assert closes
    at = datetime.fromisoformat(closes[-1]["closes"]).timestamp()
    site = parse_site((DEMO / f"{SITE}.geojson").read_bytes())
    setup = find_setup(site, setup_id)
    pin = setup.couple_pin
    sun = Observer(pin.lat_deg, pin.lon_deg, site.centre.height_m).sun_at(np.array([at]))
    frame = LocalFrame(pin.lat_deg, pin.lon_deg)
    west_m = -float(frame.to_metres(pin.lat_deg, LAST_HIGH_DEG, 0.0)[0])
    distance_m = west_m / -np.sin(np.radians(sun.azimuth_deg[0]))
    eye_m = max(GROUND_M, site.centre.height_m + pin.ground_m) + 1.6
    rise_m = CREST_M - eye_m - (1 - 0.13) * distance_m**2 / (2 * 6_380_000.0)
    assert sun.upper_edge_deg[0] == pytest.approx(np.degrees(np.arctan2(rise_m, distance_m)), abs=0.03)  # a step of 0.4 % of the way


def test_the_pages_of_a_site_hide_the_sun_behind_its_terrain(client, setup_id):
    def headline() -> str:
        return client.get(f"/sites/{SITE}/setups/{setup_id}/2027-09-18").context["headline"]

    before = headline()
    load(client)
    assert headline() != before


def test_terrain_that_cannot_be_read_is_told_and_the_site_is_shown_without_it(client):
    load(client)
    store = client.app.state.store
    store.save_terrain(SITE, b"no terrain", "a torn file", "", store.terrain(SITE).version)
    page = client.get(f"/sites/{SITE}")
    assert page.status_code == 200 and "Reckoned without the terrain around." in page.text


def test_terrain_that_does_not_reach_a_pin_hides_nothing(client):
    load(client)
    kept = kept_terrain(client.app.state.store, SITE)
    other = parse_site((DEMO / "quinta-da-alvorinha.geojson").read_bytes())
    setup = find_setup(other, other.setups[0].id)
    assert ridges_from(kept, other, setup.camera_pin, 1.6) is None
    assert np.array_equal(scene_of(other, setup, kept).skyline.altitude_deg, scene_of(other, setup).skyline.altitude_deg)
