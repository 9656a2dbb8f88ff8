"""Setups, water, things that stand up and skylines: their forms, their moves, and what bad input gets."""

import pytest

from app.place.geodesy import inverse
from app.web.shelf import Shelf
from app.web.typed_setup import look_fields

SITE = "/sites/merrowmere-boathouse"
JETTY = f"{SITE}/setups/setup-end-of-the-jetty"
POND = "54.5700, -3.1300\n54.5700, -3.1298\n54.5702, -3.1298\n54.5702, -3.1300"
SETUP = {
    "name": "Terrace",
    "camera": "54.5701, -3.1300",
    "camera_ground_m": "1",
    "couple": "54.5701, -3.1302",
    "couple_ground_m": "1",
    "lens_height_m": "1.5",
    "focal_length_mm": "85",
    "format": "36x24",
    "orientation": "landscape",
    "person_1_name": "Ada",
    "person_1_height_m": "1.7",
    "look_backlit": "yes",
}


def kept(client, slug="merrowmere-boathouse"):
    return Shelf(client.app.state.store).site(slug)


def typed(client, address):
    """What a form holds when it is opened, with the site's version."""
    page = client.get(address)
    return dict(page.context["form"].typed) | {"version": str(page.context["kept"].version)}


def add(client, role, **fields):
    data = {"name": "New", "role": role, "version": kept(client).version} | fields
    return client.post(f"{SITE}/new-feature?role={role}", data=data, follow_redirects=False)


def setup_named(client, name):
    return next(setup for setup in kept(client).setups() if setup.name == name)


# Setups


def test_a_setup_is_added_and_shown(client):
    answer = client.post(
        f"{SITE}/new-setup", data=SETUP | {"version": kept(client).version}, follow_redirects=False
    )
    assert answer.headers["location"] == f"{SITE}?setup=setup-terrace"
    setup = client.get(answer.headers["location"]).context["shown"].setup
    assert (setup.name, setup.camera.focal_mm, setup.lens_height_m, setup.camera_pin.ground_m) == (
        "Terrace",
        85,
        1.5,
        1,
    )
    assert [(person.name, person.height_m) for person in setup.people] == [("Ada", 1.7)]
    assert setup.looks == ("backlit",)


def test_keeping_a_setup_unchanged_changes_nothing(client):
    before = kept(client).site.setups
    for feature in before:
        address = f"{SITE}/setups/{feature.id}"
        assert client.post(address, data=typed(client, address), follow_redirects=False).status_code == 303
    after = kept(client).site.setups
    assert [(one.id, one.camera, one.couple) for one in after] == [
        (one.id, one.camera, one.couple) for one in before
    ]
    assert [dict(one.properties) for one in after] == [dict(one.properties) for one in before]


def test_a_renamed_setup_keeps_its_id_its_rings_and_what_the_form_does_not_know(client):
    at = "2027-09-18T18:40:00+01:00"
    client.post(f"{JETTY}/frames", data={"at": at, "chosen": "yes"})
    client.post(JETTY, data=typed(client, JETTY) | {"name": "Jetty at dusk"})
    assert setup_named(client, "Jetty at dusk").id == "setup-end-of-the-jetty"
    frames = client.get(f"{JETTY}/2027-09-18").context["sheet"].frames
    assert [frame.at.isoformat() for frame in frames if frame.chosen] == [at]
    assert kept(client).site.setups[0].properties["lights"] == []


def test_the_couple_by_bearing_and_distance_goes_before_coordinates(client):
    client.post(JETTY, data=typed(client, JETTY) | {"couple_bearing_deg": "250", "couple_distance_m": "12"})
    setup = setup_named(client, "End of the jetty")
    a_pin_is_kept_to_a_centimetre = 0.01
    assert setup.distance_m == pytest.approx(12.0, abs=a_pin_is_kept_to_a_centimetre)
    assert setup.line_deg == pytest.approx(250.0, abs=0.06)
    assert setup.couple_pin.ground_m == 0.6


