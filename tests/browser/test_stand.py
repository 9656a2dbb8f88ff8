"""Where to stand in a real browser: read by everybody, left while it works, taken with one press."""

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect

PAGE = "/sites/quinta-da-alvorinha/setups/setup-cork-oak-track/stand/2027-05-15"
ON_WATER = "/sites/quinta-da-alvorinha/setups/setup-across-the-tank/stand/2027-05-15?look=double&reach=20"


@pytest.mark.parametrize("paper", ["proof", "glare", "safelight"])
@pytest.mark.parametrize("width", [1280, 390])
def test_the_page_is_read(served, new_page, width, paper):
    page = new_page(viewport={"width": width, "height": 844})
    page.context.add_cookies([{"name": "paper", "value": paper, "url": served.address}])
    faults = []
    page.on("pageerror", lambda fault: faults.append(str(fault)))
    page.goto(served.address + PAGE)
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert Axe().run(page).violations_count == 0 and faults == []


def test_an_errand_puts_its_answer_into_the_page_by_itself(served, new_page):
    page = new_page()
    page.goto(served.address + ON_WATER)
    expect(page.get_by_role("heading", name="How well it fits from where")).to_be_visible(timeout=60_000)


def test_a_place_is_taken_from_the_keyboard_without_scripts(served, new_page):
    page = new_page(java_script_enabled=False)
    page.goto(f"{served.address}{PAGE}?look=backlit")
    button = page.get_by_role("button", name="Put the camera here").first
    button.focus()
    page.keyboard.press("Enter")
    page.wait_for_url("**/setups/setup-cork-oak-track/2027-05-15")
    expect(page.get_by_role("heading", level=1)).to_have_text("Cork oak track")
