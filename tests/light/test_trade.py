"""Sanity from the trade: common practice, no source; a stop and a half either way, for so wide is what photographers report.

What is assumed beside the core: the output of a battery head and what a gridded softbox takes
(tests/light/trade.py), the evening's haze, and which piece of sky the exposure goes by.
"""

from dataclasses import replace

import numpy as np
import pytest

from app.light.camera_settings import Limits, settings_for
from app.light.catchlight import catchlight
from app.light.even import difference_stops, moved_even, turned_even
from app.light.faces import SHORT, agreement, agreement_words, bearing_deg, key_height_deg, side_of_face
from app.light.flash import flash_for, holds_stops, reach
from app.light.lights import Flash
from tests.light.flashes import face
from tests.light.trade import GRIDDED_BOX, HEAD, couple_before, day_at, light_on, lux_on, sky_ev

AS_REPORTED_STOPS = 1.5
LATE_DEG = (6.0, 4.0, 3.0, 2.0, 1.0)  # the sun's middle over a level horizon
CLOSE_M = 1.5
HALF_POWER_STOPS = 1.0  # what full power has to spare
BESIDE_DEG = 40.0
ONE_FACE = (face(),)


class TestSecondSun:
    """Mid-afternoon, a few metres away, f/2.8 and 1/4000 s at ISO 100 for a sky of EV 15."""

    @staticmethod
    def over_sun_stops(flash, away_m, sun_deg):
        settings = settings_for(15.0, Limits(widest_f_number=2.8))
        assert settings.words() == "f/2.8, 1/4000 s, ISO 100"
        loss = float(flash.high_speed_loss_stops(settings.time_s, settings.limits.sync_s))
        lux_s = reach((light_on(ONE_FACE, away_m, 0.0, 0.0, flash),), ONE_FACE).lux_s[0, 0] * 2.0**-loss
        return float(np.log2(lux_s / (day_at(sun_deg).beam_lux[0] * settings.time_s)))

    @pytest.mark.parametrize("sun_deg", [30.0, 40.0, 50.0])
    @pytest.mark.parametrize("away_m", [2.5, 3.0, 3.5, 4.0])
    def test_a_bare_head_at_full_power_in_high_speed_sync_is_as_strong_as_the_sun(self, away_m, sun_deg):
        assert abs(self.over_sun_stops(HEAD, away_m, sun_deg)) < AS_REPORTED_STOPS

    def test_it_takes_a_head_of_that_class(self):
        """A clip-on flash of guide number 36 is lost beside the sun, and so is the head in its softbox."""
        assert self.over_sun_stops(Flash("Clip-on", 36.0), 3.5, 40.0) < -AS_REPORTED_STOPS
        assert self.over_sun_stops(HEAD, 3.5, 40.0) - GRIDDED_BOX.loss_stops < -AS_REPORTED_STOPS


class TestSoftboxInLateLight:
    """The head in a gridded 65 cm softbox, 1.5 m from a couple, the sky right at the sync time.

    Assumed: the sky that is exposed for lies a degree over the skyline and 40° beside the
    sun, as it does where the sun itself is kept out of the frame.
    """

    @staticmethod
    def to_spare_stops(sun_deg, off_sun_deg, down_stops=0.0):
        day = day_at(sun_deg)
        faces = couple_before(day, off_sun_deg)
        lamp = light_on(faces, CLOSE_M, modifier=GRIDDED_BOX)
        return float(holds_stops(sky_ev(day, off_sun_deg) + down_stops, lux_on(day, faces), Limits(), (lamp,), faces)[0])

    @pytest.mark.parametrize("sun_deg", LATE_DEG)
    def test_it_sits_near_half_power(self, sun_deg):
        assert abs(self.to_spare_stops(sun_deg, BESIDE_DEG) - HALF_POWER_STOPS) < AS_REPORTED_STOPS

    @pytest.mark.parametrize("sun_deg", [4.0, 3.0, 2.0, 1.0])
    def test_with_the_sky_a_stop_down_it_is_nearer_full_power(self, sun_deg):
        spared = self.to_spare_stops(sun_deg, BESIDE_DEG, 1.0)
        assert abs(spared - HALF_POWER_STOPS) < AS_REPORTED_STOPS
        assert spared < self.to_spare_stops(sun_deg, BESIDE_DEG)

    def test_what_another_piece_of_sky_would_ask_for(self):
        """At the sun the sky is two stops brighter and full power falls short; a right angle away a third of it and less will do."""
        at_sun, across = ([self.to_spare_stops(sun_deg, off_deg) for sun_deg in (6.0, 4.0, 3.0)] for off_deg in (0.0, 90.0))
        assert max(at_sun) < HALF_POWER_STOPS - AS_REPORTED_STOPS
        assert min(across) > HALF_POWER_STOPS and max(across) < HALF_POWER_STOPS + AS_REPORTED_STOPS

    def test_the_setting_itself_with_a_filter_in_thirds(self):
        """The sun 3° up: three stops of filter, and f/4 at 1/200 s."""
        day = day_at(3.0)
        faces = couple_before(day, BESIDE_DEG)
        settings = settings_for(sky_ev(day, BESIDE_DEG), Limits(widest_f_number=2.8, nd_stops=(3.0, 6.0)), sync=True)
        found = flash_for(settings, lux_on(day, faces), (light_on(faces, CLOSE_M, modifier=GRIDDED_BOX),), faces)
        assert "ND 3 stops" in settings.words(0)
        assert abs(float(found.power_stops[0]) + HALF_POWER_STOPS) < AS_REPORTED_STOPS
        assert "power" in found.words(0) and "short" not in found.words(0)


