"""The morning check on the command line."""

import json

import pytest

from app.cli import main
from app.storage.store import Store
from app.web.shoots import new_document
from tests.web.conftest import DEMO
from tests.web.test_shoots import JETTY, THREE


@pytest.fixture
def data(tmp_path, monkeypatch):
    monkeypatch.delenv("WESTERING_MET_CONTACT", raising=False)
    with Store(tmp_path / "westering.sqlite") as store:
        store.load_once("demo", [json.loads((DEMO / "merrowmere-boathouse.geojson").read_text(encoding="utf-8"))])
        store.shoots.add("Ilse and Bram", new_document(THREE))
    return str(tmp_path)


def test_it_prints_every_slot_with_its_verdict(data, capsys):
    assert main(["check", "ilse-and-bram", "--data", data]) == 0
    told = capsys.readouterr().out
    assert "End of the jetty (backlit), backlit: WEATHER NOT KNOWN" in told and "No weather is known" in told and "Sunset 19:22" in told


def test_json_holds_the_same(data, capsys):
    assert main(["check", "ilse-and-bram", "--data", data, "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert {one["wish"]: one["verdict"] for one in answer["slots"]}[JETTY] == "weather not known" and answer["date"] == "2027-09-18"


def test_asking_without_a_service_says_how_to_set_one_and_checks_all_the_same(data, capsys):
    assert main(["check", "ilse-and-bram", "--ask", "--data", data]) == 0
    printed = capsys.readouterr()
    assert "WESTERING_MET_CONTACT" in printed.err and "WEATHER NOT KNOWN" in printed.out


def test_a_shoot_that_is_not_there_is_one_line(data, capsys):
    assert main(["check", "nobody", "--data", data]) == 2
    assert "no shoot “nobody”" in capsys.readouterr().err
