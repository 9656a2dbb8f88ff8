"""The morning check over hand-made days: each verdict, and the margin that decides it."""

from dataclasses import replace

import pytest

from app.light.kit import DEMO_KIT, Kit
from app.looks.light_plan import light_plan
from app.picture.forecast import HOUR_S, Hour
from app.shoot.morning import CHANGE, HOLDS, STANDBY, UNKNOWN
from app.shoot.morning_again import revised
from app.shoot.morning_light import SlotPlan, slot_light
from app.shoot.morning_record import changed_since, record_of
from app.shoot.morning_sun import edge_deg, low_sun
from app.shoot.morning_weather import SiteWeather, station_hpa
from app.sky.track import Observer
from tests.shoot.days import NOON, checked, day, forecast, pond, seen
from tests.shoot.evenings import LAT, LON, ZONE, scene, shoot, wish
from tests.shoot.test_standby import closed_in, shade

GATE = {"gate": scene("gate", 258)}


def one_slot(weather, **more):
    check, _, _ = checked(GATE, [wish("gate")], weather, **more)
    return check.slots[0]


def test_a_clear_calm_evening_stands():
    slot = one_slot(day())
    assert slot.verdict == HOLDS and slot.margins and not slot.changes
    assert "cloud 2 of 8 (low 0 of 8, middle 0 of 8, high 2 of 8)" in slot.weather and "10 °C" in slot.weather


def test_nothing_known_is_not_called_good():
    slot = one_slot(SiteWeather())
    assert slot.verdict == UNKNOWN and slot.weather == "not known" and "by the sun alone" in slot.reason


def test_wind_alone_says_nothing_of_the_sun():
    slot = one_slot(SiteWeather(seen=seen(force=2)))
    assert slot.verdict == UNKNOWN and slot.reason.startswith("Cloud is not known, and this look depends on it")


@pytest.mark.parametrize(("low", "verdict"), [(0.0, HOLDS), (0.4, HOLDS), (0.5, CHANGE), (0.7, CHANGE), (0.8, STANDBY), (1.0, STANDBY)])
def test_low_cloud_takes_the_sun_step_by_step(low, verdict):
    """By hand: the margin is 1 - low / 0.75, tight under 0.4, that is from 0.45."""
    slot = one_slot(day(cloud=low, low=low, high=0.0))
    assert slot.verdict == verdict
    assert slot.margins[0].value == pytest.approx(max(-1.0, 1 - low / 0.75) if low > 0.01 else 1.0)


def test_a_sheet_of_high_cloud_alone_lets_half_the_sun_by():
    """By hand: half of 8 of 8 is 0.5, and 1 - 0.5 / 0.75 is 1/3."""
    slot = one_slot(day(cloud=1.0, high=1.0))
    assert slot.verdict == CHANGE and slot.margins[0].value == pytest.approx(1 / 3)
    assert "Wait for a gap" in slot.changes[0]


def test_cloud_that_comes_later_is_told_with_its_time():
    check, order, _ = checked(GATE, [wish("gate", shortest_min=40, ideal_min=60)], day({hour: {"low": 1.0, "cloud": 1.0} for hour in range(5, 12)}))
    slot = check.slots[0]
    assert slot.verdict == STANDBY and slot.reason.startswith("“The sun through the cloud” fails from 17:")
    failing = slot.margins[0].utc_s
    assert slot.starts_utc_s < failing < slot.ends_utc_s and "low cloud 6 of 8" in slot.reason and "at worst low cloud 8 of 8" in slot.reason


def test_cloud_sends_the_slot_to_the_shade_that_survives_it():
    slot = one_slot(day(low=1.0, cloud=1.0), extra={"wall": shade()})
    assert slot.standby and slot.standby.spot == "meadow/wall" and slot.standby.look == "open shade"
    assert "Go to “Wall” for open shade; it costs 2 min of the slot and holds in this weather " in slot.changes[0]


def test_a_standby_that_would_get_rained_on_is_none():
    slot = one_slot(day(low=1.0, cloud=1.0, rain_mm_h=2.0), extra={"wall": shade()})
    assert slot.verdict == STANDBY and slot.standby is None and "all those near by fail too" in slot.changes[0]
    assert any(margin.name == "dry" and margin.fails for margin in slot.margins)


