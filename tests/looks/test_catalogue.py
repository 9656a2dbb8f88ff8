"""Each look's physics, worked by hand or with another library, and what may be asked of looks."""

import math
import warnings
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from app.errors import BadInput
from app.looks import catalogue
from app.looks.catalogue import LOOKS
from app.looks.look import Look, wanted_look
from app.looks.margin import Scene
from app.looks.window import Window, find_windows
from app.picture.people import Person
from app.place.skyline import Skyline
from app.sky.ephemeris import DAY_S
from app.sky.track import Observer
from tests.looks.scenes import apart_deg, scene_at
from tests.reference_data import utc_s

# On the equator at an equinox the sun goes straight up in the east and straight down in the west.
EQUATOR = Observer(0.0, 0.0)
MIDNIGHT = utc_s("2026-03-20T00:00:00Z")
NOON, NEXT = MIDNIGHT + DAY_S / 2, MIDNIGHT + DAY_S
RIDGE = Skyline([230.0, 235.0, 260.0, 265.0], [0.0, 5.0, 5.0, 0.0], ("the ridge", "the ridge", "the ridge", "the horizon"))
SEMIDIAMETER_DEG = 959.63 / 3600 / 0.996  # the sun's distance in au on 20 March, Astronomical Almanac
EXACT_S = 0.5  # 0.25 s of the search, and 0.0003° of the track
SOLO = (Person("", 1.70),)


def windows(name: str, scene: Scene, start: float = MIDNIGHT, end: float = NEXT, **bounds: object) -> tuple[Window, ...]:
    look = LOOKS[name]
    return find_windows(look.margins(scene, **{**look.bounds, **bounds}), scene.observer, start, end)


def passage(value: Callable[[float], float], start_utc_s: float, end_utc_s: float) -> float:
    """Return when a value passes zero, by halving."""
    after = value(end_utc_s) > 0
    for _ in range(30):
        middle = (start_utc_s + end_utc_s) / 2
        start_utc_s, end_utc_s = (start_utc_s, middle) if (value(middle) > 0) == after else (middle, end_utc_s)
    return (start_utc_s + end_utc_s) / 2


def seen_at(altitude_deg: float, start_utc_s: float, end_utc_s: float) -> float:
    """Return when the disc's centre is seen at an altitude over the equator."""
    return passage(lambda when: EQUATOR.sun_at(when).refracted_deg - altitude_deg, start_utc_s, end_utc_s)


@pytest.fixture(scope="module")
def skyfield_sun():
    """The sun's airless altitude and azimuth over Derwentwater by skyfield with DE421."""
    from skyfield.api import load, load_file, wgs84
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # the package warns of a table that is not used here
        from skyfield_data import get_skyfield_data_path
        ephemeris = load_file(f"{get_skyfield_data_path()}/de421.bsp")
    scale, place = load.timescale(builtin=True), ephemeris["earth"] + wgs84.latlon(54.57, -3.13)

    def seen(when: float) -> tuple[float, float]:
        altitude, azimuth, _ = place.at(scale.tt_jd(2_440_587.5 + (when + 69.2) / DAY_S)).observe(ephemeris["sun"]).apparent().altaz()
        return altitude.degrees, azimuth.degrees

    yield seen
    ephemeris.close()


def test_backlit_lasts_from_one_side_of_the_line_to_the_other(skyfield_sun):
    """18 September: by skyfield the sun passes the line less 10° and plus 10°, at 16° and 2° up."""
    scene = scene_at(54.57, -3.13, 259.0)
    line, noon = scene.setup.line_deg, utc_s("2026-09-18T12:00:00Z")
    (window,) = windows("backlit", scene, noon, noon + DAY_S / 2, tolerance_deg=10.0)
    for offset, edge in ((-10, window.opens_utc_s), (10, window.closes_utc_s)):
        there = passage(lambda when, at=line + offset: skyfield_sun(when)[1] - at, noon, noon + 6 * 3600)
        assert edge == pytest.approx(there, abs=1.0)  # 0.003° of azimuth: UT1 apart from UTC
    assert (window.opens_because, window.closes_because) == ("sun comes behind them", "sun leaves the line to the right")


