"""Frames as drawings: what covers what, what water shows, and how large it gets."""

import re
from dataclasses import replace

import numpy as np
import pytest

from app.looks.margin import Scene
from app.picture.people import Person
from app.picture.weather import Weather
from app.place.skyline import Skyline, level_skyline
from app.sky.track import Observer
from app.web.drawing.frames import sheet_for
from app.web.drawing.frames_notes import water_notes
from app.web.drawing.frames_paths import figure, grey, path_through
from app.web.render import TEMPLATES
from tests.picture.pools import LAT, LON, box, pool, setup_by, site_with, thing
from tests.reference_data import utc_s

EVENING = utc_s("2027-09-18T17:00:00Z") + 600.0 * np.arange(13)  # sunset near 18:25 UTC, over the line at 268°
LAKE = pool(box(2, 19.9, -40, 40))
UNKNOWN = Weather()
SHEET = "/sites/quinta-da-alvorinha/setups/setup-across-the-tank/2027-09-18"


def scene(*things, weather=UNKNOWN, skyline=None, **setup):
    held = setup_by(**({"people": (Person("", 1.8),), "aim": (268.0, -4.0)} | setup))
    return Scene(Observer(LAT, LON), held, skyline or level_skyline(), site=site_with(*things), weather=weather)


def sheet(*things, **more):
    return sheet_for(scene(*things, **more), EVENING, "Europe/London")


def drawn(one):
    frames = TEMPLATES.env.get_template("frames.html").module
    return str(frames.shapes(one)), [str(frames.picture(one, frame)) for frame in one.frames]


def order_of(text, *names):
    places = [text.index(name) for name in names]
    return places == sorted(places)


def test_from_far_to_near():
    """Sun, land, ground, water, what stands behind them, people, what stands before them."""
    around = [thing(box(60, 70, -30, 30), 9.0), thing(box(8, 9, -2, -0.1), 0.5, kind="wall")]
    one = sheet(LAKE, *around, skyline=Skyline([0.0], [2.0], ("the ridge",)))
    text = drawn(one)[1][3]
    assert order_of(text, "#sheet-glow", '"#sheet-land"', '"#sheet-ground"', "#sheet-w1)", '"#sheet-behind-1"', '"#sheet-people"', '"#sheet-before-1"')


def test_the_mirror_is_painted_from_far_to_near_and_clipped_to_the_water():
    around = [thing(box(60, 70, -30, 30), 9.0), thing(box(8, 9, -2, -0.1), 0.5, kind="wall")]
    one = sheet(LAKE, *around, skyline=Skyline([0.0], [2.0], ("the ridge",)))
    text = drawn(one)[1][3]
    inside = text[text.index('<g clip-path="url(#sheet-w1)">') :]
    assert order_of(inside, '"#sheet-w1-land"', '"#sheet-w1-behind-1"', '"#sheet-w1-people"', '"#sheet-w1-before-1"', "#sheet-w1-veil")


def test_near_things_are_lighter_than_far_ones_and_foliage_lets_light_through():
    far, near = sheet(thing(box(300, 310, -30, 30), 9.0)), sheet(thing(box(22, 30, -30, 30), 9.0))
    assert far.shapes.behind[0].tone < near.shapes.behind[0].tone
    (band,) = sheet(thing(box(22, 30, -30, 30), 9.0, kind="trees", lets_through=0.5)).shapes.behind
    assert band.things[0][1] == pytest.approx(0.65)


def test_the_suns_image_lies_as_far_under_level_as_the_sun_above():
    one = sheet(LAKE, aim=(268.0, 0.0))
    both = [(frame.sun, frame.images[0]) for frame in one.frames if frame.sun and frame.images[0]]
    assert len(both) > 3
    for sun, image in both:
        assert image[0] == pytest.approx(sun[0], abs=1e-6) and image[1] == pytest.approx(-sun[1], abs=1e-6)


def test_words_say_when_the_water_shows_the_sun():
    told = [frame.water for frame in sheet(LAKE, people=()).frames]
    assert "the sun's image on the water" in told and told[-1] == ""
    assert "the sun's image on the water" in next(frame.told for frame in sheet(LAKE, people=()).frames if frame.water)


