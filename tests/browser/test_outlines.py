"""Outlines in a real browser: fetched while the page waits, looked through, added, and seen on the plan."""

import json
import threading

import pytest
from axe_playwright_python.sync_playwright import Axe

from tests.outside.test_outlines import says
from tests.outside.test_outlines import served as overpass
from tests.web.test_outlines_page import BARN, BYRE, OVERPASS, PAGE, SHED, SITE, collection, outline


@pytest.fixture(autouse=True)
def no_proxy(monkeypatch):
    """Loopback is asked directly."""
    monkeypatch.setenv("NO_PROXY", "127.0.0.1")


def choose(page, data):
    page.locator("#file").set_input_files({"name": "around.geojson", "mimeType": "application/geo+json", "buffer": data})
    page.get_by_label("Out to, in metres").first.fill("400")
    page.get_by_role("button", name="Look at what is in it").click()


@pytest.mark.parametrize("width", [1280, 390])
@pytest.mark.parametrize("scripts", [True, False])
def test_a_file_is_looked_through_and_only_the_ticked_outlines_are_added(served, new_page, width, scripts):
    page = new_page(viewport={"width": width, "height": 844}, java_script_enabled=scripts)
    page.goto(f"{served.address}{PAGE}")
    choose(page, collection(BARN, BYRE, SHED))
    page.get_by_role("checkbox", name="1 Old barn").wait_for()
    page.get_by_role("checkbox", name="2 a building").uncheck()
    page.get_by_role("button", name="Add these to the plan").click()
    page.get_by_role("link", name="Old barn").wait_for()
    ids = {one.get("id") for one in served.app.state.store.site(SITE).document["features"]}
    assert {"osm-way-1", "osm-way-3"} <= ids and "osm-way-2" not in ids


@pytest.mark.parametrize("width", [1280, 390])
def test_every_part_of_the_page_is_reached_and_read(served, new_page, width):
    page = new_page(viewport={"width": width, "height": 844})
    faults = []
    page.on("pageerror", lambda fault: faults.append(str(fault)))
    page.goto(f"{served.address}{PAGE}")
    choose(page, collection(SHED))
    page.get_by_role("button", name="Add these to the plan").click()
    page.goto(f"{served.address}{PAGE}")
    crossing = outline(9, 150, 90, name="Bow tie")
    corners = crossing["geometry"]["coordinates"][0]
    corners[1], corners[2] = corners[2], corners[1]
    choose(page, collection(BARN, outline(3, 210, 60, height="4"), outline(8, 213, 63), crossing))
    page.get_by_text("On the plan already, but different").wait_for()
    page.get_by_text("Left out, and why: 1").click()
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert Axe().run(page).violations_count == 0
    assert faults == []
    heights = page.locator(".outline-list label").evaluate_all("all => all.map(one => one.getBoundingClientRect().height)")
    assert len(heights) == 3 and min(heights) >= 44


def test_what_was_fetched_appears_by_itself_and_what_is_typed_stays(served, new_page):
    go_on = threading.Event()

    def held(handler):
        go_on.wait(10)
        says(OVERPASS)(handler)

    with overpass(held) as service:
        page = new_page(viewport={"width": 1280, "height": 844})
        page.goto(f"{served.address}{PAGE}")
        page.get_by_label("Address of the service").fill(service.service.address)
        page.get_by_role("button", name="Keep this address").click()
        page.get_by_role("button", name="Fetch outlines around this site").click()
        page.get_by_text("You may leave this page").wait_for()
        page.get_by_label("Out to, in metres").first.fill("123")
        go_on.set()
        page.get_by_role("checkbox", name="1 Far barn").wait_for()
    assert page.get_by_label("Out to, in metres").first.input_value() == "123"
    assert json.dumps(served.app.state.store.site(SITE).document).count("Far barn") == 0
