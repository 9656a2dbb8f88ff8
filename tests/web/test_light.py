"""Sun and shade: first and last light, shade on the plan, and the map of low sun, on pages and drawings."""

import re
from dataclasses import replace
from datetime import date
from functools import partial

import html5lib
import numpy as np
import pytest
import shapely

from app.light.low_sun import LowSunMap, low_sun_minutes
from app.light.sunlit import DayLight, LitSpan
from app.place.coordinates import format_coordinates
from app.place.shade import shade_polygons
from app.place.site import Pin
from app.place.terrain import Grid, Terrain
from app.sky.track import Observer
from app.web.drawing.low_sun import _area, edges_min
from app.web.drawing.plan_labels import Lettering
from app.web.drawing.plan_sheet import Extent, Sheet
from app.web.drawing.shade import area_path, shade_tones
from app.web.light import far_skyline, light_words, lit_point, low_sun, sun_now
from app.web.shelf import Shelf
from tests.place.venue import HERE, box, house, site_of, wall

DAY = date(2027, 9, 18)
SITE = "/sites/merrowmere-boathouse"
PAGE = f"{SITE}/light/2027-09-18"
SITES = ("merrowmere-boathouse", "quinta-da-alvorinha", "sandpiper-bay", "ternevag-quay")
NOON_UTC_S = 1821268800.0  # 2027-09-18T12:00Z


def kept_of(client, slug="merrowmere-boathouse"):
    return Shelf(client.app.state.store).site(slug)


def area_of(path):
    """The area inside a path of M, l and Z, by the even-odd rule, in square units."""
    rings = [np.array(re.findall(r"(-?[\d.]+),(-?[\d.]+)", part), dtype=float).cumsum(axis=0) for part in path.split("Z") if part]
    shapes = [shapely.Polygon(ring) for ring in rings]
    found = shapely.Polygon()
    for shape in shapes:
        found = found.symmetric_difference(shape)
    return found.area


# The page


@pytest.mark.parametrize("slug", SITES)
@pytest.mark.parametrize("query", ["", "?part=morning", "?time=23:30&count=left", "?time=12:00&highest=45"])
def test_every_site_has_its_page_and_it_stays_light(client, slug, query):
    page = client.get(f"/sites/{slug}/light/2027-09-18{query}")
    assert page.status_code == 200
    assert len(page.text) < 150_000


def test_the_site_page_links_to_it(client):
    assert f'href="{PAGE}"' in client.get(f"{SITE}?date=2027-09-18").text


def test_each_camera_and_couple_is_told_what_gives_and_takes_its_light(client):
    """The couple at the boathouse doors stand west of it; the larches stand west of the meadow, the fells round all."""
    page = client.get(PAGE)
    couples = {one.number: one.lit[0].light for one in page.context["setups"]}
    assert couples[2].first.over == "the boathouse" and couples[2].last.behind == "the ridge"
    assert couples[3].last.behind == "the larches" and couples[3].last.closes_utc_s < couples[1].last.closes_utc_s
    assert "over the boathouse; last light" in page.text


def test_light_on_a_point_agrees_with_the_shade_drawn_there(client):
    """Two ways of reckoning: the skyline from the point, and the shadows on the plan. Points within 1 m of an edge may differ."""
    kept = kept_of(client)
    site = replace(kept.site, obstacles=tuple(one for one in kept.site.obstacles if not one.lets_through))
    kept = replace(kept, site=site)
    at = NOON_UTC_S + 4 * 3600.0
    sun = sun_now(kept, at)
    shade = shapely.union_all([one.area for one in shade_polygons(site, sun.azimuth_deg, sun.altitude_deg, above_ground_m=0.2)])
    footprints = shapely.union_all([shapely.Polygon(np.stack(site.local_frame.to_metres(*np.array(one.outline).T[::-1])[:2], axis=1)) for one in site.obstacles if one.closed])
    west, south, east, north = shade.bounds
    places = np.random.default_rng(5).uniform((west, south), (east, north), (60, 2))
    seen = set()
    for east_m, north_m in places:
        point = shapely.Point(east_m, north_m)
        if shade.boundary.distance(point) < 1.0 or footprints.distance(point) < 1.0:
            continue
        lat_deg, lon_deg, _ = site.local_frame.to_degrees(east_m, north_m)
        light = lit_point(kept, Pin(float(lat_deg), float(lon_deg)), 0.2, DAY).lit.light
        lit = any(span.opens_utc_s <= at <= span.closes_utc_s for span in light.spans)
        assert lit == (not shade.contains(point))
        seen.add(lit)
    assert seen == {True, False}


