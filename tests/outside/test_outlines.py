"""Outlines from a stand-in for an Overpass service on loopback, in health and in many kinds of illness."""

import json
import threading
import time
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from urllib.parse import parse_qs, urlsplit

import pytest

from app.errors import BadInput, Unavailable
from app.outside import outlines
from app.outside.fetch import open_client
from app.outside.outlines import OutlineService, fetch_outlines
from app.place.outlines import obstacles_from_outlines

WHERE = (54.57, -3.13)
BARN = {
    "type": "way",
    "id": 7,
    "geometry": [{"lat": 54.5701 + dy, "lon": -3.13 + dx} for dx, dy in ((0, 0), (2e-4, 0), (2e-4, 1e-4), (0, 1e-4), (0, 0))],
    "tags": {"building": "barn", "building:levels": "2", "name": "The Old Barn"},
}
ANSWER = {"version": 0.6, "generator": "Overpass API", "elements": [BARN]}


@pytest.fixture(autouse=True)
def no_proxy(monkeypatch):
    """Loopback is asked directly, whatever this machine's environment says."""
    monkeypatch.setenv("NO_PROXY", "127.0.0.1")


class Handler(BaseHTTPRequestHandler):
    def do_GET(self):
        self.server.asked.append((parse_qs(urlsplit(self.path).query), self.headers["User-Agent"]))
        self.server.answer(self)

    def say(self, status, body, media_type="application/json", **headers):
        self.send_response(status)
        for name, value in {"Content-Type": media_type, "Content-Length": str(len(body)), **headers}.items():
            self.send_header(name, value)
        self.end_headers()
        self.wfile.write(body)

    def log_message(self, *_):
        pass


@contextmanager
def served(answer):
    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    server.daemon_threads = True
    server.answer, server.asked = answer, []
    server.service = OutlineService(f"http://127.0.0.1:{server.server_port}/api/interpreter")
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.01})
    thread.start()
    try:
        yield server
    finally:
        server.shutdown()
        thread.join()
        server.server_close()


def says(body, status=200, media_type="application/json"):
    encoded = body if isinstance(body, bytes) else json.dumps(body).encode()
    return lambda handler: handler.say(status, encoded, media_type)


def test_what_comes_becomes_obstacles_of_the_site():
    with served(says(ANSWER)) as server:
        document = fetch_outlines(server.service, *WHERE, 300.0)
    result = obstacles_from_outlines(document, *WHERE, 300.0)
    (feature,) = result.features
    assert (feature["id"], feature["properties"]["name"], feature["properties"]["top_m"]) == ("osm-way-7", "The Old Barn", 6.0)
    assert feature["properties"]["attribution"] == "© OpenStreetMap contributors, ODbL"


def test_it_asks_once_and_says_who_asks_and_for_what():
    with served(says(ANSWER)) as server:
        fetch_outlines(server.service, *WHERE, 250.4)
    ((query, agent),) = server.asked
    (question,) = query["data"]
    assert agent.startswith("Westering")
    assert question.startswith("[out:json][timeout:25];(way[\"building\"](around:250,54.570000,-3.130000);")
    assert question.endswith(";);out geom;")


def test_an_empty_place_gives_no_outlines_and_says_so():
    with served(says({**ANSWER, "elements": []})) as server:
        document = fetch_outlines(server.service, *WHERE, 300.0)
    assert obstacles_from_outlines(document, *WHERE, 300.0).notes[0] == "Nothing that stands up was found within 300 m."


@pytest.mark.parametrize(
    ("answer", "words"),
    [
        (says(b"<html>The server is probably too busy</html>", media_type="text/html"), "sent a web page in place of outlines"),
        (says(b"<?xml version='1.0'?><osm/>", media_type="text/xml"), "sent a web page in place of outlines"),
        (says(b"rate limited"), "that is not JSON"),
        (says(b'{"elements": [{"id": NaN}]}'), "that is not JSON"),
        (says(b"\xff\xfe\x00"), "that is not JSON"),
        (says([1, 2]), "JSON that is no answer of Overpass"),
        (says({"elements": "many"}), "JSON that is no answer of Overpass"),
        (says({**ANSWER, "remark": "runtime error: Query timed out"}), "gave up: “runtime error: Query timed out”. Ask for a shorter"),
        (says(b"", 429), r"too much to do \(status 429\)"),
        (says(b"<html>", 504, "text/html"), r"answered with an error \(status 504\)"),
        (says(b"", 400), r"answered with an error \(status 400\)"),
        (says(b"", 403), r"refuses to answer us \(status 403\)"),
    ],
)  # fmt: skip
def test_an_ill_service_is_told_in_words(answer, words):
    with served(answer) as server, pytest.raises(Unavailable, match=f"127.0.0.1 .*{words}"):
        fetch_outlines(server.service, *WHERE, 300.0)


def test_a_service_that_is_down_is_told_in_words():
    with served(says(ANSWER)) as server:
        service = server.service
    with pytest.raises(Unavailable, match="127.0.0.1 cannot be reached"):
        fetch_outlines(service, *WHERE, 300.0)


def test_a_slow_service_is_given_up():
    def sleeps(handler):
        time.sleep(1.0)
        handler.close_connection = True

    with served(sleeps) as server, pytest.raises(Unavailable, match="took too long"):
        fetch_outlines(server.service, *WHERE, 300.0, open_client(0.1))


def test_too_much_data_is_given_up(monkeypatch):
    monkeypatch.setattr(outlines, "MOST_BYTES", 10_000)
    with served(says(b" " * 20_000)) as server, pytest.raises(Unavailable, match=r"sent more than 0.01 MB"):
        fetch_outlines(server.service, *WHERE, 300.0)


def test_an_answer_cut_off_is_told():
    def hangs_up(handler):
        handler.send_response(200)
        handler.send_header("Content-Length", "1000")
        handler.end_headers()
        handler.wfile.write(b'{"elements": [')
        handler.close_connection = True

    with served(hangs_up) as server, pytest.raises(Unavailable, match="broke off in the middle"):
        fetch_outlines(server.service, *WHERE, 300.0)


@pytest.mark.parametrize("address", ["", "ftp://maps.example/api", "maps.example", "https://", "https://maps.example/api?data=x", "http://[", "https://a b"])
def test_an_address_that_is_none_is_refused(address):
    with pytest.raises(BadInput, match="The outlines' address begins https://") as told:
        OutlineService(address)
    assert told.value.field == "address"


@pytest.mark.parametrize(("lat_deg", "within_m"), [(95.0, 300.0), (54.57, 0.0), (54.57, 2500.0), (54.57, float("nan"))])
def test_a_question_without_sense_is_not_asked(lat_deg, within_m):
    with served(says(ANSWER)) as server:
        with pytest.raises(BadInput):
            fetch_outlines(server.service, lat_deg, -3.13, within_m)
        assert server.asked == []