def test_a_magnetic_bearing_is_corrected_by_the_needle(client):
    """At Sandpiper Bay the needle points some 26° west in 2027 by WMM2025."""
    address = "/sites/sandpiper-bay/setups/setup-tideline"
    client.post(
        address,
        data=typed(client, address)
        | {"couple_bearing_deg": "268", "couple_distance_m": "20", "couple_north": "magnetic"},
    )
    setup = kept(client, "sandpiper-bay").setup("setup-tideline")
    assert setup.line_deg == pytest.approx(242.0, abs=1.0)


def test_aim_sensor_people_and_looks_are_kept_as_typed(client):
    changed = {
        "aim_bearing_deg": "270",
        "aim_tilt_deg": "-2",
        "format": "typed",
        "format_typed": "53.4x40",
        "orientation": "portrait",
        "person_1_height_m": "1,75",
        "person_2_height_m": "",
        "person_2_name": "",
        "standby": "Sheep meadow",
        "look_backlit_tolerance": "20",
        "look_custom": "yes",
        "look_custom_offset_from": "-15",
        "look_custom_offset_to": "5",
    }
    client.post(
        JETTY, data={k: v for k, v in (typed(client, JETTY) | changed).items() if k != "look_hidden_sun"}
    )
    setup = setup_named(client, "End of the jetty")
    assert setup.aim == (270.0, -2.0)
    assert (setup.camera.width_mm, setup.camera.height_mm) == (40.0, 53.4)
    assert [person.height_m for person in setup.people] == [1.75]
    assert setup.standby == "Sheep meadow"
    assert {"look": "backlit", "tolerance_deg": 20.0} in setup.looks
    assert {"look": "custom", "offset_deg": [-15.0, 5.0]} in setup.looks
    assert "hidden sun" not in setup.looks and "afterglow" in setup.looks


@pytest.mark.parametrize(
    "changed,field,words",
    [
        ({"focal_length_mm": "0"}, "focal_length_mm", "between 4 and 2000 mm"),
        ({"focal_length_mm": "wide"}, "focal_length_mm", "is a number"),
        ({"format": "typed", "format_typed": "full"}, "format_typed", "like 36x24"),
        ({"format": "round"}, "format", "like 36x24"),
        ({"orientation": "askew"}, "orientation", "landscape or portrait"),
        ({"lens_height_m": "tall"}, "lens_height_m", "is a number"),
        ({"camera": "somewhere"}, "camera", "without guessing"),
        ({"camera": "-93.1, 40.0"}, "camera", "looks swapped"),
        ({"couple": ""}, "couple", "nothing came"),
        ({"couple_bearing_deg": "250"}, "couple_distance_m", "is a number"),
        ({"couple_bearing_deg": "361", "couple_distance_m": "5"}, "couple_bearing_deg", "between 0 and 360"),
        ({"camera_ground_m": "up"}, "camera_ground_m", "is a number"),
        ({"aim_bearing_deg": "200"}, "aim_tilt_deg", "is a number"),
        ({"person_1_height_m": "17"}, "person_1_height_m", "between 0.3 and 2.6 m"),
        ({"person_2_name": "Eve", "person_2_height_m": ""}, "person_2_height_m", "is a number"),
        ({"look_backlit_tolerance": "0"}, "look_backlit_tolerance", "between 0.1 and 180"),
        (
            {"look_custom": "yes", "look_custom_offset_from": "9", "look_custom_offset_to": "-9"},
            "look_custom_offset_from",
            "from low to high",
        ),
        ({"name": ""}, "name", "needs a name"),
        ({"name": "Boathouse doors"}, "name", "two setups have this name"),
    ],
)
def test_a_setup_with_a_fault_comes_back_with_all_that_was_typed(client, changed, field, words):
    before = kept(client).version
    sent = typed(client, JETTY) | {"notes": "Bring the stool"} | changed
    page = client.post(JETTY, data=sent)
    assert page.status_code == 422
    assert words in page.context["form"].errors[field]
    assert {name: page.context["form"].typed[name] for name in changed} == changed
    assert "Bring the stool" in page.text and "Everything you typed is still here" in page.text
    assert kept(client).version == before