def test_backlit_opens_as_the_sun_comes_down_and_closes_with_sunset(skyfield_sun):
    """A wide tolerance leaves 18° of height, as seen, and the upper edge at 50′ below level."""
    scene, noon = scene_at(54.57, -3.13, 255.0), utc_s("2026-09-18T12:00:00Z")
    (window,) = windows("backlit", scene, noon, noon + DAY_S / 2, tolerance_deg=60.0)
    air_deg = 3.02 / 60  # at 18°: Bennett's formula, Meeus 16.3
    high = passage(lambda when: skyfield_sun(when)[0] + air_deg - 18, noon, noon + 6 * 3600)
    sunset = passage(lambda when: skyfield_sun(when)[0] + 50 / 60, noon, noon + 7 * 3600)
    assert window.opens_utc_s == pytest.approx(high, abs=1.0)
    assert window.closes_utc_s == pytest.approx(sunset, abs=5.0)  # 50′ is rounded; the fit gives 50.5′
    assert (window.opens_because, window.closes_because) == ("sun down to 18°", "sunset over the horizon")


def test_the_ridge_that_lights_the_couple_no_more_closes_backlit():
    """It is the couple's skyline that counts; the camera may stand in the ridge's shadow already."""
    level, scene = scene_at(50, 0, 248.0), scene_at(50, 0, 248.0, skyline=RIDGE)
    couple_only = Scene(level.observer, level.setup, couple_skyline=RIDGE)
    start = utc_s("2026-11-01T12:00:00Z")
    day = start, start + DAY_S / 2
    (free,), (behind,), (lit,) = windows("backlit", level, *day), windows("backlit", scene, *day), windows("backlit", couple_only, *day)
    assert free.closes_because == "sunset over the horizon"
    assert behind.closes_because == lit.closes_because == "behind the ridge"
    assert behind.closes_utc_s == lit.closes_utc_s < free.closes_utc_s - 1200
    camera_only = Scene(level.observer, level.setup, skyline=RIDGE)
    assert windows("backlit", camera_only, *day)[0].closes_utc_s == free.closes_utc_s


def test_hidden_sun_ends_over_the_head_where_the_lens_leaves_the_couples_shadow():
    """One person of 1.70 m, 5 m away, the lens at 0.5 m, in the east.

    The head ends as a ball of 0.045 × 1.70 m about 0.955 × 1.70 m. The disc, 5 m ×
    tan 16.05′ = 23.3 mm at that place, is hidden while its centre is lower than the
    ball's top less that. The lens is then in the shadow that the head casts.
    """
    scene = scene_at(0, 0, 90.0, 5.0, people=SOLO, lens_height_m=0.5)
    (window,) = windows("hidden sun", scene, MIDNIGHT, NOON)
    top_m = (0.955 + 0.045) * 1.70 - 5 * math.tan(math.radians(SEMIDIAMETER_DEG))
    altitude = math.degrees(math.atan((top_m - 0.5) / 5))
    assert window.closes_utc_s == pytest.approx(seen_at(altitude, MIDNIGHT, NOON), abs=5)  # a minute's drift off the line
    assert (window.opens_because, window.closes_because) == ("sunrise over the horizon", "sun comes out over a head")
    crowns_shadow_m = 1.70 - 5 * math.tan(math.radians(EQUATOR.sun_at(window.closes_utc_s).refracted_deg))
    assert crowns_shadow_m > 0.5


