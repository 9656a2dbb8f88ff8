"""Ways out when the flash falls short: each against its own arithmetic."""

from dataclasses import replace

import numpy as np
import pytest

from app.light.camera_settings import Limits, settings_for
from app.light.exposure import lux_of_ev100
from app.light.flash import ENOUGH_STOPS, flash_for
from app.light.flash_ways import first_enough_s, ways_out
from app.light.lights import Flash
from tests.light.flashes import SOFTBOX, face, light

LIMITS = Limits(widest_f_number=1.8, wanted_f_number=4.0, nd_stops=(3.0, 6.0))
WEAK = Flash("Weak", 10.0, beam_deg=360.0)
SHORT = {"flash": WEAK}
NIGHT = 1e-9


def short_by(settings, **lamp):
    return flash_for(settings, NIGHT, (light(**{**SHORT, **lamp}),), (face(),))


def kinds(found):
    return {way.kind: way for way in ways_out(found)}


def at_sync(ev100, **limits):
    return settings_for(ev100, replace(LIMITS, **limits), sync=True)


def test_no_way_is_shown_where_the_flash_suffices():
    assert ways_out(short_by(at_sync(6.0))) == ()


def test_closer_by_the_inverse_square():
    """Short by s stops at 4 m: it suffices a sixth of a stop earlier, at 4 · 2^(-(s - 1/6)/2) m."""
    found = short_by(at_sync(12 + 2 / 3))
    far_m = 4.0 * 2 ** (-(float(found.short_stops) - ENOUGH_STOPS) / 2)
    way = kinds(found)["closer"]
    assert way.left_stops == 0.0 and 0.5 < far_m < 4.0
    assert way.words == f"Weak closer, {far_m:.1f} m from them instead of 4.0 m: enough"


def test_closer_stops_half_a_metre_off_and_says_what_is_left():
    found = short_by(at_sync(16.0, slowest_s=1 / 200), flash=replace(WEAK, guide_number_m=5.0))
    way = kinds(found)["closer"]
    assert way.words.startswith("Weak closer, 0.5 m from them instead of 4.0 m: still")
    assert way.left_stops == pytest.approx(float(found.short_stops) - 2 * np.log2(4.0 / 0.5), abs=0.01)


def test_without_its_modifier():
    """A softbox of two stops, on the axis of both beams."""
    found = short_by(at_sync(11.0), modifier=SOFTBOX)
    assert kinds(found)["bare"].left_stops == pytest.approx(max(float(found.short_stops) - 2.0, 0.0), abs=ENOUGH_STOPS)
    assert "without the softbox" in kinds(found)["bare"].words


def test_a_bare_head_has_no_modifier_to_take_off():
    assert "bare" not in kinds(short_by(at_sync(12.0)))


def test_more_of_the_same():
    """Twice the flash is a stop, four times two; the fewest that do."""
    found = short_by(at_sync(10 + 2 / 3))
    way = kinds(found)["more"]
    count = int(np.ceil(2 ** (float(found.short_stops) - ENOUGH_STOPS))) - 1
    assert 1 <= count <= 3
    assert way.words == f"{count} more like Weak beside it: enough"


def test_the_sync_time_lets_less_daylight_in():
    """EV 10 at f/4 and 1/125 s hand-held: at 1/200 s the flash counts 2/3 stop more."""
    settings = settings_for(10.0, replace(LIMITS, wanted_f_number=2.8, slowest_s=1 / 125), sync=True)
    found = short_by(settings, east_m=5.0)
    assert settings.words() == "f/2.8, 1/125 s, ISO 100"
    way = kinds(found)["sync"]
    assert "f/2.2, 1/200 s, ISO 100" in way.words
    assert float(found.full_stops) + 2 / 3 == pytest.approx(-way.left_stops if way.left_stops else 0.0, abs=ENOUGH_STOPS)


def test_high_speed_sync_is_left_for_a_filter():
    """EV 14 at f/2.8 is 1/2000 s; with three stops at 1/200 s the flash regains its loss and the time."""
    settings = settings_for(14.0, replace(LIMITS, wanted_f_number=2.8))
    way = kinds(short_by(settings, flash=Flash("Strong", 40.0, beam_deg=360.0)))["sync"]
    assert "ND 3 stops" in way.words or "ND 6 stops" in way.words


def test_a_wider_aperture_or_a_higher_iso_brings_the_sky_up_too():
    found = short_by(at_sync(10 + 2 / 3))
    steps = np.ceil(3 * float(found.short_stops) - 0.5 - 1e-6) / 3
    ways = kinds(found)
    for kind in ("aperture", "iso"):
        assert ways[kind].left_stops == 0.0
        assert "and the sky" in ways[kind].words and "brighter" in ways[kind].words
    opened = float(found.settings.f_number) * 2 ** (-steps / 2)
    assert float(ways["aperture"].words.split(",")[0][2:]) == pytest.approx(opened, rel=0.03)


def test_no_aperture_beyond_the_lens():
    found = short_by(at_sync(10 + 2 / 3, widest_f_number=4.0, nd_stops=()))
    assert found.settings.words().startswith("f/4")
    assert "aperture" not in kinds(found)


def test_those_that_suffice_come_first():
    left = [way.left_stops > 0 for way in ways_out(short_by(at_sync(13.0), modifier=SOFTBOX))]
    assert left == sorted(left) and len(set(left)) == 2


class TestWaiting:
    UTC_S = 1_800_000_000.0 + 60.0 * np.arange(121)
    EVS = np.linspace(15.0, 5.0, 121)  # five stops an hour

    def evening(self):
        return flash_for(at_sync(self.EVS), lux_of_ev100(self.EVS - 6), (light(),), (face(),))

    def test_until_the_instant_when_it_is_enough(self):
        found = self.evening()
        way = next(way for way in ways_out(found, 0, self.UTC_S) if way.kind == "wait")
        moment = np.searchsorted(self.UTC_S, way.utc_s)
        assert way.left_stops == 0.0
        assert found.enough[moment] and not found.enough[:moment].any()
        assert self.UTC_S[moment - 1] <= way.utc_s <= self.UTC_S[moment]

    def test_between_moments_it_shrinks_evenly(self):
        """Missing 1 stop beyond the sixth, then 1 to spare: half way."""
        found = self.evening()
        bent = replace(found, full_stops=np.array([-1 - ENOUGH_STOPS, 1 - ENOUGH_STOPS]))
        assert first_enough_s(bent, np.array([0.0, 60.0])) == pytest.approx(30.0)

    def test_never_is_no_number_and_no_way(self):
        found = short_by(at_sync(np.full(3, 15.0)))
        assert np.isnan(first_enough_s(found, self.UTC_S[:3]))
        assert "wait" not in {way.kind for way in ways_out(found, 0, self.UTC_S[:3])}

    def test_at_once_is_now(self):
        assert first_enough_s(self.evening(), self.UTC_S, after=120) == self.UTC_S[120]