def test_a_point_typed_is_answered_and_ringed_on_both_drawings(client):
    page = client.get(PAGE, params={"point": "54.5702, -3.1305", "eye": "2,5"})
    found = page.context["point"]
    assert found.lit.height_m == 2.5 and found.coordinates == "54.570200, -3.130500"
    assert "The point at" in page.text
    x, y = page.context["desk"].point
    assert page.context["desk"].sheet.of_pin(Pin(54.5702, -3.1305)) == pytest.approx([x, y])
    assert page.context["hand"].point and page.context["drawn"].desk.point


def test_a_point_inside_a_building_says_what_is_left_out(client):
    kept = kept_of(client)
    boathouse = next(one for one in kept.site.obstacles if one.kind == "building")
    lon_deg, lat_deg = np.mean(boathouse.outline[:-1], axis=0)
    page = client.get(PAGE, params={"point": format_coordinates(lat_deg, lon_deg)})
    assert "The point stands in the boathouse, left out of its view." in page.text


def test_the_midnight_sun_is_told_in_words(client):
    """At 68° N on 21 June the sun stays up; over the open sea to the north nothing hides it at the quay's survey heights."""
    kept = kept_of(client, "ternevag-quay")
    open_site = replace(kept, site=replace(kept.site, obstacles=(), surveys=()))
    point = lit_point(open_site, Pin(68.2004, 14.3012), 1.6, date(2027, 6, 21))
    assert point.lit.headline == "in the sun all day and all night"


def test_a_place_without_sun_is_told_in_words(client):
    kept = kept_of(client, "ternevag-quay")
    point = lit_point(kept, Pin(68.2004, 14.3012), 1.6, date(2027, 12, 21))
    assert point.lit.headline == "no direct sun on this date" == light_words(DayLight(()), "Europe/Oslo")


@pytest.mark.parametrize(
    ("spans", "words"),
    [
        ([(6, 18, "the ridge", "the barn")], "first light 06:00, over the ridge; last light 18:00, behind the barn"),
        ([(6, 9, "the ridge", "the oak"), (10, 18, "the oak", "the barn")], "first light 06:00, over the ridge; last light 18:00, behind the barn"),
        ([(0, 18, None, "the barn")], "in the sun at midnight already; last light 18:00, behind the barn"),
        ([(3, 24, "the ridge", None)], "first light 03:00, over the ridge; still in the sun at midnight"),
        ([(0, 17, None, "the barn"), (21, 24, "the barn", None)], "in the sun at both midnights; it goes 17:00, behind the barn, and is back for the night 21:00, over the barn"),
        ([(0, 24, None, None)], "in the sun all day and all night"),
    ],
)
def test_first_and_last_light_are_told_whatever_midnight_is_like(spans, words):
    light = DayLight(tuple(LitSpan(opens * 3600.0, closes * 3600.0, over, behind) for opens, closes, over, behind in spans))
    assert light_words(light, "UTC") == words


@pytest.mark.parametrize(
    ("name", "text", "words"),
    [
        ("time", "half six", "A time looks like 18:40"),
        ("time", "25:00", "A time runs from 00:00 to 23:59"),
        ("date", "18.9.2027", "A date looks like"),
        ("highest", "90", "is between 1 and 45; 90 came"),
        ("highest", "nan", "is a finite number"),
        ("eye", "-1", "is between 0.1 and 60; -1 came"),
        ("point", "<b>over there</b>", "over there"),
        ("point", "10, 10", "within 5 km of the site"),
        ("part", "night", "This is evening or morning; “night” came."),
        ("count", "some", "This is all or left"),
    ],
)
def test_bad_input_is_told_by_its_field_the_page_stays_and_nothing_typed_is_lost(client, name, text, words):
    typed = {"time": "18:00", "eye": "1.7", "point": "54.5702, -3.1305"} | {name: text}
    page = client.get(PAGE, params=typed)
    assert page.status_code == 422
    assert list(page.context["form"].errors) == [name]
    assert words in page.context["form"].errors[name]
    assert page.context["setups"] and "<b>over" not in page.text
    for other in ("time", "eye", "point"):
        assert page.context["form"].text(other) == typed[other]


