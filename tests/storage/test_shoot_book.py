"""Shoots come back as they went in, a revision is never overwritten, and a log entry never doubled."""

from datetime import date
from pathlib import Path

import pytest

from app.errors import BadInput, Conflict, NotFound
from app.shoot.shoot import Shoot, Wish
from app.shoot.shootfile import read_shoot, shoot_document
from app.storage.backup import back_up, restore
from app.storage.shoot_book import LogEntry, Revision
from app.storage.store import Store

SHOOT = Shoot("x", "Mira and Tomas", date(2027, 6, 18), "Europe/Oslo", (Wish("gate", "quay", "gate"),))
NOON_S = 1_800_000_000.0
TAPPED = LogEntry("phone-1", "gate", "done", NOON_S + 60.25, {"frames": 40}, "phone", NOON_S + 90)


@pytest.fixture
def slug(store: Store) -> str:
    return store.shoots.add("Mira and Tomas", shoot_document(SHOOT))


def test_a_shoot_comes_back_under_its_own_address(store: Store, slug: str):
    kept = store.shoots.read(slug)
    assert (slug, kept.name, kept.version) == ("mira-and-tomas", "Mira and Tomas", 1)
    back = read_shoot(kept.document)
    assert (back.id, back.day, back.wishes) == (slug, SHOOT.day, SHOOT.wishes)


def test_two_shoots_of_one_name_get_two_addresses_in_the_order_of_names(store: Store, slug: str):
    assert store.shoots.add("Mira and Tomas", {}) == "mira-and-tomas-2"
    assert store.shoots.add("adela", {}) == "adela"
    assert [one.slug for one in store.shoots.all()] == ["adela", "mira-and-tomas", "mira-and-tomas-2"]


@pytest.mark.parametrize(("name", "slug_made"), [("New", "new-2"), ("12.6.", "shoot-12-6")])
def test_an_address_is_never_that_of_a_page_nor_a_bare_number(store: Store, name, slug_made):
    assert store.shoots.add(name, {}) == slug_made


def test_a_name_in_another_script_has_an_address_too(store: Store):
    slug = store.shoots.add("미라와 토마스", {})
    assert slug.startswith("shoot-") and store.shoots.read(slug).name == "미라와 토마스"


def test_an_old_version_is_refused_and_changes_nothing(store: Store, slug: str):
    document = store.shoots.read(slug).document
    assert store.shoots.replace(slug, document | {"name": "Mira"}, 1) == 2
    with pytest.raises(Conflict, match="“Mira” was changed since you opened it: it is at version 2, your change began at 1"):
        store.shoots.replace(slug, document | {"name": "Tomas"}, 1)
    assert store.shoots.read(slug).name == store.shoots.read(slug).document["name"] == "Mira"


def test_nothing_is_known_of_a_shoot_that_is_not_there(store: Store):
    book = store.shoots
    for ask in (book.read, book.delete, book.revisions, book.links, book.log):
        with pytest.raises(NotFound, match="There is no shoot “nobody”"):
            ask("nobody")


@pytest.mark.parametrize("name", ["", "  ", None, "x" * 201])
def test_a_shoot_needs_a_short_name(store: Store, name):
    with pytest.raises(BadInput, match="name"):
        store.shoots.add(name, {})


def test_each_sharing_is_a_revision_of_its_own(store: Store, slug: str):
    assert store.shoots.share(slug, {"stops": 1}, {"lights": 1}, NOON_S) == 1
    assert store.shoots.share(slug, {"stops": 2}, {"lights": 2}, NOON_S + 0.5) == 2
    first, second = store.shoots.revisions(slug)
    assert first == Revision(1, NOON_S, {"stops": 1}, {"lights": 1})
    assert (second.number, second.made_utc_s) == (2, NOON_S + 0.5)


def test_a_link_is_found_by_its_digest_and_tells_what_became_of_it(store: Store, slug: str):
    book = store.shoots
    made = book.add_link(slug, "couple", "d1", NOON_S, NOON_S + 100, "fr")
    book.opened(made, NOON_S + 5)
    book.renew(slug, made, "d2", NOON_S + 200)
    assert book.link("d1") is None
    found = book.link("d2")
    assert found == book.links(slug)[0]
    assert (found.id, found.slug, found.kind, found.language) == (made, slug, "couple", "fr")
    assert (found.made_utc_s, found.ends_utc_s, found.opened_utc_s) == (NOON_S, NOON_S + 200, NOON_S + 5)


def test_a_withdrawn_link_keeps_its_date_and_stays_closed(store: Store, slug: str):
    book = store.shoots
    made = book.add_link(slug, "crew", "d1", NOON_S, NOON_S + 100)
    book.withdraw(slug, made, NOON_S + 7)
    book.withdraw(slug, made, NOON_S + 9)
    assert book.link("d1").withdrawn_utc_s == NOON_S + 7
    with pytest.raises(BadInput, match="A withdrawn link stays closed"):
        book.renew(slug, made, "d2", NOON_S + 200)


def test_a_link_of_another_shoot_is_not_touched(store: Store, slug: str):
    other = store.shoots.add("Adela", {})
    made = store.shoots.add_link(slug, "couple", "d1", NOON_S, NOON_S + 100)
    with pytest.raises(NotFound, match="no such link"):
        store.shoots.withdraw(other, made, NOON_S)
    assert store.shoots.link("d1").withdrawn_utc_s is None


def test_a_log_entry_that_comes_twice_is_kept_once(store: Store, slug: str):
    earlier = LogEntry("phone-2", "", "came", NOON_S, {}, "phone", NOON_S + 90)
    assert store.shoots.add_log(slug, [TAPPED, TAPPED]) == 1
    assert store.shoots.add_log(slug, [TAPPED, earlier]) == 1
    assert store.shoots.log(slug) == (earlier, TAPPED)


def test_an_instant_that_is_none_is_told(store: Store, slug: str):
    with pytest.raises(BadInput, match="seconds since 1970; nan came"):
        store.shoots.share(slug, {}, {}, float("nan"))
    assert store.shoots.revisions(slug) == ()


def test_a_deleted_shoot_takes_all_of_its_own_along(store: Store, slug: str):
    store.shoots.share(slug, {}, {}, NOON_S)
    store.shoots.add_link(slug, "couple", "d1", NOON_S, NOON_S + 100)
    store.shoots.add_log(slug, [TAPPED])
    store.shoots.delete(slug)
    assert store.shoots.link("d1") is None
    assert store.shoots.add("Mira and Tomas", {}) == slug
    assert (store.shoots.revisions(slug), store.shoots.log(slug)) == ((), ())


def test_a_backup_carries_all_of_it(database: Path, tmp_path: Path):
    with Store(database) as store:
        slug = store.shoots.add("Mira and Tomas", shoot_document(SHOOT))
        store.shoots.share(slug, {"stops": 1}, {}, NOON_S)
        store.shoots.add_link(slug, "couple", "d1", NOON_S, NOON_S + 100)
        store.shoots.add_log(slug, [TAPPED])
        saved = back_up(store, tmp_path / "saved.backup")
        kept = store.shoots.read(slug)
    restore(saved, tmp_path / "other.sqlite")
    with Store(tmp_path / "other.sqlite") as store:
        assert store.shoots.read(slug) == kept
        assert store.shoots.revisions(slug)[0].couple == {"stops": 1}
        assert store.shoots.link("d1").slug == slug and store.shoots.log(slug) == (TAPPED,)
