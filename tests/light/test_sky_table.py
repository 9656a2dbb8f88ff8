"""Tables for searches give the same as what they are made from."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from app.light.clear_sky import clear_beam_lux
from app.light.sky_table import quick_beam_lux


@given(st.floats(-0.85, 90.0), st.floats(0.0, 1.0), st.floats(600.0, 1050.0))
def test_the_beam_from_the_table_is_the_beam_within_a_hundredth_of_a_stop(altitude_deg, haze, pressure_hpa):
    beam = float(clear_beam_lux(altitude_deg, haze, round(pressure_hpa)))
    assert abs(quick_beam_lux(altitude_deg, haze, round(pressure_hpa)) - beam) <= max(0.007 * 2 * beam, 0.5)


def test_no_beam_is_left_far_under_the_horizon_and_shapes_are_kept():
    assert quick_beam_lux(-2.0, 0.1, 1013.0) == 0.0
    assert quick_beam_lux(np.zeros((2, 3)), 0.1, 1013.0).shape == (2, 3)
