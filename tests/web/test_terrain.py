"""The terrain page: files loaded, tiles fetched, what is kept and shown, and every fault in words."""

import threading
import time
from contextlib import contextmanager

import html5lib
import numpy as np
import pytest

from app.errors import Unavailable
from app.outside import elevation_tiles
from app.outside.fetch import open_client
from app.place.terrain import Grid, Terrain
from app.place.terrain_file import terrain_bytes
from app.web.drawing.terrain import turn_words
from app.web.errands import BROKEN, Errands
from app.web.routes.terrain import SETTING
from tests.outside.tile_server import served, status, well
from tests.place.landscapes import hills

PAGE = "/sites/merrowmere-boathouse/terrain"
SITE = "merrowmere-boathouse"
HERE = (54.5702, -3.1315)
SERVICE = {"address": "http://127.0.0.1:9/{z}/{x}/{y}.png", "attribution": "Heights: the made country"}


def hgt(heights):
    return np.asarray(heights).astype(">i2").tobytes()


def ridge_to_the_west():
    """One degree at three seconds: 70 m high, and 470 m west of 3.25° W, 8 km away."""
    heights = np.full((1201, 1201), 70)
    heights[:, : int(0.75 * 1200)] = 470
    return hgt(heights)


def load(client, *files, **typed):
    return client.post(PAGE, files=[("files", file) for file in files], data=typed)


@pytest.fixture
def loaded(client):
    """A client whose first site has a ridge to the west."""
    assert load(client, ("N54W004.hgt", ridge_to_the_west()), owner="the surveyors").status_code == 200
    return client


@pytest.fixture(autouse=True)
def hurried(monkeypatch):
    """Loopback is asked directly, and waits are short."""
    monkeypatch.setenv("NO_PROXY", "127.0.0.1")
    monkeypatch.setattr(elevation_tiles, "open_client", lambda: open_client(2.0))


def ended(client, within_s=20.0):
    """The page once its errand has ended."""
    until = time.monotonic() + within_s
    while time.monotonic() < until:
        page = client.get(PAGE)
        if page.context["errand"].ended:
            return page
        time.sleep(0.05)
    raise AssertionError("the errand never ended")


@contextmanager
def service(client, answer=well):
    with served(answer) as server:
        kept = client.post(f"{PAGE}/service", data={"address": server.address, "attribution": "Heights: the made country"})
        assert kept.status_code == 200
        yield server


# Loading


def test_at_first_nothing_is_kept_and_the_page_says_which_file_it_needs(client):
    page = client.get(PAGE)
    assert page.status_code == 200
    assert (page.context["stored"], page.context["setups"], page.context["errand"]) == (None, (), None)
    assert "N54W004" in page.text and "No heights yet" in page.text and "No service is built in" in page.text


def test_a_loaded_file_is_kept_for_later_pages(loaded):
    page = loaded.get(PAGE)
    stored, terrain = page.context["stored"], page.context["terrain"]
    assert (stored.source, stored.attribution, stored.version) == ("N54W004.hgt", "the surveyors", 1)
    assert terrain.height_at(*HERE) == 70.0
    assert "54.1" in page.context["page"].extent and "° N to 55.0" in page.text
    assert page.context["page"].steps_m[0] == 93


def test_each_camera_has_its_own_profile(loaded):
    setups = loaded.get(PAGE).context["setups"]
    assert [one.seen.setup.name for one in setups] == ["End of the jetty", "Boathouse doors", "Sheep meadow"]
    jetty = setups[0]
    assert jetty.seen.standing.found_m == pytest.approx(70.0)
    assert jetty.seen.standing.told_m == pytest.approx(75.6)
    # The ridge is 470 m high and its edge 7.6 km away: atan((470 - 77.1 - 4) / 7600) = 2.93 degrees.
    assert jetty.profile.highest.altitude_deg == pytest.approx(2.93, abs=0.06)
    assert jetty.profile.highest.bearing_deg == pytest.approx(270, abs=3)
    assert jetty.profile.highest.called == "the ridge"
    assert jetty.profile.highest.away_m == pytest.approx(7_600, rel=0.02)
    behind = next(row for row in jetty.profile.rows if row.turn == "behind the camera")
    assert behind.altitude_deg == pytest.approx(0, abs=0.1) and behind.called == "the horizon"


