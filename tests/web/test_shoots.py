"""The owner's pages of shoots: the running order, its forms, the season."""

import html
from dataclasses import replace
from datetime import date, datetime, time
from time import perf_counter

import html5lib
import pytest

from app.cli import main
from app.cli_server import load_demo_sites
from app.light.kit import kit_document, kit_from
from app.place.timezone import local_time
from app.shoot.shoot import Shoot, Walk, Wish, free_between
from app.storage.store import Store
from app.web.answers.order import order_lines
from app.web.drawing.order import draw_order
from app.web.shoots import ShootShelf, Telling, holding, new_document
from app.web.typed_shoot import read_free, read_instant

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


# The pages


def form_of(client, address):
    """Return what a form on a page holds, as a browser would send it."""
    document = html5lib.parse(client.get(address).text, namespaceHTMLElements=False)
    form = max(document.iter("form"), key=lambda one: len(list(one.iter())))
    typed = {one.get("name"): one.get("value", "") for one in form.iter("input") if one.get("type") != "checkbox" and one.get("name")}
    typed |= {one.get("name"): one.get("value", "on") for one in form.iter("input") if one.get("type") == "checkbox" and "checked" in one.attrib}
    typed |= {one.get("name"): one.text or "" for one in form.iter("textarea")}
    for select in form.iter("select"):
        options = list(select.iter("option"))
        typed[select.get("name")] = next((one for one in options if "selected" in one.attrib), options[0]).get("value")
    return typed


def post(client, address, **typed):
    return client.post(address, data=typed, follow_redirects=False)


def test_a_shoot_begins_with_a_name_a_date_and_a_site(client):
    answer = post(client, "/shoots", name="Ilse <b> & Bram", date="2027-09-18", site=MERROW, **{"from": "17:00", "to": "20:15"})
    assert (answer.status_code, answer.headers["location"]) == (303, f"/shoots/ilse-b-bram/wishes/new?site={MERROW}")
    assert "Ilse &lt;b&gt; &amp; Bram" in client.get("/shoots").text
    assert client.get("/shoots/ilse-b-bram").context["page"].free == ("17:00–20:15",)


@pytest.mark.parametrize(
    ("field", "text", "words"),
    [("name", " ", "needs a name"), ("date", "soon", "A date looks like"), ("site", "nowhere", "Choose one of the sites"), ("to", "late", "A time looks like 18:40")],
)
def test_what_cannot_be_used_is_told_by_its_field_and_all_stays_typed(client, field, text, words):
    typed = {"name": "Ilse", "date": "2027-09-18", "site": MERROW, "from": "17:00", "to": "20:15", field: text}
    answer = post(client, "/shoots", **typed)
    assert answer.status_code == 422 and words in answer.context["form"].errors[field]
    assert all(answer.context["form"].typed[name] == value for name, value in typed.items())
    assert client.app.state.store.shoots.all() == ()


def test_the_page_tells_the_order_in_lanes_and_in_words(client, shelf):
    slug = kept(client)
    page = client.get(f"/shoots/{slug}")
    plan = shelf.shoot(slug).order.plan
    assert [line.slot for line in page.context["lines"]] == list(plan.slots)
    desk, hand = page.context["drawings"]
    assert [ring.number for ring in desk.rings] == list(range(1, len(plan.slots) + 1))
    assert (desk.kind, hand.kind) == ("desk", "hand") and hand.width < 400
    for words in (*shelf.shoot(slug).order.reasons.slack_words, "closes: behind the ridge", "never look at it"):
        assert words in html.unescape(page.text)
    assert f'href="/sites/{MERROW}/setups/{JETTY}/2027-09-18"' in page.text


def test_a_ring_lies_where_its_slot_is(client, shelf):
    """On the axis from 16:00 to 20:30 a slot's share of the width is its share of the time."""
    opened = shelf.shoot(kept(client))
    drawn, plan = draw_order(opened, "desk"), opened.order.plan
    start, end = opened.shoot.free[0].starts_utc_s, opened.shoot.free[0].ends_utc_s
    for ring, slot in zip(drawn.rings, plan.slots, strict=True):
        assert (ring.x - drawn.left) / (drawn.right - drawn.left) == pytest.approx((slot.starts_utc_s - start) / (end - start))
        assert ring.width / (drawn.right - drawn.left) == pytest.approx(60 * slot.minutes / (end - start))
        lanes = [lane for group in drawn.groups for lane in group.lanes if ring.y < lane.y < ring.y + ring.height]
        assert lanes and all(lane.ink for lane in lanes)


