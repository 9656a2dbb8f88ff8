"""The light of a day against published tables and closed forms."""

import numpy as np
import pytest

from app.errors import BadInput
from app.light.beam import beam_lux
from app.light.cloud import beam_left, cloud_factor, sky_left_lux
from app.light.colour import colour_temperature_k, daylight_xy
from app.light.day import beam_share, daylight_over, face_lux, ground_lux, sky_cd_m2
from app.light.daylight import horizontal_illuminance_lux, joined_illuminance_lux
from app.light.faces import Face
from app.light.ground import albedo_of
from app.light.sky_luminance import CLEAR, OVERCAST, SKY_TYPES, luminance_per_lux, relative_luminance
from app.light.spot import Spot, sky_view
from app.light.turbidity import MEAN_YEAR, turbidity_at
from app.outside.turbidity import monthly_turbidity
from app.place.bands import NOWHERE_HIGH_DEG, NOWHERE_LOW_DEG, Band
from app.place.skyline import Skyline, level_skyline
from app.sky.track import Observer
from tests.reference_data import rows

PLACE = Observer(54.57, -3.13, 70.0)
NOON = 1_821_225_600.0 + 43_200.0  # 18 September 2027
EVENING = PLACE.sun_over(NOON, NOON + 36_000.0, 60.0)


def test_twilight_and_day_lie_within_the_published_tables():
    """illuminance-vs-altitude.csv: by twilight the Explanatory Supplement's polynomial, by day that and two more clear skies.

    By day the three differ by up to a third of a stop among themselves; ours keeps within
    a third of a stop of the nearest.
    """
    day, compared = daylight_over(EVENING, 3.0), 0
    for row in rows("illuminance-vs-altitude"):
        altitude_deg = float(row["sun_altitude_true_deg"])
        names = ["explsuppl1992_polynomial_lx", "usno_circ171_lx_with_its_refraction", "spectrl2_global_horizontal_lx"]
        told = [float(row[name]) for name in names[: 1 if altitude_deg <= 0 else 3] if row[name]]
        if told and -12.0 <= altitude_deg <= 34.0:
            ours = float(np.interp(-altitude_deg, -EVENING.airless_deg, day.horizontal_lux))
            assert min(abs(np.log2(ours / lux)) for lux in told) < 1 / 3, (altitude_deg, ours, told)
            compared += 1
    assert compared > 12


def test_sun_and_sky_apart_agree_with_the_spectral_model():
    """SPECTRL2's direct normal and diffuse light in the same table, its haze 0.1: within a half and three quarters of a stop from 5° up."""
    day, compared = daylight_over(EVENING, 3.0), 0
    for row in rows("illuminance-vs-altitude"):
        altitude_deg = float(row["sun_altitude_true_deg"])
        if 5.0 <= altitude_deg <= 34.0 and row["spectrl2_direct_normal_lx"]:
            beam, sky = (float(np.interp(-altitude_deg, -EVENING.airless_deg, values)) for values in (day.beam_lux, day.sky_lux))
            assert abs(np.log2(beam / float(row["spectrl2_direct_normal_lx"]))) < 0.5, (altitude_deg, beam)
            assert abs(np.log2(sky / float(row["spectrl2_diffuse_horizontal_lx"]))) < 0.75, (altitude_deg, sky)
            compared += 1
    assert compared >= 3


def test_it_falls_without_a_jump_from_noon_to_the_end_of_twilight():
    logs = np.log2(daylight_over(EVENING, 3.0).horizontal_lux)
    down = EVENING.airless_deg > -12
    steps = np.diff(logs)[down[:-1]]
    assert np.all(steps < 0.002) and steps.min() > -0.35  # stops in a minute; twilight at 54° falls by 0.2
    assert np.abs(np.diff(steps)).max() < 0.03, "no kink either"


def test_the_joined_polynomial_is_the_published_one_away_from_its_joints():
    altitude = np.array([-11.0, -8.0, -3.0, 2.0, 12.0, 40.0])
    assert joined_illuminance_lux(altitude) == pytest.approx(horizontal_illuminance_lux(altitude), rel=1e-9)


def test_cloud_is_kasten_and_czeplaks():
    """Solar Energy 24 (1980) 177: 1 - 0.75 n^3.4 with n in eighths over 8; overcast 0.25, half covered 0.93."""
    assert cloud_factor(np.array([0.0, 0.5, 1.0])) == pytest.approx([1.0, 0.929, 0.25], abs=0.001)
    assert np.isnan(cloud_factor(1.2))
    cover = np.linspace(0, 1, 9)
    assert sky_left_lux(cover, 10_000.0, 30_000.0) + beam_left(cover) * 30_000.0 == pytest.approx(cloud_factor(cover) * 40_000.0)