def test_the_profile_is_drawn_from_the_line_with_the_picture_s_edges(loaded):
    profile = loaded.get(PAGE).context["setups"][0].profile
    left, right = profile.frame
    assert (left + right) / 2 == pytest.approx(500, abs=0.01)
    assert (right - left) / 1000 * 360 == pytest.approx(28.8, abs=0.1)  # 70 mm on 36 mm: 2 atan(18/70)
    assert profile.ink.startswith("M0,") and profile.ink.endswith("Z")
    assert profile.labels[2][1] == "the line" and profile.labels[0][0] == pytest.approx(profile.labels[4][0])


def test_what_is_not_known_is_told_with_its_bearings(client):
    edge = Grid(np.full((1201, 1201), 70.0), 55.0, -3.16, 1 / 1200, 1 / 1200)
    client.app.state.store.save_terrain(SITE, terrain_bytes(Terrain((edge,), "a file")), "a file", "", 0)
    page = client.get(PAGE)
    assert "the ground is known for less than 50 km" in page.text
    cut = Grid(np.full((1201, 1201), 70.0), 55.0, -3.1320, 1 / 1200, 1 / 1200)
    client.app.state.store.save_terrain(SITE, terrain_bytes(Terrain((cut,), "a file")), "a file", "", 1)
    page = client.get(PAGE)
    assert "No ground is known towards" in page.text and "Hatched: nothing is known." in page.text
    assert page.context["setups"][0].profile.unknown


def test_several_files_become_one_terrain(client):
    page = load(client, ("N54W004.hgt", ridge_to_the_west()), ("N54W003.hgt", hgt(np.full((1201, 1201), 200))))
    terrain = page.context["terrain"]
    assert page.context["stored"].source == "N54W004.hgt, N54W003.hgt"
    assert terrain.height_at(54.57, [-3.1, -2.9]) == pytest.approx([70, 200])


def test_new_files_take_the_place_of_the_old(loaded):
    page = load(loaded, ("N54W004.hgt", hgt(np.full((1201, 1201), 90))))
    assert page.context["stored"].version == 2
    assert page.context["terrain"].height_at(*HERE) == 90.0


@pytest.mark.parametrize("files,status_code,words", [
    ([("N54W004.hgt", b"short")], 422, "fill no square of heights"),
    ([("N54W004.hgt", b"")], 422, "“N54W004.hgt” is empty"),
    ([("hills.hgt", hgt(np.ones((11, 11))))], 422, "does not say which degree"),
    ([("N50E010.hgt", hgt(np.ones((11, 11))))], 422, "None of the heights of “N50E010.hgt” lie within 50 km of 54.57° N"),
    ([("N54W004.hgt", hgt(np.ones((11, 11)))), ("N50E010.hgt", hgt(np.ones((11, 11))))], 422, "N50E010.hgt"),
    ([("plan.png", b"\x89PNG")], 422, "no elevation file known here"),
    ([("N54W004.hgt", b"x")] * 17, 422, "one to 16 elevation files; 17 came"),
])
def test_files_that_cannot_be_used_are_told_and_what_is_kept_stays(loaded, files, status_code, words):
    page = load(loaded, *files, owner="a friend")
    assert page.status_code == status_code
    assert words in page.context["form"].errors["files"] and "Nothing was changed." in page.text
    assert 'value="a friend"' in page.text
    assert page.context["stored"].source == "N54W004.hgt"


def test_a_form_without_a_file_is_told(client):
    page = client.post(PAGE, data={"owner": "me"})
    assert page.status_code == 422 and "0 came" in page.context["form"].errors["files"]


@pytest.mark.parametrize("address", ["/sites/nowhere/terrain", "/sites/nowhere/terrain/fetch", "/sites/nowhere/terrain/removal"])
def test_a_site_that_is_not_there_is_said_to_be_missing(client, address):
    assert client.post(address, data={"version": "0"}).status_code == 404
    assert client.get("/sites/nowhere/terrain").status_code == 404
    assert client.post(address, files=[("files", ("N54W004.hgt", ridge_to_the_west()))]).status_code == 404