def test_hidden_sun_between_two_and_past_either():
    """At 60° N in the evening the sun goes right, and a degree is 9 cm at 5 m: a head 0.25 m left of the line hides it,
    then, lower, the shoulders 0.25 m right of it."""
    scene = scene_at(60, 0, 270.0, 5.0, lens_height_m=1.2, people=(Person("", 1.70), Person("", 1.70)))
    start = utc_s("2026-03-26T12:00:00Z")
    found = windows("hidden sun", scene, start, start + DAY_S / 2)
    assert [one.closes_because for one in found] == ["sun comes out between them", "sun comes out to the right of them"]
    assert {one.opens_because for one in found} == {"they cover the sun"}
    for window, middle_m in zip(found, (-0.25, 0.25), strict=True):
        across_m = 5 * np.tan(np.radians(scene.observer.sun_at(window.best_utc_s).azimuth_deg - scene.setup.line_deg))
        assert across_m == pytest.approx(middle_m, abs=0.1)


def test_nobody_hides_no_sun():
    scene = scene_at(0, 0, 90.0, 5.0, people=())
    assert windows("hidden sun", scene) == ()
    assert len(windows("sun in frame", scene, MIDNIGHT, NOON)) == 1


def test_a_row_close_to_the_camera_does_not_hide_a_sun_behind_the_camera():
    """Of twelve people the outermost but one stands 2.25 m aside: at 45°, where the picture's model ends, from 2.3 m away."""
    scene = scene_at(0, 0, 90.0, 2.3, people=SOLO * 12, lens_height_m=1.0)
    assert windows("hidden sun", scene, NOON, NEXT) == ()
    assert LOOKS["hidden sun"].margins(scene, highest_deg=45.0)[1].value(EQUATOR.sun_at(NEXT - 6.2 * 3600)) == -1.0


def test_sun_in_frame_ends_when_the_disc_touches_the_frames_edge():
    """50 mm on 36 × 24, aimed east and 5° up: the disc's upper edge touches 12 mm above the middle."""
    scene = scene_at(0, 0, 90.0, people=(), aim=(90.0, 5.0))
    (window,) = windows("sun in frame", scene, MIDNIGHT, NOON)
    centre_mm = 12 - 50 * math.tan(math.radians(SEMIDIAMETER_DEG))
    altitude = 5 + math.degrees(math.atan(centre_mm / 50))
    assert window.closes_utc_s == pytest.approx(seen_at(altitude, MIDNIGHT, NOON), abs=EXACT_S)
    assert (window.opens_because, window.closes_because) == ("sunrise over the horizon", "sun leaves the frame at the top")


def test_sun_in_frame_comes_in_from_the_left_in_the_northern_evening():
    """At 50° N it goes right: the disc touches the frame's edge 18 mm left of the middle, the lens being level."""
    scene = scene_at(50, 0, 280.0, people=(), aim=(280.0, 0.0))
    start = utc_s("2026-03-20T12:00:00Z")
    (window,) = windows("sun in frame", scene, start, start + DAY_S / 2)
    assert window.opens_because == "sun comes into the frame from the left"
    sun, disc_mm = scene.observer.sun_at(window.opens_utc_s), 50 * math.tan(math.radians(SEMIDIAMETER_DEG))
    assert 50 * np.tan(np.radians(280 - sun.azimuth_deg)) == pytest.approx(18 - disc_mm, abs=0.001)


def test_sun_in_frame_waits_until_half_of_it_is_clear_of_the_couple():
    """One person of 1.70 m, 5 m away, the lens at 0.5 m: the centre passes the crown."""
    scene = scene_at(0, 0, 90.0, 5.0, people=SOLO, lens_height_m=0.5)
    (window,) = windows("sun in frame", scene, MIDNIGHT, NOON)
    assert window.opens_utc_s == pytest.approx(seen_at(math.degrees(math.atan(1.2 / 5)), MIDNIGHT, NOON), abs=5)
    assert window.opens_because == "sun comes out over a head"


def test_side_light_is_square_to_the_line():
    """Facing south in the east's morning: from sunrise up to 25°."""
    (window,) = windows("side light", scene_at(0, 0, 180.0), MIDNIGHT, NOON)
    assert window.closes_utc_s == pytest.approx(seen_at(25.0, MIDNIGHT, NOON), abs=EXACT_S)
    assert (window.opens_because, window.closes_because) == ("sunrise over the horizon", "sun climbs past 25°")


