"""What every test may use. A test that asks for a browser gets the mark ``browser`` by itself."""

import os
import shutil
from collections.abc import Callable, Iterator
from contextlib import ExitStack

import pytest
from hypothesis import settings
from playwright.sync_api import Browser, Page, sync_playwright

CHROMIUM_NAMES = ("chromium", "chromium-browser", "google-chrome")
NO_CHROMIUM = "no Chromium on PATH; install Debian's chromium"
QUIET = [
    "--no-sandbox",  # build machines run as root, where Chromium's sandbox cannot start
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
LONGEST_WAIT_MS = 10_000  # a page of ours that takes longer is broken, even on a busy machine

# A deadline for each example would measure how busy the machine is, not the code.
settings.register_profile("westering", deadline=None)
settings.load_profile("westering")


@pytest.hookimpl(tryfirst=True)  # before pytest applies -m, which reads the marks
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark the browser tests and run them last: Playwright keeps an event loop running until the end."""
    for item in items:
        if "chromium_path" in getattr(item, "fixturenames", ()):
            item.add_marker("browser")
    items.sort(key=is_browser_test)


def is_browser_test(item: pytest.Item) -> bool:
    return item.get_closest_marker("browser") is not None


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Say how many browser tests were skipped, so that a green run is not mistaken for a whole one."""
    skipped = [report for report in terminalreporter.stats.get("skipped", ()) if "browser" in report.keywords]
    if skipped:
        terminalreporter.write_line(f"{len(skipped)} browser test(s) skipped; -rs tells why", yellow=True)


@pytest.fixture(scope="session")
def chromium_path() -> str:
    """Where Chromium is. Without one the test is skipped, or fails where a browser is required."""
    found = next(filter(None, map(shutil.which, CHROMIUM_NAMES)), None)
    if found is None:
        if os.environ.get("WESTERING_REQUIRE_BROWSER") == "1":
            pytest.fail(f"browser tests are required: {NO_CHROMIUM}")
        pytest.skip(f"browser tests skipped: {NO_CHROMIUM}")
    return found


@pytest.fixture(scope="session")
def browser(chromium_path: str) -> Iterator[Browser]:
    """One Chromium for the whole run."""
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=chromium_path, args=QUIET, headless=True)
        yield chromium
        chromium.close()


@pytest.fixture
def new_page(browser: Browser) -> Iterator[Callable[..., Page]]:
    """Make pages that share nothing, each with Playwright's options for a context."""
    with ExitStack() as contexts:
        def make(**options: object) -> Page:
            context = contexts.enter_context(browser.new_context(**options))
            context.set_default_timeout(LONGEST_WAIT_MS)
            return context.new_page()

        yield make


@pytest.fixture
def page(new_page: Callable[..., Page]) -> Page:
    """A fresh page on a desk-sized screen."""
    return new_page()
