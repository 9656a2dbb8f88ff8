"""The plan in a real browser: pins and corners moved by mouse, keys and touch; pages without scripts; accessibility."""

from io import BytesIO

import pytest
from axe_playwright_python.sync_playwright import Axe
from PIL import Image
from playwright.sync_api import expect

from app.place.geodesy import inverse
from app.web.shelf import Shelf

SITE = "/sites/merrowmere-boathouse"
JETTY = "setup-end-of-the-jetty"
PAPERS = ("proof", "glare", "safelight")
CAMERA, COUPLE = ".plan-handle--camera", ".plan-handle--couple"
WORDS = "[data-plan-words]"


@pytest.fixture
def kept(served):
    """A function that reads a site as it is kept now."""
    return lambda slug="merrowmere-boathouse": Shelf(served.app.state.store).site(slug)


@pytest.fixture
def opened(served, page):
    """A function that opens a page, on which no script may fail."""
    faults = []
    page.on("pageerror", lambda fault: faults.append(str(fault)))
    page.on("console", lambda message: faults.append(message.text) if message.type == "error" else None)

    def open_page(path, wait=CAMERA):
        page.goto(served.address + path)
        page.wait_for_selector(wait, state="attached")
        return page

    yield open_page
    assert [fault for fault in faults if "409" not in fault and "422" not in fault] == []


def middle_of(page, selector):
    box = page.locator(selector).bounding_box()
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def drag(page, selector, right, down, drop=True):
    page.locator(selector).scroll_into_view_if_needed()
    x, y = middle_of(page, selector)
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + right, y + down, steps=4)
    if drop:
        page.mouse.up()


def moved_m(before, after):
    return inverse(before.lat_deg, before.lon_deg, after.lat_deg, after.lon_deg)


def test_dragging_a_pin_redraws_frames_and_plan_and_is_kept(opened, kept):
    page = opened(SITE)
    before = kept().setup(JETTY).camera_pin
    strip, plan = (
        page.inner_html("[data-part=strip] ol"),
        page.locator(".plan-board__map .plan__setup--chosen .plan__line"),
    )
    line = plan.get_attribute("d")
    drag(page, CAMERA, 30, 20, drop=False)
    page.wait_for_function(
        "old => document.querySelector('[data-part=strip] ol').innerHTML !== old", arg=strip
    )
    expect(plan).not_to_have_attribute("d", line)
    assert kept().setup(JETTY).camera_pin == before  # not before it is let go
    page.mouse.up()
    expect(page.locator(WORDS)).to_contain_text("Kept: Camera of End of the jetty. Line ")
    after = kept().setup(JETTY)
    assert moved_m(before, after.camera_pin).bearing_deg == pytest.approx(124, abs=6)  # 30 right and 20 down
    expect(page.locator("[data-part=setups]")).to_contain_text(
        f"camera {after.distance_m:.1f} m from the couple"
    )
    page.reload()
    expect(page.locator("[data-part=setups]")).to_contain_text(
        f"camera {after.distance_m:.1f} m from the couple"
    )
    expect(page.locator("[data-part=strip] a")).to_have_count(13)


def test_arrow_keys_nudge_by_half_a_metre_and_undo_takes_it_back(opened, kept):
    page = opened(SITE)
    before = kept().setup(JETTY).couple_pin
    page.locator(COUPLE).focus()
    page.keyboard.press("ArrowUp")
    page.keyboard.press("ArrowUp")
    expect(page.locator(WORDS)).to_contain_text("Kept: Couple of End of the jetty")
    move = moved_m(before, kept().setup(JETTY).couple_pin)
    a_pin_is_kept_to_a_centimetre = 0.02
    assert move.distance_m == pytest.approx(1.0, abs=a_pin_is_kept_to_a_centimetre)
    assert min(move.bearing_deg, 360 - move.bearing_deg) < 2
    page.keyboard.press("Escape")
    expect(page.locator(WORDS)).to_contain_text("Taken back: Couple of End of the jetty")
    assert kept().setup(JETTY).couple_pin == before
    expect(page.get_by_role("button", name="Undo the move")).to_be_disabled()


def test_undo_by_its_button(opened, kept):
    page = opened(SITE)
    before = kept().setup(JETTY).camera_pin
    drag(page, CAMERA, 40, 0)
    expect(page.locator(WORDS)).to_contain_text("Kept")
    page.get_by_role("button", name="Undo the move").click()
    expect(page.locator(WORDS)).to_contain_text("Taken back")
    assert kept().setup(JETTY).camera_pin == before


