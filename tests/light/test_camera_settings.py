"""Settings within a camera's limits: cases counted in thirds by hand, and the order in which things give way."""

from itertools import product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.errors import BadInput
from app.light.camera_settings import Limits, settings_for
from app.light.exposure import ev100_of_settings

ROUNDING = 1 / 6 + 1e-9  # to whole thirds
LENS = Limits(wanted_f_number=2.8, nd_stops=(3.0, 6.0))


def said(ev100, limits=LENS, sync=False):
    found = settings_for(ev100, limits, sync)
    return found.words(), found.gives_way()


def test_the_time_moves_first():
    """EV 12 at f/2.8 (Av 3) and ISO 100: Tv 9, 1/500 s."""
    assert said(12.0) == ("f/2.8, 1/500 s, ISO 100", ())


def test_too_dark_for_the_hand_the_aperture_opens():
    """EV 9: Tv 7 (1/125 s) leaves Av 2, f/2."""
    assert said(9.0) == ("f/2, 1/125 s, ISO 100", ("aperture opens to f/2",))


def test_then_the_sensitivity_rises():
    """EV 6: f/1.8 is Av 5/3, so 2 2/3 stops are missing: ISO 640."""
    assert said(6.0) == ("f/1.8, 1/125 s, ISO 640", ("aperture opens to f/1.8", "ISO rises to 640"))


def test_then_it_is_under_and_says_by_how_much():
    """Darkest: 5/3 + 7 - 6 = EV 2 2/3; EV 1 lies 1 2/3 stops lower."""
    words, gives_way = said(1.0)
    assert words == "f/1.8, 1/125 s, ISO 6400"
    assert gives_way[-1] == "1 2/3 stops under even at ISO 6400"


def test_too_bright_a_filter_goes_on():
    """EV 18 at f/2.8 would be Tv 15; 3 stops of filter leave 12, 1/4000 s."""
    assert said(18.0) == ("f/2.8, 1/4000 s, ISO 100, ND 3 stops", ("ND 3 stops on",))


def test_without_filters_the_aperture_closes():
    """EV 17 and 1/8000 s (Tv 13): Av 4, f/4."""
    assert said(17.0, Limits()) == ("f/4, 1/8000 s, ISO 100", ("aperture closes to f/4",))


def test_then_it_is_over_and_says_by_how_much():
    """f/2.8 at most and 1/8000 s: Av 3 + Tv 13 = EV 16; EV 16 2/3 is 2/3 over."""
    assert said(16 + 2 / 3, Limits(smallest_f_number=2.8))[1] == ("aperture closes to f/2.8", "2/3 stop over even at 1/8000 s")


def test_a_filter_far_too_strong_stays_in_the_bag():
    """EV 16 2/3 with ten stops only: closing by 2/3 keeps ISO 100, the filter would not."""
    lens = Limits(wanted_f_number=2.8, nd_stops=(10.0,))
    assert said(16 + 2 / 3, lens) == ("f/3.5, 1/8000 s, ISO 100", ("aperture closes to f/3.5",))


def test_for_a_flash_the_time_stays_at_sync_or_slower():
    """EV 14 2/3 at 1/200 s (Tv 7 2/3) leaves Av 7 for no filter, 4 for three stops and 1 for six: f/4 is nearest to f/2.8."""
    assert said(14 + 2 / 3, sync=True) == ("f/4, 1/200 s, ISO 100, ND 3 stops", ("ND 3 stops on", "aperture closes to f/4"))


def test_a_hand_steadier_than_sync_gives_way_to_the_flash():
    """Slowest 1/500 s, sync 1/200 s: the flash cannot follow, so 1/200 s."""
    assert "1/200 s" in said(9.0, Limits(slowest_s=1 / 500), sync=True)[0]


