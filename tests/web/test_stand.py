"""The page that finds where to stand: at once, as an errand where water decides, and one press to take a place."""

import time

import html5lib
import pytest

from app.place.coordinates import parse_coordinates

SETUP = "/sites/merrowmere-boathouse/setups/setup-end-of-the-jetty"
PAGE = f"{SETUP}/stand/2027-09-18"


def ended(client, address, within_s=60.0):
    until = time.monotonic() + within_s
    while time.monotonic() < until:
        page = client.get(address)
        if page.context["stand"] is not None:
            return page
        time.sleep(0.05)
    raise AssertionError("the errand did not end")


def test_the_setups_own_look_is_asked_at_its_best_moment(client):
    page = client.get(PAGE)
    html5lib.HTMLParser(strict=True).parse(page.text)
    asked, stand = page.context["asked"], page.context["stand"]
    assert page.status_code == 200 and asked.wanted.name == asked.setup.looks[0] and asked.moved == "camera"
    assert (stand.fit > 0).any() and page.context["places"] and "Put the camera here" in page.text


def test_a_place_is_taken_with_one_press_and_the_sheet_follows(client):
    page = client.get(f"{PAGE}?look=hidden+sun&time=18:47")
    best = page.context["places"][0].candidate
    assert "Holds 18:" in page.text
    sent = {"version": page.context["kept"].version, "day": "2027-09-18", "move": "camera", "pin": f"{best.pin.lat_deg:.7f}, {best.pin.lon_deg:.7f}"}
    answer = client.post(f"{SETUP}/stand", data=sent, follow_redirects=False)
    assert answer.status_code == 303 and answer.headers["location"] == f"{SETUP}/2027-09-18"
    moved = client.get(PAGE).context["setup"]
    assert moved.camera_pin.lat_deg == pytest.approx(best.pin.lat_deg, abs=1e-7) and moved.camera_pin.ground_m == best.pin.ground_m
    late = client.post(f"{SETUP}/stand", data=sent)
    assert late.status_code == 409 and "changed in another tab" in late.text
    assert client.get(PAGE).context["setup"].camera_pin == moved.camera_pin


def test_the_couple_may_be_placed_instead(client):
    page = client.get(f"{PAGE}?look=backlit&move=couple")
    assert page.context["asked"].moved == "couple" and "Put the couple here" in page.text
    best = page.context["places"][0].candidate
    assert best.setup.camera_pin == page.context["setup"].camera_pin and best.setup.couple_pin != page.context["setup"].couple_pin


def test_what_water_decides_is_tried_as_an_errand_that_can_be_left(client):
    address = f"{PAGE}?look=mirror&reach=12&step=1&move=couple"
    first = client.get(address)
    html5lib.HTMLParser(strict=True).parse(first.text)
    assert first.context["stand"] is not None or "You may leave this page; it goes on." in first.text
    page = ended(client, address)
    assert page.context["stand"].standable.any() and "one by one" not in page.text
    again = client.get(address)
    assert again.context["stand"] is page.context["stand"], "the answer is kept"


def test_wind_breaks_the_mirror_from_every_place(client):
    page = ended(client, f"{PAGE}?look=mirror&reach=12&move=couple&wind=6")
    assert not (page.context["stand"].fit > 0).any() and "from none at that moment" in page.text


@pytest.mark.parametrize("query,field,words", [
    ("look=sparkle", "look", "There is no look"),
    ("time=late", "time", "A time looks like"),
    ("move=the+dog", "move", "the camera or the couple"),
    ("reach=9999", "reach", "between 3 and 150"),
    ("reach=150&step=0.25", "step", "40,000 places"),
    ("step=none", "step", "is a number"),
    ("wind=strong", "wind", "wind"),
])
def test_what_cannot_be_used_is_told_and_the_page_still_shown(client, query, field, words):
    page = client.get(f"{PAGE}?{query}")
    assert page.status_code == 422 and words.lower() in page.context["form"].errors[field].lower()
    assert page.context["stand"] is not None or page.context["errand"] is not None
    assert query.split("&")[-1].split("=")[1].replace("+", " ") in page.text


def test_another_date_leads_to_its_own_address(client):
    answer = client.get(f"{PAGE}?look=backlit&date=2027-09-20", follow_redirects=False)
    assert answer.status_code == 303 and "/stand/2027-09-20?look=backlit" in answer.headers["location"]


def test_a_pin_that_is_none_is_refused_in_words(client):
    version = client.get(PAGE).context["kept"].version
    for sent in ({"pin": "nowhere"}, {"move": "dog"}, {"day": "soon"}):
        data = {"version": version, "day": "2027-09-18", "move": "camera", "pin": "54.57, -3.13", **sent}
        assert client.post(f"{SETUP}/stand", data=data).status_code == 422
    assert parse_coordinates("54.57, -3.13").lat_deg == 54.57


def test_the_sheet_and_the_site_lead_here(client):
    assert f'href="{PAGE}"' in client.get(f"{SETUP}/2027-09-18").text
    assert f'href="{PAGE}"' in client.get("/sites/merrowmere-boathouse").text
