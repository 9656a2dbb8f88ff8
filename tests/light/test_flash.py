"""Flash and day added as light, the power to set, and the trade's own rules of thumb."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.errors import BadInput
from app.light.camera_settings import Limits, settings_for
from app.light.exposure import lux_of_ev100
from app.light.flash import flash_for, holds_stops, reach, turned_away
from app.light.lights import Flash, Modifier
from app.light.stops import power_words
from tests.light.flashes import face, light

SYNC = Limits(widest_f_number=1.0, slowest_s=1 / 200, sync_s=1 / 200, nd_stops=(3.0, 6.0))
THIRD = 1 / 3 + 1e-9
BALANCE = 1 / 6 + 1e-9  # the nearest setting is at most half a step off


def at_sync(ev100, limits=SYNC):
    return settings_for(ev100, limits, sync=True)


class TestReach:
    def test_figures_of_each_light_on_each_face(self):
        """GN 40 m at 4 m and at 5 m: f/10 and f/8, 2 log2(5/4) = 0.644 stop apart."""
        found = reach((light(),), (face(), face(-1.0, name="Ben")))
        assert found.distance_m == pytest.approx(np.array([[4.0, 5.0]]))
        assert found.f_number == pytest.approx(np.array([[10.0, 8.0]]))
        assert found.difference_stops == pytest.approx([0.644], abs=5e-4)

    def test_a_face_turned_away_is_told_in_words(self):
        away = face(facing_deg=270.0, name="Ben")
        assert turned_away((light(),), (face(), away)) == ("Ben is turned away from every light",)
        assert turned_away((light(), light(-4.0)), (face(), away)) == ()
        assert turned_away((light(),), (face(), away), sun_azimuth_deg=100.0) == ("Ben is turned away from the sun and every light",)
        assert turned_away((light(),), (face(), away), sun_azimuth_deg=200.0) == ()
        assert turned_away((), (face(), away), sun_azimuth_deg=20.0) == ("Ben is turned away from the sun",)
        assert turned_away((), (face(), away)) == ()
        assert np.isnan(reach((light(),), (face(), away)).difference_stops[0])

    def test_farther_lights_are_more_even(self):
        """Common practice: the one farther from a near light is darker; moving the light away mends it."""
        pair = (face(0.0, 0.25), face(0.0, -0.25))
        apart = [float(reach((light(2.0 * far, 2.0 * far),), pair).difference_stops[0]) for far in (0.5, 1.0, 2.0, 4.0)]
        assert apart[0] > 0.8 and np.all(np.diff(apart) < 0) and apart[-1] < 0.2


class TestPower:
    def test_by_hand(self):
        """Sky for EV 10 at 1/200 s: 2.5 · 2^10 / 2^(23/3) = 12.6 lx s are wanted; GN 40 m at 4 m gives 2.5 · 10² = 250: 4.31 stops less, in the dark."""
        found = flash_for(at_sync(10.0), 1e-9, (light(),), (face(),))
        assert found.full_stops == pytest.approx(np.log2(250 / (2.5 * 2 ** (10 - 23 / 3))), abs=1e-6)
        assert found.power_stops == pytest.approx(-13 / 3)
        assert found.words() == power_words(-13 / 3) == "1/32 power plus 2/3 stop"

    def test_the_day_is_added_as_light(self):
        """A face half lit by the day, a stop under, needs just as much again from the flash."""
        dark, half = (flash_for(at_sync(10.0), lux, (light(),), (face(),)) for lux in (1e-9, float(lux_of_ev100(9.0))))
        assert half.day_stops[0] == pytest.approx(-1.0)
        assert dark.power_stops - half.power_stops == pytest.approx(1.0)

    @given(st.floats(2.0, 15.0), st.floats(1.0, 10.0), st.integers(0, 8))
    def test_from_a_power_to_the_light_and_back(self, ev100, far_m, fall):
        """Given what a lamp of stated power leaves on the face, the same lamp of open power is set to that."""
        settings = at_sync(ev100, replace(SYNC, smallest_f_number=16.0))
        lamp = light(far_m, power_stops=-fall / 3)
        level = float(flash_for(settings, 1e-9, (lamp,), (face(),)).level_stops[0])
        found = flash_for(settings, 1e-9, (replace(lamp, power_stops=None),), (face(),), down_stops=-level)
        assert found.power_stops == pytest.approx(-fall / 3)
        assert found.level_stops[0] == pytest.approx(0.0, abs=1e-6)

    @given(st.lists(st.floats(0.0, 14.0), min_size=1, max_size=6), st.floats(1.0, 8.0), st.floats(-1.0, 1.0))
    def test_faces_come_out_right_or_it_says_by_how_much_not(self, evs, far_m, aside_m):
        pair = (face(0.0, 0.25), face(0.0, -0.25, name="Ben"))
        found = flash_for(at_sync(np.array(evs)), lux_of_ev100(np.array(evs) - 2.0), (light(far_m, aside_m),), pair)
        middle = (found.level_stops[0] + found.level_stops[1]) / 2
        for moment in range(len(evs)):
            if found.short_stops[moment]:
                assert found.power_stops[moment] == 0.0 and middle[moment] == pytest.approx(-found.short_stops[moment])
                assert found.words(moment).endswith("short at full power")
            elif "too bright" not in found.words(moment):
                assert abs(middle[moment]) <= BALANCE

    def test_one_comes_out_as_far_over_as_the_other_under(self):
        pair = (face(), face(-1.0, name="Ben"))
        found = flash_for(at_sync(10.0), 1e-9, (light(),), pair)
        assert found.difference_stops == pytest.approx(0.644, abs=5e-4)
        assert found.level_stops[0] + found.level_stops[1] == pytest.approx(0.0, abs=2 * BALANCE)

    def test_two_lights_add_as_light(self):
        """Twice the same: one stop more, not twice the stops; of 3 and 4 stops of light, log2(2³ + 2⁴)."""
        one, two = (flash_for(at_sync(10.0), 1e-9, lights, (face(),)) for lights in ((light(),), (light(), light())))
        assert two.full_stops - one.full_stops == pytest.approx(1.0)
        stated = (light(power_stops=-1.0), light(power_stops=-2.0))
        mixed = flash_for(at_sync(10.0), 1e-9, stated, (face(),))
        assert mixed.full_stops - one.full_stops == pytest.approx(np.log2(0.5 + 0.25))
        assert mixed.words() == "as set" and np.isnan(mixed.power_stops)

    def test_a_light_of_stated_power_keeps_it(self):
        stated = light(power_stops=-5.0)
        alone, joined = (flash_for(at_sync(10.0), 1e-9, lights, (face(),)) for lights in ((light(),), (light(), stated)))
        assert joined.power_stops < alone.power_stops
        assert abs(joined.level_stops[0]) <= BALANCE

    def test_where_the_day_suffices_no_flash_is_set(self):
        found = flash_for(at_sync(10.0), float(lux_of_ev100(10.0)), (light(),), (face(),))
        assert np.isnan(found.power_stops) and found.words() == "no flash needed" and found.short_stops == 0.0

    def test_too_strong_even_at_its_weakest_it_says_so(self):
        """Full power is 12.3 stops over for EV 2: at 1/256 still 4 1/3."""
        assert flash_for(at_sync(2.0), 1e-9, (light(),), (face(),)).words() == "1/256 power, 4 1/3 stops too bright"

    def test_faces_down_a_stop_take_half_the_power(self):
        right, down = (flash_for(at_sync(10.0), 1e-9, (light(),), (face(),), down_stops=stops) for stops in (0.0, 1.0))
        assert right.power_stops - down.power_stops == pytest.approx(1.0)

    def test_an_unlit_face_is_left_out_of_the_balance(self):
        pair = (face(), face(facing_deg=270.0, name="Ben"))
        found = flash_for(at_sync(10.0), 1e-9, (light(),), pair)
        assert abs(found.level_stops[0]) <= BALANCE and found.level_stops[1] < -10

    def test_many_moments_are_the_single_moments_side_by_side(self):
        evs = np.array([[15.0, 12.0, 9.0], [6.0, 3.0, np.nan]])
        pair = (face(0.0, 0.25), face(0.0, -0.25, name="Ben"))
        day = np.stack([lux_of_ev100(evs - 2), lux_of_ev100(evs - 3)])
        together = flash_for(at_sync(evs), day, (light(3.0, 1.0),), pair)
        assert together.level_stops.shape == (2, 2, 3)
        for at in np.ndindex(evs.shape):
            alone = flash_for(at_sync(evs[at]), day[(slice(None), *at)], (light(3.0, 1.0),), pair)
            assert together.words(at) == alone.words() == together.one(at).words()
            assert together.level_stops[(slice(None), *at)] == pytest.approx(alone.level_stops, nan_ok=True)
        assert together.words((1, 2)) == "how bright the day is, is unknown"


class TestHighSpeedSync:
    FAST = Limits(widest_f_number=2.8, slowest_s=1 / 125)

    def test_its_loss_is_taken(self):
        """EV 13 at f/2.8: 1/1000 s (Tv 10); past sync (7 2/3) by 2 1/3 stops: 4 1/3 stops lost in all."""
        settings = settings_for(13.0, self.FAST)
        found = flash_for(settings, 1e-9, (light(),), (face(),))
        assert found.high_speed
        assert found.full_stops == pytest.approx(np.log2(250 / (2.5 * 2 ** (13 - 10))) - (2 + 7 / 3))

    def test_one_without_it_does_not_fire(self):
        old = Flash("Old", 40.0, beam_deg=360.0, high_speed_stops=None)
        found = flash_for(settings_for(13.0, self.FAST), 1e-9, (light(flash=old),), (face(),))
        assert found.words() == "Old does not fire at 1/1000 s: no high-speed sync"
        assert not found.enough

    def test_past_sync_flash_and_day_keep_their_ratio(self):
        """Common practice: past sync both fall by a stop for each halved time."""
        settings = settings_for(np.array([12.0, 13.0, 14.0]), self.FAST)
        found = flash_for(settings, 1e-9, (light(),), (face(),))
        assert found.full_stops == pytest.approx(np.full(3, found.full_stops[0]) - [0, 1, 2])


class TestHolding:
    def test_it_is_what_full_power_leaves_at_sync(self):
        """At whole thirds, where settings round nothing."""
        evs = np.array([13.0, 10.0, 7.0])
        pair = (face(0.0, 0.25), face(0.0, -0.25, name="Ben"))
        held = holds_stops(evs, lux_of_ev100(evs - 2), replace(SYNC, sync_s=2 ** (-23 / 3)), (light(3.0, 1.0),), pair)
        assert held == pytest.approx(flash_for(at_sync(evs), lux_of_ev100(evs - 2), (light(3.0, 1.0),), pair).full_stops)

    @given(st.floats(0.0, 16.0), st.floats(-0.01, 0.01))
    def test_it_changes_no_faster_than_the_light(self, ev100, step):
        before, after = (float(holds_stops(ev, lux_of_ev100(ev - 2), SYNC, (light(),), (face(),))) for ev in (ev100, ev100 + step))
        assert abs(after - before) <= abs(step) + 1e-9

    def test_no_light_on_any_face_is_no_number(self):
        assert np.isnan(holds_stops(10.0, 100.0, SYNC, (light(),), (face(facing_deg=270.0),)))


class TestTrade:
    """Sanity from the trade: common practice, no source; within 1.5 stops. Generic figures of a 500 Ws battery head: GN 60 m."""

    HEAD = Flash("Head", 60.0, beam_deg=75.0)

    def test_a_bare_head_in_high_speed_sync_is_a_believable_second_sun(self):
        """Hard mid-afternoon light, EV 15, f/2.8 1/4000 s, three metres away: as bright as the sun itself."""
        settings = settings_for(15.0, Limits(widest_f_number=2.8))
        found = flash_for(settings, 0.0, (light(3.0, flash=self.HEAD),), (face(),))
        assert abs(found.full_stops) < 1.5

    def test_in_a_gridded_softbox_close_to_the_couple_it_sits_near_half_power_in_late_light(self):
        """Late sky, EV 12, a stop down, f/2 in high-speed sync; 65 cm softbox 1 stop and its grid 1 1/2, 1.5 m away."""
        settings = settings_for(13.0, Limits(widest_f_number=2.0))
        box = Modifier("65 cm softbox with grid", 2.5, 60.0, grid=True)
        found = flash_for(settings, lux_of_ev100(9.0), (light(1.5, flash=self.HEAD, modifier=box),), (face(),))
        assert abs(found.power_stops - -1.0) < 1.5


class TestRefusals:
    def test_nobody_reached(self):
        with pytest.raises(BadInput, match="No light reaches Ada: turned away from every light"):
            flash_for(at_sync(10.0), 1.0, (light(),), (face(facing_deg=270.0),))

    @pytest.mark.parametrize(("lights", "faces", "words"), [((), (face(),), "no light here"), ((light(),), (), "nobody to light")])
    def test_nothing_to_go_by(self, lights, faces, words):
        with pytest.raises(BadInput, match=words):
            flash_for(at_sync(10.0), 1.0, lights, faces)

    def test_inside_somebody(self):
        with pytest.raises(BadInput, match="“Bare” stands inside Ada"):
            flash_for(at_sync(10.0), 1.0, (light(0.1),), (face(),))


def test_a_sky_darker_than_any_number_overflows_nothing():
    """A bound on a sky of an hour ahead can be as good as black: the flash then holds it by hundreds of stops, without a warning."""
    assert 600 < holds_stops(-1000.0, 100.0, SYNC, (light(),), (face(),)) < 700  # as far as 1e-200 lx s goes


def test_a_flash_that_would_miss_by_more_than_none_is_left_off():
    """Dusk at the camera's limit: faces two thirds of a stop under, and the weakest flash, 1/256 at a metre, stops over."""
    limits = replace(SYNC, slowest_s=1 / 125, highest_iso=6400.0)
    settings = settings_for(np.array([2.0]), limits, sync=True)
    under = lux_of_ev100(settings.camera_ev100 - 2 / 3)
    found = flash_for(settings, under, (light(),), (face(),))
    assert found.words(0) == "none: even 1/256 power is too bright" and np.isnan(found.power_stops[0])


def test_a_face_that_no_light_reaches_does_not_make_the_flash_too_bright():
    """Ann is brought right; Ben, turned away and two stops under, is not in the lights' power."""
    away = face(facing_deg=270.0, name="Ben")
    settings = at_sync(np.array([12.0]))
    found = flash_for(settings, lux_of_ev100(np.array([[10.0], [10.0]])), (light(),), (face(), away))
    assert "too bright" not in found.words(0) and found.power_stops[0] <= 0.0


def test_a_light_of_a_stated_power_is_short_as_set():
    lamp = light(8.0, power_stops=-4)
    assert flash_for(at_sync(np.array([14.0])), 1e-9, (lamp,), (face(),)).words(0).endswith("short as set")
