"""The store keeps what it is given, loses nothing that two people save, and forgets only when told."""

import os
import subprocess
import sys
from dataclasses import FrozenInstanceError, replace
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import text

from app.errors import BadInput, Conflict, NotFound
from app.storage.engine import reading
from app.storage.pictures import Picture
from app.storage.records import Ground, LaidPoint
from app.storage.store import Store

TOP = Path(__file__).parents[2]
COUNT_UP = Path(__file__).with_name("count_up.py")

QUAY = {"type": "FeatureCollection", "name": "Quay", "features": [{"properties": {"top_m": 4.25}}]}
SUNSET = datetime(2027, 9, 18, 18, 48, 30, tzinfo=UTC)
PLAN = Picture(b"pixels", "image/webp", 1200, 900)
LAYING = (LaidPoint(0, 900, 2.0, 48.0), LaidPoint(1200, 0, 2.01, 48.01))
TILES = Ground("tiles", tiles_url="https://tiles.example/{z}/{x}/{y}", attribution="© surveyors", max_zoom=18)

texts = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"))
# PostgreSQL keeps numbers as decimals; of those a site file holds, none is longer than this.
numbers = st.integers(-(10**15), 10**15) | st.floats(-1e15, 1e15, allow_subnormal=False)
leaves = st.none() | st.booleans() | numbers | texts
values = st.recursive(leaves, lambda inner: st.lists(inner) | st.dictionaries(texts, inner), max_leaves=20)


# Sites


def test_a_new_store_has_no_sites(store: Store):
    assert store.sites() == ()


def test_a_site_comes_back_as_it_was_given(store: Store):
    before = datetime.now(UTC)
    added = store.add_site(QUAY)
    assert (added.slug, added.name, added.document, added.version) == ("quay", "Quay", QUAY, 1)
    assert before <= added.updated_utc <= datetime.now(UTC)
    assert store.site("quay") == added


@settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(rest=st.dictionaries(texts, values))
def test_any_document_comes_back_equal(store: Store, rest):
    document = {**rest, "name": "Quay"}
    added = store.add_site(document)
    assert store.site(added.slug).document == document
    changed = {**document, "features": [rest]}
    store.save_site(added.slug, changed, added.version)
    assert store.site(added.slug).document == changed


def test_sites_are_listed_by_name(store: Store):
    for name in ("pier", "Ölberg", "Quay", "Arch"):
        store.add_site({"name": name})
    assert [site.name for site in store.sites()] == ["Arch", "pier", "Quay", "Ölberg"]


def test_the_list_gives_version_and_time_of_change(store: Store):
    added = store.add_site(QUAY)
    (listed,) = store.sites()
    assert (listed.slug, listed.version, listed.updated_utc) == ("quay", 1, added.updated_utc)


def test_sites_of_one_name_get_addresses_of_their_own(store: Store):
    assert [store.add_site(QUAY).slug for _ in range(3)] == ["quay", "quay-2", "quay-3"]


def test_an_address_can_be_asked_for(store: Store):
    assert store.add_site(QUAY, slug="north-quay").slug == "north-quay"
    assert store.add_site(QUAY, slug="North Quay").slug == "north-quay-2"


def test_sites_of_any_script_can_be_kept(store: Store):
    names = ["東京駅", "Ακρόπολη", "حديقة", "Красная поляна", "🌅"]
    slugs = [store.add_site({"name": name}).slug for name in names]
    assert [store.site(slug).name for slug in slugs] == names


def test_a_changed_site_keeps_its_address_and_moves_on_a_version(store: Store):
    added = store.add_site(QUAY)
    saved = store.save_site("quay", {**QUAY, "name": "West quay"}, added.version)
    assert (saved.slug, saved.name, saved.version) == ("quay", "West quay", 2)
    assert saved.updated_utc > added.updated_utc
    assert store.site("quay") == saved


def test_a_stale_save_is_a_conflict_and_changes_nothing(store: Store):
    first = store.add_site(QUAY)
    second = store.save_site("quay", {**QUAY, "notes": "wet steps"}, first.version)
    with pytest.raises(Conflict, match="“Quay” was changed since you opened it.*version 2.*began at 1"):
        store.save_site("quay", {**QUAY, "notes": "dry steps"}, first.version)
    assert store.site("quay") == second