def test_escape_in_the_middle_of_a_drag_puts_the_pin_back(opened, kept):
    page = opened(SITE)
    version, place = kept().version, middle_of(page, CAMERA)
    drag(page, CAMERA, 60, 30, drop=False)
    page.keyboard.press("Escape")
    page.mouse.up()
    now = middle_of(page, CAMERA)
    assert now[0] == pytest.approx(place[0], abs=1)
    expect(page.locator(WORDS)).to_be_empty()
    assert kept().version == version


def test_a_move_in_an_old_tab_goes_back_with_words_and_a_way_on(opened, served, kept):
    page = opened(SITE)
    store, before = served.app.state.store, kept()
    store.save_site("merrowmere-boathouse", before.site.document, before.version)
    drag(page, CAMERA, 30, 20)
    expect(page.locator(WORDS)).to_contain_text("is back where it was")
    expect(page.locator(WORDS)).to_contain_text("another tab")
    assert kept().setup(JETTY).camera_pin == before.setup(JETTY).camera_pin
    page.get_by_role("link", name="Open the plan as it is now").click()
    page.wait_for_selector(CAMERA)
    drag(page, CAMERA, 30, 20)
    expect(page.locator(WORDS)).to_contain_text("Kept")


def test_corners_are_moved_added_and_taken_away(opened, kept):
    page = opened(SITE)
    page.get_by_role("button", name="Corners on the plan: the boathouse").click()
    page.get_by_role("button", name="This setup").click()
    corners = page.locator(".plan-handle--corner")
    expect(corners).to_have_count(4)
    page.get_by_role("button", name="Whole sheet").click()
    page.get_by_label("Corner 1 of 4 of the boathouse").focus()
    page.keyboard.press("ArrowLeft")
    expect(page.locator(WORDS)).to_contain_text("Kept: the boathouse")
    for _ in range(3):
        page.get_by_role("button", name="Closer").click()
    add = page.get_by_label("Add a corner after corner 1 of the boathouse")
    add.focus()
    page.keyboard.press("Enter")
    expect(corners).to_have_count(5)
    expect(page.get_by_label("Corner 2 of 5 of the boathouse")).to_be_focused()
    expect(page.locator(WORDS)).to_contain_text("Kept")
    expect(page.locator("[data-plan-version]")).to_have_attribute("data-plan-version", "3")
    assert len(next(one for one in kept().site.obstacles if one.name == "the boathouse").outline) == 6
    page.keyboard.press("Delete")
    expect(corners).to_have_count(4)
    expect(page.locator("[data-plan-version]")).to_have_attribute("data-plan-version", "4")
    assert len(next(one for one in kept().site.obstacles if one.name == "the boathouse").outline) == 5


def test_an_outline_that_would_cross_itself_goes_back(opened, kept):
    page = opened(SITE)
    before = kept().site.obstacles
    page.get_by_role("button", name="Corners on the plan: the boathouse").click()
    page.get_by_label("Corner 1 of 4 of the boathouse").focus()
    for _ in range(5):
        page.keyboard.press("Shift+ArrowRight")
    expect(page.locator(WORDS)).to_contain_text("crosses itself")
    assert kept().site.obstacles == before


def test_water_is_drawn_by_pressing_on_the_plan(opened, kept):
    page = opened(f"{SITE}/new-feature?role=water", wait="[data-plan-map].leaflet-container")
    box = page.locator("[data-plan-map]").bounding_box()
    for right, down in ((0.55, 0.3), (0.75, 0.3), (0.75, 0.45), (0.55, 0.45)):
        page.mouse.click(box["x"] + box["width"] * right, box["y"] + box["height"] * down)
        page.wait_for_timeout(350)  # two presses at once would be a double click, which changes the scale
    assert len(page.get_by_label("Corners", exact=True).input_value().splitlines()) == 4
    drag(page, ".plan-handle--corner >> nth=0", -10, -10)
    page.get_by_label("Name").fill("Duck pond")
    page.get_by_role("button", name="Put it on the plan").click()
    page.wait_for_selector(CAMERA)
    pond = kept().site.waters[-1]
    assert (pond.name, len(pond.ring)) == ("Duck pond", 5)