@pytest.mark.parametrize("line,reason", [(330.0, "sun goes behind them"), (150.0, "sun goes to their front")])
def test_side_light_ends_when_the_sun_goes_behind_or_in_front(line, reason):
    """At 62° N on a June evening the sun goes right from 270° towards 330°."""
    scene, start = scene_at(62, 0, line), utc_s("2026-06-10T12:00:00Z")
    (window,) = windows("side light", scene, start, start + DAY_S / 2)
    edge = scene.observer.sun_at(window.closes_utc_s).azimuth_deg
    assert window.closes_because == reason
    assert abs(apart_deg(edge, scene.setup.line_deg) - 90) == pytest.approx(35, abs=0.002)


def test_afterglow_lasts_from_sunset_to_the_end_of_civil_twilight():
    """The upper edge at level, and -6° without the air: AMS Glossary of Meteorology."""
    (window,) = windows("afterglow", scene_at(0, 0, 270.0), NOON, NEXT)
    gone = passage(lambda when: -EQUATOR.sun_at(when).upper_edge_deg, NOON, NEXT)
    dusk = passage(lambda when: -6 - EQUATOR.sun_at(when).airless_deg, NOON, NEXT)
    assert (window.opens_utc_s, window.closes_utc_s) == pytest.approx((gone, dusk), abs=EXACT_S)
    assert (window.opens_because, window.closes_because) == ("sun has set", "too dark")
    (dawn,) = windows("afterglow", scene_at(0, 0, 90.0), MIDNIGHT, NOON)
    assert (dawn.opens_because, dawn.closes_because) == ("dawn bright enough", "sun rises")


def test_custom_keeps_to_its_bounds_on_both_sides():
    """20° to 40° right of the line and 3° to 12° up, at 50° N in the evening."""
    scene, start = scene_at(50, 0, 230.0), utc_s("2026-03-20T12:00:00Z")
    (window,) = windows("custom", scene, start, start + DAY_S / 2, offset_deg=(20.0, 40.0), altitude_deg=(3.0, 12.0))
    opens, closes = (scene.observer.sun_at(edge) for edge in (window.opens_utc_s, window.closes_utc_s))
    assert (window.opens_because, window.closes_because) == ("sun down to 12°", "sun down to 3°")
    assert (opens.refracted_deg, closes.refracted_deg) == pytest.approx((12.0, 3.0), abs=0.002)
    (narrow,) = windows("custom", scene, start, start + DAY_S / 2, offset_deg=(31.0, 33.0), altitude_deg=(-3.0, 12.0))
    assert (narrow.opens_because, narrow.closes_because) == ("sun comes within the bounds", "sun leaves the bounds to the right")
    assert scene.observer.sun_at(narrow.closes_utc_s).azimuth_deg == pytest.approx(scene.setup.line_deg + 33, abs=0.002)


def test_custom_under_the_horizon_asks_for_no_free_sky():
    scene = scene_at(0, 0, 270.0, skyline=RIDGE)
    (window,) = windows("custom", scene, NOON, NEXT, altitude_deg=(-4.0, -1.0))
    assert (window.opens_because, window.closes_because) == ("sun down to -1°", "sun down to -4°")


def test_every_file_of_the_catalogue_holds_a_look():
    files = {path.stem for path in Path(catalogue.__file__).parent.glob("*.py")} - {"__init__"}
    assert {name.replace(" ", "_") for name in LOOKS} == files
    for name, look in LOOKS.items():
        assert look.name == name == name.lower()
        assert look.means.endswith(".")
        assert len(look.margins(scene_at(45, 10, 250), **look.bounds)) >= 1


def test_custom_comes_last_in_the_list():
    assert list(LOOKS) == [*sorted(set(LOOKS) - {"custom"}), "custom"]