def test_a_stale_delete_is_a_conflict_and_deletes_nothing(store: Store):
    first = store.add_site(QUAY)
    store.save_site("quay", {**QUAY, "notes": "wet steps"}, first.version)
    with pytest.raises(Conflict, match="was changed since"):
        store.delete_site("quay", first.version)
    assert [site.slug for site in store.sites()] == ["quay"]


def test_a_document_that_cannot_be_kept_changes_nothing(store: Store):
    added = store.add_site(QUAY)
    for wrong in ({}, {"name": "Quay", "top_m": float("nan")}):
        with pytest.raises(BadInput):
            store.save_site("quay", wrong, added.version)
        with pytest.raises(BadInput):
            store.add_site(wrong)
    assert len(store.sites()) == 1
    assert store.site("quay") == added


@pytest.mark.parametrize(
    "ask",
    [
        lambda store: store.site("pier"),
        lambda store: store.save_site("pier", QUAY, 1),
        lambda store: store.delete_site("pier", 1),
        lambda store: store.chosen_frames("pier", "a"),
        lambda store: store.choose_frame("pier", "a", SUNSET, True),
        lambda store: store.move_chosen_frames("pier", "a", "b"),
        lambda store: store.ground("pier"),
        lambda store: store.ground_picture("pier"),
        lambda store: store.save_ground("pier", Ground(), 0),
        lambda store: store.terrain("pier"),
        lambda store: store.terrain_data("pier"),
        lambda store: store.save_terrain("pier", b"hills", "a file", "", 0),
        lambda store: store.delete_terrain("pier", 1),
    ],
)
def test_a_site_that_is_not_there_is_said_to_be_missing(store: Store, ask):
    with pytest.raises(NotFound, match="There is no site “pier”"):
        ask(store)


def test_records_do_not_change_and_share_nothing(store: Store):
    added = store.add_site(QUAY)
    with pytest.raises(FrozenInstanceError):
        added.name = "Pier"
    added.document["features"].clear()
    assert store.site("quay").document == QUAY


def test_no_update_is_lost_between_processes(store: Store, address: str):
    """With the driver's own transactions, a third of such updates were lost without a word."""
    store.add_site({"name": "Counter", "count": 0})
    command = [sys.executable, str(COUNT_UP), address, "50"]
    environment = {**os.environ, "PYTHONPATH": str(TOP)}
    started = [
        subprocess.Popen(command, env=environment, stderr=subprocess.PIPE, text=True) for _ in range(4)
    ]
    told = [process.communicate(timeout=60)[1] for process in started]
    assert [process.returncode for process in started] == [0, 0, 0, 0], told
    counter = store.site("counter")
    assert (counter.document["count"], counter.version) == (200, 201)


# Chosen frames


def test_a_frame_is_ringed_and_the_ring_taken_away(store: Store):
    store.add_site(QUAY)
    store.choose_frame("quay", "arch", SUNSET, True)
    assert store.chosen_frames("quay", "arch") == {SUNSET}
    assert store.chosen_frames("quay", "steps") == frozenset()
    store.choose_frame("quay", "arch", SUNSET, False)
    assert store.chosen_frames("quay", "arch") == frozenset()


@pytest.mark.parametrize("chosen", [True, False])
def test_choosing_twice_is_choosing_once(store: Store, chosen):
    store.add_site(QUAY)
    store.choose_frame("quay", "arch", SUNSET, chosen)
    store.choose_frame("quay", "arch", SUNSET, chosen)
    assert store.chosen_frames("quay", "arch") == ({SUNSET} if chosen else set())


def test_an_instant_is_the_same_frame_in_every_zone_and_is_given_in_utc(store: Store):
    store.add_site(QUAY)
    for hours in (-9, 0, 2):
        store.choose_frame("quay", "arch", SUNSET.astimezone(timezone(timedelta(hours=hours))), True)
    (instant,) = store.chosen_frames("quay", "arch")
    assert (instant, instant.tzinfo) == (SUNSET, UTC)