def test_pins_of_a_new_setup_are_put_down_by_pressing(opened, kept):
    page = opened(f"{SITE}/new-setup", wait="[data-plan-map].leaflet-container")
    box = page.locator("[data-plan-map]").bounding_box()
    for right in (0.6, 0.5):
        page.mouse.click(box["x"] + box["width"] * right, box["y"] + box["height"] * 0.5)
        page.wait_for_timeout(350)
    page.locator(COUPLE).focus()
    page.keyboard.press("ArrowLeft")
    page.get_by_label("Name", exact=True).fill("Lawn")
    page.get_by_role("button", name="Put it on the plan").click()
    page.wait_for_selector(CAMERA)
    setup = next(setup for setup in kept().setups() if setup.name == "Lawn")
    assert setup.line_deg == pytest.approx(270, abs=3)


def test_decimals_typed_in_a_form_move_its_map(opened):
    page = opened(f"{SITE}/setups/{JETTY}")
    place = middle_of(page, CAMERA)
    page.get_by_label("Camera pin").fill("54.5704, -3.1305")
    page.get_by_label("Camera pin").blur()
    now = middle_of(page, CAMERA)
    assert now[0] > place[0] + 20 and now[1] < place[1] - 5


def test_a_move_on_a_form_is_written_into_its_field_and_taken_back(opened, kept):
    page = opened(f"{SITE}/setups/{JETTY}")
    before = page.get_by_label("Couple pin").input_value()
    page.get_by_label("Distance, in metres").fill("9")
    drag(page, COUPLE, -40, 0)
    expect(page.get_by_label("Couple pin")).not_to_have_value(before)
    expect(page.get_by_label("Distance, in metres")).to_have_value("")  # it would go before the pin
    page.get_by_role("button", name="Undo the move").click()
    expect(page.get_by_label("Couple pin")).to_have_value(before)
    assert kept().version == 1


def test_touch_drags_a_pin_and_handles_are_large(new_page, served, kept):
    page = new_page(viewport={"width": 390, "height": 844}, has_touch=True, is_mobile=True)
    page.goto(served.address + SITE)
    page.wait_for_selector(CAMERA)
    page.locator(CAMERA).scroll_into_view_if_needed()
    box = page.locator(CAMERA).bounding_box()
    assert min(box["width"], box["height"]) >= 44
    before = kept().setup(JETTY).camera_pin
    x, y = middle_of(page, CAMERA)
    touch = page.context.new_cdp_session(page)
    for kind, step in (("touchStart", 0), ("touchMove", 15), ("touchMove", 30), ("touchEnd", None)):
        points = [] if step is None else [{"x": x + step, "y": y + step}]
        touch.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})
    expect(page.locator(WORDS)).to_contain_text("Kept")
    assert moved_m(before, kept().setup(JETTY).camera_pin).distance_m > 1


def test_pins_are_typed_without_scripts(new_page, served, kept):
    page = new_page(java_script_enabled=False)
    page.goto(f"{served.address}{SITE}")
    expect(page.locator(".plan--desk")).to_be_visible()
    page.get_by_role("link", name="change End of the jetty").click()
    page.get_by_label("Camera pin").fill("N 54° 34.212' W 3° 7.872'")
    page.get_by_label("Bearing, in degrees", exact=True).fill("250")
    page.get_by_label("Distance, in metres").fill("zwölf")
    page.get_by_role("button", name="Keep this setup").click()
    expect(page.get_by_role("alert")).to_contain_text("Not kept yet: 1 field needs")
    expect(page.get_by_label("Camera pin")).to_have_value("N 54° 34.212' W 3° 7.872'")
    page.get_by_label("Distance, in metres").fill("12")
    page.get_by_role("button", name="Keep this setup").click()
    expect(page.locator(".plan--desk")).to_be_visible()
    setup = kept().setup(JETTY)
    assert (setup.distance_m, setup.line_deg) == (pytest.approx(12, abs=0.02), pytest.approx(250, abs=0.1))


def test_a_frame_is_picked_and_a_site_made_without_scripts(new_page, served):
    page = new_page(java_script_enabled=False)
    page.goto(f"{served.address}{SITE}")
    page.locator("[data-part=strip] a", has_text="18:20").click()
    expect(page.get_by_label("Pick a frame, or type a time")).to_have_value("18:20")
    page.goto(f"{served.address}/sites/new")
    page.get_by_label("Name").fill("Heath")
    page.get_by_label("Place").fill("geo:54.57,-3.13")
    page.get_by_role("button", name="Look the place up first").click()
    expect(page.get_by_role("status")).to_contain_text("54.570000, -3.130000, clocks of Europe/London")
    page.get_by_role("button", name="Make the site").click()
    expect(page.get_by_role("heading", name="Heath", exact=True)).to_be_visible()


