"""The contact sheet, year and bearing pages in a real browser: rings, keyboard, papers, accessibility."""

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect

SHEET = "/sites/merrowmere-boathouse/setups/setup-end-of-the-jetty/2027-09-18"
YEAR = "/sites/merrowmere-boathouse/setups/setup-end-of-the-jetty/year/2027"
BEARING = "/bearing?place=54.57,-3.13&date=2027-09-18&bearing=268&north=magnetic"
PAGES = ("/", "/about", SHEET, YEAR, BEARING, "/bearing?place=x&date=y&bearing=z", "/sites/nowhere")
WIDTHS = (1280, 390)


def test_a_frame_is_ringed_without_leaving_the_page_and_stays_ringed(page, served):
    page.goto(served.address + SHEET)
    seventh = page.locator(".frame").nth(6)
    with page.expect_response("**/frames"):
        seventh.get_by_role("button").click()
    expect(seventh).to_have_class("frame frame--chosen")
    expect(seventh.locator(".ring")).to_be_visible()
    page.reload()
    expect(page.locator(".frame").nth(6).get_by_role("button")).to_have_attribute("aria-pressed", "true")
    with page.expect_response("**/frames"):
        page.locator(".frame").nth(6).get_by_role("button").click()
    page.reload()
    expect(page.locator(".frame--chosen")).to_have_count(0)


def test_a_frame_is_ringed_without_scripts(new_page, served):
    page = new_page(java_script_enabled=False)
    page.goto(f"{served.address}{SHEET}?step=5")
    page.locator(".frame").nth(2).get_by_role("button").click()
    expect(page.locator(".frame").nth(2)).to_have_class("frame frame--chosen")
    assert page.url.split("#")[0] == f"{served.address}{SHEET}?step=5"


def test_the_keyboard_alone_rings_a_frame_and_steps_a_date(page, served):
    page.goto(served.address + SHEET)
    page.keyboard.press("Tab")
    expect(page.locator(".skip-link")).to_be_focused()
    seen = []
    while "Frame at 17:40" not in seen[-1:] and len(seen) < 40:
        page.keyboard.press("Tab")
        seen.append(page.evaluate("(document.activeElement.getAttribute('aria-label') || document.activeElement.textContent).trim().slice(0, 14)"))
    assert "→" in " ".join(seen)
    with page.expect_response("**/frames"):
        page.keyboard.press("Enter")
    expect(page.locator(".frame--chosen")).to_have_count(1)
    page.get_by_role("link", name="→").first.press("Enter")
    page.wait_for_url("**/2027-09-19")


def test_the_quick_question_becomes_a_site_with_one_press(page, served):
    page.goto(served.address + "/")
    page.get_by_label("Place").fill("54°34'12\"N 3°7'48\"W")
    page.get_by_label("Bearing you look along").fill("268")
    page.get_by_role("button", name="Look along it").click()
    expect(page.get_by_text("The sun crosses the line at")).to_be_visible()
    page.get_by_role("button", name="Make it a site").click()
    expect(page.locator(".frame").first).to_be_visible()
    assert "/sites/" in page.url


def test_nothing_is_asked_of_another_host(page, served):
    asked = []
    page.on("request", lambda request: asked.append(request.url))
    for path in PAGES:
        page.goto(served.address + path)
    assert asked and all(url.startswith((served.address, "data:")) for url in asked)


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("paper", ["proof", "glare", "safelight"])
def test_nothing_serious_for_accessibility(new_page, served, paper, width):
    page = new_page(viewport={"width": width, "height": 900})
    page.context.add_cookies([{"name": "paper", "value": paper, "url": served.address}])
    for path in PAGES:
        page.goto(served.address + path)
        found = Axe().run(page).response["violations"]
        serious = [(one["id"], one["nodes"][0]["html"][:90]) for one in found if one["impact"] in ("serious", "critical")]
        assert serious == [], f"{path} on {paper}"
        assert page.evaluate("document.documentElement.scrollWidth") <= width


def test_targets_on_the_phone_are_44_px(new_page, served):
    page = new_page(viewport={"width": 390, "height": 900})
    for path in PAGES:
        page.goto(served.address + path)
        small = page.evaluate(
            """() => [...document.querySelectorAll('button, select, input:not([type=hidden]), summary, nav a, .colophon a')]
            .filter(e => e.offsetParent && e.getBoundingClientRect().height < 43.5).map(e => e.outerHTML.slice(0, 90))"""
        )
        assert small == [], path


def test_names_of_lanes_do_not_run_into_each_other_on_a_phone(served, new_page):
    page = new_page(viewport={"width": 390, "height": 844})
    page.goto(f"{served.address}/sites/merrowmere-boathouse/setups/setup-end-of-the-jetty/2027-09-18")
    names = page.locator(".lanes__name")
    assert names.count() >= 4
    for name in names.all():
        assert name.evaluate("one => one.scrollHeight <= one.clientHeight + 1"), name.inner_text()
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
