"""What a light gives to a face: guide numbers, inverse square, beams, and what is refused."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.errors import BadInput
from app.light.exposure import ev100_of_settings, right_lux_s
from app.light.gels import GELS
from app.light.lights import (
    Flash,
    Light,
    Modifier,
    beam_loss_stops,
    beam_of_zoom_deg,
    check_lights,
    distance_m,
    lux_s_at,
    off_axis_deg,
)
from tests.light.flashes import BARE, SOFTBOX, face, light
from tests.reference_data import rows, worked_examples


def f_number(lux_s):
    """The aperture at ISO 100 that some flash light is right for: N² = 100 H / 250 (ISO 2720)."""
    return np.sqrt(np.asarray(lux_s) / 2.5)


def test_a_guide_number_is_aperture_times_distance():
    """GN 40 m at 4 m: f/10."""
    assert f_number(lux_s_at(light(), face())) == pytest.approx(10.0)


@pytest.mark.parametrize(("power", "guide_number_m"), worked_examples()["gn_power"].items())
def test_guide_numbers_of_part_powers(power, guide_number_m):
    """A guide number of 36 m scales with the root of the power; two decimals are printed."""
    share = 1.0 if power == "1" else 1 / int(power.split("/")[1])
    full = lux_s_at(light(flash=Flash("36", 36.0, beam_deg=360.0)), face())
    assert f_number(full * share) * 4.0 == pytest.approx(guide_number_m, abs=0.006)


@pytest.mark.parametrize(("iso", "guide_number_m"), [(100, 36.0), (200, 50.91), (400, 72.0), (1600, 144.0)])
def test_guide_numbers_at_other_sensitivities(iso, guide_number_m):
    """A guide number of 36 m scales with the root of the ISO: at 4 m the aperture is a quarter of it."""
    given_lux_s = lux_s_at(light(flash=Flash("36", 36.0, beam_deg=360.0)), face())
    wanted_lux_s = right_lux_s(ev100_of_settings(guide_number_m / 4.0, 1 / 200, iso), 1 / 200)
    assert given_lux_s == pytest.approx(wanted_lux_s, rel=3e-4)  # two decimals are printed


def test_twice_the_distance_is_two_stops_darker():
    near, far = (lux_s_at(light(east_m), face()) for east_m in (2.0, 4.0))
    assert np.log2(near / far) == pytest.approx(2.0)


@given(st.floats(0.5, 30.0), st.floats(1.05, 4.0))
def test_inverse_square_at_any_distance(near_m, ratio):
    near, far = (lux_s_at(light(east_m), face()) for east_m in (near_m, near_m * ratio))
    assert np.log2(near / far) == pytest.approx(2 * np.log2(ratio))


def test_a_light_sixty_degrees_round_loses_a_stop_on_a_flat_face():
    """cos 60° = 1/2, at the same distance."""
    round_ = lux_s_at(light(4 * np.cos(np.radians(60)), 4 * np.sin(np.radians(60))), face())
    assert np.log2(lux_s_at(light(), face()) / round_) == pytest.approx(1.0)


def test_a_light_behind_the_face_gives_it_nothing():
    assert lux_s_at(light(-4.0), face()) == 0.0


def test_a_head_tilted_up_meets_a_high_light():
    high = light(4.0, 0.0, 1.6 + 4.0)
    assert lux_s_at(high, face(tilt_deg=45.0)) / lux_s_at(high, face()) == pytest.approx(np.sqrt(2))


@pytest.mark.parametrize(("off_deg", "lost"), [(0.0, 0.0), (20.0, 1.0), (40.0, 4.0), (10.0, 0.25)])
def test_the_beam_is_a_stop_down_at_its_edge_and_four_at_twice_that(off_deg, lost):
    assert beam_loss_stops(off_deg, 40.0) == pytest.approx(lost)


def test_a_grid_keeps_the_edge_and_cuts_what_lies_beyond():
    off_deg = np.array([0.0, 10.0, 20.0, 40.0])
    assert beam_loss_stops(off_deg, 40.0, grid=True) == pytest.approx([0.0, 0.0625, 1.0, 16.0])


@given(st.floats(4.0, 360.0), st.booleans())
def test_the_beam_falls_smoothly_all_round(beam_deg, grid):
    """No step, and no kink on the axis: the fall across it is of second order."""
    off_deg = np.linspace(0.0, 180.0, 18_001)
    lost = beam_loss_stops(off_deg, beam_deg, grid)
    assert np.all(np.diff(lost) >= 0)
    assert lost[1] < 1e-4
    steepest = {False: 8 * 180 / beam_deg**2, True: 64 * 180**3 / beam_deg**4}[grid]
    assert np.max(np.diff(lost)) <= steepest * 0.01 * 1.001


def test_modifier_and_gel_take_their_stops():
    half_cto = GELS[2]
    put_on = light(modifier=replace(SOFTBOX, beam_deg=360.0), gel=half_cto)
    lost = np.log2(lux_s_at(light(), face()) / lux_s_at(put_on, face()))
    assert lost == pytest.approx(2.0 + half_cto.loss_stops)


def test_distance_and_angle_to_somebody_aside():
    """Lamp 3 m off at the aim's height; the face 4 m aside of the aim: 5 m and atan(4/3) = 53.13°."""
    lamp = light(3.0)
    aside = face(0.0, 4.0)
    assert distance_m(lamp, aside) == pytest.approx(5.0)
    assert off_axis_deg(lamp, aside) == pytest.approx(53.1301, abs=1e-4)