def test_an_eye_of_zero_or_another_fault_does_not_stop_the_point(client):
    page = client.get(PAGE, params={"eye": "0", "point": "54.5702, -3.1305"})
    assert page.status_code == 422 and page.context["point"].lit.height_m == 1.6


def test_another_date_is_gone_to_with_all_that_was_typed(client):
    page = client.get(PAGE, params={"date": "2027-10-02", "time": "17:00", "part": "evening"}, follow_redirects=False)
    assert page.status_code == 303
    assert page.headers["location"] == f"{SITE}/light/2027-10-02?time=17%3A00&part=evening"


@pytest.mark.parametrize("day", ["2027-02-30", "soon", "1800-01-01"])
def test_a_date_in_the_address_that_is_none_is_told(client, day):
    assert client.get(f"{SITE}/light/{day}").status_code == 422


def test_a_site_without_setups_or_things_has_its_page(client):
    made = client.post("/sites", data={"name": "Bare field", "place": "54.1, -3.2"}, follow_redirects=False)
    page = client.get(f"{made.headers['location']}/light/2027-09-18")
    assert page.status_code == 200
    assert "No setup yet" in page.text and "Nothing on the plan casts a shadow then." in page.text
    assert page.context["lingering"].open_share == 1.0
    assert "leaves" not in page.text and "leaves that let through less than half" in client.get(PAGE).text
    assert page.context["lingering"].low.open_minutes > 60


# Shade on the plan


def test_shade_lies_on_the_light_page_the_site_page_and_the_drawing_alone(client):
    light, site = client.get(PAGE, params={"time": "17:20"}), client.get(f"{SITE}?date=2027-09-18&time=17:20")
    alone = client.get(f"{SITE}/plan.svg?date=2027-09-18&time=17:20")
    assert {tone.kind for tone in light.context["desk"].tones} == {"shade", "leaf-shade"}
    assert {tone.kind for tone in site.context["shown"].desk.tones} == {"shade", "leaf-shade"}
    assert "dappled by leaves then" in site.text and "dappled by leaves then" in light.text
    assert 'class="plan__tone plan__tone--shade"' in alone.text and 'id="plan-shade"' in alone.text


def test_the_usual_moment_is_an_hour_before_sunset(client):
    page = client.get(PAGE)
    span = client.get(f"{SITE}?date=2027-09-18").context["shown"].span
    assert page.context["sun"].at_utc_s == pytest.approx(span.around_utc_s - 3600, abs=60)


@pytest.mark.parametrize(
    ("at", "words"),
    [("23:00", "The sun is down"), ("18:56", "The sun is behind the ridge: all of the site lies in its shade.")],
)
def test_where_all_is_shade_words_say_so_and_no_shadow_is_drawn(client, at, words):
    page = client.get(PAGE, params={"time": at})
    assert words in page.text and page.context["desk"].tones == ()


def test_a_wall_casts_its_height_over_the_tangent_of_the_altitude():
    """A wall 20 m long and 3 m high across the sun's way, sun at 45°: 20 m by 3 m of shade, at 2 units for a metre."""
    site = site_of(wall([(0.0, -10.0), (0.0, 10.0)], 3.0))
    sheet = Sheet(site.local_frame, Extent(-50.0, -50.0, 50.0, 50.0), 2.0)
    (tone,) = shade_tones(site, 270.0, 45.0, sheet, Lettering(200.0, 200.0))
    assert tone.kind == "shade"
    assert area_of(tone.path) == pytest.approx(20 * 3 * 2**2, abs=0.05 * 2 * (40 + 6))  # a twentieth of a unit along its edge


