"""The owner's door: closed wherever others could reach Westering, and how it opens."""

import json
from datetime import timedelta

import pytest
from fastapi.testclient import TestClient

from app.errors import BadInput
from app.main import create_app
from app.settings import Settings
from app.web.now import now_utc_s
from app.web.passphrase import SHORTEST, hashed, is_right, needs_new_hash, wait_s
from tests.web.conftest import DEMO, NOW

PASSPHRASE = "three herons by the weir"
OWN = {"origin": "http://studio.lan"}


class Clock:
    def __init__(self) -> None:
        self.now = NOW

    def __call__(self) -> float:
        return self.now


@pytest.fixture
def clock():
    return Clock()


@pytest.fixture
def guest(tmp_path, clock):
    """A browser that reaches a Westering which listens beyond its machine; a passphrase is set."""
    app = create_app(Settings(tmp_path, tmp_path / "westering.sqlite", host="192.0.2.7"))
    app.dependency_overrides[now_utc_s] = clock
    store = app.state.store
    store.load_once("demo_sites", [json.loads((DEMO / "merrowmere-boathouse.geojson").read_text(encoding="utf-8"))])
    store.door.set_passphrase(hashed(PASSPHRASE))
    with TestClient(app, base_url="http://studio.lan", follow_redirects=False) as client:
        yield client
    store.close()


def come_in(client, passphrase=PASSPHRASE, to="/", **headers):
    return client.post("/door", data={"passphrase": passphrase, "to": to}, headers=OWN | headers)


@pytest.mark.parametrize("path", ["/", "/sites/merrowmere-boathouse", "/about?x=1", "/sites/new", "/leaflet/leaflet.js", "/doorway"])
def test_every_page_leads_to_the_door(guest, path):
    answer = guest.get(path)
    assert answer.status_code == 303 and answer.headers["location"].startswith("/door?to=%2F")
    assert "Merrowmere" not in answer.text


@pytest.mark.parametrize("method,path", [("GET", "/api/sites"), ("POST", "/sites"), ("DELETE", "/sites/merrowmere-boathouse"), ("POST", "/papers")])
def test_what_is_no_page_is_refused_outright(guest, method, path):
    answer = guest.request(method, path, headers=OWN)
    assert answer.status_code == 401 and "passphrase" in answer.text


def test_the_passphrase_opens_and_leads_on_to_the_page_asked_for(guest):
    assert "the owner's passphrase" in guest.get("/door").text.replace("’", "'")
    answer = come_in(guest, to="/sites/merrowmere-boathouse")
    assert answer.status_code == 303 and answer.headers["location"] == "/sites/merrowmere-boathouse"
    cookie = answer.headers["set-cookie"].lower()
    assert "httponly" in cookie and "samesite=lax" in cookie and "path=/" in cookie and "secure" not in cookie
    page = guest.get("/sites/merrowmere-boathouse")
    assert page.status_code == 200 and page.headers["cache-control"] == "no-store"


def test_over_https_the_cookie_is_bound_to_this_host(tmp_path, guest):
    guest.base_url = "https://studio.lan"
    answer = come_in(guest, origin="https://studio.lan")
    assert answer.headers["set-cookie"].startswith("__Host-westering=") and "Secure" in answer.headers["set-cookie"]
    assert answer.headers["strict-transport-security"].startswith("max-age=")


@pytest.mark.parametrize("to", ["//elsewhere.invalid/", "https://elsewhere.invalid", "/\\elsewhere.invalid", "/door/leave"])
def test_the_door_never_leads_to_another_host(guest, to):
    assert come_in(guest, to=to).headers["location"] == "/"


def test_a_wrong_passphrase_waits_longer_each_time(guest, clock):
    """Three are free; then 2, 4, 8 s: and even the right one must wait."""
    statuses = [come_in(guest, "wrong passphrase").status_code for _ in range(3)]
    assert statuses == [403, 403, 403]
    answer = come_in(guest)
    assert answer.status_code == 429 and int(answer.headers["retry-after"]) == 2
    clock.now += 2.1
    assert come_in(guest, "wrong passphrase").status_code == 403
    assert int(come_in(guest).headers["retry-after"]) == 4
    clock.now += 4.1
    assert come_in(guest).status_code == 303
    assert come_in(guest, "wrong passphrase").status_code == 403, "the right one forgave the wrong ones"


def test_nothing_typed_at_the_door_comes_back_to_it(guest):
    assert "my secret words" not in come_in(guest, "my secret words").text


def test_a_session_ends_after_thirty_days_or_on_leaving(guest, clock):
    come_in(guest)
    clock.now += timedelta(days=29).total_seconds()
    assert guest.get("/").status_code == 200
    clock.now += timedelta(days=2).total_seconds()
    assert guest.get("/").status_code == 303
    come_in(guest)
    token = guest.cookies["westering"]
    assert "Leaving wipes what a field page keeps" in guest.get("/door").text
    answer = guest.post("/door/leave", headers=OWN)
    assert '"storage"' in answer.headers["clear-site-data"]
    guest.cookies.set("westering", token)
    assert guest.get("/").status_code == 303, "the old token no longer opens"


def test_a_new_passphrase_sends_everybody_out(guest):
    come_in(guest)
    guest.app.state.store.door.set_passphrase(hashed("quite another passphrase"))
    assert guest.get("/").status_code == 303 and come_in(guest).status_code == 403


def test_only_the_hash_of_a_token_is_kept(guest, tmp_path):
    come_in(guest)
    token = guest.cookies["westering"]
    guest.app.state.store.close()
    assert not any(token.encode() in file.read_bytes() for file in tmp_path.iterdir())


@pytest.mark.parametrize("headers", [{}, {"origin": "null"}, {"origin": "http://elsewhere.invalid"}, {"sec-fetch-site": "cross-site"}])
def test_behind_the_door_a_change_must_come_from_an_own_page(guest, headers):
    come_in(guest)
    assert guest.post("/papers", data={"paper": "glare"}, headers=headers).status_code == 403
    assert guest.post("/papers", data={"paper": "glare"}, headers=OWN).status_code == 303


def test_on_loopback_there_is_no_door(client):
    assert client.get("/").status_code == 200
    assert "nobody needs a passphrase" in client.get("/door").text


def test_a_body_that_says_nothing_of_its_size_is_cut_off(client):
    def flood():
        for _ in range(30):
            yield b"x" * 1_000_000

    answer = client.post("/papers", content=flood(), headers={"content-type": "application/x-www-form-urlencoded"})
    assert answer.status_code == 413


@pytest.mark.parametrize("passphrase,words", [("short", f"{SHORTEST} to"), ("a" * 20, "too few different"), ("x" * 1001, "1001 came")])
def test_a_poor_passphrase_is_refused_in_words(passphrase, words):
    with pytest.raises(BadInput, match=words):
        hashed(passphrase)


def test_hashes_are_salted_and_hold_to_the_cheat_sheets_cost():
    """OWASP Password Storage Cheat Sheet: Argon2id, m = 19 MiB, t = 2, p = 1."""
    one, other = hashed(PASSPHRASE), hashed(PASSPHRASE)
    assert one != other and one.startswith("$argon2id$") and "m=19456,t=2,p=1" in one
    assert is_right(PASSPHRASE, one) and not is_right(f"{PASSPHRASE} ", one) and not needs_new_hash(one)


def test_waits_grow_to_five_minutes_and_no_further():
    assert [wait_s(count) for count in (0, 2, 3, 4, 5, 40)] == [0, 0, 2, 4, 8, 300]
