"""What somebody might do to a shoot's pages by mistake or on purpose; names and dates are invented."""

from dataclasses import replace
from datetime import date, time

import html5lib
import pytest

from app.place.timezone import local_time
from app.shoot.shoot import Wish
from app.shoot.words import span
from app.sky.ephemeris import DAY_S
from app.sky.track import Observer
from app.web.drawing.order import draw_order
from app.web.drawing.order_time import TimeScale, sun_lines, ticks
from app.web.typed_shoot import read_instant
from tests.web.test_shoots import (
    DOORS,
    JETTY,
    MEADOW,
    MERROW,
    form_of,
    kept,
    merrow,
    post,
    shelf,
    wish,
)

__all__ = ["shelf"]
MIDNIGHT_S = 1_821_225_600.0  # 18 September 2027, 00:00 UTC


def test_a_whole_day_without_any_light_has_a_page(client, shelf):
    slug = kept(client, merrow(wish(MEADOW), free=()))
    assert client.get(f"/shoots/{slug}").status_code == 200
    assert all(draw_order(shelf.shoot(slug), kind) for kind in ("desk", "hand"))


@pytest.mark.parametrize("hours", [1, 12, 21, 24, 48, 72])
@pytest.mark.parametrize(("kind", "room"), [("desk", 12), ("hand", 5)])
def test_ticks_have_room_however_long_the_day_is(hours, kind, room):
    scale = TimeScale(MIDNIGHT_S, MIDNIGHT_S + 3600 * hours, 0, 1000)
    assert 1 <= len(list(ticks(scale, "Europe/London", kind))) <= room + 1


def test_a_whole_day_under_a_sun_overhead_has_a_scale_of_heights():
    equinox_s = MIDNIGHT_S + 5 * DAY_S
    *_, marks, _ = sun_lines(Observer(0.0, 0.0), TimeScale(equinox_s, equinox_s + DAY_S, 0, 1000), "UTC", 0, 100)
    assert [words for _, words in marks] == ["-60°", "0°", "60°"]


def test_a_row_numbered_far_beyond_all_others_does_not_make_the_page_long(client):
    slug = kept(client)
    address = f"/shoots/{slug}/details"
    far = {"free-99999999-from": "17:00", "turn-999999-trigger": "A shower", "walk-" + "9" * 5000 + "-why": "stairs"}
    answer = post(client, address, **form_of(client, address) | far | {"date": "soon"})
    assert answer.status_code == 422
    assert answer.context["page"].rows("turn") == (999_999, 1_000_000)
    assert answer.context["page"].rows("free") == (0, 1)


@pytest.mark.parametrize(("start", "end", "field"), [("", "20:15", "from"), ("25:00", "20:15", "from"), ("17:00", "", "to")])
def test_a_new_shoot_tells_a_missing_time_at_its_own_field(client, start, end, field):
    answer = post(client, "/shoots", name="Ilse", date="2027-09-18", site=MERROW, **{"from": start, "to": end})
    assert answer.status_code == 422 and list(answer.context["form"].errors) == [field]


def test_a_meeting_point_in_too_many_words_is_told_and_not_cut(client, shelf):
    slug = kept(client)
    answer = post(client, f"/shoots/{slug}/details", **form_of(client, f"/shoots/{slug}/details") | {"meeting": "By the gate. " * 400})
    assert answer.status_code == 422 and "4000 characters at most" in answer.context["form"].errors["meeting"]
    assert len(answer.context["form"].text("meeting")) > 4000


@pytest.mark.parametrize(
    ("field", "text", "words"), [("bring", "Coats. " * 400, "2000 characters"), ("standby", "setup-slipway", "of the same site")]
)
def test_too_much_to_bring_or_a_standby_elsewhere_is_told_and_stays_typed(client, shelf, field, text, words):
    slug = kept(client)
    address = f"/shoots/{slug}/wishes/{DOORS}"
    answer = post(client, address, **form_of(client, address) | {field: text})
    assert answer.status_code == 422 and words in answer.context["form"].errors[field]
    assert answer.context["form"].typed[field] == text and words in answer.text
    assert shelf.shoot(slug).whole.wish(DOORS).standby is None


