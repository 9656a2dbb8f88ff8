"""Fetching in a real browser: progress moves by itself, what is being typed stays, and the end is shown."""

import threading
import time

import pytest
import uvicorn
from axe_playwright_python.sync_playwright import Axe

from app.outside.elevation_tiles import tiles_around
from tests.outside.tile_server import served, tile_png

PAGE = "/sites/merrowmere-boathouse/terrain"


@pytest.fixture
def address(client, monkeypatch):
    """The client's Westering, answering on loopback."""
    monkeypatch.setenv("NO_PROXY", "127.0.0.1")
    server = uvicorn.Server(uvicorn.Config(client.app, port=0, log_level="error", lifespan="off"))
    thread = threading.Thread(target=server.run)
    thread.start()
    while not server.started:
        time.sleep(0.01)
    yield f"http://127.0.0.1:{server.servers[0].sockets[0].getsockname()[1]}"
    server.should_exit = True
    thread.join()


@pytest.mark.parametrize("width", [1280, 390])
def test_a_fetch_shows_its_progress_and_its_end_and_leaves_what_is_typed_alone(client, address, new_page, width):
    may_end = threading.Event()

    def slow(handler, zoom, x, y):
        if zoom < 10:
            may_end.wait(10)
        handler.say(200, tile_png(zoom, x, y))

    with served(slow) as service:
        client.post(f"{PAGE}/service", data={"address": service.address, "attribution": "Heights: the made country"})
        page = new_page(viewport={"width": width, "height": 844})
        faults = []
        page.on("pageerror", lambda fault: faults.append(str(fault)))
        page.goto(f"{address}{PAGE}")
        page.get_by_role("button", name="Fetch the ground around this site").click()
        page.get_by_text("You may leave this page").wait_for()
        page.locator("#owner").fill("half a name")
        page.locator(f"progress[value='{sum(tile.zoom >= 10 for tile in tiles_around(54.5702, -3.1315))}']").wait_for()
        may_end.set()
        page.get_by_text("tiles came.").wait_for()
    page.get_by_role("button", name="Remove these heights").wait_for()
    assert page.locator(".profile").count() == 3
    assert page.locator("#owner").input_value() == "half a name"
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert Axe().run(page).violations_count == 0
    assert faults == []


def test_without_scripts_the_link_shows_how_far_it_is(client, address, new_page):
    may_end = threading.Event()

    def held(handler, zoom, x, y):
        may_end.wait(10)
        handler.say(200, tile_png(zoom, x, y))

    with served(held) as service:
        client.post(f"{PAGE}/service", data={"address": service.address, "attribution": "Heights: the made country"})
        page = new_page(java_script_enabled=False)
        page.goto(f"{address}{PAGE}")
        page.get_by_role("button", name="Fetch the ground around this site").click()
        page.get_by_role("link", name="See how far it is").wait_for()
        may_end.set()
        for _ in range(100):
            if page.get_by_text("tiles came.").count():
                break
            time.sleep(0.1)
            page.goto(f"{address}{PAGE}")
        assert page.get_by_text("tiles came.").count() == 1