def test_shade_stops_at_the_sheets_edge_and_far_things_that_reach_it_count():
    """A tower 300 m west of the sheet, 20 m high: at 2° its shadow is 573 m long."""
    site = site_of(house(box(-360, -350, -10, 10), 20.0))
    sheet = Sheet(site.local_frame, Extent(-50.0, -50.0, 50.0, 50.0), 2.0)
    (tone,) = shade_tones(site, 270.0, 2.0, sheet, Lettering(200.0, 200.0))
    assert area_of(tone.path) == pytest.approx(100 * 20 * 2**2, rel=0.005)
    assert shade_tones(site, 270.0, 30.0, sheet, Lettering(200.0, 200.0)) == ()
    assert shade_tones(site, 90.0, 2.0, sheet, Lettering(200.0, 200.0)) == ()


def test_leaves_make_a_lighter_shade_only_where_it_is_not_full_anyway():
    barn, trees = house(box(-10, 0, -10, 10), 5.0), house(box(-10, 0, -10, 30), 5.0, name="the elms", kind="trees", lets_through=0.3)
    site = site_of(barn, trees)
    sheet = Sheet(site.local_frame, Extent(-50.0, -50.0, 50.0, 50.0), 2.0)
    areas = {tone.kind: area_of(tone.path) for tone in shade_tones(site, 270.0, 45.0, sheet, Lettering(200.0, 200.0))}
    assert areas == pytest.approx({"shade": 15 * 20 * 4, "leaf-shade": 15 * 20 * 4}, rel=0.005)


# The map of low sun


def test_the_map_is_the_cores_and_its_key_ends_at_what_open_ground_gets(client):
    page = client.get(PAGE)
    low = page.context["lingering"].low
    assert low.cell_m == 2.0 and low.minutes.shape == (100, 100)
    key = page.context["drawn"].key
    assert key[-1].words.endswith(f"to {low.open_minutes:g} min") and key[-1].layers == ()
    assert [len(step.layers) for step in key] == list(range(len(key) - 1, -1, -1))
    assert f"{low.open_minutes:.0f} min" in page.text


def test_every_hatching_covers_the_squares_that_get_less_than_its_edge(client):
    """Drawn edges leave out steps of a square, 2 m, so an area may be off by a strip half as wide along its edge."""
    page = client.get(PAGE)
    low, plan = page.context["lingering"].low, page.context["drawn"].desk
    edges = edges_min(low.open_minutes)
    for n, edge in enumerate(edges):
        kind = f"minutes-{len(edges) - n}"
        drawn_m2 = sum(area_of(tone.path) for tone in plan.tones if tone.kind == kind) / plan.sheet.scale**2
        area = _area(low, low.minutes < edge)
        assert area.area == pytest.approx(np.count_nonzero(low.minutes < edge) * low.cell_m**2)
        assert drawn_m2 == pytest.approx(area.area, abs=low.cell_m / 2 * area.length)


@pytest.mark.parametrize("most", [0.5, 3.0, 7.0, 23.0, 68.0, 100.0, 166.0, 400.0, 900.0])
def test_the_edges_are_at_most_four_and_below_the_most(most):
    edges = edges_min(most)
    assert len(edges) <= 4 and all(0 < edge < most for edge in edges)
    assert len(edges) >= 2 or most < 2.1


def test_squares_that_touch_at_a_corner_and_holes_keep_their_area():
    minutes = np.array([[0.0, 9.0, 0.0], [9.0, 0.0, 9.0], [0.0, 0.0, 0.0]])
    low = LowSunMap(-3.0, -3.0, 2.0, minutes, np.zeros((3, 3), dtype=bool), 9.0, 60.0)
    area = _area(low, minutes < 5)
    sheet = Sheet(site_of().local_frame, Extent(-3.0, -3.0, 3.0, 3.0), 10.0)
    assert area.area == 6 * 4.0
    assert area_of(area_path(area, sheet)) == pytest.approx(6 * 4.0 * 100)


def test_what_is_left_grows_less_and_a_higher_limit_gives_more(client):
    kept = kept_of(client)
    at = sun_now(kept, NOON_UTC_S + 5.2 * 3600).at_utc_s
    whole, left, higher = low_sun(kept, DAY, "evening"), low_sun(kept, DAY, "evening", from_utc_s=at), low_sun(kept, DAY, "evening", 25.0)
    assert 0 < left.low.open_minutes < whole.low.open_minutes < higher.low.open_minutes
    two_steps = 2.0  # minutes: shade that comes and goes between two looks
    assert np.all(left.low.minutes <= whole.low.minutes + two_steps)


