"""Meters, settings and intents against ISO 2720 and the worked figures of the trade's tables."""

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.errors import BadInput
from app.light.exposure import (
    DOME_C,
    INTENTS,
    REFLECTED_K,
    Intent,
    cd_m2_of_ev100,
    ev100_of_cd_m2,
    ev100_of_lux,
    ev100_of_settings,
    lux_of_ev100,
    right_lux_s,
)
from tests.reference_data import worked_examples

EXAMPLES = worked_examples()
LAST_DIGIT = 6e-4  # three decimals are printed
EV = st.floats(-8.0, 20.0)


@pytest.mark.parametrize("row", EXAMPLES["ev"], ids=lambda row: f"f/{row['N']} {row['t']}")
def test_ev_of_settings(row):
    """EV = log2(N²/t), of the figures as marked."""
    assert ev100_of_settings(row["N"], float(Fraction(row["t"].removesuffix("s"))), 100) == pytest.approx(row["ev"], abs=LAST_DIGIT)


@pytest.mark.parametrize("row", EXAMPLES["lux_to_ev100"], ids=lambda row: str(row["lux"]))
def test_ev_of_an_illuminance(row):
    """ISO 2720:1974, N²/t = E S / C, for C of 250 and 330."""
    assert ev100_of_lux(row["lux"]) == pytest.approx(row["C250"], abs=LAST_DIGIT)
    assert ev100_of_lux(row["lux"], DOME_C) == pytest.approx(row["C330"], abs=LAST_DIGIT)


@pytest.mark.parametrize(("ev", "lux"), [(15, 81_920), (12, 10_240), (10, 2560), (5, 80), (0, 2.5), (-6, 0.0390625)])
def test_illuminances_of_whole_evs(ev, lux):
    """C = 250: 2.5 lx times a power of two."""
    assert lux_of_ev100(ev) == pytest.approx(lux)


def test_a_luminance_of_4096_cd_m2_is_ev_15():
    """ISO 2720:1974, N²/t = L S / K, K = 12.5."""
    assert ev100_of_cd_m2(4096.0) == pytest.approx(15.0)


def test_the_card_on_which_both_meters_agree_reflects_sixteen_percent():
    """π K / C = 15.7 % for 12.5 and 250: a matt card's luminance is reflectance times E / π."""
    card = np.pi * REFLECTED_K / 250.0
    assert card == pytest.approx(0.157, abs=5e-4)
    assert ev100_of_cd_m2(card * 1000.0 / np.pi) == pytest.approx(ev100_of_lux(1000.0))


def test_sunny_sixteen():
    """f/16 at one over the ISO is EV 14.64 at ISO 100: bright sun of ANSI's guide, EV 15, within half a stop."""
    assert ev100_of_settings(16, 1 / 100, 100) == pytest.approx(14.64, abs=0.005)
    assert ev100_of_settings(16, 1 / 400, 400) == pytest.approx(14.64, abs=0.005)


def test_apex():
    """Exif's annex: Av + Tv = Bv + Sv with Av = 2 log2 N, Tv = -log2 t, Sv = log2(S/3.125)."""
    av, tv, sv = 2 * np.log2(8.0), -np.log2(1 / 128), np.log2(400 / 3.125)
    bv = av + tv - sv
    assert ev100_of_settings(8.0, 1 / 128, 400) == pytest.approx(bv + 5.0)


@given(EV)
def test_light_to_ev_and_back(ev):
    assert ev100_of_lux(lux_of_ev100(ev)) == pytest.approx(ev)
    assert ev100_of_cd_m2(cd_m2_of_ev100(ev)) == pytest.approx(ev)


def test_a_filter_of_three_stops_needs_three_stops_more_light():
    assert ev100_of_settings(2.8, 1 / 200, 100, 3.0) - ev100_of_settings(2.8, 1 / 200, 100) == pytest.approx(3.0)


def test_what_a_face_needs_is_the_meter_equation():
    """E t = C N² / S: at f/4 and ISO 200, 250 · 16 / 200 = 20 lx s, whatever the time."""
    for time_s in (1 / 60, 1 / 200):
        assert right_lux_s(ev100_of_settings(4, time_s, 200), time_s) == pytest.approx(20.0)


@pytest.mark.parametrize("nothing", [0.0, -1.0])
def test_no_light_and_no_settings_give_no_number_and_no_warning(nothing):
    assert np.isnan(ev100_of_lux(nothing)) and np.isnan(ev100_of_cd_m2(nothing))
    assert np.isnan(ev100_of_settings(nothing, 1, 100)) and np.isnan(ev100_of_settings(2, nothing, 100)) and np.isnan(ev100_of_settings(2, 1, nothing))


@pytest.mark.parametrize("shape", [(), (3,), (2, 3), (0,)])
def test_keeps_the_shape_of_its_input(shape):
    full = np.full(shape, 10.0)
    for one in (ev100_of_lux, lux_of_ev100, ev100_of_cd_m2, cd_m2_of_ev100, lambda ev: Intent().camera_ev100(ev, 12.0)):
        assert np.shape(one(full)) == shape


class TestIntents:
    def test_faces_right_goes_by_the_faces(self):
        assert Intent("faces").camera_ev100(9.0, 12.0) == 9.0

    def test_sky_down_a_stop_is_exposed_for_a_stop_more(self):
        assert Intent("sky", 1.0).camera_ev100(9.0, 12.0) == 13.0

    def test_a_silhouette_leaves_the_sky_right_when_the_faces_are_dark_enough(self):
        assert Intent("silhouette").camera_ev100(8.0, 12.0) == 12.0

    def test_a_silhouette_lets_the_sky_fall_until_the_faces_are_three_stops_under(self):
        assert Intent("silhouette").camera_ev100(11.0, 12.0) == 14.0

    def test_unknown_light_stays_unknown(self):
        assert np.isnan(Intent("sky").camera_ev100(9.0, np.nan))
        assert np.isnan(Intent("silhouette").camera_ev100(9.0, np.nan))
        assert Intent("silhouette").camera_ev100(np.nan, 12.0) == 12.0

    def test_words(self):
        said = {name: Intent.named(name).words for name in INTENTS}
        assert said["faces"] == "faces right" and said["sky"] == "sky right" and said["silhouette"] == "silhouette"
        assert said["sky-down-1"] == "sky down 1 stop" and said["sky-up-1"] == "sky up 1 stop"

    def test_refusals(self):
        with pytest.raises(BadInput, match="An intent is one of faces, sky.*“sunny” came"):
            Intent.named("sunny")
        with pytest.raises(BadInput, match="faces, the sky or a silhouette"):
            Intent("ground")
        with pytest.raises(BadInput, match="-6 to 6 stops; 9 came"):
            Intent("sky", 9.0)
        with pytest.raises(BadInput, match="nan came"):
            Intent("sky", float("nan"))