def test_no_standby_near_is_said():
    slot = one_slot(day(low=1.0, cloud=1.0), extra={"court": closed_in("court")})
    assert slot.standby is None and slot.changes[0].startswith("No standby survives")


def test_still_water_fails_with_the_wind_and_says_how_strong():
    check, *_ = checked({"pond": pond()}, [wish("pond")], day(wind_m_s=4.0, gust_m_s=7.0))
    slot = check.slots[0]
    assert slot.verdict == STANDBY and slot.reason.startswith("“Water still” fails from ") and ": wind 4.0 m/s, gusts 7.0 m/s (" in slot.reason


def test_water_that_was_seen_still_wins_over_the_forecast_wind():
    check, *_ = checked({"pond": pond()}, [wish("pond")], day(seen=seen(water="still"), wind_m_s=4.0, gust_m_s=4.0))
    assert check.slots[0].verdict != STANDBY
    check, *_ = checked({"pond": pond()}, [wish("pond")], day(seen=seen(water="ruffled")))
    assert check.slots[0].verdict == STANDBY and "the water was seen ruffled" in check.slots[0].reason


def test_what_was_seen_wins_all_day_and_a_report_for_an_hour_and_a_half():
    forecast_day = forecast(low=1.0, cloud=1.0)
    assert SiteWeather(forecast_day, seen=seen(cloud_oktas=0)).at(NOON + 6 * HOUR_S).low == 0.0
    reported = SiteWeather(forecast_day, report=Hour(NOON, cloud=0.0, low=0.0))
    assert reported.at(NOON + 1.4 * HOUR_S).cloud == 0.0 and reported.at(NOON + 1.6 * HOUR_S).cloud == 1.0


def test_an_airfield_fills_in_what_the_forecast_leaves_out():
    bare = forecast(wind_m_s=None, gust_m_s=None)
    weather = SiteWeather(bare, airfield=forecast(wind_m_s=6.0, cloud=1.0))
    assert weather.at(NOON).wind_m_s == 6.0 and weather.at(NOON).cloud == 0.25


def test_gusts_ask_for_a_change_where_there_are_stands_and_not_elsewhere():
    kit, gusty = DEMO_KIT, day(gust_m_s=9.0, wind_m_s=5.0)
    lit = scene("gate", 258, lights=({"flash": kit.flashes[0].name, "pin": [LON, LAT - 0.00003], "height_m": 2.0},))
    check, *_ = checked({"gate": lit}, [wish("gate")], gusty, lights={"gate": SlotPlan(light_plan(lit.setup, kit), 3.0)})
    slot = check.slots[0]
    assert slot.verdict == CHANGE and "Light stands safe" in slot.reason and any("off its stand" in words for words in slot.changes)
    assert any("softboxes" in words for words in check.bring)
    assert one_slot(gusty).verdict == HOLDS


def test_an_overcast_sky_gives_two_stops_less():
    """Kasten & Czeplak (1980): an overcast sky leaves a quarter, two stops."""
    plan = SlotPlan(light_plan(GATE["gate"].setup, Kit()), 3.0)
    slot = one_slot(day(cloud=1.0, high=1.0), lights={"gate": plan})
    assert slot.light.left == pytest.approx(0.25) and "25\N{NO-BREAK SPACE}% of the light on level ground, 2 stops less" in slot.light.cloud
    assert slot.light.settings != slot.light.clear_settings and "under a clear sky" in slot.light.words


def test_a_kit_that_cannot_be_used_is_told_and_costs_no_verdict():
    slot = one_slot(day(), lights={"gate": SlotPlan(None, 3.0, "No flash of that name.")})
    assert slot.verdict == HOLDS and slot.light is None and slot.light_trouble == "No flash of that name."


def test_the_pressure_at_a_height_is_the_standard_ratio():
    """ISO 2533:1975: 898.75 hPa at 1000 m where sea level has 1013.25."""
    assert station_hpa(1013.25, 1000.0) == pytest.approx(898.75, abs=0.02)
    assert station_hpa(1030.0, 0.0) == pytest.approx(1030.0)


