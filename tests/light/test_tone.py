"""The one curve from luminance to tone: it only rises, and keeps the stops between people and sky to be seen."""

import numpy as np
import pytest

from app.light.exposure import cd_m2_of_ev100
from app.light.tone import tone


def test_tone_only_rises_with_the_light_and_stays_on_the_paper():
    drawn = tone(np.geomspace(1e-9, 1e9, 500))
    assert np.all(np.diff(drawn) >= 0) and drawn.min() >= 0 and drawn.max() <= 1


@pytest.mark.parametrize("ev100", np.arange(8.0, 13.0))
def test_a_stop_can_be_seen_from_dusk_to_a_setting_sun(ev100):
    """An eye tells greys apart that differ by about a fiftieth."""
    assert float(tone(cd_m2_of_ev100(ev100 + 1)) - tone(cd_m2_of_ev100(ev100))) > 0.05


def test_a_dark_frame_is_a_dark_evening():
    assert tone(0.01) < 0.04 and tone(cd_m2_of_ev100(15.0)) > 0.75
    assert tone(np.zeros((2, 0))).shape == (2, 0) and np.isfinite(tone(0.0))
