"""The log of the day: what counts, what clashes, and what is learnt from it."""

import math
from dataclasses import replace

import pytest

from app.shoot.log import (
    DONE,
    METER,
    NOTE,
    SKIP,
    STANDBY,
    START,
    UNDO,
    Happened,
    done_and_skipped,
    late_min,
    observed_pace,
    observed_stops,
    slot_log,
)
from app.shoot.order import running_order
from app.shoot.shoot import Walk
from tests.shoot.evenings import scene, shoot, wish

T0 = 1_821_283_200.0  # 18 September 2027, 16:00 UTC


def told(uid, kind, at_min, slot="oak", device="a", **more):
    return Happened(uid, slot, kind, T0 + 60 * at_min, more, device)


def test_a_slot_has_its_start_its_end_and_all_that_was_told():
    entries = [
        told("3", DONE, 18), told("1", START, 1), told("2", METER, 5, stops=-1.0),
        told("4", NOTE, 6, text="Gnats"), told("5", STANDBY, 9, name="Doors"), told("6", START, 30, slot="elm"),
    ]  # fmt: skip
    log = slot_log(entries, "oak")
    assert (log.started_utc_s, log.ended_utc_s, log.outcome) == (T0 + 60, T0 + 18 * 60, DONE)
    assert (log.standbys, log.readings_stops, log.notes, log.clashes) == (("Doors",), (-1.0,), ("Gnats",), ())


def test_nothing_told_is_an_empty_log():
    log = slot_log([], "oak")
    assert log.started_utc_s is None and log.outcome == "" and late_min(log, T0) is None


def test_what_is_taken_back_does_not_count():
    entries = [told("1", START, 0), told("2", DONE, 3), told("3", UNDO, 4, of="2")]
    assert slot_log(entries, "oak").outcome == START


def test_what_another_device_takes_back_before_it_is_known_does_not_count_either():
    assert slot_log([told("3", UNDO, 1, of="2"), told("2", DONE, 3)], "oak").outcome == ""


@pytest.mark.parametrize(("kinds", "words"), [((START, START), "Two devices started it"), ((DONE, SKIP), "done, another skipped")])
def test_two_devices_that_disagree_are_told_once(kinds, words):
    entries = [told(f"{device}{again}", kind, 1 + again, device=device) for device, kind in zip("ab", kinds, strict=True) for again in range(2)]
    assert len(slot_log(entries, "oak").clashes) == 1 and words in slot_log(entries, "oak").clashes[0]


def test_one_device_that_changes_its_mind_is_no_clash():
    log = slot_log([told("1", SKIP, 1), told("2", DONE, 9)], "oak")
    assert log.clashes == () and log.outcome == DONE


def test_late_is_counted_from_the_plan():
    assert late_min(slot_log([told("1", START, 7)], "oak"), T0) == 7
    assert late_min(slot_log([told("1", START, -2)], "oak"), T0) == -2


def test_done_comes_in_the_order_it_was_done():
    entries = [told("1", DONE, 9), told("2", DONE, 4, slot="elm"), told("3", SKIP, 5, slot="ash")]
    assert done_and_skipped(entries, ("oak", "elm", "ash", "yew")) == (("elm", "oak"), ("ash",))


def test_the_correction_is_the_median_in_thirds():
    logs = [slot_log([told(str(n), METER, n, stops=stops) for n, stops in enumerate([-1.0, -0.6, 4.0, "x", 9.0])], "oak")]
    assert observed_stops(logs) == pytest.approx(-2 / 3)  # of -1, -0.6 and 4; neither text nor nine stops is a reading
    assert observed_stops([]) is None


def test_a_reading_counts_what_was_corrected_already():
    """So that taking the correction twice does not add it twice."""
    assert observed_stops([slot_log([told("1", METER, 1, stops=0.0, base_stops=-1.0)], "oak")]) == -1.0


def evening(**terms):
    wishes = (wish("oak", shortest_min=10), wish("elm", shortest_min=10, **terms))
    scenes = {"oak": scene("oak"), "elm": scene("elm", east_m=180.0)}
    return running_order(shoot(*wishes), scenes)


def walk(took_min):
    return [told("1", START, 0), told("2", DONE, 10), told("3", START, 10 + took_min, slot="elm")]


def test_the_pace_is_the_way_over_the_time_between():
    """180 m east in 3 min is 1.0 m/s; the plan's metres come within 1 in 1000 of it."""
    pace = observed_pace(evening(), walk(3))
    assert math.isclose(pace.m_s, 1.0, abs_tol=0.01) and pace.ways == 1


def test_changing_clothes_is_no_walking():
    assert observed_pace(evening(change_before_min=5), walk(8)).m_s == pytest.approx(1.0, abs=0.01)


@pytest.mark.parametrize("took_min", [0, -3, 0.5, 40])
def test_a_pace_nobody_walks_is_not_learnt(took_min):
    assert observed_pace(evening(), walk(took_min)) is None


def test_a_typed_walk_tells_no_pace():
    order = evening()
    typed = replace(order, shoot=replace(order.shoot, walks=(Walk("meadow/oak", "meadow/elm", 3),)))
    assert observed_pace(order, walk(3)) is not None and observed_pace(typed, walk(3)) is None


def test_a_way_by_the_standby_tells_nothing():
    assert observed_pace(evening(), [*walk(3), told("9", STANDBY, 2, name="Doors")]) is None