def test_after_sunset_nothing_is_left_and_words_say_so(client):
    page = client.get(PAGE, params={"time": "22:00", "count": "left"})
    assert page.status_code == 200
    assert "No low sun reaches this site in that time: it is gone by then" in page.text


def test_the_best_places_get_the_most_and_their_links_ask_about_them(client):
    page = client.get(PAGE)
    low, places = page.context["lingering"].low, page.context["lingering"].places
    assert len(places) == 3 and places[0].minutes == low.minutes.max()
    asked = client.get(f"{PAGE}?point={places[0].coordinates}")
    last = asked.context["point"].lit.light.last
    couple = page.context["setups"][0].lit[0].light.last
    assert last.closes_utc_s == pytest.approx(couple.closes_utc_s, abs=120)  # nothing but the ridge takes it from either


def test_a_best_places_link_keeps_what_was_typed(client):
    page = client.get(PAGE, params={"time": "17:20", "highest": "12", "point": "54.5702, -3.1305"})
    links = html5lib.parse(page.text, namespaceHTMLElements=False).findall(".//ol[@class='light-best']//a")
    asked = client.get(links[1].get("href")).context
    assert [asked["form"].text(name) for name in ("time", "highest")] == ["17:20", "12"]
    assert asked["point"].coordinates == page.context["lingering"].places[1].coordinates


def test_terrain_takes_its_minutes_from_every_square():
    """A plain at 100 m and, west of a line north to south 2.3 km away, a table 600 m over it: worked by hand for each second."""
    rows, lon_deg = np.full((241, 241), 100.0), HERE.lon_deg + (np.arange(241) - 120) / 1200
    rows[:, lon_deg < HERE.lon_deg - 0.036] = 700.0
    terrain = Terrain((Grid(rows, HERE.lat_deg + 0.1, HERE.lon_deg - 0.1, 1 / 1200, 1 / 1200),), "made")
    site, observer = site_of(height_m=100.0), Observer(HERE.lat_deg, HERE.lon_deg, 100.0)
    ask = partial(low_sun_minutes, site, observer, NOON_UTC_S, NOON_UTC_S + 36_000.0, 20.0)
    sun = observer.sun_at(np.arange(NOON_UTC_S, NOON_UTC_S + 36_000.0))
    edge_m, _, _ = site.local_frame.to_metres(HERE.lat_deg, HERE.lon_deg - 0.0363)
    table_deg = np.degrees(np.arctan((600.0 - 1.6) * -np.sin(np.radians(sun.azimuth_deg)) / -edge_m))
    over = np.count_nonzero((sun.refracted_deg <= 15.0) & (sun.refracted_deg > table_deg)) / 60.0
    assert ask(skyline=far_skyline(site, None)).open_minutes > 60
    tolerance = 1.0 + 1.3  # a step, and half of a 54 m column of the heights: 0.17° of the sun's way
    assert 5 < over == pytest.approx(ask(skyline=far_skyline(site, terrain)).open_minutes, abs=tolerance)


def test_a_far_point_of_the_site_is_told_by_distance_and_true_bearing(client):
    places = client.get(PAGE).context["lingering"].places
    assert places[0].where == "where the couple of setup 2 stand"
    assert places[1].where == "20 m from the couple of setup 2, at 1° true"


# Markup


@pytest.mark.parametrize("paper", ["proof", "safelight"])
def test_the_page_is_well_formed_with_ids_of_their_own(client, paper):
    client.cookies.set("paper", paper)
    page = client.get(PAGE, params={"point": "54.5702, -3.1305", "time": "17:20"})
    parser = html5lib.HTMLParser(strict=False)
    parser.parse(page.text)
    assert [error for error in parser.errors if error[1] != "unexpected-end-tag-treated-as"] == []
    ids = [one.get("id") for one in html5lib.parse(page.text, namespaceHTMLElements=False).iter() if one.get("id")]
    assert len(ids) == len(set(ids))


def test_a_clock_time_is_one_of_the_date_asked_for(client):
    page = client.get(PAGE, params={"time": "06:30"})
    assert page.context["sun"].at_utc_s == kept_of(client).civil_day(DAY)[0] + 6.5 * 3600