class TestNaturalKey:
    """About 60° up and slightly off the camera's axis, from the daylight's own side."""

    SUN_DEG, CAMERA_M = 115.0, (5.0, 0.0, 1.6)  # the face looks east, at the camera; the sun is to its right

    def lamp(self, aside_deg=25.0, up_deg=60.0):
        return light_on(ONE_FACE, 2.0, aside_deg, up_deg)

    def test_the_core_calls_it_high_agreeing_and_alive(self):
        (looker,), lamp = ONE_FACE, self.lamp()
        assert key_height_deg(looker, lamp.position_m) == pytest.approx(60.0)
        assert agreement(bearing_deg(looker, lamp.position_m), self.SUN_DEG) == pytest.approx(1.0)
        assert agreement_words(bearing_deg(looker, lamp.position_m), self.SUN_DEG) == "agrees with the sun: 0° from its bearing"
        seen = catchlight(looker, self.CAMERA_M, lamp.position_m)
        assert seen.shows and seen.height > 0.5 and seen.words == "catchlight at 12 o'clock"

    def test_a_head_turned_a_little_past_it_is_lit_on_the_short_side(self):
        """The classic portrait: nose towards the light, the shaded cheek to the camera."""
        turned = face(facing_deg=90.0 + 20.0)
        assert side_of_face(turned, 90.0, bearing_deg(turned, self.lamp().position_m)) == SHORT

    def test_from_the_other_side_or_from_below_it_is_told(self):
        """What looks wrong has another name: against the sun, or the catchlight in the lower half of the eye."""
        (looker,) = ONE_FACE
        other = bearing_deg(looker, self.lamp(-25.0).position_m)
        assert agreement_words(other, self.SUN_DEG) == "disagrees with the sun: 50° anticlockwise of its bearing"
        low = catchlight(looker, self.CAMERA_M, self.lamp(up_deg=-30.0).position_m)
        assert low.height < 0 and key_height_deg(looker, self.lamp(up_deg=-30.0).position_m) == pytest.approx(-30.0)

    def test_its_light_on_a_face_is_what_its_height_leaves(self):
        """cos 60° cos 25°: 1.14 stops under a light at the camera, as near."""
        level = reach((light_on(ONE_FACE, 2.0, 0.0, 0.0),), ONE_FACE).lux_s[0, 0]
        assert np.log2(level / reach((self.lamp(),), ONE_FACE).lux_s[0, 0]) == pytest.approx(1.142, abs=1e-3)


class TestNearLightOnTwo:
    """A gridded box beside a couple: the farther is darker; aiming at the far one or moving the light away mends it."""

    PAIR = (face(0.0, 0.25, name="Ada"), face(0.0, -0.25, name="Ben"))

    def lamp(self, away_m=CLOSE_M, modifier=GRIDDED_BOX):
        return light_on(self.PAIR, away_m, aside_deg=-35.0, up_deg=20.0, modifier=modifier)

    def test_the_farther_person_is_darker(self):
        """By the squares of 1.38 m and 1.65 m, 0.51 stop, and for the flatter angle to the light."""
        found = reach((self.lamp(),), self.PAIR)
        near, far = found.distance_m[0]
        assert found.lux_s[0, 0] > found.lux_s[0, 1]
        assert 2 * np.log2(far / near) < found.difference_stops[0] < 1.0

    @pytest.mark.parametrize("modifier", [None, GRIDDED_BOX, replace(GRIDDED_BOX, grid=False), replace(GRIDDED_BOX, beam_deg=30.0)])
    def test_aiming_at_the_far_one_mends_some_and_past_him_all_of_it(self, modifier):
        """At the far one it is at least a tenth of a stop evener than at the near one; the feathered edge does the rest."""
        lamp = self.lamp(modifier=modifier)
        ada, middle, ben = (float(difference_stops(replace(lamp, aim_m=aim), self.PAIR)) for aim in (self.PAIR[0].position_m, lamp.aim_m, self.PAIR[1].position_m))
        assert ada - 0.05 > middle > ben + 0.05
        past = turned_even(lamp, self.PAIR)
        assert past.even and past.after_stops < ben and past.loss_stops > 0.3

    def test_moving_it_away_mends_it_and_costs_light(self):
        """Twice as far: half the difference, for two stops of light."""
        near, far = self.lamp(), self.lamp(2 * CLOSE_M)
        assert difference_stops(far, self.PAIR) / difference_stops(near, self.PAIR) == pytest.approx(0.5, abs=0.05)
        middle_lux_s = [np.sqrt(np.prod(reach((lamp,), self.PAIR).lux_s)) for lamp in (near, far)]
        assert np.log2(middle_lux_s[0] / middle_lux_s[1]) == pytest.approx(2.0, abs=0.1)

    def test_so_does_moving_it_round(self):
        """Before them, as far from the one as from the other."""
        found = moved_even(self.lamp(), self.PAIR)
        assert found.even and found.before_stops > 0.7 and found.moved_m == pytest.approx(0.7, abs=0.1)
