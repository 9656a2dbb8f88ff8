"""What the owner does with shared sheets, and sees of them."""

import io
from dataclasses import replace
from datetime import UTC, date, datetime, time

import numpy as np
import pytest
import zxingcpp
from pypdf import PdfReader

from app.sharing.links import LONGEST_S
from app.shoot.shoot import free_between
from app.web.shoots import ShootShelf
from tests.sharing.test_qr import BAR, MODULE_PX
from tests.web.conftest import NOW
from tests.web.shared_shoots import (
    DAY_S,
    MEETING,
    OWN,
    WISHES,
    ZONE,
    change,
    clock,
    keep,
    later,
    link,
    share_again,
    shared_by,
    shoot_with,
    slug,
    store,
    tags,
)

__all__ = ["clock", "slug", "store"]


def test_the_code_beside_a_new_link_reads_back_as_that_link(client, store):
    """Decoded by ZXing, which shares no code with what draws it."""
    page = shared_by(client, keep(store))
    links = [one["href"] for one in tags(page, "a") if "fresh__link" in one.get("class", "")]
    sides = [int(one["viewbox"].split()[2]) for one in tags(page, "svg")]
    codes = [one["d"] for one in tags(page, "path")]
    assert len(links) == len(sides) == len(codes) == 2
    for address, side, code in zip(links, sides, codes, strict=True):
        paper = np.full((side, side), 255, dtype=np.uint8)
        for x, y, width, _ in (tuple(map(int, bar)) for bar in BAR.findall(code)):
            paper[y, x : x + width] = 0
        read = zxingcpp.read_barcodes(np.kron(paper, np.ones((MODULE_PX, MODULE_PX), dtype=np.uint8)))
        assert [one.text for one in read] == [address]


def test_the_owner_sees_when_a_link_was_opened(client, store, slug, clock):
    token = link(store, slug)
    assert client.get(f"/shoots/{slug}/sharing").text.count("never opened") == 3
    clock["now"] = NOW + 7200
    client.get(f"/with/{token}")
    page = client.get(f"/shoots/{slug}/sharing").text
    assert page.count("never opened") == 2 and "last opened Sat 18 September 2027, 14:00" in page


def test_withdrawing_closes_one_link_for_good(client, store, slug):
    gone, stays = link(store, slug), link(store, slug)
    number = store.shoots.links(slug)[-2].id
    client.post(f"/shoots/{slug}/links/{number}/withdraw", headers=OWN)
    assert (client.get(f"/with/{gone}").status_code, client.get(f"/with/{stays}").status_code) == (404, 200)
    answer = client.post(f"/shoots/{slug}/links/{number}/renew", data={"ends": "2027-12-01"}, headers=OWN)
    assert answer.status_code == 422 and "A withdrawn link stays closed" in answer.text
    assert client.get(f"/with/{gone}").status_code == 404


def test_renewing_opens_an_expired_link_under_the_same_address(client, store, slug):
    token = link(store, slug, made=NOW - 9 * DAY_S, ends=NOW - 1)
    assert client.get(f"/with/{token}").status_code == 404
    number = store.shoots.links(slug)[-1].id
    client.post(f"/shoots/{slug}/links/{number}/renew", data={"ends": "2027-10-01"}, headers=OWN)
    assert client.get(f"/with/{token}").status_code == 200
    # the last day is counted whole, on the shoot's clocks: up to midnight of British Summer Time
    assert store.shoots.links(slug)[-1].ends_utc_s == datetime(2027, 10, 1, 23, tzinfo=UTC).timestamp()


@pytest.mark.parametrize("ends, words", [("2027-09-01", "A link ends in the future, within 400 days"), ("2029-09-18", "within 400 days"), ("soon", "A date looks like 2027-09-18")])
def test_an_end_that_cannot_be_is_refused_and_nothing_is_made(client, store, ends, words):
    slug = keep(store)
    answer = client.post(f"/shoots/{slug}/share", data={"ends": ends, "about-jetty": "The lake doubles it."}, headers=OWN)
    assert answer.status_code == 422 and words in answer.text and "The lake doubles it." in answer.text
    assert store.shoots.links(slug) == () and store.shoots.revisions(slug) == ()