def test_the_drawing_hatches_where_nobody_is_there(client, shelf):
    two = replace(THREE, free=tuple(free_between("Europe/London", DAY, *one) for one in ((time(16), time(17)), (time(18), time(20)))))
    drawn = draw_order(shelf.shoot(kept(client, two)), "desk")
    ((x, width),) = drawn.closed
    assert ((x - drawn.left) / (drawn.right - drawn.left), width / (drawn.right - drawn.left)) == pytest.approx((1 / 4, 1 / 4))


def test_an_empty_shoot_says_how_to_begin(client):
    page = client.get(f"/shoots/{kept(client, merrow())}")
    assert page.status_code == 200 and page.context["drawings"] == () and "No setup is wished for yet" in page.text


def test_a_wish_is_added_with_its_terms_and_found_again_in_its_form(client, shelf):
    slug = kept(client)
    address = f"/shoots/{slug}/wishes/new"
    typed = form_of(client, address) | {
        "spot": f"{MERROW}/{JETTY}", "name": "Veil", "look_afterglow": "yes", "shortest_min": "7", "ideal_min": "12", "weight": "2,5",
        "must": "must", f"after-{DOORS}": "yes", f"before-{MEADOW}": "", "change_before_min": "15", "lights_min": "5", "standby": DOORS,
        "bring": "The veil", "notes": "Mind the boards",
    }  # fmt: skip
    assert post(client, address, **typed).status_code == 303
    opened = shelf.shoot(slug)
    new = opened.whole.wishes[-1]
    assert new == Wish(
        "end-of-the-jetty", MERROW, JETTY, "Veil", ("afterglow",), 7, 12, 2.5, True, (DOORS,), 15, 5, None, DOORS, "Mind the boards"
    )
    assert opened.telling.bring == {"end-of-the-jetty": "The veil"}
    again = form_of(client, f"/shoots/{slug}/wishes/end-of-the-jetty")
    assert post(client, f"/shoots/{slug}/wishes/end-of-the-jetty", **again).status_code == 303
    assert shelf.shoot(slug).whole == opened.whole


def test_a_wish_that_must_come_before_another_is_kept_as_that_other_coming_after(client, shelf):
    slug = kept(client)
    address = f"/shoots/{slug}/wishes/{DOORS}"
    assert post(client, address, **form_of(client, address) | {f"before-{JETTY}": "yes"}).status_code == 303
    assert shelf.shoot(slug).whole.wish(JETTY).after == (DOORS,)
    assert post(client, address, **{name: text for name, text in form_of(client, address).items() if not name.startswith("before-")}).status_code == 303
    assert shelf.shoot(slug).whole.wish(JETTY).after == ()


@pytest.mark.parametrize(
    ("field", "text", "words"),
    [
        ("shortest_min", "0", "between 1 and 240"), ("shortest_min", "30", "not longer than the ideal one"), ("weight", "many", "is a number"),
        ("ideal_min", "7.5", "whole numbers"), ("fixed_start", "25:00", "from 00:00 to 23:59"), ("spot", "a/b", "Choose a setup"),
        ("name", "x" * 201, "200 characters at most"), ("change_before_min", "-1", "between 0 and 180"),
    ],
)  # fmt: skip
def test_terms_that_cannot_be_kept_say_why_and_stay_typed(client, shelf, field, text, words):
    slug = kept(client)
    address = f"/shoots/{slug}/wishes/{DOORS}"
    before = shelf.shoot(slug)
    answer = post(client, address, **form_of(client, address) | {field: text})
    assert answer.status_code == 422 and words in answer.context["form"].errors[field]
    assert answer.context["form"].typed[field] == text and words in html.unescape(answer.text)
    assert shelf.shoot(slug) is before


def test_a_circle_of_before_and_after_is_told(client):
    slug = kept(client)
    address = f"/shoots/{slug}/wishes/{DOORS}"
    answer = post(client, address, **form_of(client, address) | {f"before-{JETTY}": "yes", f"after-{JETTY}": "yes"})
    assert answer.status_code == 422 and "in a circle" in answer.text


