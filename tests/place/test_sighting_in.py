"""One more sighted point in a site's survey."""

import json
from dataclasses import replace
from pathlib import Path

import pytest

from app.errors import BadInput
from app.place.sighting_in import with_sighting
from app.place.site import Pin
from app.place.sitefile import parse_site
from app.place.skyline import ground_skyline

DEMO = Path(__file__).parents[2] / "demo_sites"
SURVEYED = [path for path in sorted(DEMO.glob("*.geojson")) if parse_site(path.read_bytes()).surveys]


def site(path=SURVEYED[0]):
    return parse_site(path.read_bytes())


def again(document):
    return parse_site(json.dumps(document))


def points(survey):
    return {(round(one.bearing_deg, 2), one.altitude_deg) for one in survey.sightings}


@pytest.mark.parametrize("path", SURVEYED, ids=lambda path: path.stem)
def test_a_point_goes_into_the_survey_from_this_place(path):
    before = site(path)
    survey = before.surveys[0]
    after = again(with_sighting(before, survey.pin, 1.6, 123.37, 4.25))
    assert len(after.surveys) == len(before.surveys)
    assert points(after.surveys[0]) - points(survey) == {(123.37, 4.25)} and points(survey) <= points(after.surveys[0])


def test_elsewhere_a_new_survey_keeps_what_counted_there():
    before = site()
    here = before.surveys[0].pin
    there = replace(here, lat_deg=here.lat_deg + 0.002)  # 220 m north
    after = again(with_sighting(before, there, 1.6, 123.37, 4.25))
    assert len(after.surveys) == len(before.surveys) + 1
    old, new = ground_skyline(before, there), ground_skyline(after, there)
    assert new.altitude_at(123.37) == pytest.approx(4.25)
    assert new.altitude_at(before.surveys[0].sightings[0].bearing_deg) == pytest.approx(old.altitude_at(before.surveys[0].sightings[0].bearing_deg))


def test_a_point_sighted_anew_replaces_the_old_one_and_keeps_its_name():
    before = site()
    named = next(one for one in before.surveys[0].sightings if one.called)
    after = again(with_sighting(before, before.surveys[0].pin, 1.6, named.bearing_deg + 0.3, 7.5)).surveys[0]
    assert len(after.sightings) == len(before.surveys[0].sightings)
    assert next(one for one in after.sightings if one.altitude_deg == 7.5).called == named.called


def test_a_site_without_a_survey_gets_its_first():
    before = site()
    bare = parse_site(json.dumps({**before.document, "features": [one for one in before.document["features"] if one["properties"]["role"] != "survey"]}))
    after = again(with_sighting(bare, Pin(before.centre.lat_deg, before.centre.lon_deg), 1.6, 359.996, 2.0))
    assert points(after.surveys[0]) == {(0.0, 2.0)}


def test_the_same_point_twice_is_the_same_document():
    before = site()
    once = again(with_sighting(before, before.surveys[0].pin, 1.6, 123.37, 4.25))
    assert with_sighting(once, before.surveys[0].pin, 1.6, 123.37, 4.25)["features"] == once.document["features"]


def test_an_impossible_altitude_is_refused():
    with pytest.raises(BadInput, match="91° came"):
        with_sighting(site(), site().surveys[0].pin, 1.6, 10.0, 91.0)
