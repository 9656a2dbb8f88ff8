"""The plan as a drawing: scale, places, border, lettering."""

import math
import re
from datetime import date
from xml.etree import ElementTree

import numpy as np
import pytest

from app.place.edit import (
    new_document,
    obstacle_feature,
    setup_feature,
    survey_feature,
    water_feature,
    with_feature,
)
from app.place.geodesy import direct
from app.place.site import Pin
from app.place.sitefile import parse_site
from app.storage.records import Ground, LaidPoint
from app.web.drawing.plan_labels import Box, Lettering
from app.web.drawing.plan_picture import laid_picture
from app.web.drawing.plan_sheet import Extent, Sheet
from app.web.drawing.plan_shown import shown
from app.web.render import TEMPLATES
from app.web.shelf import KeptSite

LAT, LON = 54.0, -3.0
DAY = date(2027, 9, 18)
SVG = "{http://www.w3.org/2000/svg}"


def away(bearing_deg, distance_m, start=(LAT, LON)):
    """A pin so far along a bearing."""
    return Pin(*direct(*start, bearing_deg, distance_m))


def corner(bearing_deg, distance_m):
    pin = away(bearing_deg, distance_m)
    return pin.lon_deg, pin.lat_deg


def square(half_m):
    return [corner(bearing, half_m * math.sqrt(2)) for bearing in (45, 135, 225, 315)]


@pytest.fixture
def site_with():
    """A function that makes a site of given features, its first setup 10 m due west of the centre."""

    def make(*features, setup=True):
        document = new_document("Test", LAT, LON, "Europe/London")
        line = (
            [setup_feature("Line", Pin(LAT, LON), away(270, 10.0), {"focal_length_mm": 50})] if setup else []
        )
        for feature in [*line, *features]:
            document = with_feature(document, feature)
        return KeptSite("test", 1, parse_site(document))

    return make


def plan_of(kept, **wishes):
    setups = kept.setups()
    return shown(kept, setups[0] if setups else None, DAY, **wishes).desk


def drawn(plan):
    """The drawing as XML, which it must be to stand alone in a file."""
    return ElementTree.fromstring(str(TEMPLATES.env.get_template("plan.html").module.drawing(plan, "proof")))


def test_true_to_scale_with_north_up(site_with):
    plan = plan_of(site_with())
    (mark,) = plan.setups
    east, south = np.array(mark.couple) - np.array(mark.camera)
    centimetre = 0.01 * plan.sheet.scale
    assert (east, south) == (
        pytest.approx(-10.0 * plan.sheet.scale, abs=centimetre),
        pytest.approx(0.0, abs=centimetre),
    )


def test_the_angle_of_view_is_the_true_one(site_with):
    """36 mm of sensor behind 50 mm: 2 atan(36 / 100) = 39.598°."""
    (mark,) = plan_of(site_with()).setups
    left, camera, right = [tuple(map(float, pair.split())) for pair in re.split("[ML]", mark.view)[1:]]
    bearings = [math.degrees(math.atan2(x - camera[0], camera[1] - y)) % 360 for x, y in (left, right)]
    a_tenth_of_a_unit = 0.1
    assert bearings[1] - bearings[0] == pytest.approx(39.598, abs=a_tenth_of_a_unit)
    assert sum(bearings) / 2 == pytest.approx(270.0, abs=a_tenth_of_a_unit)


def test_bounds_tell_where_on_earth_the_drawing_lies(site_with):
    """A degree of latitude at 54° is 111 299 m by the meridian's radius of WGS84."""
    plan = plan_of(site_with())
    south, west, north, east = plan.bounds_deg
    assert south < LAT < north and west < LON < east
    assert (north - south) * 111_299 == pytest.approx(plan.height / plan.sheet.scale, rel=1e-3)


@pytest.mark.parametrize(
    "scale,cross,bar", [(30.0, 10, 4), (8.0, 10, 20), (3.0, 10, 40), (1.0, 50, 80), (0.3, 100, 400)]
)
def test_crosses_and_bar_are_round_metres_that_fit(site_with, scale, cross, bar):
    sheet = Sheet(site_with().site.local_frame, Extent(-50, -50, 50, 50), scale)
    assert (sheet.cross_m, sheet.bar_m) == (cross, bar)