def test_a_slot_is_fixed_by_typing_its_time_and_freed_again(client, shelf):
    slug = kept(client)
    version = shelf.shoot(slug).version
    assert post(client, f"/shoots/{slug}/slots/{DOORS}", version=version, fixed_start="17:10").status_code == 303
    opened = shelf.shoot(slug)
    line = next(line for line in client.get(f"/shoots/{slug}").context["lines"] if line.wish.id == DOORS)
    assert line.start == "17:10" and line.span.startswith("17:10–")
    assert post(client, f"/shoots/{slug}/slots/{DOORS}", version=opened.version, fixed_start="17:10", free="yes").status_code == 303
    assert shelf.shoot(slug).whole == replace(THREE, id=slug)


def test_a_mistyped_time_is_told_at_its_slot_and_stays_in_its_field(client, shelf):
    slug = kept(client)
    answer = post(client, f"/shoots/{slug}/slots/{DOORS}", version=shelf.shoot(slug).version, fixed_start="half six")
    assert answer.status_code == 422 and 'value="half six"' in answer.text and "half six" in answer.context["trouble"]


def test_all_times_are_freed_at_once(client, shelf):
    fixed = replace(THREE, wishes=tuple(replace(one, fixed_start_utc_s=read_instant("Europe/London", DAY, at)) for one, at in zip(THREE.wishes, ("18:20", "17:00", "16:30"), strict=True)))
    slug = kept(client, fixed)
    assert post(client, f"/shoots/{slug}/slots", version=1).status_code == 303
    assert shelf.shoot(slug).whole == replace(THREE, id=slug)


def test_wishes_go_aside_and_come_back(client, shelf):
    slug = kept(client)
    assert post(client, f"/shoots/{slug}/aside/{DOORS}", version=1, aside="yes").status_code == 303
    assert shelf.shoot(slug).aside == (DOORS,) and "Plan it again" in client.get(f"/shoots/{slug}").text
    assert post(client, f"/shoots/{slug}/aside/{DOORS}", version=2, aside="no").status_code == 303
    assert shelf.shoot(slug).aside == ()


def test_a_removed_wish_takes_what_was_told_of_it_along(client, shelf):
    slug = kept(client, telling=Telling(bring={DOORS: "Flowers"}))
    assert post(client, f"/shoots/{slug}/wishes/{DOORS}/remove", version=1).status_code == 303
    opened = shelf.shoot(slug)
    assert [one.id for one in opened.whole.wishes] == [JETTY, MEADOW] and opened.telling.bring == {}


def changes(slug):
    """Every address that changes a shoot, with something to send."""
    return (
        (f"/shoots/{slug}/details", {"name": "Mine"}), (f"/shoots/{slug}/wishes/new", {"name": "Mine"}), (f"/shoots/{slug}/wishes/{DOORS}", {"name": "Mine"}),
        (f"/shoots/{slug}/wishes/{DOORS}/remove", {}), (f"/shoots/{slug}/slots/{DOORS}", {"fixed_start": "17:10"}), (f"/shoots/{slug}/slots", {}),
        (f"/shoots/{slug}/aside/{DOORS}", {"aside": "yes"}), (f"/shoots/{slug}/date", {"date": "2027-09-19"}),
        (f"/shoots/{slug}/again", {"at": "17:30"}), (f"/shoots/{slug}/delete", {"confirm": "Ilse and Bram"}),
    )  # fmt: skip


@pytest.mark.parametrize("number", range(10))
def test_a_form_that_comes_too_late_changes_nothing_and_keeps_what_was_typed(client, shelf, number):
    slug = kept(client)
    opened = shelf.shoot(slug)
    shelf.save(opened, opened.version, telling=Telling(wear="Coats"))
    address, typed = changes(slug)[number]
    answer = post(client, address, version=1, **typed)
    assert answer.status_code == 409 and "changed in another tab" in answer.text
    assert shelf.shoot(slug).version == 2
    assert all(f'value="{text}"' in answer.text for text in typed.values() if text in ("Mine", "17:10", "17:30"))


def test_a_shoot_is_deleted_by_typing_its_name(client):
    slug = kept(client)
    wrong = post(client, f"/shoots/{slug}/delete", version=1, confirm="Ilse")
    assert wrong.status_code == 422 and "Type the shoot" in wrong.context["form"].errors["confirm"]
    assert post(client, f"/shoots/{slug}/delete", version=1, confirm="Ilse and Bram").headers["location"] == "/shoots"
    assert client.get(f"/shoots/{slug}").status_code == 404


