"""The contact sheet: its frames, windows, rings and what bad input gets."""

import pytest

from app.web.render import lasting

SHEET = "/sites/merrowmere-boathouse/setups/setup-end-of-the-jetty/2027-09-18"
RING = "/sites/merrowmere-boathouse/setups/setup-end-of-the-jetty/frames"


def test_thirteen_frames_ten_minutes_apart_around_sunset(client):
    page = client.get(SHEET)
    frames = page.context["sheet"].frames
    assert page.status_code == 200
    assert len(frames) == 13
    assert {round(b.utc_s - a.utc_s) for a, b in zip(frames, frames[1:], strict=False)} == {600}
    assert frames[0].utc_s < page.context["span"].around_utc_s < frames[-1].utc_s


def test_each_frame_says_where_the_sun_is(client):
    frames = {frame.clock: frame for frame in client.get(SHEET).context["sheet"].frames}
    assert "left" in frames["18:10"].where and "up" in frames["18:10"].where
    assert frames["19:10"].where == "behind ridge"
    assert frames["19:10"].cover == "sun out of sight"


def test_windows_tell_their_reasons(client):
    page = client.get(SHEET)
    backlit = dict((wanted.name, windows) for wanted, windows in page.context["found"])["backlit"]
    assert [window.closes_because for window in backlit] == ["behind the ridge"]
    assert "behind the ridge" in page.text


def test_page_is_small_and_asks_nothing_of_others(client):
    page = client.get(SHEET)
    assert len(page.content) < 150_000
    assert "http://" not in page.text.replace("http://testserver", "").replace("http://www.w3.org", "")
    assert "https://" not in page.text


def test_denser_frames_on_demand(client):
    assert len(client.get(f"{SHEET}?step=2&from=18:30&until=18:50").context["sheet"].frames) == 11
    tenth = client.get(f"{SHEET}?step=0.1667&from=18:40&until=18:42")
    assert len(tenth.context["sheet"].frames) == 13


def test_frames_past_midnight(client):
    page = client.get("/sites/ternevag-quay/setups/setup-end-of-the-quay/2027-06-21?from=23:30&until=00:30")
    assert [frame.clock for frame in page.context["sheet"].frames] == ["23:30", "23:40", "23:50", "00:00", "00:10", "00:20", "00:30"]


def test_the_morning_has_its_own_frames(client):
    morning = client.get(f"{SHEET}?part=morning").context["sheet"].frames
    assert all(frame.at.hour < 10 for frame in morning)


def test_a_ring_is_kept_and_wiped_off(client):
    at = client.get(SHEET).context["sheet"].frames[6].at.isoformat()
    for chosen, expected in (("yes", [6]), ("yes", [6]), ("no", [])):
        answer = client.post(RING, data={"at": at, "chosen": chosen}, follow_redirects=False)
        assert answer.status_code == 303 and answer.headers["location"].startswith(SHEET)
        frames = client.get(SHEET).context["sheet"].frames
        assert [n for n, frame in enumerate(frames) if frame.chosen] == expected


def test_a_ringed_frame_shows_between_others_of_another_step(client):
    client.post(RING, data={"at": "2027-09-18T18:43:20+01:00", "chosen": "yes"})
    frames = client.get(SHEET).context["sheet"].frames
    assert [frame.clock for frame in frames if frame.chosen] == ["18:43:20"]
    assert len(frames) == 14


def test_ringing_never_leads_to_another_host(client):
    for back in ("https://elsewhere.invalid/", "//elsewhere.invalid/", "/\\elsewhere.invalid"):
        answer = client.post(RING, data={"at": "2027-09-18T18:40:00+01:00", "chosen": "yes", "back": back}, follow_redirects=False)
        assert answer.headers["location"].startswith(SHEET)


@pytest.mark.parametrize("at,words", [("18:40", "instant looks like"), ("2027-09-18T18:40", "no offset"), ("", "instant looks like")])
def test_a_ring_needs_an_instant(client, at, words):
    answer = client.post(RING, data={"at": at, "chosen": "yes"})
    assert answer.status_code == 422 and words in answer.text


