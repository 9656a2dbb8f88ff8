"""When direct sun reaches a point: against closed forms and against looking at every second."""

from datetime import UTC, datetime

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from app.light.sunlit import first_and_last_light, lit_spans
from app.place.skyline import Skyline, dip_deg, level_skyline, skyline_for
from app.sky.track import Observer
from tests.place.venue import HERE, box, house, site_of

SECOND = 1.0
DAY_S = 86_400.0
FELLS = Observer(HERE.lat_deg, HERE.lon_deg)


def midnight(year, month, day):
    return datetime(year, month, day, tzinfo=UTC).timestamp()


EQUINOX = midnight(2027, 9, 23)


def disc_shows(observer, skyline, utc_s):
    """The referee: 9,000 points of the disc's upper rim, each against the skyline at its own azimuth."""
    sun = observer.sun_at(utc_s)
    turn = np.radians(np.linspace(-90.0, 90.0, 9001))[:, np.newaxis]
    half = sun.upper_edge_deg - sun.refracted_deg
    azimuth = sun.azimuth_deg + np.sin(turn) * sun.semidiameter_deg / np.cos(np.radians(sun.refracted_deg))
    return np.any(sun.refracted_deg + np.cos(turn) * half > skyline.altitude_at(azimuth), axis=0)


def test_over_level_ground_it_is_sunrise_to_sunset():
    """Rise and set over level ground are where the upper edge is level, by the definition itself."""
    (span,) = lit_spans(FELLS, level_skyline(), EQUINOX, EQUINOX + DAY_S)
    ends = FELLS.sun_at(np.array([span.opens_utc_s, span.closes_utc_s]))
    rate_deg_per_s = 15 / 3600 * np.cos(np.radians(HERE.lat_deg))
    assert ends.upper_edge_deg == pytest.approx(0.0, abs=rate_deg_per_s * SECOND)
    assert (span.over, span.behind) == ("the horizon", "the horizon")
    assert 12.0 < span.minutes / 60 < 12.4


def test_a_lower_horizon_gives_longer_light():
    level, sea = (lit_spans(FELLS, level_skyline(at), EQUINOX, EQUINOX + DAY_S)[0] for at in (0.0, -dip_deg(100.0)))
    assert sea.closes_utc_s - level.closes_utc_s == pytest.approx(dip_deg(100.0) / (15 / 3600 * np.cos(np.radians(HERE.lat_deg))), rel=0.25)


def test_past_an_upright_edge_the_side_of_the_disc_shows_longest():
    """A tower over all altitudes west of some bearing: the last edge goes when the left limb reaches it."""
    edge_deg = 240.0
    tower = Skyline([edge_deg, edge_deg + 0.001, 300.0, 300.001], [0.0, 80.0, 80.0, 0.0], ("the tower",) * 3 + ("the horizon",))
    (span,) = lit_spans(FELLS, tower, EQUINOX, EQUINOX + DAY_S)
    sun = FELLS.sun_at(span.closes_utc_s)
    half_width = sun.semidiameter_deg / np.cos(np.radians(sun.refracted_deg))
    assert sun.azimuth_deg - half_width == pytest.approx(edge_deg + 0.0005, abs=0.004 * SECOND)
    assert span.behind == "the tower"
    assert sun.refracted_deg > 10.0


def test_a_sloping_ridge_is_touched_square_on():
    """A disc leaves a slope of 45° where its middle is a half width, over cos 45°, below it."""
    slope = Skyline([180.0, 190.0, 230.0, 231.0], [0.0, 0.0, 40.0, 0.0], ("the ridge",) * 3 + ("the horizon",))
    spans = lit_spans(FELLS, slope, EQUINOX, EQUINOX + DAY_S)
    sun = FELLS.sun_at(spans[0].closes_utc_s)
    stretched = np.cos(np.radians(sun.refracted_deg))  # a degree of azimuth is narrower than one of altitude
    square_on = sun.semidiameter_deg * np.hypot(1.0, 1.0 / stretched)
    assert sun.refracted_deg + square_on == pytest.approx(sun.azimuth_deg - 190.0, abs=0.004 * SECOND)
    assert [span.behind for span in spans] == ["the ridge", "the horizon"]


def test_a_roof_takes_the_sun_and_gives_it_back_under_it():
    """From under a roof the sun shines in below its edge, 1 m over the eye and 4 m to the west."""
    roof = house(box(-4.0, 20.0, -20.0, 20.0), 3.0, "the pergola", "canopy", base_m=2.6)
    skyline = skyline_for(site_of(roof), HERE, 1.6)
    (span,) = lit_spans(FELLS, skyline, EQUINOX + DAY_S / 2, EQUINOX + DAY_S)
    sun = FELLS.sun_at(span.opens_utc_s)
    assert sun.refracted_deg - sun.semidiameter_deg == pytest.approx(float(skyline.bands[0].low.at(sun.azimuth_deg)), abs=0.01)
    assert (span.over, span.behind) == ("the pergola", "the horizon")