def test_a_meter_reading_moves_everything_by_its_stops():
    plain, brighter = daylight_over(EVENING, 3.0), daylight_over(EVENING, 3.0, correction_stops=1.0)
    assert brighter.horizontal_lux == pytest.approx(2 * plain.horizontal_lux)


def test_haze_dims_the_sun_and_brightens_the_sky():
    clear, hazy = daylight_over(EVENING[:120], 2.5), daylight_over(EVENING[:120], 5.0)
    assert np.all(hazy.beam_lux < clear.beam_lux) and np.all(hazy.sky_lux > clear.sky_lux)


def test_the_beam_outside_the_air_is_the_suns():
    """About 128 to 134 klx at 1 au, by the luminous efficacy taken: IES handbook, from memory; here thin air at the zenith."""
    assert 95_000 < float(beam_lux(90.0, 0.05)) < 125_000


@pytest.mark.parametrize("kind", [CLEAR, OVERCAST])
def test_the_whole_sky_gives_what_it_is_scaled_to(kind):
    """∫ L sin h dω over the hemisphere is one lux, for any sun."""
    heights, weights = np.polynomial.legendre.leggauss(60)
    rise = (heights + 1) / 2
    around = np.radians(np.arange(0.5, 360.0, 1.0))
    for sun_deg in (0.0, 12.0, 55.0):
        sun = np.radians(sun_deg)
        cosine = np.sin(sun) * rise[:, None] + np.cos(sun) * np.sqrt(1 - rise[:, None] ** 2) * np.cos(around)
        values = luminance_per_lux(kind, np.degrees(np.arcsin(rise))[:, None], cosine, sun_deg)
        assert (values.mean(axis=1) * rise) @ weights / 2 * 2 * np.pi == pytest.approx(1.0, abs=0.005)


def test_the_overcast_sky_is_three_times_as_bright_at_the_zenith():
    """Moon & Spencer (1942): L = Lz (1 + 2 sin h) / 3; ISO 15469's type 1 keeps it to a few hundredths at both ends and above 30°."""
    heights = np.array([1.0, 30.0, 60.0, 90.0])
    found = relative_luminance(SKY_TYPES[OVERCAST], heights, 0.0, 30.0)
    assert found == pytest.approx((1 + 2 * np.sin(np.radians(heights))) / 3, abs=0.06)


def test_even_skies_through_skylines_by_closed_forms():
    assert sky_view(level_skyline()) == pytest.approx(1.0)
    assert sky_view(level_skyline(30.0)) == pytest.approx(np.cos(np.radians(30.0)) ** 2, abs=1e-4)
    azimuth = np.arange(0.0, 360.0, 0.25)
    across = np.maximum(np.cos(np.radians(azimuth - 90.0)), 0.0)
    wall = Skyline(azimuth, np.degrees(np.arctan(1000.0 * across)), ("the wall",) * len(azimuth))
    assert sky_view(wall) == pytest.approx(0.5, abs=0.005)
    roof = Band(np.array([0.0, 180.0]), np.array([60.0, 60.0]), np.array([90.0, 90.0]), "the roof")
    assert sky_view(Skyline([0.0], [0.0], ("the horizon",), (roof,))) == pytest.approx(np.sin(np.radians(60.0)) ** 2, abs=1e-3)


def test_a_roof_over_part_of_the_compass_hides_that_part_alone():
    """Between 30 and 60° over a quarter of the compass: 1 - (sin² 60° - sin² 30°) / 4 = 0.875; and a free sun stays whole."""
    edges = np.array([0.0, 89.999, 90.0, 359.999])
    there = np.array([True, True, False, False])
    roof = Band(edges, np.where(there, 30.0, NOWHERE_LOW_DEG), np.where(there, 60.0, NOWHERE_HIGH_DEG), "the roof")
    skyline = Skyline([0.0], [0.0], ("the horizon",), (roof,))
    assert sky_view(skyline) == pytest.approx(0.875, abs=0.003)
    free = EVENING[(EVENING.refracted_deg > 5) & (EVENING.azimuth_deg > 180)]
    assert beam_share(daylight_over(free, 3.0), Spot(skyline)) == pytest.approx(1.0)