def test_the_camera_cannot_stand_on_the_couple(client):
    page = client.post(JETTY, data=typed(client, JETTY) | {"camera": "54.5701919, -3.1316867"})
    assert page.status_code == 422
    assert "on top of the couple" in page.context["form"].errors["couple"]
    page = client.post(JETTY, data=typed(client, JETTY) | {"camera": "54.5701919, -3.1316870"})
    assert "0.3 m apart" in page.context["form"].errors["couple"]


def test_a_look_wanted_twice_stays_though_the_form_has_one_tick(client):
    document = kept(client).site.document | {}
    feature = next(f for f in document["features"] if f["properties"]["name"] == "Boathouse doors")
    looks = [{"look": "custom", "offset_deg": [-5, 5]}, {"look": "custom", "offset_deg": [20, 40]}]
    feature["properties"]["looks"] = looks
    client.app.state.store.save_site("merrowmere-boathouse", document, kept(client).version)
    address = f"{SITE}/setups/setup-boathouse-doors"
    client.post(address, data=typed(client, address))
    assert [look["offset_deg"] for look in setup_named(client, "Boathouse doors").looks] == [
        [-5.0, 5.0],
        [20, 40],
    ]


def test_a_stale_setup_form_shows_both_and_can_be_kept(client):
    old = typed(client, JETTY)
    client.post(JETTY, data=old | {"focal_length_mm": "85"})
    page = client.post(JETTY, data=old | {"focal_length_mm": "135"})
    assert page.status_code == 409
    (field,) = [field for field in page.context["fields"] if field.differs]
    assert (field.called, field.mine, field.theirs) == ("focal length [mm]", "135", "85")
    again = {field.name: field.mine for field in page.context["fields"]} | {
        "version": page.context["version"]
    }
    assert client.post(page.context["again"], data=again, follow_redirects=False).status_code == 303
    assert setup_named(client, "End of the jetty").camera.focal_mm == 135


def test_a_new_setup_that_comes_too_late_is_not_lost(client):
    page = client.post(f"{SITE}/new-setup", data=SETUP | {"version": 99})
    assert page.status_code == 409 and "Terrace" in page.text
    again = {field.name: field.mine for field in page.context["fields"]} | {
        "version": page.context["version"]
    }
    client.post(page.context["again"], data=again)
    assert setup_named(client, "Terrace").camera.focal_mm == 85


def test_a_deleted_setup_takes_its_rings_along(client):
    client.post(f"{JETTY}/frames", data={"at": "2027-09-18T18:40:00+01:00", "chosen": "yes"})
    client.post(f"{SITE}/features/setup-end-of-the-jetty/delete", data={"version": kept(client).version})
    assert [setup.name for setup in kept(client).setups()] == ["Boathouse doors", "Sheep meadow"]
    assert (
        client.app.state.store.chosen_frames("merrowmere-boathouse", "setup-end-of-the-jetty") == frozenset()
    )


# Water, what stands up, skylines


def test_keeping_a_thing_unchanged_changes_nothing(client):
    for slug in ("merrowmere-boathouse", "quinta-da-alvorinha"):
        before = kept(client, slug).site
        things = (*before.waters, *before.obstacles, *before.surveys)
        for thing in things:
            address = f"/sites/{slug}/features/{thing.id}"
            assert (
                client.post(address, data=typed(client, address), follow_redirects=False).status_code == 303
            )
        after = kept(client, slug).site
        assert (*after.waters, *after.obstacles, *after.surveys) == things


def test_water_is_added(client):
    answer = add(client, "water", name="Pond", corners=POND, surface_m="-0,4", sheltered="yes")
    assert answer.headers["location"] == SITE
    pond = kept(client).site.waters[-1]
    assert (pond.name, pond.surface_m, pond.sheltered, len(pond.ring)) == ("Pond", -0.4, True, 5)