def test_scale_bar_is_as_long_as_it_says(site_with):
    plan = plan_of(site_with())
    last, words = plan.bar.figures[-1]
    assert last == pytest.approx(float(words.removesuffix(" m")) * plan.sheet.scale)
    assert sum(length for _, length, _ in plan.bar.pieces) == pytest.approx(last)


def test_the_border_stands_as_high_as_the_skyline(site_with):
    """The sky is cut off by 6° between 240° and 300° only, so only the western edge is hatched."""
    survey = survey_feature("Ridge", Pin(LAT, LON), [[240, 6.0, "the ridge"], [265, 6.0], [290, 6.0]])
    rim = plan_of(site_with(survey)).rim
    ticks = np.array(
        [[float(number) for number in re.findall(r"-?[\d.]+", tick)] for tick in rim.ticks.split("M")[1:]]
    )
    assert rim.highest_deg == 6.0
    assert len(ticks) > 20 and np.all(ticks[:, 0] == 0.0)
    assert np.max(ticks[:, 0] - ticks[:, 2]) == pytest.approx(6.0 * 3.0, abs=0.05)  # three units for a degree


def test_the_border_letters_the_moment_and_bearings(site_with):
    labels = plan_of(site_with(), wanted=None).rim.labels
    picked = [label for label in labels if label.kind == "picked"]
    assert len(picked) == 1 and re.fullmatch(r"\d\d:\d\d", picked[0].words)
    assert {"000°", "090°", "180°"} <= {label.words for label in labels}


def test_no_border_without_a_setup(site_with):
    kept = site_with(water_feature("Pond", square(30)), setup=False)
    plan = plan_of(kept)
    assert plan.rim is None and plan.setups == () and "No setups yet" in plan.words


def test_every_kind_of_thing_is_drawn_as_well_formed_svg(site_with):
    kept = site_with(
        water_feature("Pond", square(40), holes=[square(5)]),
        obstacle_feature("the barn", "building", square(8), 6.0),
        obstacle_feature("the wall", "wall", [corner(0, 20), corner(20, 40)], 1.2, closed=False),
        obstacle_feature("the hedge", "trees", [corner(90, 20), corner(100, 45)], 2.0, closed=False),
        obstacle_feature(
            "the wood", "trees", [corner(b, 60) for b in (100, 140, 160)], 12.0, lets_through=0.3
        ),
        obstacle_feature("the awning", "canopy", [corner(b, 30) for b in (180, 200, 220)], 3.0, base_m=2.5),
        survey_feature("Here", Pin(LAT, LON), [[10, 2.0]]),
    )
    svg = drawn(plan_of(kept))
    classes = {element.get("class", "").split()[0] for element in svg.iter() if element.get("class")}
    kinds = {
        "plan__water",
        "plan__shore",
        "plan__building",
        "plan__wall",
        "plan__trees",
        "plan__canopy",
        "plan__survey",
    }
    assert kinds <= classes
    assert "the wood" in kept.site.obstacles[3].name and "wood, 12 m" in {
        text.text for text in svg.iter(f"{SVG}text")
    }


def test_names_on_the_plan_are_escaped(site_with):
    kept = site_with(obstacle_feature("<b>&", "building", square(8), 6.0))
    assert any(
        text.text and text.text.startswith("<B>&") or text.text == "<b>&, 6 m"
        for text in drawn(plan_of(kept)).iter(f"{SVG}text")
    )


def test_the_compass_needle_is_told(site_with):
    """World Magnetic Model 2025 at 54° N 3° W in September 2027: within half a degree of true north."""
    plan = plan_of(site_with())
    assert abs(plan.needle_deg) < 0.5
    assert re.fullmatch(r"true; needle \d\.\d° (east|west)|true, and so the needle", plan.needle)