def test_a_frame_without_a_zone_is_refused(store: Store):
    store.add_site(QUAY)
    with pytest.raises(ValueError, match="has no time zone"):
        store.choose_frame("quay", "arch", SUNSET.replace(tzinfo=None), True)


def test_rings_move_with_a_renamed_setup_and_join_those_already_there(store: Store):
    store.add_site(QUAY)
    later, latest = SUNSET + timedelta(minutes=1), SUNSET + timedelta(minutes=2)
    for setup, instants in {"old": [SUNSET, later], "new": [later, latest], "other": [SUNSET]}.items():
        for instant in instants:
            store.choose_frame("quay", setup, instant, True)
    store.move_chosen_frames("quay", "old", "new")
    assert store.chosen_frames("quay", "old") == frozenset()
    assert store.chosen_frames("quay", "new") == {SUNSET, later, latest}
    assert store.chosen_frames("quay", "other") == {SUNSET}


def test_moving_rings_to_the_same_setup_keeps_them(store: Store):
    store.add_site(QUAY)
    store.choose_frame("quay", "arch", SUNSET, True)
    store.move_chosen_frames("quay", "arch", "arch")
    assert store.chosen_frames("quay", "arch") == {SUNSET}


# Grounds


def test_a_ground_is_blank_at_first_and_has_no_picture(store: Store):
    store.add_site(QUAY)
    assert store.ground("quay") == Ground(kind="blank", version=0)
    with pytest.raises(NotFound, match="“quay” has no picture"):
        store.ground_picture("quay")


def test_tiles_come_back_as_they_were_given(store: Store):
    store.add_site(QUAY)
    assert store.save_ground("quay", TILES, 0) == replace(TILES, version=1)
    assert store.ground("quay") == replace(TILES, version=1)


def test_a_picture_comes_back_with_its_size_and_its_laying(store: Store):
    store.add_site(QUAY)
    saved = store.save_ground("quay", Ground("picture", LAYING), 0, PLAN)
    assert saved == Ground("picture", LAYING, "image/webp", 1200, 900, version=1)
    assert store.ground("quay") == saved
    assert store.ground_picture("quay") == (b"pixels", "image/webp")


def test_a_picture_can_be_laid_anew_without_sending_it_again(store: Store):
    store.add_site(QUAY)
    saved = store.save_ground("quay", Ground("picture"), 0, PLAN)
    laid = store.save_ground("quay", replace(saved, laying=LAYING), saved.version)
    assert (laid.laying, laid.version) == (LAYING, 2)
    assert store.ground_picture("quay") == (b"pixels", "image/webp")


def test_a_picture_waits_under_another_ground_and_goes_when_it_is_no_longer_named(store: Store):
    store.add_site(QUAY)
    saved = store.save_ground("quay", Ground("picture", LAYING), 0, PLAN)
    blank = store.save_ground("quay", replace(saved, kind="blank"), saved.version)
    assert store.ground_picture("quay") == (b"pixels", "image/webp")
    assert store.save_ground("quay", Ground(), blank.version) == Ground(version=3)
    with pytest.raises(NotFound, match="has no picture"):
        store.ground_picture("quay")


def test_a_ground_of_kind_picture_needs_one(store: Store):
    store.add_site(QUAY)
    with pytest.raises(BadInput, match="needs a picture"):
        store.save_ground("quay", Ground("picture", media_type="image/webp"), 0)
    assert store.ground("quay") == Ground()


@pytest.mark.parametrize("came", [0, 2])
def test_a_stale_ground_is_a_conflict(store: Store, came):
    store.add_site(QUAY)
    store.save_ground("quay", TILES, 0)
    with pytest.raises(Conflict, match="“The ground of Quay” was changed"):
        store.save_ground("quay", Ground(), came)
    assert store.ground("quay").kind == "tiles"