@pytest.mark.parametrize("address,status,words", [
    ("/sites/nowhere/setups/a/2027-09-18", 404, "no site"),
    ("/sites/merrowmere-boathouse/setups/terrace/2027-09-18", 404, "has no setup “terrace”; it has"),
    ("/sites/merrowmere-boathouse/setups/setup-end-of-the-jetty/1949-12-31", 422, "1950 to 2100"),
    ("/sites/merrowmere-boathouse/setups/setup-end-of-the-jetty/2101-01-01", 422, "1950 to 2100"),
    ("/sites/merrowmere-boathouse/setups/setup-end-of-the-jetty/tomorrow", 422, "date looks like"),
])
def test_wrong_addresses_are_answered_in_words(client, address, status, words):
    page = client.get(address)
    assert page.status_code == status
    assert words in page.text


@pytest.mark.parametrize("query,field,words", [
    ("step=abc", "step", "is a number"), ("step=0", "step", "is between"), ("from=25:00", "from", "00:00 to 23:59"),
    ("until=six", "until", "looks like 18:40"), ("step=0.2&from=12:00&until=23:00", "step", "a sheet holds 121"),
])
def test_bad_frame_wishes_are_told_by_their_field_and_kept(client, query, field, words):
    page = client.get(f"{SHEET}?{query}")
    assert page.status_code == 200
    assert words in page.context["form"].errors[field]
    assert page.context["form"].typed[field] in page.text
    assert len(page.context["sheet"].frames) >= 13


def test_first_and_last_known_dates_have_a_sheet(client):
    for day in ("1950-01-01", "2100-12-31"):
        assert client.get(SHEET.replace("2027-09-18", day)).status_code == 200


def test_the_strip_follows_pins_that_are_not_kept(client):
    still = client.get(f"{SHEET}/strip").context["sheet"].frames
    moved = client.get(f"{SHEET}/strip", params={"camera": "54.5703,-3.1330"}).context["sheet"].frames
    assert [frame.where for frame in still] != [frame.where for frame in moved]
    assert [frame.where for frame in client.get(f"{SHEET}/strip").context["sheet"].frames] == [frame.where for frame in still]


def test_typed_times_are_right_on_the_day_the_clocks_change(client):
    """They were an hour off: hours had been counted from midnight."""
    page = client.get(f"{SHEET.replace('2027-09-18', '2027-03-28')}?from=18:00&until=18:30")
    assert [frame.clock for frame in page.context["sheet"].frames] == ["18:00", "18:10", "18:20", "18:30"]


def test_every_frame_says_what_to_set(client):
    """By the demo's kit: the sky gets darker, so time lengthens to what is held by hand and ISO rises."""
    page = client.get("/sites/merrowmere-boathouse/setups/setup-end-of-the-jetty/2027-09-18")
    settings = page.context["settings"]
    assert len(settings) == len(page.context["sheet"].frames) and all("f/" in words and "ISO" in words for words in settings)
    assert settings[0] != settings[-1] and settings[3] in page.text


def test_a_sheet_stands_though_its_lights_cannot_be_used(client):
    from app.light.kit import Kit
    from app.web.kits import keep_kit

    base = "/sites/merrowmere-boathouse/setups/setup-end-of-the-jetty"
    version = client.get(f"{base}/settings/2027-09-18").context["kept"].version
    client.post(f"{base}/lights", data={"version": version, "day": "2027-09-18", "flash": "Clip-on flash", "away_m": "3", "turn_deg": "20"})
    assert "; flash " in client.get(f"{base}/2027-09-18").context["settings"][0]
    keep_kit(client.app.state.store, Kit())
    page = client.get(f"{base}/2027-09-18")
    assert page.status_code == 200 and "no settings: There is no flash in the kit" in page.text


def test_what_the_best_settings_still_miss_stands_under_the_frame(client):
    """At dusk the camera's highest sensitivity is not enough, and the line under the frame says by how much."""
    page = client.get("/sites/merrowmere-boathouse/setups/setup-end-of-the-jetty/2027-09-18?until=20:00")
    assert any("stop under" in line or "stops under" in line for line in page.context["settings"])


@pytest.mark.parametrize(("minutes", "words"), [(0.3, "under 1 min"), (24.4, "24 min"), (684.0, "11 h 24 min"), (120.0, "2 h"), (0.0, "0 min")])
def test_a_length_of_time_is_told_in_hours_and_minutes(minutes, words):
    assert lasting(minutes) == words
