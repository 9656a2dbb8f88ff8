"""The field page on a phone: kept without signal, presses sent once, two devices, read by everybody."""

import threading
import time
from datetime import datetime, timedelta

import pytest
import uvicorn
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect

from app.cli_server import load_demo_sites
from app.place.declination import Declination
from app.web.now import now_utc_s

FIELD, LOG = "/shoots/ilse-and-bram/field", "/shoots/ilse-and-bram/log"
AT = datetime.fromisoformat("2027-09-18T17:05:00+01:00")  # the meadow's slot goes from 17:01 to 17:16
PHONE = {"viewport": {"width": 390, "height": 844}, "timezone_id": "Europe/London"}
KEPT = "Kept on this phone"


@pytest.fixture
def field(served, new_page):
    """A function that opens the field page on a phone of its own, at 17:05 on the day, and waits until it is kept."""
    load_demo_sites(served.app.state.store)
    served.app.dependency_overrides[now_utc_s] = lambda: AT.timestamp()

    def open_field(at=AT, wait=KEPT, **options):
        page = new_page(**{**PHONE, **options})
        page.clock.set_fixed_time(at)
        page.goto(served.address + FIELD)
        expect(page.locator("[data-field=kept]")).to_contain_text(wait)
        return page

    return open_field


@pytest.fixture
def log(served):
    """A function that reads the log of the shoot as the server has it."""
    return lambda: [(one.slot, one.kind) for one in served.app.state.store.shoots.log("ilse-and-bram")]


def comes_to(read, wanted, within_s=8.0):
    """Wait until something read comes to what is wanted."""
    until = time.monotonic() + within_s
    while read() != wanted and time.monotonic() < until:
        time.sleep(0.05)
    assert read() == wanted


def press(page, name):
    page.get_by_role("button", name=name, exact=True).click()


def worker_ready(page):
    page.evaluate("navigator.serviceWorker.ready.then(() => true)")


@pytest.mark.parametrize("paper", ["proof", "glare", "safelight"])
@pytest.mark.parametrize("width", [1280, 390])
def test_the_page_is_read_on_every_paper(field, width, paper):
    page = field(viewport={"width": width, "height": 844})
    press(page, paper)
    page.get_by_text("Note, other standbys").click()
    page.get_by_text("All slots").click()
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert Axe().run(page).violations_count == 0


@pytest.mark.parametrize("path", [FIELD, LOG])
def test_the_pages_are_read_without_scripts(field, served, new_page, path):
    field()
    page = new_page(java_script_enabled=False, **PHONE)
    page.goto(served.address + path)
    for called in ("Sheep meadow", "End of the jetty, backlit"):
        expect(page.get_by_text(called).first).to_be_visible()
    assert not page.locator("[data-field=now]").is_visible()


def test_everything_to_press_is_large_enough(field):
    page = field()
    page.get_by_text("Note, other standbys").click()
    page.get_by_text("All slots").click()
    sizes = page.evaluate("""() => [...document.querySelectorAll("button, input:not([type=hidden]), textarea, summary")]
        .filter((one) => one.offsetParent).map((one) => [one.textContent.slice(0, 30), one.getBoundingClientRect().height, one.getBoundingClientRect().width])""")
    assert len(sizes) > 15 and [one for one in sizes if min(one[1:]) < 43.9] == []


def test_it_says_what_now_and_what_next(field):
    page = field()
    expect(page.get_by_role("heading", level=1)).to_have_text("Sheep meadow")
    expect(page.locator("[data-now=where]")).to_contain_text("1 of 5, Merrowmere boathouse · planned 17:01–17:16")
    expect(page.locator("[data-now=sun]")).to_contain_text("of the line, ")
    expect(page.locator("[data-now=next]")).to_contain_text("Next 18:04 Boathouse doors")
    expect(page.locator("[data-frame=first] time")).to_have_text("17:04")
    expect(page.locator("[data-frame=second] time")).to_have_text("17:16")
    expect(page.locator("[data-now=set]")).to_contain_text("f/2.8")


def test_time_goes_on_by_itself_and_rests_while_nobody_looks(field):
    page = field()
    page.clock.install(time=AT)
    page.reload()
    page.clock.run_for(60_000)
    expect(page.locator("[data-field=clock]")).to_have_text("17:06")
    page.evaluate("""Object.defineProperty(document, "hidden", { value: true, configurable: true }); document.dispatchEvent(new Event("visibilitychange"))""")
    page.clock.run_for(600_000)
    assert page.locator("[data-field=clock]").text_content() == "17:06"
    page.evaluate("""Object.defineProperty(document, "hidden", { value: false, configurable: true }); document.dispatchEvent(new Event("visibilitychange"))""")
    expect(page.locator("[data-field=clock]")).to_have_text("17:16")