def test_what_stands_up_is_added_round_or_along(client):
    add(
        client,
        "obstacle",
        name="Barn",
        kind="building",
        drawn="round",
        corners=POND,
        base_m="1",
        top_m="8",
        lets_through="0",
    )
    add(
        client,
        "obstacle",
        name="Hedge",
        kind="trees",
        drawn="line",
        corners=POND,
        top_m="2",
        lets_through="30",
    )
    barn, hedge = kept(client).site.obstacles[-2:]
    assert (barn.kind, barn.closed, barn.base_m, barn.top_m) == ("building", True, 1.0, 8.0)
    assert (hedge.closed, len(hedge.outline), hedge.lets_through) == (False, 4, 0.3)


def test_a_skyline_is_added_with_compass_bearings(client):
    lines = "250 4.5 the ridge\n280° 3,2\n300;2;the far fell"
    add(
        client,
        "survey",
        name="Skyline",
        viewpoint="54.5702, -3.1312",
        bearings="magnetic",
        sighted_on="2027-09-04",
        eye_height_m="1.7",
        ground_m="2",
        sightings=lines,
    )
    survey = kept(client).site.surveys[-1]
    assert [(s.altitude_deg, s.called) for s in survey.sightings] == [
        (4.5, "the ridge"),
        (3.2, None),
        (2.0, "the far fell"),
    ]
    assert survey.sightings[0].bearing_deg == pytest.approx(250 + survey.correction_deg)
    page = client.get(f"{SITE}/features/{survey.id}")
    assert page.context["form"].typed["sightings"].splitlines()[0] == "250 4.5 the ridge"


@pytest.mark.parametrize(
    "role,changed,field,words",
    [
        ("water", {"corners": ""}, "corners", "3 corners or more"),
        (
            "water",
            {"corners": "54.57, -3.13\n54.58, -3.13"},
            "corners",
            "3 corners or more, one a line; 2 came",
        ),
        ("water", {"corners": "54.57, -3.13\nover there\n54.58, -3.13"}, "corners", "Line 2:"),
        (
            "water",
            {"corners": "54.5700, -3.1300\n54.5702, -3.1298\n54.5702, -3.1300\n54.5700, -3.1298"},
            "corners",
            "crosses itself",
        ),
        ("water", {"corners": "-3.13, 54.57\n-3.13, 54.58\n-3.14, 54.58"}, "corners", "km from the middle"),
        ("water", {"islands": "54.57, -3.13"}, "islands", "An island needs 3"),
        ("water", {"surface_m": "low"}, "surface_m", "is a number"),
        ("water", {"name": ""}, "name", "A name is needed"),
        ("obstacle", {"kind": "tower"}, "kind", "building, wall, trees or canopy"),
        ("obstacle", {"top_m": "1", "base_m": "2"}, "top_m", "above base_m"),
        ("obstacle", {"top_m": ""}, "top_m", "is a number"),
        ("obstacle", {"lets_through": "130"}, "lets_through", "between 0 and 100"),
        ("survey", {"sightings": ""}, "sightings", "one sighted point or more"),
        ("survey", {"sightings": "268 4\n268 5"}, "sightings", "two sightings have the true bearing"),
        ("survey", {"sightings": "268 4\nridge"}, "sightings", "Line 2:"),
        ("survey", {"sightings": "400 4"}, "sightings", "Line 1: The bearing is between 0 and 360"),
        ("survey", {"bearings": "magnetic"}, "sighted_on", "need the day"),
        ("survey", {"sighted_on": "yesterday"}, "sighted_on", "looks like"),
        ("survey", {"viewpoint": "here"}, "viewpoint", "without guessing"),
    ],
)
def test_a_thing_with_a_fault_comes_back_with_all_that_was_typed(client, role, changed, field, words):
    sound = {
        "water": {"corners": POND},
        "obstacle": {"corners": POND, "kind": "building", "drawn": "round", "top_m": "5"},
        "survey": {
            "viewpoint": "54.5702, -3.1312",
            "sightings": "268 4",
            "bearings": "true",
            "eye_height_m": "1.6",
        },
    }[role]
    before = kept(client).version
    page = add(client, role, **(sound | changed))
    assert page.status_code == 422
    assert words in page.context["form"].errors[field]
    assert {name: page.context["form"].typed[name] for name in changed} == changed
    assert kept(client).version == before