def test_a_face_under_an_overcast_sky_by_hand():
    """A face that looks straight up gets what level ground does; a wall gets its share of the standard's sky, and half of what the ground sends back."""
    day = daylight_over(EVENING[:3], 3.0, cover=1.0)
    up = Face("up", (0, 0, 0), 0.0, 80.0)
    assert face_lux(day, Spot(), up) == pytest.approx(ground_lux(day, Spot()), rel=0.06)
    bare, snowy = (face_lux(day, Spot(ground=ground), Face("wall", (0, 0, 0), 0.0)) for ground in ("water", "snow"))
    whole = ground_lux(day, Spot())
    assert (snowy - bare) / whole == pytest.approx((albedo_of("snow") - albedo_of("water")) / 2)
    assert (bare / whole - albedo_of("water") / 2)[0] == pytest.approx(upright_share(), abs=0.01)


def upright_share():
    """What an upright plane gets of the overcast sky over what level ground does, summed afresh from the standard's formula."""
    heights = np.radians(np.arange(0.05, 90.0, 0.1))
    bright = 1 + 4 * np.exp(-0.7 / np.sin(heights))
    upright = np.sum(bright * np.cos(heights) ** 2) * 2  # ∫ cos azimuth over the half that it sees is 2
    return upright / (np.sum(bright * np.sin(heights) * np.cos(heights)) * 2 * np.pi)


def test_the_sun_lights_only_the_face_that_looks_at_it_and_only_over_the_skyline():
    low = EVENING[(EVENING.refracted_deg < 12) & (EVENING.refracted_deg > 4)]
    day, azimuth = daylight_over(low, 3.0), float(low.azimuth_deg.mean())
    toward, away = (face_lux(day, Spot(), Face("", (0, 0, 0), bearing % 360)) for bearing in (azimuth, azimuth + 180))
    assert np.all(toward > 3 * away)
    behind = Spot(level_skyline(25.0))
    assert np.all(beam_share(day, behind) == 0) and np.all(face_lux(day, behind, Face("", (0, 0, 0), azimuth)) < away * 1.6)
    half = Spot(light_share=0.5)
    assert beam_share(day, half) == pytest.approx(0.5 * beam_share(day, Spot()))


def test_the_sky_is_brightest_by_the_sun_and_darkest_away_from_it():
    day = daylight_over(EVENING[200:260], 3.0)
    by, off = (sky_cd_m2(day, day.sun.azimuth_deg + turn, day.sun.refracted_deg + 5) for turn in (10.0, 130.0))
    assert np.all(by > 2 * off)


def test_one_direction_is_read_at_every_moment():
    """Two plain numbers once failed beside a row of moments."""
    day = daylight_over(EVENING[200:260], 3.0)
    assert np.array_equal(sky_cd_m2(day, 270.0, 3.0), sky_cd_m2(day, np.full(60, 270.0), np.full(60, 3.0)))


def test_the_disc_goes_behind_an_edge_bit_by_bit():
    sun = PLACE.sun_over(NOON, NOON + 30_000.0, 5.0)
    share = beam_share(daylight_over(sun, 3.0), Spot(level_skyline(5.0)))
    assert share.max() == pytest.approx(1.0) and share.min() == 0.0
    half = np.abs(sun.refracted_deg - 5.0).argmin()
    assert share[half] == pytest.approx(0.5, abs=0.05)


def test_turbidity_comes_from_the_shipped_grid_and_turns_with_the_year():
    """pvlib's own lookup for the same cell, read with h5py: the mean over the year lies between 2 and 5 in England."""
    monthly = monthly_turbidity(54.57, -3.13)
    assert monthly.shape == (12,) and np.all((monthly > 1.5) & (monthly < 6))
    january = 1_799_971_200.0  # 15 January 2027
    assert float(turbidity_at(monthly, january)) == pytest.approx(monthly[0], abs=0.05)
    assert np.all(turbidity_at(MEAN_YEAR, january + np.arange(12) * 2_629_800.0) == 3.0)


@pytest.mark.parametrize("kelvin", [4500.0, 5500.0, 6500.0, 10_000.0])
def test_daylight_of_a_colour_has_that_colour(kelvin):
    """CIE 15: the daylight locus; McCamy's and other fits agree to some 20 K."""
    assert colour_temperature_k(daylight_xy(kelvin)) == pytest.approx(kelvin, rel=0.01)


def test_bad_ground_and_share_are_told():
    with pytest.raises(BadInput, match="The ground is"):
        Spot(ground="lava")
    with pytest.raises(BadInput, match="between 0 and 1"):
        Spot(light_share=1.5)