@pytest.mark.parametrize("address", ["/shoots/nobody", "/shoots/nobody/details", "/shoots/nobody/season/2027", "/api/shoots/nobody"])
def test_an_unknown_shoot_is_not_found(client, address):
    answer = client.get(address)
    assert answer.status_code == 404 and "There is no shoot" in answer.text


def test_an_unknown_wish_is_not_found(client):
    assert client.get(f"/shoots/{kept(client)}/wishes/nothing").status_code == 404


# Details


def test_details_come_back_as_they_were_typed(client, shelf):
    slug = kept(client)
    address = f"/shoots/{slug}/details"
    typed = form_of(client, address) | {
        "free-0-from": "16:30", "free-0-to": "18:00", "free-1-from": "18:20", "free-1-to": "00:30", "people": "Ilse\n\nBram ",
        "meeting": "The gate", "meeting_pin": "54.5699, -3.13", "exact": "yes", "pace_m_s": "0,9", "blocked": "2027-09-25\n2027-10-02",
        "walk-0-one": f"{MERROW}/{JETTY}", "walk-0-other": "meeting", "walk-0-minutes": "9", "walk-0-why": "stairs", "wear": "Coats",
        "turn-0-trigger": "A shower", "turn-0-instead": "We wait", "contact_name": "Orla", "phone": "07700 900147", "crew": "Jun, lights",
    }  # fmt: skip
    assert post(client, address, **typed).status_code == 303
    opened = shelf.shoot(slug)
    whole, telling = opened.whole, opened.telling
    assert [one.ends_utc_s - one.starts_utc_s for one in whole.free] == [90 * 60, 370 * 60]
    assert (whole.people, whole.meeting.words, whole.meeting.pin.lat_deg, whole.pace_m_s) == (("Ilse", "Bram"), "The gate", 54.5699, 0.9)
    assert whole.blocked == (date(2027, 9, 25), date(2027, 10, 2)) and whole.walks[0].minutes == 9
    assert (telling.turns, telling.name, telling.crew, telling.exact) == ((("A shower", "We wait"),), "Orla", ("Jun, lights",), True)
    assert post(client, address, **form_of(client, address)).status_code == 303
    assert (shelf.shoot(slug).whole, shelf.shoot(slug).telling) == (whole, telling)


def test_free_time_after_midnight_comes_back_as_it_was(client, shelf):
    night = replace(THREE, day=date(2027, 6, 21), free=(read_free("Europe/London", date(2027, 6, 21), "23:00", "00:40"), read_free("Europe/London", date(2027, 6, 21), "01:00 the day after", "02:00 the day after")))
    slug = kept(client, night)
    address = f"/shoots/{slug}/details"
    typed = form_of(client, address)
    assert [typed[f"free-{n}-{what}"] for n in (0, 1) for what in ("from", "to")] == ["23:00", "00:40", "01:00 the day after", "02:00 the day after"]
    assert post(client, address, **typed).status_code == 303
    assert shelf.shoot(slug).whole.free == night.free


def test_a_new_date_takes_times_along_by_the_clock_even_when_the_clocks_change(client, shelf):
    """London's clocks go back on 31 October 2027: 16:00 is 15:00 UTC on the 18th of September and 16:00 UTC on the 31st."""
    fixed = replace(THREE, wishes=(replace(THREE.wishes[0], fixed_start_utc_s=read_instant("Europe/London", DAY, "18:20")), *THREE.wishes[1:]))
    slug = kept(client, fixed)
    address = f"/shoots/{slug}/details"
    assert post(client, address, **form_of(client, address) | {"date": "2027-10-31"}).status_code == 303
    whole = shelf.shoot(slug).whole
    assert whole.free[0].starts_utc_s % 86_400 == 16 * 3600 and fixed.free[0].starts_utc_s % 86_400 == 15 * 3600
    assert whole.wish(JETTY).fixed_start_utc_s % 86_400 == (18 * 60 + 20) * 60


