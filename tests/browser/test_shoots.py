"""A shoot in a real browser: read by everybody, worked from the keyboard without scripts, a slot dragged with them."""

import json
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect

DEMO = Path(__file__).parents[2] / "demo_sites" / "merrowmere-evening.json"
SMALL = """() => [...document.querySelectorAll("main a, main button, main select, main summary, main input:not([type=hidden]):not([type=checkbox])")]
  .filter((one) => { const box = one.getBoundingClientRect(); return box.height > 0 && box.height < 43.5 })
  .map((one) => `${one.tagName} ${one.textContent.trim().slice(0, 40)}`)"""


@pytest.fixture
def shoot(served):
    """The address of the demo shoot."""
    document = json.loads(DEMO.read_text(encoding="utf-8"))
    return f"{served.address}/shoots/{served.app.state.store.shoots.add(document['name'], document)}"


@pytest.mark.parametrize("paper", ["proof", "glare", "safelight"])
@pytest.mark.parametrize("width", [1280, 390])
def test_the_running_order_is_read(served, shoot, new_page, width, paper):
    page = new_page(viewport={"width": width, "height": 844})
    page.context.add_cookies([{"name": "paper", "value": paper, "url": served.address}])
    faults = []
    page.on("pageerror", lambda fault: faults.append(str(fault)))
    page.goto(shoot)
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert Axe().run(page).violations_count == 0 and faults == []


@pytest.mark.parametrize("part", ["", "/details", "/wishes/meadow", "/again", "/season/2027"])
def test_each_page_is_read_on_a_phone_with_targets_for_a_thumb(shoot, new_page, part):
    page = new_page(viewport={"width": 390, "height": 844})
    page.goto(shoot + part)
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    assert page.evaluate(SMALL) == []
    found = Axe().run(page)
    assert found.violations_count == 0, found.generate_report()


def test_a_time_is_fixed_from_the_keyboard_without_scripts(shoot, new_page):
    page = new_page(java_script_enabled=False)
    page.goto(shoot)
    page.locator("#start-meadow").fill("17:20")
    page.keyboard.press("Enter")
    expect(page.locator("#slot-meadow .slot__time")).to_contain_text("17:20–")
    expect(page.locator("#slot-meadow .slot__time")).to_contain_text("fixed")


def dragged(page, minutes):
    """Take the meadow's ring by its middle and pull it so many minutes to the right."""
    grip = page.locator("[data-slot-drag=meadow] .order__grip").bounding_box()
    svg = page.locator(".order--desk")
    wide = svg.evaluate("one => Number(one.dataset.minute) * one.getScreenCTM().a")
    x, y = grip["x"] + grip["width"] / 2, grip["y"] + grip["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + minutes * wide, y, steps=4)


def test_a_dragged_slot_is_fixed_where_it_is_let_go(shoot, new_page):
    page = new_page(viewport={"width": 1280, "height": 900})
    page.goto(shoot)
    expect(page.locator(".order--live")).to_be_visible()
    hours, minutes = map(int, page.locator("#start-meadow").input_value().split(":"))
    dragged(page, 12)
    page.mouse.up()
    then = 60 * hours + minutes + 12
    expect(page.locator("#slot-meadow .slot__time")).to_contain_text(f"{then // 60:02}:{then % 60:02}–")
    expect(page.locator("#slot-meadow .slot__time")).to_contain_text("fixed")


def test_escape_lets_a_dragged_slot_go_where_it_was(shoot, new_page):
    page = new_page(viewport={"width": 1280, "height": 900})
    page.goto(shoot)
    expect(page.locator(".order--live")).to_be_visible()
    before = page.locator("[data-slot-drag=meadow] .order__span").text_content()
    dragged(page, 12)
    expect(page.locator("[data-slot-drag=meadow] .order__span")).not_to_have_text(before)
    page.keyboard.press("Escape")
    page.mouse.up()
    expect(page.locator("[data-slot-drag=meadow] .order__span")).to_have_text(before)
    expect(page.locator("#slot-meadow .slot__time")).not_to_contain_text("fixed")
