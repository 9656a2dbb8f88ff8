"""Sun and shade in a real browser: asked by pressing the plan, by typing without scripts, and read by everybody."""

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect

PAGE = "/sites/merrowmere-boathouse/light/2027-09-18?time=17:20"
WIDTHS = (1280, 390)


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("query", ["", "&point=54.5702,-3.1305", "&point=nowhere&highest=99", "&part=morning"])
def test_the_page_is_reached_and_read(served, new_page, width, query):
    page = new_page(viewport={"width": width, "height": 844})
    faults = []
    page.on("pageerror", lambda fault: faults.append(str(fault)))
    page.goto(served.address + PAGE + query)
    for summary in page.locator("summary").all():
        summary.click()
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert Axe().run(page).violations_count == 0
    assert faults == []


@pytest.mark.parametrize("paper", ["glare", "safelight"])
def test_it_is_read_on_the_other_papers(served, new_page, paper):
    page = new_page(viewport={"width": 390, "height": 844})
    page.context.add_cookies([{"name": "paper", "value": paper, "url": served.address}])
    page.goto(served.address + PAGE)
    assert paper in page.locator("html").get_attribute("class")
    assert Axe().run(page).violations_count == 0


@pytest.mark.parametrize("width", WIDTHS)
def test_a_press_on_the_plan_asks_about_that_place(served, new_page, width):
    page = new_page(viewport={"width": width, "height": 844})
    page.goto(served.address + PAGE)
    drawing = page.locator(".light-plan > .plan:visible")
    south, west, north, east = (float(angle) for angle in drawing.get_attribute("data-bounds").split())
    expect(page.locator("[data-light-hint]")).to_be_visible()
    drawing.scroll_into_view_if_needed()
    box = drawing.bounding_box()
    drawing.click(position={"x": box["width"] * 0.75, "y": box["height"] * 0.25})
    page.get_by_role("heading", name="The point at").wait_for()
    lat_deg, lon_deg = (float(angle) for angle in page.get_by_label("Any point").input_value().split(","))
    pixel_deg = 1.5 * (north - south) / box["height"], 1.5 * (east - west) / box["width"]
    assert lat_deg == pytest.approx(north - 0.25 * (north - south), abs=pixel_deg[0])
    assert lon_deg == pytest.approx(west + 0.75 * (east - west), abs=pixel_deg[1])
    assert page.url.endswith("#lit") and "time=17%3A20" in page.url


def test_a_point_is_asked_about_without_scripts(served, new_page):
    page = new_page(java_script_enabled=False)
    page.goto(served.address + PAGE)
    expect(page.locator("[data-light-hint]")).to_be_hidden()
    page.get_by_label("Any point").fill("54.5702, -3.1305")
    page.get_by_role("button", name="Show").click()
    expect(page.get_by_role("heading", name="The point at")).to_be_visible()


def test_what_is_pressed_on_the_phone_is_large_enough(served, new_page):
    page = new_page(viewport={"width": 390, "height": 844})
    page.goto(f"{served.address}{PAGE}&point=54.5702,-3.1305")
    pressed = page.locator("main a, main button, main summary, main input, main select")
    heights = pressed.evaluate_all("all => all.map(one => [one.textContent.trim().slice(0, 30), one.getBoundingClientRect().height])")
    assert [one for one in heights if one[1] < 44] == []
    assert len(heights) > 15