def test_it_opens_with_the_network_cut_and_sends_what_was_pressed_once(field, log):
    page = field()
    worker_ready(page)
    page.context.set_offline(True)
    page.reload()
    expect(page.get_by_role("heading", level=1)).to_have_text("Sheep meadow")
    press(page, "Start")
    press(page, "Done")
    expect(page.get_by_role("heading", level=1)).to_have_text("Boathouse doors")
    expect(page.locator("[data-about=waiting]")).to_have_text("2 things are kept on this phone and not sent yet.")
    page.reload()
    expect(page.locator("[data-about=waiting]")).to_contain_text("2 things")
    assert log() == []
    page.context.set_offline(False)
    page.evaluate("window.dispatchEvent(new Event('online'))")
    expect(page.locator("[data-about=waiting]")).to_have_count(0)
    page.reload()
    expect(page.locator("[data-field=kept]")).to_contain_text(KEPT)
    assert sorted(log()) == [("meadow", "done"), ("meadow", "start")]


def test_it_opens_with_the_server_killed_and_sends_when_it_is_back(field, served, log):
    """The server of the fixture is reached through a second one here, which is stopped and started again on its port."""
    first = Server(served.app)
    page = field()
    page.goto(first.address + FIELD)
    expect(page.locator("[data-field=kept]")).to_contain_text(KEPT)
    worker_ready(page)
    first.stop()
    page.reload()
    expect(page.get_by_role("heading", level=1)).to_have_text("Sheep meadow")
    press(page, "Start")
    expect(page.locator("[data-about=waiting]")).to_contain_text("1 thing is kept")
    again = Server(served.app, first.port)
    page.evaluate("window.dispatchEvent(new Event('online'))")
    comes_to(log, [("meadow", "start")])
    again.stop()


class Server:
    """An application served on a port until it is stopped."""

    def __init__(self, app, port=0):
        self.server = uvicorn.Server(uvicorn.Config(app, host="127.0.0.1", port=port, log_level="critical", ws="none", timeout_graceful_shutdown=1))
        self.thread = threading.Thread(target=self.server.run, daemon=True)
        self.thread.start()
        while not self.server.started:
            assert self.thread.is_alive(), "the server did not start"
            time.sleep(0.01)
        self.port = self.server.servers[0].sockets[0].getsockname()[1]
        self.address = f"http://127.0.0.1:{self.port}"

    def stop(self):
        self.server.should_exit = True
        self.thread.join()


def test_two_pages_of_one_phone_without_signal_know_of_each_other(field, served, log):
    page = field()
    worker_ready(page)
    other = page.context.new_page()
    other.clock.set_fixed_time(AT)
    other.goto(served.address + FIELD)
    page.context.set_offline(True)
    press(page, "Start")
    expect(other.locator("[data-now=where]")).to_contain_text("started 17:05")
    press(other, "Done")
    expect(page.get_by_role("heading", level=1)).to_have_text("Boathouse doors")
    page.context.set_offline(False)
    for one in (page, other):
        one.evaluate("window.dispatchEvent(new Event('online'))")
    comes_to(lambda: sorted(log()), [("meadow", "done"), ("meadow", "start")])


def test_two_phones_that_disagree_both_say_so(field, log):
    one, other = field(), field()
    press(one, "Start")
    press(other, "Start")
    comes_to(log, [("meadow", "start")] * 2)
    for page in (one, other):
        page.evaluate("window.dispatchEvent(new Event('online'))")
        expect(page.locator("[data-now=clashes]")).to_have_text("Two devices started it; the first start counts.")


def test_a_press_can_be_taken_back(field, log):
    page = field()
    press(page, "Skip")
    expect(page.get_by_role("heading", level=1)).to_have_text("Boathouse doors")
    press(page, "Take back “skip” before")
    expect(page.get_by_role("heading", level=1)).to_have_text("Sheep meadow")
    comes_to(lambda: sorted(log()), [("meadow", "skip"), ("meadow", "undo")])


def test_the_standby_brings_its_own_frames_and_settings(field, log):
    page = field()
    before = page.locator("[data-frame=first] svg").get_attribute("aria-label")
    page.get_by_role("button", name="Use standby: Boathouse doors").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Boathouse doors, for Sheep meadow")
    assert page.locator("[data-frame=first] svg").get_attribute("aria-label") != before
    comes_to(log, [("meadow", "standby")])