def test_a_changed_outline_keeps_its_courtyard_and_unknown_properties(client):
    document = kept(client).site.document | {}
    feature = next(f for f in document["features"] if f["properties"]["name"] == "the boathouse")
    ring = feature["geometry"]["coordinates"][0]
    middle = [sum(corner[axis] for corner in ring[:-1]) / 4 for axis in (0, 1)]
    hole = [[middle[0] + dx, middle[1] + dy] for dx, dy in ((0, 0), (0, 1e-5), (1e-5, 1e-5), (0, 0))]
    feature["geometry"]["coordinates"].append(hole)
    feature["properties"]["roof"] = "slate"
    client.app.state.store.save_site("merrowmere-boathouse", document, kept(client).version)
    address = f"{SITE}/features/obstacle-the-boathouse"
    client.post(address, data=typed(client, address) | {"top_m": "7"})
    changed = next(f for f in kept(client).site.document["features"] if f["id"] == "obstacle-the-boathouse")
    assert changed["properties"]["roof"] == "slate" and changed["properties"]["top_m"] == 7.0
    assert changed["geometry"]["coordinates"][1] == hole


def test_a_thing_is_deleted(client):
    client.post(f"{SITE}/features/obstacle-the-larches/delete", data={"version": kept(client).version})
    assert [one.name for one in kept(client).site.obstacles] == ["the boathouse", "the meadow wall"]
    again = client.post(
        f"{SITE}/features/obstacle-the-larches/delete", data={"version": kept(client).version}
    )
    assert again.status_code == 404 and "may be gone already" in again.text


@pytest.mark.parametrize(
    "address", [f"{SITE}/features/nothing", f"{SITE}/new-feature?role=volcano", f"{SITE}/setups/terrace"]
)
def test_what_is_not_there_is_told(client, address):
    assert client.get(address).status_code == 404


# What scripts send


def put(client, address, **body):
    return client.put(address, json={"version": kept(client).version} | body)


def test_a_dragged_pin_is_kept_and_the_other_stays(client):
    before = setup_named(client, "End of the jetty")
    answer = put(client, f"{SITE}/pins/setup-end-of-the-jetty", camera=[-3.1314, 54.5702])
    assert answer.status_code == 200
    after = setup_named(client, "End of the jetty")
    assert answer.json() == {
        "version": kept(client).version,
        "distance_m": after.distance_m,
        "line_deg": after.line_deg,
    }
    assert (after.camera_pin.lat_deg, after.camera_pin.lon_deg, after.camera_pin.ground_m) == (
        54.5702,
        -3.1314,
        0.6,
    )
    assert after.couple_pin == before.couple_pin


def test_a_dragged_outline_keeps_its_islands(client):
    before = kept(client).site.waters[0]
    corners = [list(corner) for corner in before.ring[:-1]]
    corners[0] = [-3.1313, 54.5690]
    assert put(client, f"{SITE}/shapes/water-merrowmere", coordinates=corners).status_code == 200
    after = kept(client).site.waters[0]
    assert after.ring[0] == after.ring[-1] == (-3.1313, 54.5690)
    assert after.holes == before.holes


def test_a_dragged_viewpoint_keeps_its_height_and_a_wall_stays_open(client):
    assert (
        put(
            client, f"{SITE}/shapes/survey-skyline-from-the-jetty", coordinates=[-3.1316, 54.5702]
        ).status_code
        == 200
    )
    assert (
        put(
            client,
            f"{SITE}/shapes/obstacle-the-meadow-wall",
            coordinates=[[-3.13, 54.5694], [-3.13, 54.5704]],
        ).status_code
        == 200
    )
    site = kept(client).site
    assert (site.surveys[0].pin.lat_deg, site.surveys[0].pin.ground_m) == (54.5702, 0.6)
    wall = next(one for one in site.obstacles if one.kind == "wall")
    assert not wall.closed and len(wall.outline) == 2