def test_a_whole_degree_may_be_sent_but_not_any_amount(client):
    answer = client.post(PAGE, content=b"x", headers={"content-length": "130000000"})
    assert answer.status_code == 413 and "120 MB" in answer.text


def test_heights_can_be_removed_but_not_those_somebody_else_has_changed(loaded):
    load(loaded, ("N54W004.hgt", hgt(np.full((1201, 1201), 90))))
    assert loaded.post(f"{PAGE}/removal", data={"version": "1"}).status_code == 409
    page = loaded.post(f"{PAGE}/removal", data={"version": "2"})
    assert page.status_code == 200 and page.context["stored"] is None


def test_damaged_heights_leave_the_page_standing(client):
    client.app.state.store.save_terrain(SITE, b"rubbish", "a file", "", 0)
    page = client.get(PAGE)
    assert page.status_code == 200 and page.context["terrain"] is None
    assert "is damaged. Load its files, or fetch it, again." in page.text and "Remove these heights" in page.text


def test_a_site_without_setups_has_a_page(client):
    made = client.app.state.store.add_site({
        "type": "FeatureCollection", "name": "Bare", "centre": [-3.1315, 54.5702], "height_m": 0, "datum": "", "features": [],
        "time_zone": "Europe/London", "notes": {"access": "", "permission": "", "hazards": ""},
    })  # fmt: skip
    page = client.post(f"/sites/{made.slug}/terrain", files=[("files", ("N54W004.hgt", ridge_to_the_west()))])
    assert page.status_code == 200 and "No setup yet" in page.text


def test_a_height_of_the_site_that_cannot_be_true_is_told(client):
    store = client.app.state.store
    grid = Grid(np.full((1201, 1201), 300.0), 55.0, -4.0, 1 / 1200, 1 / 1200)
    store.save_terrain(SITE, terrain_bytes(Terrain((grid,), "a file")), "a file", "", 0)
    page = client.get(PAGE)
    assert not page.context["setups"][0].seen.standing.agree
    assert "more than 30 m apart" in page.text


# Fetching


def test_the_address_of_a_service_is_kept_for_all_sites_and_can_be_emptied(client):
    page = client.post(f"{PAGE}/service", data=SERVICE)
    assert client.app.state.store.setting(SETTING) == SERVICE
    assert page.context["service"].attribution in client.get("/sites/sandpiper-bay/terrain").text
    page = client.post(f"{PAGE}/service", data={"address": "", "attribution": ""})
    assert page.context["service"] is None


@pytest.mark.parametrize("typed,field", [
    (SERVICE | {"address": "tiles.example"}, "address"), (SERVICE | {"attribution": ""}, "attribution"),
])
def test_a_wrong_address_is_told_by_its_field_and_nothing_typed_is_lost(client, typed, field):
    page = client.post(f"{PAGE}/service", data=typed)
    assert page.status_code == 422 and list(page.context["form"].errors) == [field]
    assert all(f'value="{value}"' in page.text for value in typed.values())
    assert client.app.state.store.setting(SETTING) is None


def test_tiles_are_fetched_while_the_page_is_left(client):
    with service(client) as server:
        client.post(f"{PAGE}/fetch")
        page = ended(client)
        assert len(server.asked) == page.context["errand"].of > 20
    assert page.context["errand"].words.startswith("All ") and not page.context["errand"].failed
    assert page.context["stored"].source == "elevation tiles from 127.0.0.1"
    assert page.context["stored"].attribution == "Heights: the made country"
    assert page.context["setups"][0].seen.view.notes == ()


def test_progress_is_shown_and_a_second_press_starts_nothing(client):
    go_on = threading.Event()

    def held(handler, zoom, x, y):
        go_on.wait(10)
        well(handler, zoom, x, y)

    with service(client, held) as server:
        client.post(f"{PAGE}/fetch")
        page = client.post(f"{PAGE}/fetch")
        assert not page.context["errand"].ended and 'data-errand="running"' in page.text
        assert "You may leave this page" in page.text
        go_on.set()
        of = ended(client).context["errand"].of
        assert len(server.asked) == of


