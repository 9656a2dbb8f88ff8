"""The four invented venues: whole, coherent on the ground, and fit for what they show."""

from pathlib import Path

import numpy as np
import pytest
from shapely import LineString, Point, Polygon

from app.place.geodesy import inverse
from app.place.sitefile import parse_site, write_site
from app.place.skyline import skyline_for, surveyed_skyline

FOLDER = Path(__file__).parents[2] / "demo_sites"
PATHS = {path.stem: path for path in sorted(FOLDER.glob("*.geojson"))}
SITES = {stem: parse_site(path.read_bytes()) for stem, path in PATHS.items()}
LOOKS = {"backlit", "sun in frame", "hidden sun", "side light", "afterglow", "mirror", "double", "glitter", "silhouette"}
KEPT = {
    "lens_height_m",
    "focal_length_mm",
    "format",
    "orientation",
    "aim",
    "people",
    "looks",
    "lights",
    "notes",
    "standby",
}

every_site = pytest.mark.parametrize("site", SITES.values(), ids=SITES)


def metres(site, corners):
    lon_deg, lat_deg = np.array(corners)[:, :2].T
    east_m, north_m, _ = site.local_frame.to_metres(lat_deg, lon_deg)
    return np.column_stack([east_m, north_m])


def water_of(site):
    return [
        Polygon(metres(site, water.ring), [metres(site, hole) for hole in water.holes])
        for water in site.waters
    ]


def solids_of(site):
    return [
        (Polygon if obstacle.closed else LineString)(metres(site, obstacle.outline))
        for obstacle in site.obstacles
    ]


def drawing(site, name):
    (found,) = (
        feature["geometry"]["coordinates"]
        for feature in site.document["features"]
        if feature["properties"]["role"] == "drawing" and feature["properties"]["name"] == name
    )
    return Polygon(metres(site, found[0]))


def spot(site, pin):
    return Point(*metres(site, [(pin.lon_deg, pin.lat_deg)])[0])


def line_deg(site, name):
    (setup,) = (setup for setup in site.setups if setup.name == name)
    camera, couple = setup.camera, setup.couple
    return inverse(camera.lat_deg, camera.lon_deg, couple.lat_deg, couple.lon_deg)


def test_there_are_four():
    assert set(SITES) == {"merrowmere-boathouse", "quinta-da-alvorinha", "sandpiper-bay", "ternevag-quay"}


@pytest.mark.parametrize("stem", PATHS)
def test_writing_a_demo_site_gives_its_file(stem):
    assert write_site(SITES[stem]) == PATHS[stem].read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("stem", "place", "zone"),
    [
        ("merrowmere-boathouse", (54.57, -3.13), "Europe/London"),
        ("quinta-da-alvorinha", (37.9, -7.7), "Europe/Lisbon"),
        ("sandpiper-bay", (-32.9, 17.9), "Africa/Johannesburg"),
        ("ternevag-quay", (68.2, 14.3), "Europe/Oslo"),
    ],
)
def test_each_lies_where_it_says(stem, place, zone):
    site = SITES[stem]
    assert (site.centre.lat_deg, site.centre.lon_deg) == pytest.approx(place, abs=0.01)
    assert site.time_zone == zone


@every_site
def test_each_has_two_or_three_setups_with_all_that_is_kept_of_one(site):
    assert 2 <= len(site.setups) <= 3
    names = {setup.name for setup in site.setups}
    for setup in site.setups:
        assert set(setup.properties) >= KEPT
        assert setup.properties["standby"] in names | {None}
        assert len(setup.properties["people"]) == 2
        assert all(look in LOOKS for look in setup.properties["looks"] if isinstance(look, str))


@every_site
def test_each_has_water_obstacles_a_skyline_and_notes(site):
    assert site.waters and site.obstacles and site.surveys and site.datum
    assert all([site.notes.access, site.notes.permission, site.notes.hazards])


def test_no_couple_stands_at_two_sites():
    couples = [{person["name"] for person in site.setups[0].properties["people"]} for site in SITES.values()]
    assert len(set.union(*couples)) == 8