def test_off_axis_is_exact_on_the_axis_and_behind():
    assert off_axis_deg(light(), face()) == 0.0
    assert off_axis_deg(light(), face(9.0)) == pytest.approx(180.0)


def test_a_lamp_in_the_face_or_in_its_aim_gives_no_number_and_no_warning():
    lamp = light(modifier=SOFTBOX)
    assert np.isnan(lux_s_at(lamp, face(), position_m=face().position_m))
    assert np.isnan(lux_s_at(lamp, face(), aim_m=lamp.position_m))


def test_many_places_at_once_are_the_single_places_side_by_side():
    east, north = np.meshgrid([1.0, 2.0, 3.0], [-1.0, 0.5])
    places = np.stack([east, north, np.full_like(east, 2.0)])
    together = lux_s_at(light(modifier=SOFTBOX), face(), position_m=places)
    for at in np.ndindex(east.shape):
        alone = light(*places[(slice(None), *at)], modifier=SOFTBOX)
        assert together[at] == pytest.approx(lux_s_at(alone, face()))


@pytest.mark.parametrize("row", [row for row in rows("angle-of-view") if row["format_mm"] == "36x24"], ids=lambda row: row["focal_mm"])
def test_the_beam_of_a_zoomed_head_is_the_lens_diagonal(row):
    """2 atan(s / 2f); three decimals are printed."""
    assert beam_of_zoom_deg(float(row["focal_mm"])) == pytest.approx(float(row["diagonal_deg"]), abs=0.001)


class TestHighSpeed:
    """“About 1.5 to 2.5 stops down at the first step past sync, one more per halving”: common practice, no source."""

    def test_nothing_is_lost_to_the_sync_time(self):
        assert BARE.high_speed_loss_stops([1 / 60, 1 / 200], 1 / 200).tolist() == [0.0, 0.0]

    def test_its_own_loss_and_a_stop_for_each_halved_time(self):
        assert BARE.high_speed_loss_stops([1 / 400, 1 / 3200], 1 / 200) == pytest.approx([3.0, 6.0])

    def test_a_flash_without_it_gives_no_number(self):
        assert np.isnan(Flash("Old", 40.0, high_speed_stops=None).high_speed_loss_stops(1 / 400, 1 / 200))


class TestRefusals:
    @pytest.mark.parametrize(
        ("wrong", "words"),
        [
            ({"guide_number_m": 0.0}, "“Bare” gives no light: its guide number is above 0; 0 came"),
            ({"guide_number_m": float("nan")}, "gives no light"),
            ({"guide_number_m": 1e6}, "A guide number lies between 1 and 1000 m"),
            ({"beam_deg": 0.0}, "A beam lies between 2 and 360 °; 0 came"),
            ({"range_stops": 12.0}, "How far the power goes down lies between 0 and 8"),
            ({"high_speed_stops": -1.0}, "What high-speed sync takes lies"),
            ({"colour_k": 10.0}, "A colour temperature lies between 1000 and 40000 K"),
        ],
    )
    def test_flashes(self, wrong, words):
        with pytest.raises(BadInput, match=words):
            replace(BARE, **wrong)

    def test_modifiers(self):
        with pytest.raises(BadInput, match="What a modifier takes lies between -4 and 10 stops; 20 came"):
            Modifier("tent", 20.0, 90.0)
        with pytest.raises(BadInput, match="A beam lies"):
            Modifier("tent", 2.0, float("nan"))

    def test_a_light_turned_to_itself(self):
        with pytest.raises(BadInput, match="“Bare” is turned to itself"):
            light(aim_m=(4.0, 0.0, 1.6))

    def test_no_place(self):
        with pytest.raises(BadInput, match="metres east, north and up"):
            light(float("nan"))

    @pytest.mark.parametrize("power", [1.0, -9.0])
    def test_a_power_it_has_not(self, power):
        with pytest.raises(BadInput, match=f"from full power down 8 stops; {power:g} came"):
            light(power_stops=power)

    def test_a_light_inside_a_person(self):
        with pytest.raises(BadInput, match="“Bare” stands inside Ada; move it at least 0.2 m away"):
            check_lights((light(0.05, 0.1, 1.6),), (face(),))
        with pytest.raises(BadInput, match="stands inside Ada"):
            check_lights((light(0.05, 0.1, 0.4),), (face(),))

    def test_a_light_above_a_head_is_none_inside_it(self):
        assert check_lights((light(0.05, 0.1, 3.0),), (face(),)) is None

    def test_no_light_and_nobody(self):
        with pytest.raises(BadInput, match="There is no light here"):
            check_lights((), (face(),))
        with pytest.raises(BadInput, match="There is nobody to light"):
            check_lights((light(),), ())

    def test_a_zoom_that_is_none(self):
        with pytest.raises(BadInput, match="A zoom lies between 8 and 600 mm; 0 came"):
            beam_of_zoom_deg(0.0)

    def test_names_are_optional(self):
        assert Light(Flash("", 40.0), (1.0, 0.0, 1.0), (0.0, 0.0, 1.0)).words == "the light"