def test_a_breeze_fades_the_mirror_and_makes_glitter():
    calm, breeze = sheet(LAKE, weather=Weather(0.0)), sheet(LAKE, weather=Weather(4.0))
    assert calm.waters[0].strength == 1 and not any(any(frame.glitter) for frame in calm.frames)
    assert breeze.waters[0].strength == 0
    lit = [bool(frame.glitter[0]) for frame in breeze.frames]
    assert lit[4] and not lit[-1]
    texts = drawn(breeze)[1]
    assert "#sheet-w1-people" not in texts[4] and "#sheet-sparkle" in texts[4]


def test_glitter_lies_under_the_sun_and_ends_behind_the_ridge():
    one = sheet(pool(box(5, 2000, -900, 900)), weather=Weather(3.0), aim=(268.0, 0.0))
    for frame in one.frames:
        if frame.sun and frame.glitter[0]:
            x, y = (float(part) for part in re.match(r"M([^,]+),([^l]+)l", frame.glitter[0][-1]).groups())
            assert abs(x - frame.sun[0]) < 4.0 and y > 0
    hidden = sheet(pool(box(5, 2000, -900, 900)), weather=Weather(3.0), skyline=Skyline([0.0], [40.0], ("the ridge",)))
    assert not any(any(frame.glitter) for frame in hidden.frames)


def test_water_grows_darker_towards_the_feet():
    """Fresnel: at 1° under level 90 % is reflected, at 10° 35 %, so the veil only thickens from the horizon down."""
    stops = sheet(LAKE).waters[0].veil.stops
    dark = [opacity for _, opacity in stops]
    assert dark == sorted(dark) and dark[0] < 0.05 and 0.2 < dark[-1] < 0.9
    assert [share for share, _ in stops] == sorted(share for share, _ in stops)


def test_without_a_site_frames_are_as_they_were():
    one = sheet_for(replace(scene(), site=None), EVENING, "Europe/London")
    assert one.shapes.pools == one.shapes.behind == one.shapes.before == one.notes == ()
    assert one.shapes.ground and one.shapes.figures and one.shapes.shore == one.shapes.edge == ""
    assert all(frame.images == frame.glitter == () for frame in one.frames)


def test_a_sea_horizon_under_level_lowers_the_ground():
    level, sea = sheet(), sheet(skyline=level_skyline(-0.5))
    assert level.shapes.ground != sea.shapes.ground and sea.shapes.land == ""


@pytest.mark.parametrize(("weather", "words"), [
    (Weather(), "No wind is given: the water is drawn still."),
    (Weather(people_in_water=True), "People in the water. The pond mirrors nothing."),
    (Weather(0.0), "Wind 0 m/s, force 0. The pond mirrors."),
    (Weather(4.0, 225.0), "Wind 4 m/s from 225°, force 3. The pond mirrors nothing."),
])  # fmt: skip
def test_notes_say_what_is_known_of_the_weather(weather, words):
    assert water_notes(scene(LAKE, weather=weather))[0] == words


def test_notes_say_what_each_look_counts_on():
    said = water_notes(scene(LAKE, looks=("mirror", "glitter")))[0]
    assert said == "No wind is given: the water is drawn still, mirror counts on that, glitter counts on 3 m/s."
    said = water_notes(scene(LAKE, looks=({"look": "glitter", "breeze_m_s": 5},)))[0]
    assert said.endswith("drawn still, glitter counts on 5 m/s.")


def test_notes_tell_the_double_and_how_to_get_all_of_it():
    _, said = water_notes(scene(LAKE, weather=Weather(0.0)))
    assert said == "Of the couple, 100\N{NO-BREAK SPACE}% shows in the pond."
    told = water_notes(scene(pool(box(9, 19.9, -20, 20)), weather=Weather(0.0), looks=("double",)))
    assert re.search(r"To get all of them: the camera .*\d+ cm up", told[-1])
    told = water_notes(scene(pool(box(1, 4, -1, 1)), weather=Weather(0.0), looks=("double",), aim=(268.0, -14.0)))
    assert told[-1] == "No place for the camera within 3 m shows all of them in it."
    told = water_notes(scene(LAKE, weather=Weather(0.0), focal_mm=100.0, aim=None))
    assert "inside the frame: tilt down or take a shorter lens" in told[1]