def test_a_meter_reading_corrects_what_to_set(field, log, served):
    """A reading one stop over what is reckoned halves the time, or nearly: marks on a dial are rounded."""
    page = field()
    expected = float(page.locator("[data-now=expected]").text_content().split("EV ")[1].split()[0])
    shutter = page.locator("[data-now=set] dd").nth(1)
    before = int(shutter.text_content().removeprefix("1/").removesuffix(" s"))
    page.get_by_label("Meter at their faces").fill(f"{expected + 1:.1f}".replace(".", ","))
    press(page, "Correct")
    expect(page.locator("[data-now=meter-says]")).to_contain_text("1 stop brighter than reckoned")
    assert int(shutter.text_content().removeprefix("1/").removesuffix(" s")) == pytest.approx(2 * before, rel=0.05)
    comes_to(log, [("meadow", "meter")])
    press(page, "As reckoned")
    expect(page.locator("[data-now=meter-says]")).to_be_hidden()


def test_a_reading_that_is_none_is_told_and_stays(field, log):
    page = field()
    page.get_by_label("Meter at their faces").fill("bright")
    press(page, "Correct")
    expect(page.locator("[data-now=meter-says]")).to_contain_text("Type an EV at ISO 100 such as 11.3")
    assert page.get_by_label("Meter at their faces").input_value() == "bright" and log() == []


READINGS = {"11.3": 11.3, "EV 9": 9.0, "f/4 1/250 100": 11.966, "2,8 1/125 s ISO 200": 8.937, "f/8 2 100": 5.0, "": None, "f/4": None}


def test_what_a_meter_says_is_read(field):
    """log2(N²/t) - log2(S/100), ISO 2720; by hand: f/4 and 1/250 s are log2(16 · 250)."""
    page = field()
    module = page.locator("link[href*='field-meter']").get_attribute("href")
    found = page.evaluate("([module, texts]) => import(module).then((one) => texts.map(one.readingOf))", [module, list(READINGS)])
    assert found == [None if ev is None else pytest.approx(ev, abs=0.001) for ev in READINGS.values()]


def test_a_wrong_clock_is_told(field, served):
    page = field(at=AT + timedelta(minutes=63), wait="")
    expect(page.locator("[data-about=clock]")).to_contain_text("1 h 3 min ahead of Westering's")


def test_a_clock_an_hour_behind_forgets_nothing_and_is_told_without_signal_too(field, log):
    """What was remembered by the phone's clock looked older than the page, and “done” was gone after a reload."""
    page = field(at=AT - timedelta(minutes=63))
    press(page, "Start")
    press(page, "Done")
    comes_to(log, [("meadow", "start"), ("meadow", "done")])
    expect(page.locator("[data-about=waiting]")).to_have_count(0)
    worker_ready(page)
    page.context.set_offline(True)
    page.reload()
    expect(page.locator("[data-now=called]")).to_have_text("Boathouse doors")
    expect(page.locator("[data-about=clock]")).to_contain_text("was 1 h 3 min behind Westering's when they last met")


def test_a_slot_that_is_over_is_not_left_for(field):
    page = field(at=AT + timedelta(minutes=90), wait="")
    expect(page.locator("[data-now=next]")).to_contain_text("solve the rest again")
    expect(page.locator("[data-now=next]")).not_to_contain_text("Leave now")


def test_a_clock_two_minutes_off_is_not(field):
    page = field(at=AT - timedelta(seconds=110))
    expect(page.locator("[data-about=clock]")).to_have_count(0)


def test_a_phone_in_another_zone_shows_the_shoots_time_and_says_so(field):
    page = field(timezone_id="Europe/Oslo")
    expect(page.locator("[data-field=clock]")).to_have_text("17:05")
    expect(page.locator("[data-about=zone]")).to_contain_text("own clock shows 18:05")


def test_full_storage_is_told_and_what_is_pressed_still_goes(field, log):
    page = field()
    page.evaluate("IDBObjectStore.prototype.put = () => { throw new DOMException('full', 'QuotaExceededError') }; 0")
    press(page, "Start")
    expect(page.locator("[data-about=full]")).to_contain_text("storage is full")
    comes_to(log, [("meadow", "start")])


def test_a_page_that_finds_no_room_is_not_told_as_lost_signal(field, new_page, served):
    field()
    page = new_page(**PHONE)
    page.add_init_script("Cache.prototype.put = async () => { throw new DOMException('full', 'QuotaExceededError') }")
    page.goto(served.address + FIELD)
    expect(page.locator("[data-field=kept]")).to_contain_text("storage is full, so this page is not kept and will not open without signal")


