"""Shoots to share; people and dates are invented."""

from dataclasses import replace
from datetime import date, time
from html.parser import HTMLParser
from typing import Any

import pytest
from fastapi.testclient import TestClient

from app.place.site import Pin
from app.sharing.links import digest, new_token
from app.shoot.shoot import Meeting, Shoot, Wish, free_between
from app.storage.store import Store
from app.web.now import now_utc_s
from app.web.shoots import OpenShoot, ShootShelf, Telling, new_document
from tests.web.conftest import NOW

SITE, DAY, ZONE = "merrowmere-boathouse", date(2027, 9, 18), "Europe/London"
DAY_S = 86_400.0
OWN = {"origin": "http://testserver"}
WISHES = (
    Wish("jetty", SITE, "setup-end-of-the-jetty", weight=3, must=True, notes="Deposit still open."),
    Wish("doors", SITE, "setup-boathouse-doors", change_before_min=15),
)
MEETING = Meeting("By the green doors", Pin(54.5700, -3.1310))
TELLING = Telling(
    wear="Flat soles", bring={"jetty": "Coats for after"}, turns=(("A shower", "We wait under the roof."),),
    name="Marlow", business="Marlow Reyne, photographs", phone="07700 900147", email="marlow@example.com", crew=("Jun, lights",),
)  # fmt: skip


def shoot_with(**changed: Any) -> Shoot:
    free = free_between(ZONE, DAY, time(17), time(20))
    usual = Shoot(
        "new", "Mira and Tomas", DAY, ZONE, WISHES, (free,), ("Mira", "Tomas"), MEETING, notes="They paid half; call her mother."
    )
    return replace(usual, **changed)


def keep(store: Store, shoot: Shoot | None = None, telling: Telling = TELLING) -> str:
    shoot = shoot or shoot_with()
    return store.shoots.add(shoot.name, new_document(shoot, telling))


def opened(store: Store, slug: str) -> OpenShoot:
    return ShootShelf(store).shoot(slug)


def shared_by(client: TestClient, slug: str, **form: str) -> str:
    """Share through the page, and return what it answered."""
    answer = client.post(f"/shoots/{slug}/share", data=form, headers=OWN)
    assert answer.status_code == 200, answer.text
    return answer.text


def link(store: Store, slug: str, kind: str = "couple", language: str = "en", made: float = NOW, ends: float = NOW + 30 * DAY_S) -> str:
    """Keep a link and return its token."""
    token = new_token()
    store.shoots.add_link(slug, kind, digest(token), made, ends, language)
    return token


def share_again(client: TestClient, slug: str, **form: str) -> None:
    """Share where links are open already."""
    answer = client.post(f"/shoots/{slug}/share", data=form, headers=OWN, follow_redirects=False)
    assert answer.status_code == 303, answer.text


def change(store: Store, slug: str, telling: Telling | None = None, **changed: Any) -> None:
    """Keep a shoot with something changed."""
    shelf = ShootShelf(store)
    opened = shelf.shoot(slug)
    whole = replace(opened.whole, **changed)
    shelf.save(opened, opened.version, whole=whole, telling=telling or opened.telling)


def later(wishes: tuple[Wish, ...], minutes: float, shoot: OpenShoot) -> tuple[Wish, ...]:
    """Return wishes fixed so many minutes after where a running order has them."""
    starts = {slot.wish_id: slot.starts_utc_s for slot in shoot.order.plan.slots}
    return tuple(replace(wish, fixed_start_utc_s=starts[wish.id] + 60 * minutes) for wish in wishes)


class _Tags(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.found: list[tuple[str, dict[str, str | None]]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found.append((tag, dict(attrs)))


def tags(page: str, *names: str) -> list[dict[str, str | None]]:
    """Return the attributes of a page's elements of some names, in their order."""
    parser = _Tags()
    parser.feed(page)
    return [attributes for tag, attributes in parser.found if tag in names]


@pytest.fixture
def store(client):
    return client.app.state.store


@pytest.fixture
def clock(client):
    """A clock that a test sets."""
    at = {"now": NOW}
    client.app.dependency_overrides[now_utc_s] = lambda: at["now"]
    return at


@pytest.fixture
def slug(client, store):
    """The address of a shoot that was shared once."""
    address = keep(store)
    shared_by(client, address)
    return address