def test_a_move_from_an_old_page_is_refused_in_words(client):
    for address, body in (
        (f"{SITE}/pins/setup-end-of-the-jetty", {"camera": [-3.1, 54.5]}),
        (f"{SITE}/shapes/water-merrowmere", {"coordinates": []}),
    ):
        answer = client.put(address, json=body | {"version": 99})
        assert answer.status_code == 409
        assert "was changed in another tab" in answer.json()["error"]


@pytest.mark.parametrize(
    "path,body,words",
    [
        ("pins/setup-end-of-the-jetty", {"camera": [54.5702, -3.1314]}, "km from the middle"),
        ("pins/setup-end-of-the-jetty", {"camera": [-3.1316867, 54.5701919]}, "on top of the couple"),
        ("pins/setup-end-of-the-jetty", {"camera": [-3.1316870, 54.5701919]}, "0.3 m apart"),
        ("pins/setup-end-of-the-jetty", {"camera": "here"}, "longitude, latitude"),
        ("pins/setup-end-of-the-jetty", {"camera": [True, 1]}, "longitude, latitude"),
        ("shapes/water-merrowmere", {"coordinates": [[-3.13, 54.57], [-3.131, 54.57]]}, "four positions"),
        ("shapes/water-merrowmere", {"coordinates": 7}, "are a list"),
        (
            "shapes/obstacle-the-boathouse",
            {"coordinates": [[-3.13, 54.57], [-3.131, 54.571], [-3.13, 54.571], [-3.131, 54.57]]},
            "crosses itself",
        ),
    ],
)
def test_a_bad_move_is_refused_in_words_and_nothing_is_kept(client, path, body, words):
    before = kept(client).version
    answer = put(client, f"{SITE}/{path}", **body)
    assert answer.status_code == 422
    assert words in answer.json()["error"]
    assert kept(client).version == before


def test_scripts_get_json_for_every_kind_of_refusal(client):
    assert put(client, f"{SITE}/pins/nobody", camera=[0, 0]).json()["error"].startswith("The site")
    assert put(client, f"{SITE}/shapes/nothing", coordinates=[0, 0]).status_code == 404
    no_json = client.put(
        f"{SITE}/pins/setup-end-of-the-jetty", content="camera", headers={"content-type": "application/json"}
    )
    assert no_json.status_code == 422 and no_json.json()["error"] == "A JSON object is expected here."


def test_a_move_from_a_foreign_page_is_refused(client):
    answer = client.put(
        f"{SITE}/pins/setup-end-of-the-jetty", json={"version": 1}, headers={"sec-fetch-site": "cross-site"}
    )
    assert answer.status_code == 403


def test_moved_pins_move_the_windows(client):
    before = client.get(SITE).context["entries"][0].found
    line = inverse(54.5701919, -3.1316867, 54.5701919, -3.1300)
    assert line.bearing_deg == pytest.approx(90, abs=1)
    put(client, f"{SITE}/pins/setup-end-of-the-jetty", couple=[-3.1300, 54.5701919])
    after = client.get(SITE).context["entries"][0].found
    assert [len(windows) for _, windows in before] != [len(windows) for _, windows in after]


def test_every_bound_of_a_look_says_of_what_it_is_and_in_what_unit():
    labels = {one.name: one.label for field in look_fields() for one in field.bounds}
    assert labels["look_glitter_least"] == "Per cent of the water to sparkle, at least"
    assert labels["look_backlit_highest"] == "Sun above level, at most, in degrees"
    assert all(label.startswith(("Sun ", "Per cent of ", "Wind", "Height of ")) and ("in " in label or "Per cent" in label) for label in labels.values())