def test_a_picture_is_laid_by_two_points_pressed_on_it(opened, served, kept):
    page = opened(f"{SITE}/ground", wait="#kind-picture")
    drone = BytesIO()
    Image.new("RGB", (400, 300), "#9a8").save(drone, "PNG")
    page.get_by_label("A picture of my own").check()
    page.get_by_label("Picture", exact=True).set_input_files(
        {"name": "drone.png", "mimeType": "image/png", "buffer": drone.getvalue()}
    )
    page.get_by_role("button", name="Keep this ground").click()
    picture = page.get_by_alt_text("The picture kept for this plan")
    picture.click(position={"x": 50, "y": 150})
    picture.click(position={"x": 350, "y": 150})
    page.get_by_label("Point 2 on the picture").press("Shift+ArrowLeft")
    xs = [float(page.locator(f"[name=point_{n}_x]").input_value()) for n in (1, 2)]
    assert xs == [pytest.approx(50, abs=1.5), pytest.approx(340, abs=1.5)]
    page.locator("[name=point_1]").fill("54.5702, -3.1320")
    page.locator("[name=point_2_bearing_deg]").fill("90")
    page.locator("[name=point_2_distance_m]").fill("80")
    page.get_by_role("button", name="Keep this ground").click()
    page.wait_for_selector(".plan-board__map .plan__picture", state="attached")
    points = served.app.state.store.ground("merrowmere-boathouse").laying
    assert inverse(
        points[0].lat_deg, points[0].lon_deg, points[1].lat_deg, points[1].lon_deg
    ).distance_m == pytest.approx(80)


def test_tiles_lie_under_the_drawing_and_failing_ones_leave_the_grid(page, served):
    tile = BytesIO()
    Image.new("RGB", (256, 256), "#cde").save(tile, "PNG")
    referers = []

    def answer(route):
        referers.append(route.request.header_value("referer"))
        route.fulfill(body=tile.getvalue(), content_type="image/png")

    page.goto(f"{served.address}{SITE}/ground")
    page.get_by_label("Map tiles from an address I set").check()
    page.get_by_label("Address of the tiles").fill("https://tiles.example.org/{z}/{x}/{y}.png")
    page.get_by_label("Whose they are").fill("© Example <maps>")
    page.get_by_label("Deepest zoom they have").fill("19")
    page.route("https://tiles.example.org/**", answer)
    page.get_by_role("button", name="Keep this ground").click()
    page.wait_for_selector(".plan-board__map--tiles")
    expect(page.locator(".leaflet-control-attribution")).to_have_text("© Example <maps>")
    assert set(referers) == {f"{served.address}/"}
    page.unroute("https://tiles.example.org/**")
    page.route("https://tiles.example.org/**", lambda route: route.fulfill(status=403))
    page.reload()
    expect(page.locator(WORDS)).to_contain_text("The map tiles do not come")
    expect(page.locator(".plan-board__map--tiles")).to_have_count(0)


@pytest.mark.parametrize("width", [1280, 390])
@pytest.mark.parametrize("paper", PAPERS)
def test_nothing_serious_for_accessibility_and_nothing_runs_off_the_side(new_page, served, paper, width):
    page = new_page(viewport={"width": width, "height": 900})
    page.context.add_cookies([{"name": "paper", "value": paper, "url": served.address}])
    paths = [
        SITE,
        f"{SITE}/setups/{JETTY}",
        f"{SITE}/new-feature?role=survey",
        f"{SITE}/features/water-merrowmere",
        f"{SITE}/ground",
        f"{SITE}/details",
        "/sites/new",
    ]
    found = {}
    for path in paths:
        page.goto(served.address + path)
        if "/ground" not in path and "/details" not in path and path != "/sites/new":
            page.wait_for_selector("[data-plan-map].leaflet-container")
        serious = [
            one for one in Axe().run(page).response["violations"] if one["impact"] in ("serious", "critical")
        ]
        found |= {
            f"{path}: {one['id']}": [node["html"][:160] for node in one["nodes"][:3]] for one in serious
        }
        if page.evaluate("document.documentElement.scrollWidth") > width:
            found[f"{path}: too wide"] = [str(page.evaluate("document.documentElement.scrollWidth"))]
    assert found == {}