@every_site
def test_each_is_as_large_as_a_venue(site):
    corners = np.concatenate(
        [metres(site, obstacle.outline) for obstacle in site.obstacles + ()]
        + [metres(site, water.ring) for water in site.waters]
    )
    assert np.all((np.ptp(corners, axis=0) > 100.0) & (np.ptp(corners, axis=0) < 300.0))


@every_site
def test_rings_turn_as_the_standard_wants_and_have_seven_decimals(site):
    for feature in site.document["features"]:
        if feature["geometry"]["type"] == "Polygon":
            outer, *holes = feature["geometry"]["coordinates"]
            assert Polygon(outer).exterior.is_ccw
            assert not any(Polygon(hole).exterior.is_ccw for hole in holes)
            assert all(round(angle, 7) == angle for corner in outer for angle in corner)


@every_site
def test_what_stands_up_stands_on_land_and_apart(site):
    solids = solids_of(site)
    assert not any(solid.intersects(water) for solid in solids for water in water_of(site))
    assert not any(one.intersects(other) for one in solids for other in solids if one is not other)


@every_site
def test_everyone_stands_on_land_or_on_the_jetty_and_nothing_solid_is_between(site):
    dry = drawing(site, "jetty") if site.name == "Merrowmere boathouse" else Polygon()
    for setup in site.setups:
        ends = spot(site, setup.camera), spot(site, setup.couple)
        assert all(
            dry.contains(end) or not any(water.contains(end) for water in water_of(site)) for end in ends
        )
        between = [
            obstacle.kind
            for obstacle, solid in zip(site.obstacles, solids_of(site), strict=True)
            if solid.intersects(LineString(ends))
        ]
        assert set(between) <= {"canopy"}


def test_the_jetty_stands_in_the_lake_and_looks_west_over_it():
    site = SITES["merrowmere-boathouse"]
    lake, jetty, line = water_of(site)[0], drawing(site, "jetty"), line_deg(site, "End of the jetty")
    assert jetty.intersection(lake).area > 0.9 * jetty.area
    assert (line.bearing_deg, line.distance_m) == pytest.approx((268.0, 10.0), abs=0.05)
    assert lake.centroid.x < -50.0
    assert site.centre.height_m == 75.0


def test_the_sun_goes_down_over_merrowmere_behind_a_ridge_of_three_to_five_degrees():
    site = SITES["merrowmere-boathouse"]
    skyline = skyline_for(site, site.setups[0].couple)
    ridge = skyline.altitude_at(np.arange(235.0, 305.0))
    assert np.all((ridge > 3.0) & (ridge < 5.0))
    assert skyline.called_at(268.0) == "the ridge"


def test_the_tank_is_sheltered_among_low_hills():
    site = SITES["quinta-da-alvorinha"]
    hills = surveyed_skyline(site.surveys[0]).altitude_at(np.arange(225.0, 310.0))
    assert site.waters[0].sheltered
    assert np.all((hills > 1.0) & (hills < 3.0))
    assert site.surveys[0].correction_deg != 0.0


def test_the_bay_looks_west_to_the_sea_horizon_past_a_headland():
    site = SITES["sandpiper-bay"]
    skyline = skyline_for(site, site.setups[0].couple)
    assert np.all(skyline.altitude_at(np.arange(200.0, 300.0)) == pytest.approx(-0.1))
    assert (skyline.called_at(265.0), skyline.called_at(325.0)) == ("the sea horizon", "the headland")
    assert water_of(site)[0].centroid.x < -50.0


def test_the_quay_has_peaks_in_the_south_and_open_sea_for_the_midnight_sun():
    site = SITES["ternevag-quay"]
    skyline = surveyed_skyline(site.surveys[0])
    peaks = skyline.altitude_at(np.arange(120.0, 240.0))
    assert np.all((peaks > 2.0) & (peaks <= 6.0))
    assert np.all(skyline.altitude_at([310.0, 330.0, 350.0, 5.0]) == pytest.approx(-0.1))
    assert line_deg(site, "End of the quay").bearing_deg == pytest.approx(350.0, abs=0.05)