def test_a_look_dropped_in_as_one_file_is_found(tmp_path, monkeypatch):
    """The file that DEVELOPERS.md shows."""
    (tmp_path / "rim.py").write_text(
        "from app.looks.conditions import not_below, sun_behind\n"
        "from app.looks.look import Look\n\n\n"
        "def margins(scene, tolerance_deg):\n"
        "    top_deg = scene.setup.view.tilt_deg + scene.setup.camera.vertical_deg / 2\n"
        "    return sun_behind(scene, tolerance_deg), not_below(top_deg, 5.0, opens='above the frame', closes='in the frame')\n\n\n"
        "LOOK = Look('rim', 'The sun behind them, above the picture.', margins, {'tolerance_deg': 15.0})\n",
        encoding="utf-8",
    )
    monkeypatch.setattr(catalogue, "__path__", [*catalogue.__path__, str(tmp_path)])
    found = catalogue._found()
    assert set(found) - set(LOOKS) == {"rim"}
    scene = scene_at(0, 0, 90.0, aim=(90.0, 10.0))
    rim = wanted_look(found, {"look": "rim", "tolerance_deg": "20"})
    (window,) = find_windows(rim.margins(scene), scene.observer, MIDNIGHT, NOON - 3600)
    top = 10 + math.degrees(math.atan(12 / 50))
    assert window.opens_utc_s == pytest.approx(seen_at(top, MIDNIGHT, NOON), abs=EXACT_S)
    assert window.opens_because == "above the frame"


def test_a_wanted_look_takes_the_bounds_it_is_given_and_keeps_the_others():
    wanted = wanted_look(LOOKS, {"look": " Backlit ", "tolerance_deg": "7,5"})
    assert (wanted.name, dict(wanted.bounds)) == ("backlit", {"tolerance_deg": 7.5, "highest_deg": 18.0})
    assert dict(wanted_look(LOOKS, "custom").bounds) == {"offset_deg": (-10.0, 10.0), "altitude_deg": (0.0, 10.0)}
    assert wanted_look(LOOKS, {"look": "custom", "offset_deg": [-30, "5"]}).bounds["offset_deg"] == (-30.0, 5.0)


@pytest.mark.parametrize("typed,words", [
    ("moonlit", "There is no look “moonlit”; there are: afterglow, backlit,"),
    ("x" * 90, f"There is no look “{'x' * 40}”;"),
    (7, "A look is a name, or"),
    ({"tolerance_deg": 5}, "A look is a name, or"),
    ({"look": "backlit", "width": 5}, "The look “backlit” has no bound “width”; it has: tolerance_deg, highest_deg"),
    ({"look": "backlit", "tolerance_deg": "wide"}, "backlit: tolerance_deg is a number; “wide” is none"),
    ({"look": "backlit", "tolerance_deg": 0}, "backlit: tolerance_deg is between 0.1 and 180; 0 came"),
    ({"look": "backlit", "highest_deg": 181}, "backlit: highest_deg is between 0.1 and 180; 181 came"),
    ({"look": "custom", "offset_deg": 5}, "custom: offset_deg is two numbers, low and high"),
    ({"look": "custom", "offset_deg": [5, 5.05]}, "custom: offset_deg goes from low to high, at least 0.1° apart; 5 to 5.05 came"),
    ({"look": "custom", "altitude_deg": [9, 3]}, "custom: altitude_deg goes from low to high, at least 0.1° apart; 9 to 3 came"),
])
def test_what_cannot_be_wanted_is_refused_in_words(typed, words):
    with pytest.raises(BadInput, match=words):
        wanted_look(LOOKS, typed)


def test_a_look_without_bounds_says_that_it_has_none():
    plain = Look("plain", "Nothing to change.", lambda scene: ())
    with pytest.raises(BadInput, match="The look “plain” has no bound “width”; it has: none"):
        wanted_look({"plain": plain}, {"look": "plain", "width": 1})


def test_a_word_in_a_pair_of_bounds_is_refused_in_words():
    """It went through as a bare ValueError, which no page answers."""
    with pytest.raises(BadInput, match="custom: offset_deg is a number; “wide” is none"):
        wanted_look(LOOKS, {"look": "custom", "offset_deg": ["wide", 20]})