def test_the_horizon_lifts_by_34_minutes_in_standard_air():
    """Meeus, ch. 15: 34′ at the horizon; Sæmundsson's fit is good to 0.1′ of its own, Bennett's 34.5′ there."""
    assert edge_deg(1010.0, 10.0) * 60 == pytest.approx(-34.0, abs=1.0)


def test_cold_heavy_air_sets_the_sun_later_and_says_by_how_much():
    start = shoot().open_time[0].starts_utc_s
    observer = Observer(LAT, LON)
    warm = low_sun(observer, start, start + 6 * HOUR_S, "evening", day(temperature_c=30.0, sea_pressure_hpa=990.0))
    cold = low_sun(observer, start, start + 6 * HOUR_S, "evening", day(temperature_c=-10.0, sea_pressure_hpa=1040.0))
    assert warm.later_s < 0 < cold.later_s < 60 and cold.utc_s > warm.utc_s
    assert "1040 hPa at the site, -10 °C, cloud 2 of 8" in cold.words and "later than in standard air" in cold.words


def test_no_sunset_in_the_polar_day():
    assert low_sun(Observer(75.0, 20.0), 1_813_000_000.0, 1_813_000_000.0 + 86_400, "evening", SiteWeather()) is None


def test_what_changed_since_the_last_check_is_told():
    before, *_ = checked(GATE, [wish("gate")], day())
    after, *_ = checked(GATE, [wish("gate")], day(low=1.0, cloud=1.0))
    (told,) = changed_since(record_of(before), record_of(after), ZONE)
    assert told.startswith("“Gate”: “stands” has become “use the standby”.") and "fails" in told
    assert changed_since(record_of(before), record_of(before), ZONE) == ()


def test_solving_again_puts_the_standby_in_the_slot_and_leaves_the_rest():
    scenes = {"gate": scene("gate", 258), "oak": scene("oak", 240, ("open shade",), 30.0, skyline=shade().skyline)}
    wishes = [wish("gate"), wish("oak")]
    weather = day(low=1.0, cloud=1.0)
    check, order, candidates = checked(scenes, wishes, weather, extra={"wall": shade()})
    new = revised(order.shoot, order.plan, order.light, check, candidates, {"meadow": weather})
    assert new.swapped == ("gate",) and not new.same
    stood_in = new.shoot.wish("gate")
    assert (stood_in.setup, stood_in.looks) == (check.slots[0 if check.slots[0].wish_id == "gate" else 1].standby.spot.split("/")[1], ("open shade",))
    assert "oak" in new.changed.plan.order and new.changed.largest_shift_min <= 30


def test_solving_again_on_a_fine_day_changes_nothing():
    weather = day(high=0.0, cloud=0.0)
    check, order, candidates = checked(GATE, [wish("gate")], weather)
    assert revised(order.shoot, order.plan, order.light, check, candidates, {"meadow": weather}).same


def test_a_slot_moves_to_where_the_cloud_opens():
    """Overcast until 18:00 UTC, clear from then: the slot goes from before to after, as far as its window lasts."""
    long = {"gate": scene("gate", 258, ({"look": "backlit", "tolerance_deg": 60},))}
    cloud = {hour: {"low": 1.0, "cloud": 1.0} for hour in range(0, 6)} | {hour: {"low": 0.0, "cloud": 0.0, "high": 0.0} for hour in range(6, 12)}
    weather = day(cloud)
    fixed = wish("gate", shortest_min=10, ideal_min=20)
    check, order, candidates = checked(long, [fixed], weather, free=None)
    new = revised(order.shoot, order.plan, order.light, check, candidates, {"meadow": weather})
    (slot,) = new.changed.plan.slots
    assert slot.starts_utc_s >= NOON + 5.5 * HOUR_S


def test_a_must_without_light_is_not_held_to_and_is_named():
    weather = day(low=1.0, cloud=1.0, rain_mm_h=3.0)
    check, order, candidates = checked(GATE, [wish("gate", must=True)], weather)
    new = revised(order.shoot, order.plan, order.light, check, candidates, {"meadow": weather})
    assert new.hopeless == ("gate",) and new.changed.dropped == ("gate",)