@pytest.mark.parametrize("number", ["999", "-1", "9" * 30])
def test_a_link_numbered_beyond_all_others_is_not_found(client, number):
    answer = post(client, f"/shoots/{kept(client)}/links/{number}/withdraw")
    assert answer.status_code == 404 and "no such link" in answer.text


def test_without_any_slot_nothing_is_said_of_what_the_order_is_worth(client):
    for wishes in ((), (wish(MEADOW),)):
        assert "No other order is worth more" not in client.get(f"/shoots/{kept(client, merrow(*wishes, free=()))}").text
    assert "No other order is worth more" in client.get(f"/shoots/{kept(client)}").text


def test_a_setup_without_a_name_of_its_own_is_never_called_by_its_id(client):
    gone = Wish("gone", "nowhere", "setup-old-mill")
    slug = kept(client, merrow(wish(JETTY), wish(DOORS, looks=("side light",)), gone))
    post(client, f"/shoots/{slug}/aside/{DOORS}", version="1", aside="yes")
    words = html5lib.parse(client.get(f"/shoots/{slug}").text, namespaceHTMLElements=False).itertext()
    page, form = " ".join(words), client.get(f"/shoots/{slug}/wishes/{JETTY}").text
    assert "“Old mill” is not planned" in page and "setup-" not in page
    assert "Boathouse doors (side light)</label>" in form and "<h1>End of the jetty</h1>" in form


def test_a_date_taken_from_the_season_frees_times_fixed_for_another_and_says_so(client, shelf):
    fixed = replace(wish(JETTY, must=True), fixed_start_utc_s=read_instant("Europe/London", date(2027, 9, 18), "18:20"))
    slug = kept(client, merrow(fixed, free=((time(17), time(19)),)))
    page = client.get(f"/shoots/{slug}/season/2027").text
    assert "Times fixed by hand are not asked here, and are freed when you take a date." in page and "keeps its hours" not in page
    assert "17:00–19:00</span>, when you take a date" in client.get(f"/shoots/{slug}/season/2027?from=05:00&to=19:00").text
    assert post(client, f"/shoots/{slug}/date", version="1", date="2027-08-31").status_code == 303
    taken = shelf.shoot(slug)
    assert taken.whole.wish(JETTY).fixed_start_utc_s is None and taken.whole.day == date(2027, 8, 31)
    assert local_time(taken.whole.free[0].starts_utc_s, "Europe/London").time() == time(17)
    assert taken.order.plan.slots[0].value > 0


def test_a_span_after_midnight_tells_the_other_day_once(client):
    night = ((time(23), time(2)),)
    page = client.get(f"/shoots/{kept(client, merrow(free=night))}").context["page"]
    assert page.free[0] == "23:00–02:00 the day after"
    late = span(page.opened.shoot, *(read_instant("Europe/London", date(2027, 9, 18), f"0{hour}:00 the day after") for hour in (1, 2)))
    assert late == "01:00–02:00 the day after"


def test_the_legend_explains_only_what_is_drawn(client):
    alone = client.get(f"/shoots/{kept(client, merrow(wish(JETTY), free=((time(18, 30), time(18, 50)),)))}")
    drawing = alone.context["page"].drawings[0]
    assert not drawing.ways and "Stepped line" not in alone.text
    assert ("Dashed box" in alone.text) == bool(drawing.spares)
    both = client.get(f"/shoots/{kept(client)}")
    assert both.context["page"].drawings[0].ways and "Stepped line: the walk." in both.text


def test_an_order_without_a_slot_is_not_shared(client):
    """It would have sent the couple an empty sheet."""
    slug = kept(client, merrow())
    assert "Share this running order" not in client.get(f"/shoots/{slug}").text
    answer = client.post(f"/shoots/{slug}/share", data={})
    assert answer.status_code == 422 and client.app.state.store.shoots.revisions(slug) == ()