def test_without_a_database_the_outbox_still_keeps(field, new_page, served, log):
    field()
    page = new_page(**PHONE)
    page.add_init_script("delete window.indexedDB; Object.defineProperty(window, 'indexedDB', { get: () => undefined })")
    page.clock.set_fixed_time(AT)
    page.goto(served.address + FIELD)
    expect(page.locator("[data-field=kept]")).to_contain_text(KEPT)
    worker_ready(page)
    page.context.set_offline(True)
    press(page, "Start")
    page.reload()
    expect(page.locator("[data-now=where]")).to_contain_text("started 17:05")
    page.context.set_offline(False)
    page.evaluate("window.dispatchEvent(new Event('online'))")
    comes_to(log, [("meadow", "start")])


def test_signed_out_is_told_and_nothing_is_lost(field, log):
    page = field()
    page.route(f"**{LOG}", lambda route: route.fulfill(status=401, body="This needs the owner's passphrase."))
    press(page, "Start")
    expect(page.locator("[data-about=signal]")).to_contain_text("asks for the passphrase again")
    page.unroute(f"**{LOG}")
    page.evaluate("window.dispatchEvent(new Event('online'))")
    comes_to(log, [("meadow", "start")])


def test_what_the_server_cannot_keep_is_told(field, log):
    page = field()
    page.locator("[data-field=now]").evaluate("() => {}")
    page.get_by_text("Note, other standbys").click()
    page.route(f"**{LOG}", lambda route: route.continue_(post_data=route.request.post_data.replace('"note"', '"dance"')))
    page.get_by_label("Note on this slot").fill("Gnats")
    press(page, "Keep the note")
    expect(page.locator("[data-about=refused]")).to_contain_text("The log knows")
    assert log() == []


def test_solving_again_without_signal_says_that_it_needs_it(field):
    page = field()
    page.get_by_text("Note, other standbys").click()
    page.context.set_offline(True)
    press(page, "Show the old order beside a new one")
    expect(page.locator("[data-again=says]")).to_contain_text("This needs the signal")


def test_solving_again_with_signal_shows_old_against_new(field):
    page = field()
    press(page, "Start")
    press(page, "Done")
    page.get_by_text("Note, other standbys").click()
    press(page, "Show the old order beside a new one")
    page.wait_for_url("**/again?*")
    assert "at=17%3A05" in page.url and "state-meadow=done" in page.url


@pytest.mark.parametrize(
    ("at", "wanted"), [("2027-06-22T00:30", "00:30 the day after"), ("2027-06-21T18:00", "22:30"), ("2027-06-23T09:00", "02:30 the day after")]
)
def test_solving_again_after_midnight_says_which_day(field, at, wanted):
    """A shoot from 22:30 to 02:30, asked in its second day, too early, and the day after it."""
    page = field()
    found = page.evaluate(
        """async ([from, now]) => {
             const { instantOf } = await import(from)
             const day = Date.UTC(2027, 5, 21) / 1000
             return instantOf({ day: "2027-06-21", open: [day + 20.5 * 3600, day + 24.5 * 3600], offsets: [[0, 7200]] }, now)
           }""",
        [page.locator("script[type=module]").get_attribute("src").replace("field.js", "field-again.js"), datetime.fromisoformat(f"{at}+02:00").timestamp()],
    )
    assert found == wanted


def test_a_sighted_point_goes_into_the_site(field, log, served):
    page = field()
    page.get_by_text("Note, other standbys").click()
    page.get_by_label("True bearing").fill("123.4")
    page.get_by_label("Altitude above level").fill("4,5")
    press(page, "Keep this point")
    comes_to(log, [("meadow", "sighted")])
    document = served.app.state.store.site("merrowmere-boathouse").document
    assert any([123.4, 4.5] in one["properties"].get("sightings", []) for one in document["features"])


TURNED = (  # how the phone is turned, and where its back looks: bearing by its compass, and altitude
    ({"alpha": 0, "beta": 90, "gamma": 0}, 0.0, 0.0),
    ({"alpha": 90, "beta": 90, "gamma": 0}, 270.0, 0.0),
    ({"alpha": 270, "beta": 100, "gamma": 0}, 90.0, 10.0),
    ({"alpha": 0, "beta": 45, "gamma": 0}, 0.0, -45.0),
    ({"alpha": 0, "beta": 90, "gamma": 0, "webkitCompassHeading": 222.0}, 222.0, 0.0),
)