@pytest.mark.parametrize(
    ("field", "text", "words"),
    [
        ("free-0-from", "soon", "A time looks like 18:40"), ("free-0-to", "", "Type a time"), ("time_zone", "Mars/Base", "no time zone"), ("blocked", "2027-09-25 x", "A date looks like"),
        ("meeting_pin", "there", "“there”"), ("pace_m_s", "9", "between 0.2 and 3"), ("walk-0-minutes", "x", "is a number"), ("name", "", "needs a name"),
    ],
)  # fmt: skip
def test_details_that_cannot_be_kept_say_why_and_stay_typed(client, shelf, field, text, words):
    slug = kept(client)
    before, address = shelf.shoot(slug), f"/shoots/{slug}/details"
    answer = post(client, address, **form_of(client, address) | {field: text})
    assert answer.status_code == 422 and words in answer.context["form"].errors[field]
    assert shelf.shoot(slug) is before


def test_stretches_that_overlap_are_told(client):
    address = f"/shoots/{kept(client)}/details"
    answer = post(client, address, **form_of(client, address) | {"free-1-from": "19:00", "free-1-to": "21:00"})
    assert answer.status_code == 422 and "do not overlap" in answer.text


# Clashes, too many, two sites


def test_musts_that_clash_are_told_with_what_would_mend_it(client, shelf):
    same = merrow(*(wish(JETTY, id=one, must=True, looks=("backlit",), shortest_min=200, ideal_min=200) for one in ("a", "b")))
    page = client.get(f"/shoots/{kept(client, same)}")
    clash = page.context["opened"].order.clash
    assert clash.ids == ("a", "b") and page.context["lines"] == ()
    for words in (clash.words, *clash.mends):
        assert words in html.unescape(page.text)


def test_an_evening_that_is_too_full_offers_to_split_and_keeps_the_parts(client, shelf):
    many = merrow(*(wish(setup, id=f"{setup}-{n}", shortest_min=5, ideal_min=6) for setup in (JETTY, DOORS, MEADOW) for n in range(6)))
    slug = kept(client, many)
    page = client.get(f"/shoots/{slug}")
    assert "18" in page.text and "Too many for one running order" in page.text
    assert post(client, f"/shoots/{slug}/parts").headers["location"] == "/shoots"
    parts = [one for one in shelf.shoots() if one.slug != slug]
    assert sorted(wish.id for one in parts for wish in one.whole.wishes) == sorted(wish.id for wish in many.wishes)
    assert all(one.order.plan for one in parts) and shelf.shoot(slug).whole.wishes == many.wishes
    post(client, f"/shoots/{slug}/parts")  # pressed twice
    assert len(list(shelf.shoots())) == len(parts) + 1


def test_forty_setups_have_a_page(client):
    many = merrow(*(wish((JETTY, DOORS, MEADOW)[n % 3], id=f"w{n}", shortest_min=5, ideal_min=6) for n in range(40)))
    page = client.get(f"/shoots/{kept(client, many)}")
    assert page.status_code == 200 and len(page.context["page"].parts) >= 3


def test_two_sites_in_two_time_zones_tell_both_clocks(client, shelf):
    wall = "setup-red-boathouse-wall"
    two = merrow(wish(DOORS), Wish("quay", QUAY, wall, must=True), free=((time(9), time(23, 30)),), walks=(Walk(f"{MERROW}/{DOORS}", f"{QUAY}/{wall}", 60),))
    slug = kept(client, two)
    page = client.get(f"/shoots/{slug}")
    assert page.status_code == 200
    assert "at the site" in page.text and "Ternevåg quay" in page.text


def test_a_setup_that_is_gone_is_told_and_the_rest_is_planned(client, shelf):
    slug = kept(client, replace(THREE, wishes=(*THREE.wishes, Wish("lost", "sold-barn", "loft", "The loft"))))
    page = client.get(f"/shoots/{slug}")
    assert "“The loft” is not planned: its site is not kept here any more" in page.text and page.context["lines"]
    assert client.get(f"/shoots/{slug}/wishes/lost").status_code == 200


def test_a_couple_free_only_before_sunset_gets_an_order_that_ends_before(client, shelf):
    early = replace(THREE, free=(free_between("Europe/London", DAY, time(15), time(18)),), wishes=tuple(replace(one, must=False) for one in THREE.wishes))
    opened = shelf.shoot(kept(client, early))
    assert opened.order.plan.slots and max(slot.ends_utc_s for slot in opened.order.plan.slots) <= early.free[0].ends_utc_s


def test_without_any_free_time_the_whole_day_counts_and_the_drawing_shows_the_light(client, shelf):
    opened = shelf.shoot(kept(client, replace(THREE, free=())))
    drawn = draw_order(opened, "desk")
    assert opened.order.plan.slots and len(drawn.ticks) <= 13
    assert client.get(f"/shoots/{opened.slug}").status_code == 200