def test_a_night_has_none_and_a_polar_day_has_one_without_ends():
    svalbard = Observer(78.2, 15.6)
    dark = first_and_last_light(svalbard, level_skyline(), midnight(2027, 12, 20), midnight(2027, 12, 21))
    light = first_and_last_light(svalbard, level_skyline(), midnight(2027, 6, 20), midnight(2027, 6, 21))
    assert (dark.spans, dark.first, dark.last, dark.always) == ((), None, None, False)
    assert (len(light.spans), light.first, light.last, light.always) == (1, None, None, True)


def test_first_and_last_light_skip_what_the_span_itself_cuts():
    day = first_and_last_light(FELLS, level_skyline(), EQUINOX + DAY_S / 2, EQUINOX + DAY_S)
    assert day.first is None
    assert day.last.behind == "the horizon"


def test_a_slit_of_a_few_seconds_is_not_stepped_over():
    skyline = Skyline(
        [0.0, 200.0, 249.9995, 250.0, 250.002, 250.0025], [0.0, 60.0, 60.0, 0.0, 0.0, 60.0], ("the wall",) * 6
    )
    opened = lit_spans(FELLS, skyline, EQUINOX + DAY_S / 2, EQUINOX + DAY_S)
    slit = [span for span in opened if abs(FELLS.sun_at((span.opens_utc_s + span.closes_utc_s) / 2).azimuth_deg - 250.0) < 0.3]
    assert len(slit) == 1
    width_s = 2 * slit_half_s(slit[0].opens_utc_s)
    assert slit[0].closes_utc_s - slit[0].opens_utc_s == pytest.approx(width_s, abs=3.0)


def slit_half_s(utc_s):
    """How long the disc takes for half its own width in azimuth: it shines through a slit as long as it passes it."""
    sun = FELLS.sun_at(np.array([utc_s, utc_s + 10.0]))
    return float(sun.semidiameter_deg[0] / np.cos(np.radians(sun.refracted_deg[0])) / (np.diff(sun.azimuth_deg)[0] / 10.0))


@settings(max_examples=20)
@example(10710345, 69.0, 137)  # still lit at the day's end
@given(st.integers(0, 2**32 - 1), st.sampled_from([-52.0, 10.0, 23.4, 54.57, 69.0]), st.integers(0, 364))
def test_looking_minute_by_minute_and_just_past_every_edge_finds_the_same(seed, lat_deg, day):
    rng = np.random.default_rng(seed)
    azimuth = np.sort(rng.uniform(0, 360, 60))
    altitude = rng.choice([0.0, 2.0, 6.0, 15.0, 40.0], 60) + rng.uniform(-1, 1, 60)
    skyline = Skyline(azimuth, altitude, tuple(f"thing {i}" for i in range(60)))
    observer, start = Observer(lat_deg, 10.0), midnight(2027, 1, 1) + day * DAY_S
    spans = lit_spans(observer, skyline, start, start + DAY_S)
    edges = np.array([edge for span in spans for edge in (span.opens_utc_s, span.closes_utc_s)])
    instants = np.concatenate([np.arange(start, start + DAY_S, 60.0), edges - 2 * SECOND, edges + 2 * SECOND])
    apart = np.abs(instants[:, np.newaxis] - edges).min(axis=1, initial=DAY_S) > 1.5 * SECOND
    asked = (instants >= start) & (instants <= start + DAY_S)  # past the day's end nothing was claimed
    instants = instants[(observer.sun_at(instants).airless_deg < 85.0) & apart & asked]
    within = [any(span.opens_utc_s <= at <= span.closes_utc_s for span in spans) for at in instants]
    assert within == disc_shows(observer, skyline, instants).tolist()


def test_spans_do_not_overlap_and_name_who_hides_the_sun():
    site = site_of(house(box(-40, -30, -12, 4), 12.0, "the boathouse"), house(box(-80, -60, 10, 40), 25.0, "the mill"))
    spans = lit_spans(FELLS, skyline_for(site, HERE), EQUINOX, EQUINOX + DAY_S)
    edges = [edge for span in spans for edge in (span.opens_utc_s, span.closes_utc_s)]
    assert edges == sorted(edges)
    assert spans[0].behind == "the boathouse"
    assert {span.behind for span in spans} | {span.over for span in spans} <= {"the boathouse", "the mill", "the horizon"}
