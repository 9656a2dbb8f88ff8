"""The quick question, without any pins."""

import pytest

from app.place.declination import declination
from app.sky.track import Observer
from app.units import turned_deg

ASKED = {"place": "54.57, -3.13", "date": "2027-09-18", "bearing": "268", "north": "true"}


def ask(client, **changed):
    return client.get("/bearing", params=ASKED | changed)


def test_moments_give_azimuth_altitude_and_angle_from_straight_behind(client):
    answer = ask(client).context["answer"]
    assert len(answer.moments) == 13
    for one in answer.moments:
        sun = Observer(54.57, -3.13).sun_at(one.utc_s)
        assert one.azimuth_deg == pytest.approx(float(sun.azimuth_deg))
        assert one.backlight_deg == pytest.approx(float(turned_deg(sun.azimuth_deg, 268)))


def test_the_crossing_is_when_the_sun_stands_on_the_line(client):
    (crossing,) = ask(client).context["answer"].crossings
    assert float(Observer(54.57, -3.13).sun_at(crossing.utc_s).azimuth_deg) == pytest.approx(268, abs=1e-3)


def test_golden_and_blue_hour_of_morning_and_evening(client):
    stretches = {(one.name, one.part) for one in ask(client).context["answer"].stretches}
    assert stretches == {(name, part) for name in ("golden hour", "blue hour") for part in ("morning", "evening")}


def test_a_compass_bearing_is_corrected(client):
    from datetime import date
    east = declination(54.57, -3.13, date(2027, 9, 18)).east_deg
    question = ask(client, north="magnetic").context["answer"].question
    assert question.bearing_deg == pytest.approx(268 + east)


def test_frames_are_those_of_the_standard_lens_along_the_bearing(client):
    page = ask(client)
    setup = page.context["answer"].question.setup
    assert setup.line_deg == pytest.approx(268, abs=1e-3)
    assert setup.distance_m == pytest.approx(8, abs=1e-3)
    assert len(page.context["answer"].sheet.frames) == 13


def test_north_is_north_whether_0_or_360(client):
    assert ask(client, bearing="360").context["answer"].question.bearing_deg == 0


def test_in_the_south_the_sun_passes_north(client):
    crossings = ask(client, place="-32.9, 17.9", date="2027-12-21", bearing="0").context["answer"].crossings
    assert len(crossings) == 1 and float(crossings[0].height.removesuffix("° up")) > 75


def test_the_frame_and_the_table_tell_a_sun_that_has_set_alike(client):
    """Without air both, by the track's own airless altitude."""
    answer = ask(client).context["answer"]
    told = [(moment, frame) for moment, frame in zip(answer.moments, answer.sheet.frames, strict=True) if "below the horizon" in moment.height]
    assert told
    for moment, frame in told:
        airless_deg = float(Observer(54.57, -3.13).sun_at(moment.utc_s).airless_deg)
        assert moment.height == f"{-airless_deg:.1f}° below the horizon" and moment.height in " ".join(map(str, vars(frame).values()))


def test_a_day_without_sun_says_so(client):
    page = ask(client, place="68.2, 14.3", date="2027-12-21", bearing="350")
    assert page.context["answer"].crossings == ()
    assert "does not cross the line" in page.text


@pytest.mark.parametrize("changed,field,words", [
    ({"place": "somewhere"}, "place", "cannot be read without guessing"),
    ({"place": "-3.13, 154.57, 9"}, "place", ""),
    ({"place": "120, 40"}, "place", "swapped"),
    ({"date": "18.9.2027"}, "date", "looks like"),
    ({"date": "1900-01-01"}, "date", "1950 to 2100"),
    ({"bearing": "west"}, "bearing", "is a number"),
    ({"bearing": "361"}, "bearing", "between 0 and 360"),
    ({"bearing": ""}, "bearing", "is a number"),
])
def test_faults_are_told_by_their_field_and_nothing_typed_is_lost(client, changed, field, words):
    page = ask(client, **changed)
    assert page.status_code == 422
    assert words in page.context["form"].errors[field]
    for value in (ASKED | changed).values():
        assert value in page.context["form"].typed.values()


def test_the_empty_form_blames_nobody(client):
    page = client.get("/bearing")
    assert page.status_code == 200 and page.context["form"].errors == {}