def test_names_in_any_script_are_text(client):
    slug = kept(client, replace(THREE, name="<script>alert(1)</script> ليلى", people=("ליאת", "<i>Bo</i>")))
    text = client.get(f"/shoots/{slug}").text
    assert "<script>alert" not in text and "&lt;script&gt;" in text and "ליאת, &lt;i&gt;Bo" in text


# Solving again, the season, the answers


def test_solving_again_from_now_keeps_what_can_stay_and_fixes_it(client, shelf):
    slug = kept(client)
    plan = shelf.shoot(slug).order.plan
    first = plan.slots[0].wish_id
    asked = {"at": "17:00", f"state-{first}": "skipped"}
    page = client.get(f"/shoots/{slug}/again", params=asked)
    proposal = page.context["proposal"]
    assert [row.what for row in proposal.rows if row.wish_id == first] == ["skipped"]
    assert post(client, f"/shoots/{slug}/again", version=1, **asked).status_code == 303
    again = shelf.shoot(slug)
    assert again.aside == (first,)
    assert [(slot.wish_id, slot.starts_utc_s) for slot in again.order.plan.slots] == [(slot.wish_id, slot.starts_utc_s) for slot in proposal.changed.plan.slots]


def test_what_is_done_stays_on_the_list(client, shelf):
    slug = kept(client)
    plan = shelf.shoot(slug).order.plan
    done = plan.slots[0]
    at = local_time(done.ends_utc_s, "Europe/London")
    asked = {"at": f"{at:%H:%M}", f"state-{done.wish_id}": "done"}
    assert post(client, f"/shoots/{slug}/again", version=1, **asked).status_code == 303
    again = shelf.shoot(slug).order.plan
    assert again.slots[0].wish_id == done.wish_id and again.slots[0].starts_utc_s == done.starts_utc_s


def test_solving_again_after_the_people_left_is_told(client):
    answer = client.get(f"/shoots/{kept(client)}/again", params={"at": "21:00"})
    assert answer.status_code == 422 and "time is over" in answer.text


@pytest.mark.parametrize("at", ["", "later"])
def test_solving_again_from_no_time_is_told(client, at):
    answer = client.get(f"/shoots/{kept(client)}/again", params={"at": at})
    assert answer.status_code == 422 and answer.context["form"].errors["at"] and answer.context["proposal"] is None


def test_the_season_rings_dates_on_which_every_must_fits(client):
    slug = kept(client, replace(THREE, blocked=(date(2027, 9, 25),)))
    page = client.get(f"/shoots/{slug}/season/2027")
    drawn = {mark.day: mark for mark in page.context["drawing"].marks}
    assert len(drawn) == 365 and drawn[DAY].fits and drawn[DAY].weekend and drawn[DAY].chosen and not drawn[date(2027, 12, 20)].fits
    assert drawn[date(2027, 9, 25)].blocked and "Sat 25 Sep, blocked, weekend" in page.text
    told = {one.day for month in page.context["months"] for one in month.days}
    assert told == {day for day, mark in drawn.items() if mark.fits}
    assert 'value="2027-09-19"' in page.text and 'value="2027-09-25"' not in page.text


def test_the_season_of_a_shoot_without_musts_rings_nothing_and_says_so(client):
    free = replace(THREE, wishes=tuple(replace(one, must=False) for one in THREE.wishes))
    page = client.get(f"/shoots/{kept(client, free)}/season/2027")
    assert not any(mark.fits for mark in page.context["drawing"].marks) and "No setup is a must" in page.text


def test_the_season_takes_other_hours_and_tells_bad_ones(client):
    slug = kept(client)
    early = client.get(f"/shoots/{slug}/season/2027", params={"from": "09:00", "to": "11:00"})
    assert early.context["page"].count == 0
    assert client.get(f"/shoots/{slug}/season/2027", params={"from": "x"}).status_code == 422
    assert client.get(f"/shoots/{slug}/season/1890").status_code == 422


def test_the_season_of_an_empty_shoot_says_so(client):
    assert "any date will do" in client.get(f"/shoots/{kept(client, merrow())}/season/2027").text


