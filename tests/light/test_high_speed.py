"""A filter at sync beside high-speed sync."""

import numpy as np
import pytest

from app.light.camera_settings import Limits
from app.light.exposure import lux_of_ev100
from app.light.high_speed import EITHER, FILTER, HIGH_SPEED, NEITHER, two_ways
from app.light.lights import Flash
from tests.light.flashes import BARE, face, light

LIMITS = Limits(widest_f_number=2.8, slowest_s=1 / 200, nd_stops=(3.0,))


def ways(ev100, limits=LIMITS, **lamp):
    return two_ways(ev100, lux_of_ev100(np.asarray(ev100) - 4), limits, (light(**lamp),), (face(),))


def test_by_hand():
    """EV 13 2/3 at f/2.8: three stops of filter at 1/200 s (Tv 7 2/3), or 1/1600 s (10 2/3), 2 + 3 stops lost.

    The filter takes three from the flash, the shorter time as much from the day: the
    flash's own loss, 2, is all that differs.
    """
    found = ways(13 + 2 / 3, flash=Flash("Bare", 60.0, beam_deg=360.0))
    assert found.at_sync.settings.words() == "f/2.8, 1/200 s, ISO 100, ND 3 stops"
    assert found.high_speed.settings.words() == "f/2.8, 1/1600 s, ISO 100"
    assert found.gain_stops == pytest.approx(2.0, abs=0.25)  # the day's share on the face is in both
    flash_alone = two_ways(13 + 2 / 3, 0.0, LIMITS, (light(),), (face(),))
    assert flash_alone.gain_stops == pytest.approx(2.0)


def test_under_sync_both_are_the_same():
    found = ways(10.0)
    assert found.gain_stops == pytest.approx(0.0) and found.better() == EITHER


@pytest.mark.parametrize(
    ("ev100", "limits", "guide_number_m", "better"),
    [
        (13 + 2 / 3, LIMITS, 40.0, FILTER),  # 250 lx s against 160 wanted at sync, 8 against 20 in high-speed sync
        (13 + 2 / 3, LIMITS, 200.0, EITHER),
        (13 + 2 / 3, LIMITS, 5.0, NEITHER),
        (16.0, Limits(widest_f_number=2.8, smallest_f_number=2.8, slowest_s=1 / 200), 1000.0, HIGH_SPEED),  # no filter: the sky is lost at sync
    ],
)
def test_which_way_does_it(ev100, limits, guide_number_m, better):
    assert ways(ev100, limits, flash=Flash("Bare", guide_number_m, beam_deg=360.0)).better() == better


def test_both_are_told_side_by_side():
    filtered, fast = ways(13 + 2 / 3).words()
    assert filtered.startswith("f/2.8, 1/200 s, ISO 100, ND 3 stops: ") and "power" in filtered
    assert fast.startswith("f/2.8, 1/1600 s, ISO 100: ") and fast.endswith("short at full power")


def test_a_sky_that_cannot_be_held_is_told():
    found = ways(16.0, Limits(widest_f_number=2.8, smallest_f_number=2.8, slowest_s=1 / 200))
    assert found.words()[0].endswith("; the sky 5 1/3 stops over what was asked for")
    assert "sky" not in found.words()[1]


def test_many_moments_are_the_single_moments_side_by_side():
    evs = np.array([16.0, 13.0, 9.0, np.nan])
    together = ways(evs)
    for moment, ev in enumerate(evs):
        alone = ways(ev)
        assert together.words(moment) == alone.words() and together.better(moment) == alone.better()


def test_a_flash_without_high_speed_sync_leaves_the_filter():
    old = Flash("Old", 60.0, beam_deg=360.0, high_speed_stops=None)
    assert ways(13 + 2 / 3, flash=old).better() == FILTER
    assert BARE.high_speed_stops is not None