def test_a_link_far_ahead_is_held_to_the_limit(client, store):
    day = date(2029, 9, 18)
    slug = keep(store, shoot_with(day=day, free=(free_between(ZONE, day, time(17), time(20)),)))
    shared_by(client, slug)
    assert all(0 <= LONGEST_S - (kept.ends_utc_s - kept.made_utc_s) <= DAY_S for kept in store.shoots.links(slug))
    typed = client.get(f"/shoots/{slug}/sharing").context["form"].typed
    shared_by(client, slug, ends=typed["ends"], **{"new-couple": "yes"})  # what the form proposes can be kept


def test_a_link_is_renewed_for_400_days_from_the_renewing_however_old_it_is(client, store, slug):
    token = link(store, slug, made=NOW - 300 * DAY_S, ends=NOW + 10 * DAY_S)
    number = store.shoots.links(slug)[-1].id
    assert client.post(f"/shoots/{slug}/links/{number}/renew", data={"ends": "2028-09-18"}, headers=OWN).status_code == 200
    assert store.shoots.links(slug)[-1].ends_utc_s - store.shoots.links(slug)[-1].made_utc_s > LONGEST_S
    assert client.get(f"/with/{token}").status_code == 200


def test_what_is_said_when_sharing_stays_until_it_is_changed(client, store, clock):
    slug = keep(store)
    shared_by(client, slug, **{"about-jetty": "The lake doubles it.", "decide_day": "", "decide_time": "14:00"})
    page = client.get(f"/with/{link(store, slug)}").text
    assert "The lake doubles it." in page and "I decide by Saturday, 14:00 and write to you." in page
    clock["now"] = NOW + 60
    share_again(client, slug)  # as the button on the shoot's own page does, which asks for nothing
    assert len(store.shoots.revisions(slug)) == 1
    form = client.get(f"/shoots/{slug}/sharing").text
    assert 'value="The lake doubles it."' in form and 'value="14:00"' in form


def test_old_sheets_stay_readable_as_they_were(client, store, slug, clock):
    opened = ShootShelf(store).shoot(slug)
    first = client.get(f"/shoots/{slug}/revisions/1").text
    clock["now"] = NOW + 3600
    change(store, slug, wishes=later(WISHES, 5, opened), people=("Mira", "Tomas", "Bartholomea"))
    share_again(client, slug)
    assert client.get(f"/shoots/{slug}/revisions/1").text == first and "Bartholomea" not in first
    assert "Bartholomea" in client.get(f"/shoots/{slug}/revisions/2").text
    assert "Settings" in client.get(f"/shoots/{slug}/revisions/2?sheet=crew").text
    pdf = PdfReader(io.BytesIO(client.get(f"/shoots/{slug}/revisions/1/sheet.pdf?sheet=crew").content))
    assert "crew sheet" in pdf.pages[0].extract_text().lower()
    assert client.get(f"/shoots/{slug}/revisions/3").status_code == 404


def test_a_preview_is_what_will_be_shared_and_keeps_nothing(client, store):
    slug = keep(store)
    preview = client.get(f"/shoots/{slug}/preview?language=de").text
    assert "Treffpunkt" in preview and "End of the jetty" in preview
    assert store.shoots.revisions(slug) == ()


def test_where_nothing_can_be_shared_the_page_says_why(client, store):
    noon = datetime(2027, 9, 18, 2, tzinfo=UTC).timestamp()
    slug = keep(store, shoot_with(wishes=(replace(WISHES[0], fixed_start_utc_s=noon),)))
    assert "There is no running order to share" in client.get(f"/shoots/{slug}/sharing").text
    answer = client.post(f"/shoots/{slug}/share", headers=OWN)
    assert answer.status_code == 422 and store.shoots.links(slug) == ()


def test_another_shoots_link_cannot_be_closed_from_here(client, store, slug):
    token, other = link(store, slug), keep(store)
    number = store.shoots.links(slug)[-1].id
    assert client.post(f"/shoots/{other}/links/{number}/withdraw", headers=OWN).status_code == 404
    assert client.post(f"/shoots/{other}/links/{number}/renew", data={"ends": "2027-12-01"}, headers=OWN).status_code == 404
    assert client.get(f"/with/{token}").status_code == 200


def test_links_that_nobody_else_can_open_say_so(client, store):
    assert "Nobody else can open these links yet" in client.get(f"/shoots/{keep(store)}/sharing").text


def test_a_shoot_without_a_meeting_point_has_a_sheet(client, store):
    slug = keep(store, shoot_with(meeting=replace(MEETING, words="", pin=None)))
    shared_by(client, slug)
    assert "Where to meet" not in client.get(f"/with/{link(store, slug)}").text