@pytest.mark.parametrize("answer,words", [(status(500), "answered with an error"), (status(429), "Try again in an hour")])
def test_a_service_in_trouble_is_told_and_what_is_kept_stays(loaded, answer, words):
    with service(loaded, answer):
        loaded.post(f"{PAGE}/fetch")
        page = ended(loaded)
    assert page.status_code == 200 and page.context["errand"].failed
    assert words in page.text and "still kept" in page.text
    assert page.context["stored"].source == "N54W004.hgt"


def test_a_service_that_is_down_leaves_the_page_standing(client):
    client.post(f"{PAGE}/service", data=SERVICE)
    client.post(f"{PAGE}/fetch")
    assert "127.0.0.1 cannot be reached" in ended(client).text


def test_what_somebody_loaded_meanwhile_is_not_overwritten(client):
    go_on = threading.Event()

    def held(handler, zoom, x, y):
        go_on.wait(10)
        well(handler, zoom, x, y)

    with service(client, held):
        client.post(f"{PAGE}/fetch")
        load(client, ("N54W004.hgt", ridge_to_the_west()))
        go_on.set()
        page = ended(client)
    assert page.context["errand"].failed and "was changed since" in page.text
    assert page.context["stored"].source == "N54W004.hgt"


def test_without_an_address_nothing_is_fetched(client):
    page = client.post(f"{PAGE}/fetch")
    assert page.status_code == 422 and "Set the address of a service first" in page.text


def test_words_of_an_errand_go_when_files_are_loaded(client):
    client.post(f"{PAGE}/service", data=SERVICE)
    client.post(f"{PAGE}/fetch")
    ended(client)
    assert load(client, ("N54W004.hgt", ridge_to_the_west())).context["errand"] is None


# Errands


def finished(errands, key="a"):
    until = time.monotonic() + 5
    while not errands.of(key).ended and time.monotonic() < until:
        time.sleep(0.005)
    return errands.of(key)


def failing(error):
    def work(report):
        report(1, 2)
        raise error

    return work


def test_an_errand_tells_how_it_ended():
    errands = Errands()
    errands.start("a", lambda report: report(3, 3) or "Done.")
    assert (finished(errands).done, finished(errands).of, finished(errands).words) == (3, 3, "Done.")
    errands.start("a", failing(Unavailable("The service is out.")))
    assert finished(errands).failed and errands.of("a").words == "The service is out."


def test_a_broken_errand_ends_and_leaves_its_trace_in_the_log(caplog):
    errands = Errands()
    errands.start("a", failing(ZeroDivisionError()))
    assert finished(errands).words == BROKEN
    assert "ZeroDivisionError" in caplog.text


def test_only_an_ended_errand_is_forgotten():
    errands, go_on = Errands(), threading.Event()
    errands.start("a", lambda report: str(go_on.wait(5)))
    errands.forget("a")
    assert errands.of("a") is not None
    go_on.set()
    finished(errands)
    errands.forget("a")
    assert errands.of("a") is None


# Markup


@pytest.mark.parametrize("turn_deg,words", [
    (0.2, "along the line"), (-12.4, "12° left"), (90, "90° right"), (-180, "behind the camera"),
])
def test_turns_in_words(turn_deg, words):
    assert turn_words(turn_deg) == words


@pytest.mark.parametrize("paper", ["proof", "safelight"])
def test_the_page_is_well_formed_with_ids_of_their_own(loaded, paper):
    loaded.cookies.set("paper", paper)
    page = loaded.get(PAGE)
    parser = html5lib.HTMLParser(strict=False)
    parser.parse(page.text)
    assert [error for error in parser.errors if error[1] != "unexpected-end-tag-treated-as"] == []
    ids = [one.get("id") for one in html5lib.parse(page.text, namespaceHTMLElements=False).iter() if one.get("id")]
    assert len(ids) == len(set(ids))


def test_a_terrain_s_name_stays_text(client):
    grid = Grid(hills(side=121), 54.62, -3.2, 1 / 1200, 1 / 1200)
    store = client.app.state.store
    store.save_terrain(SITE, terrain_bytes(Terrain((grid,), "x")), "<script>alert(1)</script>", "<b>me</b>", 0)
    page = client.get(PAGE)
    assert "<script>alert" not in page.text and "&lt;script&gt;alert" in page.text and "<b>me" not in page.text
