"""Evening out: against the plane half way between two faces, and against the sum for a feathered beam."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app.errors import BadInput
from app.light.even import NEAREST_M, Reachable, difference_stops, moved_even, turned_even
from app.light.lights import Modifier, distance_m, lux_s_at, off_axis_deg
from tests.light.flashes import SOFTBOX, face, light

ADA, BEN = face(0.0, -0.5, name="Ada"), face(0.0, 0.5, name="Ben")
PAIR = (ADA, BEN)
SPOT = Modifier("spot", 0.0, 30.0)
NEAR_ADA = {"east_m": 3.0, "north_m": -1.0}


class TestMoved:
    def test_to_the_plane_half_way_between_faces_that_look_alike(self):
        """Both look east, so equal distances are equal light: straight across to north 0, 1 m."""
        found = moved_even(light(**NEAR_ADA), PAIR, within_stops=0.0)
        assert found.light.position_m == pytest.approx((3.0, 0.0, 1.6), abs=2e-3)
        assert found.moved_m == pytest.approx(1.0, abs=2e-3)
        assert distance_m(found.light, ADA) == pytest.approx(distance_m(found.light, BEN), abs=1e-3)
        assert found.even and found.after_stops < 2e-3

    def test_faces_of_different_height_too(self):
        """The plane half way between (0, -0.5, 1.5) and (0, 0.5, 1.7): square to (0, 1, 0.2)."""
        pair = (face(0.0, -0.5, 1.5), face(0.0, 0.5, 1.7, name="Ben"))
        start = np.array([3.0, -0.5, 1.6])
        across = np.array([0.0, 1.0, 0.2]) / np.hypot(1.0, 0.2)
        expected = start - ((start - [0.0, 0.0, 1.6]) @ across) * across
        found = moved_even(light(*start), pair, within_stops=0.0)
        assert found.light.position_m == pytest.approx(tuple(expected), abs=3e-3)

    def test_no_farther_than_a_difference_that_goes_unseen(self):
        found = moved_even(light(**NEAR_ADA), PAIR)
        assert found.after_stops == pytest.approx(0.1, abs=2e-3)
        assert found.moved_m < 1.0 and found.even

    @settings(max_examples=15, deadline=None)
    @given(st.floats(1.0, 4.0), st.floats(-2.5, 2.5), st.floats(1.2, 3.0), st.floats(-30.0, 30.0))
    def test_no_place_nearby_is_a_shorter_way(self, east_m, north_m, up_m, turned_deg):
        """Against trying 20 000 places strewn at even spread: none that is even lies nearer by 3 cm."""
        pair = (ADA, replace(BEN, facing_deg=90.0 + turned_deg))
        lamp = light(east_m, north_m, up_m, modifier=SOFTBOX)
        found = moved_even(lamp, pair)
        assert found.even
        rng = np.random.default_rng(7)
        strewn = rng.normal(size=(3, 20_000))
        strewn *= found.moved_m * rng.uniform(size=20_000) ** (1 / 3) / np.linalg.norm(strewn, axis=0)
        places = np.asarray(lamp.position_m)[:, np.newaxis] + strewn
        apart = np.min([np.linalg.norm(places.T - one.position_m, axis=1) for one in pair], axis=0)
        stands = (places[2] > 0.3) & (places[2] < 4.0) & (apart > NEAREST_M)
        middle = np.mean([one.position_m for one in pair], axis=0)
        even = difference_stops(lamp, pair, places, middle) <= 0.1
        least = min(float(lux_s_at(lamp, one)) for one in pair) / 8
        lit = np.min([lux_s_at(lamp, one, places, middle) for one in pair], axis=0) >= least
        ways_m = np.linalg.norm(strewn, axis=0)[even & stands & lit]
        assert found.moved_m - ways_m.min(initial=np.inf) < 0.03

    def test_out_of_reach_it_stays_and_says_so(self):
        found = moved_even(light(**NEAR_ADA), PAIR, Reachable(reach_m=0.3))
        assert not found.even and found.moved_m == 0.0
        assert found.words == "nothing within reach evens it"

    def test_it_keeps_under_the_roof_and_off_the_faces(self):
        found = moved_even(light(0.4, -1.0, 1.6), PAIR, Reachable(highest_m=1.65))
        assert found.even and found.light.position_m[2] <= 1.65 + 2e-3
        assert min(distance_m(found.light, one) for one in PAIR) >= NEAREST_M - 2e-3

    def test_words(self):
        assert moved_even(light(**NEAR_ADA), PAIR, within_stops=0.0).words == "moved 1.0 m and turned 18°: even"
        assert moved_even(light(), PAIR).words == "even as it is"

    def test_three_people(self):
        three = (*PAIR, face(0.0, 1.5, name="Cleo"))
        found = moved_even(light(**NEAR_ADA), three)
        assert found.even and found.before_stops > 0.5 and found.after_stops <= 0.102


class TestTurned:
    @pytest.mark.parametrize("half_deg", [15.0, 25.0])  # ends between the faces, and past the far one
    def test_the_feathered_beam_by_its_sum(self, half_deg):
        """Faces g degrees apart, the nearer D stops brighter, h half the beam: n off the near one evens them.

        The beam takes n² / h² stops from the near one and (n - g)² / h² from the far one;
        D + (n - g)² / h² = n² / h² gives n = (h² D + g²) / 2g. D is cos / d² of each.
        """
        lamp = self.feathered(half_deg)
        g, d = off_axis_deg(lamp, BEN), self.bare_stops(lamp)
        found = turned_even(lamp, PAIR, within_stops=0.0)
        assert found.turned_deg == pytest.approx((half_deg**2 * d + g**2) / (2 * g), abs=1e-3)
        assert found.even and found.moved_m == 0.0
        assert found.light.position_m == lamp.position_m

    @staticmethod
    def feathered(half_deg):
        return light(**NEAR_ADA, modifier=Modifier("spot", 0.0, 2 * half_deg), aim_m=ADA.position_m)

    @staticmethod
    def bare_stops(lamp):
        """What distance and angle alone leave between them: cos θ / d² with cos θ = east / d."""
        near_m, far_m = (distance_m(lamp, one) for one in PAIR)
        return 3 * np.log2(far_m / near_m)

    def test_aimed_at_the_far_one_they_are_nearer_to_each_other(self):
        """Common practice: it is mended by aiming at the far one; the number must show it."""
        at_near, at_far = (float(difference_stops(replace(self.feathered(30.0), aim_m=one.position_m), PAIR)) for one in PAIR)
        assert at_near > at_far + 0.5

    def test_it_costs_light(self):
        """Both end as bright as the near one n off the axis: n² / h² less."""
        found = turned_even(self.feathered(15.0), PAIR, within_stops=0.0)
        assert found.loss_stops == pytest.approx((found.turned_deg / 15.0) ** 2, abs=1e-3)
        assert found.words == "turned 11°: even, 2/3 stop less light"

    def test_a_beam_as_wide_as_a_bulb_cannot_be_feathered(self):
        found = turned_even(light(1.0, -1.0), PAIR)
        assert not found.even
        assert found.after_stops < found.before_stops
        assert "between them" in found.words

    def test_even_as_it_is(self):
        lamp = light(modifier=SPOT)
        assert turned_even(lamp, PAIR).light == lamp
        assert turned_even(lamp, PAIR).words == "even as it is"

    @given(st.floats(1.0, 5.0), st.floats(-3.0, 3.0), st.floats(15.0, 120.0), st.booleans())
    def test_it_never_gets_worse(self, east_m, north_m, beam_deg, grid):
        found = turned_even(light(east_m, north_m, 2.0, modifier=Modifier("m", 0.0, beam_deg, grid)), PAIR)
        assert found.after_stops <= found.before_stops + 1e-9
        assert found.even == (found.after_stops <= 0.1 + 1e-6)


@pytest.mark.parametrize("evening", [turned_even, moved_even])
class TestRefusals:
    def test_one_person(self, evening):
        with pytest.raises(BadInput, match="takes two people"):
            evening(light(), (ADA,))

    def test_a_light_inside_somebody(self, evening):
        with pytest.raises(BadInput, match="stands inside Ada"):
            evening(light(0.05, -0.5), PAIR)

    def test_a_face_that_gets_nothing_cannot_be_evened_by_a_light_before_the_other(self, evening):
        found = evening(light(), (ADA, replace(BEN, facing_deg=270.0)))
        assert found.before_stops == 30.0 and not found.even


def test_reaches_that_cannot_be():
    with pytest.raises(BadInput, match="moved by up to 100 m; 0 m came"):
        Reachable(reach_m=0.0)
    with pytest.raises(BadInput, match="above the lowest"):
        Reachable(lowest_m=2.0, highest_m=1.0)
