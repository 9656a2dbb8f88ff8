"""What is kept of the weather comes back as it was, the newest in place of the old, and goes with its site or shoot."""

from datetime import date

import pytest

from app.errors import NotFound
from app.storage.backup import back_up, restore
from app.storage.store import Store
from app.storage.weather_book import KeptAnswer, KeptDay, KeptWait

DAY, NOW = date(2027, 9, 18), 1_821_290_400.25
SPOT, FAR = "52.0000,-1.0000,75", "52.0000,-1.3657,"


def answer(spot=SPOT, body='{"hours": []}', fetched_utc_s=NOW, **more):
    return KeptAnswer("met", spot, body, fetched_utc_s, NOW + 1800.0, **more)


@pytest.fixture
def filled(store: Store) -> Store:
    store.add_site({"name": "Quay"})
    store.shoots.add("Mira and Tomas", {})
    return store


def test_answers_come_back_to_the_letter_and_the_second(store: Store):
    kept = (answer(last_modified="Sat, 18 Sep 2027 15:31:07 GMT"), answer(FAR))
    store.weather.keep(kept, [KeptWait("met", NOW + 600.125, 3)], NOW)
    assert set(store.weather.answers([SPOT, FAR])) == set(kept)
    assert store.weather.answers([FAR]) == (kept[1],) and store.weather.answers(["1.0000,1.0000,"]) == ()
    assert store.weather.waits() == (KeptWait("met", NOW + 600.125, 3),)


def test_the_newest_answer_takes_the_place_of_the_old_and_waits_of_all_waits(store: Store):
    store.weather.keep([answer()], [KeptWait("met", NOW)], NOW)
    store.weather.keep([answer(body="new")], [], NOW + 60.0)
    assert [one.body for one in store.weather.answers([SPOT])] == ["new"] and store.weather.waits() == ()


def test_an_answer_of_a_fortnight_ago_is_forgotten(store: Store):
    store.weather.keep([answer(), answer(FAR, fetched_utc_s=NOW + 86_400.0)], [], NOW)
    store.weather.keep([], [], NOW + 14.5 * 86_400.0)
    assert [one.spot for one in store.weather.answers([SPOT, FAR])] == [FAR]


def test_what_was_seen_and_heard_belongs_to_a_site_and_a_day(filled: Store):
    filled.weather.keep_seen("quay", DAY, {"force": 3})
    filled.weather.keep_reports("quay", DAY, "METAR EGXX 181750Z 24005KT", NOW)
    assert filled.weather.day("quay", DAY) == KeptDay({"force": 3}, "METAR EGXX 181750Z 24005KT", NOW)
    assert filled.weather.day("quay", date(2027, 9, 19)) == KeptDay()
    filled.weather.keep_seen("quay", DAY, None)
    filled.weather.keep_reports("quay", DAY, "", NOW)
    assert filled.weather.day("quay", DAY) == KeptDay()


def test_a_day_goes_with_its_site(filled: Store):
    filled.weather.keep_seen("quay", DAY, {"force": 3})
    filled.delete_site("quay", filled.site("quay").version)
    filled.add_site({"name": "Quay"})
    assert filled.weather.day("quay", DAY) == KeptDay()


def test_the_last_checks_come_newest_first_and_the_oldest_are_forgotten(filled: Store):
    for number in range(25):
        filled.weather.add_check("mira-and-tomas", {"number": number}, NOW + number)
    assert [one["number"] for one in filled.weather.checks("mira-and-tomas")] == [24, 23]
    assert [one["number"] for one in filled.weather.checks("mira-and-tomas", 99)] == list(range(24, 4, -1))


def test_checks_go_with_their_shoot(filled: Store):
    filled.weather.add_check("mira-and-tomas", {"number": 1}, NOW)
    filled.shoots.delete("mira-and-tomas")
    filled.shoots.add("Mira and Tomas", {})
    assert filled.weather.checks("mira-and-tomas") == ()


def test_a_site_or_a_shoot_that_is_not_there_is_told(filled: Store):
    with pytest.raises(NotFound, match="no site “pier”"):
        filled.weather.keep_seen("pier", DAY, None)
    with pytest.raises(NotFound, match="no shoot “none”"):
        filled.weather.checks("none")


def test_a_backup_carries_all_of_it(file_store: Store, tmp_path):
    file_store.add_site({"name": "Quay"})
    file_store.shoots.add("Mira and Tomas", {})
    file_store.weather.keep([answer()], [KeptWait("met", NOW)], NOW)
    file_store.weather.keep_seen("quay", DAY, {"force": 3})
    file_store.weather.add_check("mira-and-tomas", {"number": 1}, NOW)
    copy = back_up(file_store, tmp_path / "copy.sqlite")
    restore(copy, tmp_path / "other.sqlite")
    with Store(tmp_path / "other.sqlite") as other:
        assert other.weather.answers([SPOT]) == (answer(),) and other.weather.waits() == (KeptWait("met", NOW),)
        assert other.weather.day("quay", DAY).seen == {"force": 3} and other.weather.checks("mira-and-tomas") == ({"number": 1},)