@given(
    ev=st.floats(-6.0, 22.0),
    wide=st.sampled_from([1.2, 1.8, 2.8, 4.0]),
    filters=st.lists(st.sampled_from([1.0, 3.0, 6.0, 10.0]), max_size=3),
    sync=st.booleans(),
)
def test_settings_are_right_or_say_what_they_miss(ev, wide, filters, sync):
    limits = Limits(widest_f_number=wide, nd_stops=tuple(filters))
    found = settings_for(ev, limits, sync)
    made = ev100_of_settings(found.f_number, found.time_s, found.iso, found.nd / 3)
    assert made == pytest.approx(found.camera_ev100)
    assert abs(ev - made - found.miss_stops) <= ROUNDING
    assert limits.apertures[0] <= found.aperture <= limits.apertures[1]
    assert limits.speeds[0] <= found.speed <= limits.speeds[1]
    assert found.time <= limits.times[2 if sync else 1]
    assert bool(abs(found.miss_stops) > 0.1) == any("even at" in words for words in found.gives_way())


@given(st.floats(-4.0, 20.0), st.booleans())
def test_no_other_settings_miss_by_less_or_come_earlier_in_the_order(ev, sync):
    """Against trying all of them one by one, written out anew."""
    found = settings_for(ev, LENS, sync)
    (wide, small, wanted), (slow, fast, synced), (base, top) = LENS.apertures, LENS.times, LENS.speeds
    target = round(3 * ev)
    ranks = []
    for speed, aperture, nd in product(range(base, top + 1), range(wide, small + 1), (0, 9, 18)):
        time = min(max(target - aperture + speed - nd, slow), synced if sync else fast)
        miss = abs(target - (aperture + time - speed + nd))
        ranks.append((miss, speed, abs(aperture - wanted), nd))
    assert min(ranks) == (round(3 * abs(found.miss_stops)), found.speed, abs(found.aperture - wanted), found.nd)


def test_many_moments_are_the_single_moments_side_by_side():
    evs = np.array([[16.0, 12.0, np.nan], [9.0, 6.0, 1.0]])
    together = settings_for(evs, LENS)
    assert together.time_s.shape == evs.shape
    for at in np.ndindex(evs.shape):
        alone = settings_for(evs[at], LENS)
        assert (together.words(at), together.gives_way(at)) == (alone.words(), alone.gives_way())
        assert together.one(at).words() == alone.words()
    assert settings_for(np.array([]), LENS).miss_stops.shape == (0,)


def test_where_the_light_is_unknown_it_says_so():
    assert said(np.nan) == ("no settings: too dark to tell", ("too dark to tell what to set",))
    assert np.isnan(settings_for(np.nan, LENS).camera_ev100)


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"wanted_f_number": 1.2}, "f/1.2 is outside the lens, which has f/1.8 to f/16"),
        ({"wanted_f_number": 22}, "f/22 is outside the lens"),
        ({"widest_f_number": 22, "smallest_f_number": 2}, "widest aperture has a smaller f-number"),
        ({"widest_f_number": 0.0}, "An aperture lies between"),
        ({"fastest_s": 1 / 100}, "No flash goes with a time shorter"),
        ({"slowest_s": 1 / 16000, "fastest_s": 1 / 8000}, "slowest time is longer"),
        ({"slowest_s": 3600.0}, "A time lies between 30 s and 1/32000 s; 3600 came"),
        ({"sync_s": float("nan")}, "No flash goes|A time lies"),
        ({"highest_iso": 50.0}, "highest ISO is at least the base ISO"),
        ({"highest_iso": 1e9}, "A sensitivity lies between ISO 25 and ISO 102400"),
        ({"base_iso": -100.0}, "A sensitivity lies between"),
        ({"nd_stops": (0.0,)}, "A filter takes between 1/3 and 20 stops; 0 came"),
        ({"nd_stops": (3.0,) * 13}, "At most 12 filters"),
    ],
)
def test_limits_that_cannot_be_are_refused_in_words(wrong, words):
    with pytest.raises(BadInput, match=words):
        Limits(**wrong)