def test_selected_setup_is_measured_and_the_others_are_lettered(site_with):
    other = setup_feature("Other", away(0, 60), away(0, 75))
    plan = plan_of(site_with(other))
    words = {label.words for label in plan.labels}
    assert "10.0 m  270°" in words and "15.0 m  000°" in words
    assert [(mark.number, mark.selected) for mark in plan.setups] == [(2, False), (1, True)]


def test_a_label_takes_the_free_place():
    lettering = Lettering(200, 200)
    lettering.keep_clear(Box(100, 80, 180, 120))
    label = lettering.put("words", "thing", [(110, 100, "start"), (90, 100, "end")])
    assert (label.x, label.anchor) == (90, "end")


def test_a_label_stays_on_the_sheet():
    lettering = Lettering(200, 200)
    assert lettering.put("long words here", "thing", [(190, 100, "start"), (190, 150, "end")]).anchor == "end"


def test_a_picture_lies_by_its_two_points(site_with):
    """100 px east is 20 m east: 0.2 m a pixel, upright; the first point falls on its own place."""
    kept = site_with()
    one, other = Pin(LAT, LON), away(90, 20.0)
    laying = (LaidPoint(50, 70, one.lon_deg, one.lat_deg), LaidPoint(150, 70, other.lon_deg, other.lat_deg))
    laid = laid_picture(Ground("picture", laying, "image/webp", 300, 200), kept.site.local_frame, "/picture")
    assert laid.metres_per_pixel == pytest.approx(0.2, rel=1e-6)
    assert laid.top_bearing_deg % 360 == pytest.approx(
        0.0, abs=0.01
    ) or laid.top_bearing_deg == pytest.approx(360.0, abs=0.01)
    sheet = plan_of(kept).sheet
    a, b, c, d, e, f = laid.matrix(sheet)
    for point, pin in zip(laying, (one, other), strict=True):
        there = (a * point.x_px + c * point.y_px + e, b * point.x_px + d * point.y_px + f)
        assert there == pytest.approx(tuple(sheet.of_pin(pin)), abs=0.01)


def test_a_turned_picture(site_with):
    """What lies to the picture's right lies to the south: its upper edge points east."""
    kept = site_with()
    south = away(180, 10.0)
    laying = (LaidPoint(0, 0, LON, LAT), LaidPoint(100, 0, south.lon_deg, south.lat_deg))
    laid = laid_picture(Ground("picture", laying, "image/webp", 100, 100), kept.site.local_frame, "/picture")
    assert laid.top_bearing_deg == pytest.approx(90.0, abs=0.01)


@pytest.mark.parametrize(
    "slug", ["merrowmere-boathouse", "quinta-da-alvorinha", "sandpiper-bay", "ternevag-quay"]
)
def test_demo_plans_keep_their_lettering_apart(client, slug):
    """No two upright labels of a demo's plan cover each other by more than a third of the smaller one."""
    from app.web.drawing.plan_labels import LETTERS, box_of

    plan = client.get(f"/sites/{slug}").context["shown"].desk
    boxes = [box_of(label) for label in plan.labels if label.kind in LETTERS and not label.turn_deg]
    for n, one in enumerate(boxes):
        for other in boxes[n + 1 :]:
            assert shared(one, other) <= min(area(one), area(other)) / 3


def area(box):
    return (box.right - box.left) * (box.bottom - box.top)


def shared(one, other):
    across = min(one.right, other.right) - max(one.left, other.left)
    down = min(one.bottom, other.bottom) - max(one.top, other.top)
    return max(0.0, across) * max(0.0, down)


def test_lights_stand_on_the_plan_and_in_its_key(client):
    site = "/sites/quinta-da-alvorinha"
    base = f"{site}/setups/setup-cork-oak-track"
    assert "plan__lamp" not in client.get(site).text
    version = client.get(f"{base}/settings/2027-05-15").context["kept"].version
    client.post(f"{base}/lights", data={"version": version, "day": "2027-05-15", "flash": "Clip-on flash", "away_m": "3", "turn_deg": "40"})
    page = client.get(site)
    assert "light on its stand" in page.text and page.text.count('class="plan__lamp"') >= 2
    mark = next(mark for mark in page.context["shown"].desk.setups if mark.name == "Cork oak track")
    assert mark.lights.count("Z") == 1