def test_paths_are_short_and_never_minus_nought():
    assert [figure(value) for value in (-0.001, 0.5, -1.256, 2.0)] == ["0", "0.5", "-1.26", "2"]
    assert [grey(tone) for tone in (-1, 0, 0.5, 2)] == ["#000000", "#000000", "#808080", "#ffffff"]
    assert path_through(np.array([1.0]), np.array([1.0])) == ""
    assert path_through(np.array([0.0, 1.0, 1.5]), np.array([0.0, -0.25, 1.0])) == "M0,0l1,-0.25 0.5,1.25"


def test_a_page_of_thirteen_frames_with_everything_in_them_stays_small():
    chance = np.random.default_rng(3)
    around = [thing(box(a, a + 8, r, r + 8), 6.0, kind=kind) for a, r, kind in zip(chance.uniform(25, 200, 40), chance.uniform(-60, 60, 40), ["trees", "building"] * 20, strict=True)]
    shapes, pictures = drawn(sheet(LAKE, *around, weather=Weather(0.6)))
    assert len(shapes) + sum(map(len, pictures)) < 120_000


def test_the_contact_sheet_draws_the_tank(client):
    page = client.get(SHEET)
    assert page.status_code == 200 and len(page.content) < 150_000
    (pool_drawn,) = page.context["sheet"].shapes.pools
    assert pool_drawn.people and pool_drawn.bank
    assert "the water is drawn still, mirror and double count on that." in page.text
    assert any(frame.water for frame in page.context["sheet"].frames)


def test_the_contact_sheet_draws_the_boathouse_and_the_lake(client):
    page = client.get("/sites/merrowmere-boathouse/setups/setup-boathouse-doors/2027-09-18")
    assert page.context["sheet"].shapes.pools and page.context["sheet"].shapes.behind


def test_trees_are_drawn_in_leaves_and_canopies_in_slats():
    around = [
        thing(box(30, 40, -10, -5), 6.0, kind="trees"), thing(box(400, 410, -30, 30), 20.0, kind="trees"),
        thing(box(30, 40, 5, 10), 6.0), thing(box(21, 24, -3, 3), 2.8, kind="canopy", base_m=2.5, lets_through=0.4),
    ]  # fmt: skip
    one = sheet(*around)
    assert {band.texture for band in one.shapes.behind} == {"", "leaves-13", "slats-19"}
    shapes, pictures = drawn(one)
    assert 'id="sheet-leaves-13"' in shapes and 'fill="url(#sheet-leaves-13)"' in pictures[0]
    assert "sheet-leaves" not in drawn(sheet(thing(box(30, 40, 10, 20), 6.0)))[0]


def test_people_above_the_lens_stand_on_a_rise():
    """Their ground 2 m above the camera's, the lens at 1 m: the rise begins at their feet and goes down to the frame's foot."""
    one = sheet(couple_ground_m=2.0, lens_m=1.0, aim=None)
    assert one.shapes.rise and "frame__rise" in drawn(one)[1][0]
    assert "rise under them is sketched" in one.notes[-1]
    assert sheet().shapes.rise == "" and sheet().notes == ()


def test_a_sea_meets_the_sky_in_a_line_and_a_ridge_does_not():
    assert sheet(LAKE).shapes.horizon and not sheet().shapes.horizon
    assert not sheet(LAKE, skyline=Skyline([0.0], [4.0], ("the ridge",))).shapes.horizon


def test_ruffled_water_is_hatched_otherwise_than_still_water():
    calm, breeze = (drawn(sheet(LAKE, weather=Weather(wind)))[1][0] for wind in (0.0, 4.0))
    assert "frame__level" in calm and "frame__level--ruffled" not in calm
    assert "frame__level--ruffled" in breeze


def test_a_twilight_sky_is_drawn_lighter_towards_the_horizon(client):
    """The standard's clear sky is darkest overhead; the frame's sky is graded so, by the one curve."""
    frames = client.get("/sites/sandpiper-bay/setups/setup-tideline/2027-03-11").context["sheet"].frames
    levels = [int(grey[1:3], 16) for _, grey in frames[-1].sky_stops]
    assert levels == sorted(levels) and levels[-1] > levels[0] + 5
    assert int(frames[0].sky_stops[-1][1][1:3], 16) > levels[-1]