def test_the_answer_tells_the_same_order(client, shelf):
    slug = kept(client)
    answer, plan = client.get(f"/api/shoots/{slug}").json(), shelf.shoot(slug).order.plan
    assert [slot["id"] for slot in answer["slots"]] == list(plan.order)
    assert [datetime.fromisoformat(slot["starts"]).timestamp() for slot in answer["slots"]] == [slot.starts_utc_s for slot in plan.slots]
    assert answer["worth_percent"] == pytest.approx(100 * plan.score / plan.best_score, abs=0.01)
    lines = "\n".join(order_lines(answer))
    assert all(slot["name"] in lines and slot["slack"] in lines for slot in answer["slots"])


def test_the_answer_tells_a_clash_and_an_empty_shoot(client):
    same = merrow(*(wish(JETTY, id=one, must=True, looks=("backlit",), shortest_min=200, ideal_min=200) for one in ("a", "b")))
    answer = client.get(f"/api/shoots/{kept(client, same)}").json()
    assert answer["clash"]["ids"] == ["a", "b"] and answer["clash"]["words"] in "\n".join(order_lines(answer))
    assert "No setup is wished for yet." in "\n".join(order_lines(client.get(f"/api/shoots/{kept(client, merrow())}").json()))


def test_twelve_setups_are_put_in_order_in_half_a_second(client, shelf):
    """The limit is the product's own promise, on a machine of two cores; about a third of it is needed."""
    looks = ("backlit", "hidden sun", "afterglow", "open shade")
    slug = kept(client, merrow(*(wish(setup, id=f"{setup}-{look}", looks=(look,), shortest_min=8) for setup in (JETTY, DOORS, MEADOW) for look in looks)))
    opened = shelf.shoot(slug)
    assert opened.scenes
    began = perf_counter()
    assert opened.order.plan
    assert perf_counter() - began < 0.5


def test_every_owner_page_of_a_shoot_is_valid_html(client):
    slug = kept(client)
    for address in ("", "/details", f"/wishes/{DOORS}", "/wishes/new", "/again", "/season/2027"):
        parser = html5lib.HTMLParser(strict=True)
        parser.parse(client.get(f"/shoots/{slug}{address}").text)
    html5lib.HTMLParser(strict=True).parse(client.get("/shoots").text)


def test_the_demo_shoot_is_loaded_once_and_has_an_order(tmp_path):
    with Store(tmp_path / "demo.sqlite") as store:
        load_demo_sites(store)
        (one,) = store.shoots.all()
        opened = ShootShelf(store).shoot(one.slug)
        assert opened.order.plan and len(opened.order.plan.slots) == len(opened.whole.wishes) and not opened.gone
        store.shoots.delete(one.slug)
        load_demo_sites(store)
        assert store.shoots.all() == ()


def test_the_command_tells_the_order(tmp_path, capsys):
    with Store(tmp_path / "westering.sqlite") as store:
        load_demo_sites(store)
    assert main(["order", "ilse-and-bram", "--data", str(tmp_path)]) == 0
    assert "Ilse and Bram, Sat 18 September 2027" in capsys.readouterr().out
    assert main(["order", "nobody", "--data", str(tmp_path)]) == 2
    assert "There is no shoot" in capsys.readouterr().err


def test_a_changed_kit_is_noticed(client, shelf):
    """Looks ask what the lens and the camera can hold, so a slow lens ends them sooner."""
    slug = kept(client)
    first = shelf.shoot(slug)
    slow = {"cameras": [{"name": "Old", "highest_iso": 400}], "lenses": [{"name": "Slow", "shortest_mm": 24, "longest_mm": 105, "widest_f_number": 8.0}]}
    client.app.state.store.save_setting("kit", kit_document(kit_from(slow)))
    again = shelf.shoot(slug)
    assert again is not first and again.sites[MERROW].kit != first.sites[MERROW].kit


def test_a_setup_with_a_look_nobody_knows_leaves_the_rest_planned(client, shelf):
    slug, store = kept(client), client.app.state.store
    site = store.site(MERROW)
    odd = [one | {"properties": one["properties"] | {"looks": ["moonlit"]}} if one.get("id") == MEADOW else one for one in site.document["features"]]
    store.save_site(MERROW, site.document | {"features": odd}, site.version)
    page = client.get(f"/shoots/{slug}")
    assert page.status_code == 200 and "its looks cannot be read" in page.text and "moonlit" in page.text
    assert JETTY in page.context["opened"].order.plan.order and page.context["opened"].standbys
