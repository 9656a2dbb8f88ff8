"""The light table and the kit in a real browser: read by everybody, a light put up without scripts."""

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect

PAGE = "/sites/quinta-da-alvorinha/setups/setup-under-the-pergola/settings/2027-05-15"


@pytest.mark.parametrize("path", [PAGE, "/kit", "/door"])
@pytest.mark.parametrize("paper", ["proof", "safelight"])
@pytest.mark.parametrize("width", [1280, 390])
def test_the_pages_are_read(served, new_page, width, paper, path):
    page = new_page(viewport={"width": width, "height": 844})
    page.context.add_cookies([{"name": "paper", "value": paper, "url": served.address}])
    page.goto(served.address + path)
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert Axe().run(page).violations_count == 0


def test_a_light_is_put_up_without_scripts(served, new_page):
    page = new_page(java_script_enabled=False)
    page.goto(served.address + PAGE)
    page.get_by_label("From the couple, in metres").fill("3")
    page.get_by_label("Right of the camera, in degrees").fill("-35")
    page.get_by_role("button", name="Put it there").click()
    expect(page.get_by_text("35° to the left of the camera")).to_be_visible()
    expect(page.get_by_role("columnheader", name="Flash")).to_be_visible()
