"""The kit page: the demo's kit until one is kept, rows added and taken out, faults by their figure."""

import html5lib
import pytest

from app.light.kit import DEMO_KIT, Kit
from app.web.kits import kept_kit
from app.web.typed_kit import kit_typed, time_s, time_words


def posted(client, **changes):
    page = client.get("/kit")
    return client.post("/kit", data={"version": page.context["version"], **page.context["form"].typed, **changes})


def test_the_demos_kit_stands_until_one_is_kept(client):
    page = client.get("/kit")
    html5lib.HTMLParser(strict=True).parse(page.text)
    assert kept_kit(client.app.state.store) == DEMO_KIT
    assert "Battery head, 400 Ws" in page.text and "1/200" in page.text


def test_keeping_the_page_as_it_is_changes_nothing(client):
    assert posted(client).status_code == 200
    assert kept_kit(client.app.state.store) == DEMO_KIT


def test_a_filled_blank_row_adds_and_an_emptied_name_takes_out(client):
    blank = len(DEMO_KIT.lenses)
    page = posted(client, **{f"lenses-{blank}-name": "Old 135", f"lenses-{blank}-shortest_mm": "135", f"lenses-{blank}-longest_mm": "135", f"lenses-{blank}-widest_f_number": "2,8", "filters-0-name": ""})
    assert page.status_code == 200
    kit = kept_kit(client.app.state.store)
    assert kit.lenses[-1].name == "Old 135" and kit.lenses[-1].widest_f_number == 2.8 and kit.lenses[-1].smallest_f_number == 16
    assert [one.name for one in kit.filters] == ["ND 6 stops"]


@pytest.mark.parametrize("field,text,words", [
    ("cameras-0-sync_s", "fast", "A time is a number"),
    ("lenses-0-shortest_mm", "", "From [mm] is missing"),
    ("flashes-0-guide_number_m", "a lot", "is a number"),
])
def test_a_figure_that_cannot_be_used_is_told_beside_it(client, field, text, words):
    page = posted(client, **{field: text})
    assert page.status_code == 422 and words in page.context["form"].errors[field] and "nothing was kept yet" in page.text
    assert kept_kit(client.app.state.store) == DEMO_KIT


def test_what_only_fails_as_a_whole_is_told_by_its_name(client):
    page = posted(client, **{"flashes-0-guide_number_m": "0"})
    assert page.status_code == 422 and "gives no light" in page.context["form"].errors["kit"]


def test_a_kit_kept_in_another_tab_is_not_overwritten_unseen(client):
    version, typed = (lambda page: (page.context["version"], page.context["form"].typed))(client.get("/kit"))
    assert posted(client, **{"cameras-0-name": "From the other tab"}).status_code == 200
    late = client.post("/kit", data={**typed, "version": version, "cameras-0-name": "Mine"})
    assert late.status_code == 409 and "changed in another tab" in late.text and 'value="Mine"' in late.text
    assert client.post("/kit", data={**typed, "version": late.context["version"], "cameras-0-name": "Mine"}).status_code == 200
    assert kept_kit(client.app.state.store).cameras[0].name == "Mine"


@pytest.mark.parametrize("text,seconds", [("1/200", 1 / 200), ("1/200 s", 1 / 200), ("0.5", 0.5), ("0,5 s", 0.5), ("2", 2.0)])
def test_times_are_read_as_on_a_camera(text, seconds):
    assert time_s(text) == pytest.approx(seconds)


def test_times_are_shown_as_on_a_camera():
    assert [time_words(seconds) for seconds in (1 / 8000, 1 / 200, 0.5, 2.0, 1 / 3)] == ["1/8000", "1/200", "0.5", "2", "0.333"]


def test_markup_in_a_name_stays_text(client):
    page = posted(client, **{"cameras-0-name": "<b>bold</b>"})
    assert "<b>bold" not in page.text and "&lt;b&gt;bold" in page.text


def test_an_empty_kit_is_a_kit(client):
    assert kit_typed(Kit()) == {}
    names = {field: "" for field in client.get("/kit").context["form"].typed if field.endswith("-name")}
    assert posted(client, **names).status_code == 200 and kept_kit(client.app.state.store) == Kit()


def test_a_row_of_an_enormous_number_makes_no_rows(client):
    """“cameras-9999999-name” would have laid out ten million of them."""
    answer = client.post("/kit", data={"cameras-9999999-name": "Body", "cameras-" + "9" * 5000 + "-name": "Body"})
    assert answer.status_code < 500


@pytest.mark.parametrize("address", ["sites/merrowmere-boathouse/setups/setup-end-of-the-jetty/exposure"])
def test_a_version_of_thousands_of_digits_is_an_old_one(client, address):
    answer = client.post(f"/{address}", data={"version": "9" * 5000, "day": "2027-05-15", "intent": "faces"})
    assert answer.status_code == 409