def test_where_the_back_of_the_phone_looks(field):
    """Upright (beta 90) the back looks where the phone faces away; alpha turns counter-clockwise; tipped back it looks up."""
    page = field()
    module = page.locator("link[href*='field-compass']").get_attribute("href")
    turned = [one for one, *_ in TURNED]
    found = page.evaluate("([module, turned]) => import(module).then((one) => turned.map(one.lookingOf))", [module, turned])
    for seen, (_, heading, altitude) in zip(found, TURNED, strict=True):
        assert (seen["heading"], seen["altitude"]) == (pytest.approx(heading, abs=1e-6), pytest.approx(altitude, abs=1e-6))


def test_the_compass_is_corrected_to_true_north_and_may_be_typed_over(field, served, monkeypatch):
    monkeypatch.setattr("app.web.field_sky.declination", lambda *place: Declination(-12.5, 0.4, "Iron about."))
    page = field()
    page.get_by_text("Note, other standbys").click()
    press(page, "Ask for the compass")
    page.evaluate("""void setInterval(() => {
        dispatchEvent(new DeviceOrientationEvent("deviceorientation", { alpha: 10, beta: 45, gamma: 0 }))  // knows no north
        dispatchEvent(new DeviceOrientationEvent("deviceorientationabsolute", { alpha: 90, beta: 95, gamma: 0, absolute: true }))
    }, 50)""")
    says = page.locator("[data-compass=says]")
    expect(says).to_contain_text("5.0° up")
    expect(says).to_contain_text("Looking 257.5° true")
    expect(says).to_contain_text("12.5° taken off for magnetic north; the phone does not say how sure it is")
    expect(says).to_contain_text("Iron about.")
    press(page, "Take what it says")
    assert page.get_by_label("True bearing").input_value() == "257.5"
    page.get_by_label("True bearing").fill("271")
    press(page, "Keep this point")
    comes_to(lambda: [one.told.get("bearing_deg") for one in served.app.state.store.shoots.log("ilse-and-bram")], [271.0])


def test_all_of_it_goes_by_the_keyboard(field, log):
    page = field()
    page.get_by_role("button", name="Start", exact=True).focus()
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    page.keyboard.press("Space")
    comes_to(lambda: sorted(log()), [("meadow", "done"), ("meadow", "start")])


def test_plain_http_from_another_machine_says_what_is_missing(field, new_page, served):
    field()
    page = new_page(**PHONE)
    page.add_init_script("Object.defineProperty(window, 'isSecureContext', { get: () => false })")
    page.goto(served.address + FIELD)
    expect(page.locator("[data-about=keep]")).to_contain_text("plain http from another machine")


def test_an_update_of_the_app_while_offline_does_no_harm(field, served, monkeypatch):
    """The page that was kept goes on with the files it came with, though the server has others by now."""
    page = field()
    worker_ready(page)
    page.context.set_offline(True)
    monkeypatch.setattr("app.web.routes.field.version", lambda: "0123456789abcdef")
    page.reload()
    expect(page.get_by_role("heading", level=1)).to_have_text("Sheep meadow")
    page.context.set_offline(False)
    page.reload()
    expect(page.locator("[data-field=kept]")).to_contain_text(KEPT)
    assert "0123456789abcdef" in page.locator("link[rel=stylesheet]").first.get_attribute("href")
    kept = page.evaluate("caches.open('westering-field-files').then((one) => one.keys()).then((all) => all.map((one) => one.url))")
    assert kept and all("0123456789abcdef" in one for one in kept)


def test_papers_change_without_signal(field):
    page = field()
    page.context.set_offline(True)
    press(page, "safelight")
    assert page.evaluate("document.documentElement.className") == "paper-safelight"
    page.context.set_offline(False)
    page.reload()
    expect(page.get_by_role("button", name="safelight")).to_have_attribute("aria-pressed", "true")


def test_presses_within_a_tenth_of_a_second_keep_their_order(field, log, served):
    """The later of two readings counts, though a clock that stands still gives both one time."""
    page = field()
    for words in ("1/3 brighter", "1/3 brighter", "As reckoned", "1/3 darker"):
        press(page, words)
    expect(page.locator("[data-now=meter-says]")).to_contain_text("1/3 stop darker")
    comes_to(log, [("meadow", "meter")] * 4)
    times = [one.at_utc_s for one in served.app.state.store.shoots.log("ilse-and-bram")]
    assert len(set(times)) == 4
