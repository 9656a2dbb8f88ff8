"""The owner's pages of shoots: the running order, its forms, the season."""

from dataclasses import replace
from datetime import date, time

import pytest

from app.shoot.shoot import Shoot, Wish, free_between
from app.web.shoots import ShootShelf, Telling, holding, new_document

QUAY, ZONE, DAY = "ternevag-quay", "Europe/Oslo", date(2027, 9, 18)
MERROW = "merrowmere-boathouse"
JETTY, DOORS, MEADOW = "setup-end-of-the-jetty", "setup-boathouse-doors", "setup-sheep-meadow"


def merrow(*wishes, free=((time(16, 0), time(20, 30)),), **terms):
    """A shoot at the lake on an evening in September."""
    stretches = tuple(free_between("Europe/London", DAY, *one) for one in free)
    return Shoot("x", "Ilse and Bram", DAY, "Europe/London", wishes, stretches, **terms)


def wish(setup, **terms):
    return Wish(terms.pop("id", setup), MERROW, setup, **terms)


THREE = merrow(wish(JETTY, looks=("backlit",), weight=2.0, must=True), wish(DOORS), wish(MEADOW))


@pytest.fixture
def shelf(client):
    return ShootShelf(client.app.state.store)


def kept(client, shoot=THREE, telling=Telling()):
    """Keep a shoot and return its address."""
    return client.app.state.store.shoots.add(shoot.name, new_document(shoot, telling))


def test_a_kept_shoot_opens_with_its_scenes_and_its_order(client, shelf):
    opened = shelf.shoot(kept(client))
    assert set(opened.scenes) == {JETTY, DOORS, MEADOW}
    assert set(opened.order.plan.order) <= {JETTY, DOORS, MEADOW} and JETTY in opened.order.plan.order
    assert {one.wish_id for one in opened.standbys} == set(opened.order.plan.order)


def test_the_order_is_worked_out_once_until_something_changes(client, shelf):
    slug = kept(client)
    first = shelf.shoot(slug)
    assert shelf.shoot(slug) is first
    shelf.save(first, first.version, telling=Telling(wear="Boots"))
    assert shelf.shoot(slug) is not first and shelf.shoot(slug).telling.wear == "Boots"


def test_a_changed_site_is_noticed(client, shelf):
    slug = kept(client)
    first, store = shelf.shoot(slug), client.app.state.store
    site = store.site(MERROW)
    features = [one for one in site.document["features"] if one.get("id") != MEADOW]
    store.save_site(MERROW, site.document | {"features": features}, site.version)
    again = shelf.shoot(slug)
    assert again is not first and [one.id for one in again.gone] == [MEADOW]
    assert MEADOW not in again.order.plan.order


def test_what_people_are_told_comes_back(client, shelf):
    telling = Telling("Coats", {JETTY: "Flat soles"}, (("Rain", "The doors"),), "Orla", phone="0", crew=("Pim",), exact=True)
    assert shelf.shoot(kept(client, telling=telling)).telling == telling


def test_held_slots_stay_and_dropped_ones_are_set_aside(client, shelf):
    opened = shelf.shoot(kept(client))
    plan = opened.order.plan
    held = holding(opened, plan, dropped=[])
    shelf.save(opened, opened.version, whole=held.whole, aside=("setup-sheep-meadow",))
    again = shelf.shoot(opened.slug)
    assert again.order.plan.slot(JETTY).starts_utc_s == plan.slot(JETTY).starts_utc_s
    assert MEADOW not in [one.id for one in again.shoot.wishes] and MEADOW in [one.id for one in again.whole.wishes]


def test_what_comes_after_a_wish_set_aside_comes_anyway(client, shelf):
    after = replace(THREE, wishes=(THREE.wishes[0], replace(THREE.wishes[1], after=(MEADOW,)), THREE.wishes[2]))
    opened = shelf.shoot(kept(client, after))
    shelf.save(opened, opened.version, aside=(MEADOW,))
    assert shelf.shoot(opened.slug).shoot.wish(DOORS).after == ()