def lit_gate():
    """The gate with a small flash beside the camera, and its plan; exposed so that the sky stays a stop down."""
    told = {"flash": "Clip-on flash", "pin": [LON - 0.00003, LAT + 0.00001], "height_m": 2.0}
    lit = scene("gate", 258, lights=(told,), exposure={"intent": "sky-down-1", "f_number": 2.8})
    return lit, SlotPlan(light_plan(lit.setup, DEMO_KIT), 3.0)


def test_the_flash_is_told_anew_under_cloud_beside_what_a_clear_sky_asks_for():
    lit, plan = lit_gate()
    check, *_ = checked({"gate": lit}, [wish("gate")], day(cloud=1.0, high=1.0), lights={"gate": plan})
    light = check.slots[0].light
    assert light.flash and light.clear_flash and (light.settings, light.flash) != (light.clear_settings, light.clear_flash)
    assert f"flash {light.flash} (under a clear sky " in light.words
    assert any("weight for every light stand" in words for words in check.bring)


def test_a_flash_that_falls_short_asks_for_a_change_and_for_no_standby():
    lit, plan = lit_gate()
    check, *_ = checked({"gate": lit}, [wish("gate")], day(cloud=0.0, high=0.0), lights={"gate": plan})
    slot = check.slots[0]
    short = [margin for margin in slot.margins if margin.name == "the flash keeps up"]
    assert short and short[0].fails and slot.verdict == CHANGE and "The flash keeps up" in slot.reason


def test_dusk_that_outruns_the_camera_is_told_with_what_is_set_then_and_from_when():
    """A dark sky, no ISO to spare: the lack is told at its worst with the settings of that moment, not the middle's."""
    gate = scene("gate", 258, ("afterglow",))
    able = light_plan(gate.setup, Kit())
    plan = SlotPlan(replace(able, limits=replace(able.limits, highest_iso=400.0)), 3.0)
    starts = NOON + 7.0 * HOUR_S
    found = slot_light(gate, plan, starts, starts + HOUR_S / 4, 1.0)
    assert found.dark.stops > 1 and "even at f/2.8, 1/125 s, ISO 400" in found.dark.words
    (margin,) = found.margins()
    assert starts <= margin.utc_s <= starts + HOUR_S / 4 and margin.told == found.dark.words


def test_a_standby_is_told_with_the_time_it_holds_in_this_weather():
    slot = one_slot(day(low=1.0, cloud=1.0), extra={"wall": shade()})
    begins, ends = slot.changes[0].rstrip(".").rsplit(" ", 1)[1].split("–")
    assert begins < ends and len(slot.changes) == 1


def test_a_lower_margin_that_asks_for_a_change_only_is_told_beside_the_one_that_decides():
    plan = SlotPlan(light_plan(GATE["gate"].setup, Kit()), 3.0)
    dark = replace(plan, plan=replace(plan.plan, limits=replace(plan.plan.limits, highest_iso=100.0, slowest_s=1 / 8000)))
    slot = one_slot(day(cloud=0.8, low=0.8), lights={"gate": dark})
    assert slot.verdict == STANDBY and slot.margins[0].soft
    assert slot.reason.startswith("“The sun through the cloud” fails") and slot.reason.endswith("but would ask for a change only.")


def test_nothing_known_anywhere_is_said_once():
    check, *_ = checked(GATE, [wish("gate")], SiteWeather())
    assert check.headline == "No slot is checked: the weather that they depend on is not known."


def test_a_name_that_holds_its_look_is_not_told_twice():
    slot = one_slot(day())
    assert slot.title == "Gate, backlit"
    assert replace(slot, called="At the gate, backlit").title == "At the gate, backlit"


@pytest.mark.parametrize(("gust_m_s", "words"), [(11.0, "(margin just under 0)"), (10.5, "(margin just over 0; 0 is the edge)")])
def test_a_margin_at_the_edge_says_on_which_side(gust_m_s, words):
    """A gust of 10.8 m/s, where hair and cloth give up, is the edge."""
    assert words in one_slot(day(wind_m_s=6.0, gust_m_s=gust_m_s)).reason
