"""The morning check and the sky in a real browser: read by everybody, and worked without scripts."""

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect

from app.web.weather_services import WeatherServices
from tests.outside.weather_server import met_says
from tests.outside.weather_server import served as weather
from tests.web.conftest import NOW
from tests.web.test_shoots import MERROW, THREE, new_document

MORNING, SKY = "/shoots/ilse-and-bram/morning", f"/sites/{MERROW}/sky/2027-09-18"


@pytest.fixture
def with_shoot(served):
    served.app.state.store.shoots.add("Ilse and Bram", new_document(THREE))
    return served


def ask(served, page):
    """Press the button with a weather service at hand, and wait for what it says."""
    with weather(met_says(clock=NOW, first=NOW)) as server:
        served.app.state.weather_services = WeatherServices("orla@example.com", server.address)
        page.goto(served.address + MORNING)
        page.get_by_role("button", name="Ask for the forecast now").click()
        expect(page.locator("#errand")).to_contain_text("The forecast has come")


@pytest.mark.parametrize("paper", ["proof", "glare", "safelight"])
@pytest.mark.parametrize("width", [1280, 390])
def test_the_pages_are_read(with_shoot, new_page, width, paper):
    page = new_page(viewport={"width": width, "height": 844})
    page.context.add_cookies([{"name": "paper", "value": paper, "url": with_shoot.address}])
    ask(with_shoot, page)
    for path in (MORNING, f"{MORNING}?again=yes", SKY):
        page.goto(with_shoot.address + path)
        page.evaluate("document.querySelectorAll('details').forEach(one => one.open = true)")
        assert page.evaluate("document.documentElement.scrollWidth") <= width
        found = Axe().run(page)
        assert found.violations_count == 0, found.generate_report()


def test_the_targets_are_large_enough_on_a_phone(with_shoot, new_page):
    page = new_page(viewport={"width": 390, "height": 844})
    ask(with_shoot, page)
    page.goto(with_shoot.address + MORNING)
    sizes = page.evaluate("[...document.querySelectorAll('main button, main summary, main input:not([type=hidden]), main select')].map(one => one.getBoundingClientRect().height)")
    assert sizes and min(sizes) >= 44


def test_what_is_seen_by_eye_counts_without_scripts(with_shoot, new_page):
    page = new_page(java_script_enabled=False)
    page.goto(with_shoot.address + MORNING)
    page.get_by_label("Low cloud, in oktas").fill("8")
    page.get_by_label("Wind, Beaufort").fill("2")
    page.get_by_role("button", name="Keep what I see").click()
    expect(page.get_by_text("Use the standby").first).to_be_visible()
    page.get_by_role("button", name="Solve again").click()
    expect(page.get_by_role("button", name="Take the new order")).to_be_visible()