def test_deleting_a_site_takes_its_frames_its_ground_and_its_terrain_and_nobody_elses(store: Store):
    for _ in range(2):
        slug = store.add_site(QUAY).slug
        store.choose_frame(slug, "arch", SUNSET, True)
        store.save_ground(slug, Ground("picture"), 0, PLAN)
        store.save_terrain(slug, b"hills", "a file", "", 0)
    store.delete_site("quay", 1)
    assert [site.slug for site in store.sites()] == ["quay-2"]
    for table in ("sites", "chosen_frames", "grounds", "terrains"):
        with reading(store._engine) as session:
            assert session.scalar(text(f"SELECT count(*) FROM {table}")) == 1, table
    assert store.chosen_frames("quay-2", "arch") == {SUNSET}


# Terrains


def test_a_site_has_no_terrain_at_first(store: Store):
    store.add_site(QUAY)
    assert store.terrain("quay") is None
    assert store.terrain_data("quay") is None


def test_a_terrain_comes_back_as_it_was_given(store: Store):
    store.add_site(QUAY)
    before = datetime.now(UTC)
    saved = store.save_terrain("quay", b"\0hills\xff", "N48E002.hgt", "© surveyors", 0)
    assert (saved.source, saved.attribution, saved.version) == ("N48E002.hgt", "© surveyors", 1)
    assert before <= saved.loaded_utc <= datetime.now(UTC)
    assert store.terrain("quay") == saved
    assert store.terrain_data("quay") == b"\0hills\xff"


def test_a_new_terrain_takes_the_place_of_the_old(store: Store):
    store.add_site(QUAY)
    first = store.save_terrain("quay", b"hills", "a file", "", 0)
    second = store.save_terrain("quay", b"dales", "another", "", first.version)
    assert (second.version, second.source, store.terrain_data("quay")) == (2, "another", b"dales")
    assert second.loaded_utc > first.loaded_utc


@pytest.mark.parametrize("change", [
    lambda store, came: store.save_terrain("quay", b"dales", "another", "", came),
    lambda store, came: store.delete_terrain("quay", came),
])
@pytest.mark.parametrize("came", [0, 2])
def test_a_stale_change_of_the_terrain_is_a_conflict_and_changes_nothing(store: Store, change, came):
    store.add_site(QUAY)
    store.save_terrain("quay", b"hills", "a file", "", 0)
    with pytest.raises(Conflict, match="“The terrain of Quay” was changed"):
        change(store, came)
    assert store.terrain_data("quay") == b"hills"


def test_a_deleted_terrain_is_gone_and_deleting_none_is_no_fault(store: Store):
    store.add_site(QUAY)
    store.delete_terrain("quay", store.save_terrain("quay", b"hills", "a file", "", 0).version)
    assert store.terrain("quay") is None
    store.delete_terrain("quay", 0)


# Settings


def test_a_setting_that_was_never_saved_is_the_default(store: Store):
    assert store.setting("paper") is None
    assert store.setting("paper", "proof") == "proof"


@settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(value=values)
def test_any_setting_comes_back_equal_and_the_last_one_wins(store: Store, value):
    store.save_setting("paper", "glare")
    store.save_setting("paper", value)
    assert store.setting("paper", "default") == value


def test_demo_sites_are_loaded_once(store: Store):
    loaded = store.load_once("demo", [QUAY, {"name": "Pier"}])
    assert [site.slug for site in loaded] == ["quay", "pier"]
    assert store.load_once("demo", [QUAY]) == ()
    assert [site.slug for site in store.sites()] == ["pier", "quay"]


def test_a_deleted_demo_site_does_not_come_back_at_a_restart(address: str):
    with Store(address) as store:
        (quay,) = store.load_once("demo", [QUAY])
        store.delete_site("quay", quay.version)
    with Store(address) as store:
        assert store.load_once("demo", [QUAY]) == ()
        assert store.sites() == ()


def test_another_key_is_another_load(store: Store):
    store.load_once("demo", [QUAY])
    assert [site.slug for site in store.load_once("demo of autumn", [QUAY])] == ["quay-2"]


def test_demo_sites_are_loaded_all_or_none_and_can_be_tried_again(store: Store):
    with pytest.raises(BadInput, match="needs a name"):
        store.load_once("demo", [QUAY, {"name": ""}])
    assert store.sites() == ()
    assert len(store.load_once("demo", [QUAY])) == 1
