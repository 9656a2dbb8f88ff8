"""A shoot's running order: its slots, what was left out, and what to do when something fails."""

from collections.abc import Iterator
from datetime import date
from typing import Any

from app.shoot.standby import NoStandby
from app.web.answers.times import iso_local
from app.web.orders import SlotLine, shoot_page
from app.web.shoots import OpenShoot

Answer = dict[str, Any]


def order_answer(opened: OpenShoot) -> Answer:
    """Return the running order with its reasons; ``slots`` is empty where ``clash`` or ``parts`` say why."""
    page, order = shoot_page(opened), opened.order
    return {
        "shoot": opened.slug,
        "name": opened.whole.name,
        "date": opened.whole.day.isoformat(),
        "time_zone": opened.whole.zone,
        "worth_percent": round(100 * order.plan.score / order.plan.best_score, 2) if order.plan and order.plan.best_score else None,
        "slots": [_slot(line, opened.whole.zone) for line in page.lines],
        "left_out": [
            {"id": one.wish.id, "name": one.called, "must": one.wish.must, "why": one.words, "windows": one.windows} for one in page.unplanned
        ],
        "put_aside": list(opened.aside),
        "gone": [wish.id for wish in opened.gone],
        "warnings": list(order.reasons.warnings) if order.reasons else [],
        "clash": order.clash and {"ids": list(order.clash.ids), "words": order.clash.words, "mends": list(order.clash.mends)},
        "parts": [
            {"ids": list(part.ids), "from": iso_local(part.starts_utc_s, opened.whole.zone), "to": iso_local(part.ends_utc_s, opened.whole.zone)}
            for part in order.parts
        ],
    }


def order_lines(answer: Answer) -> Iterator[str]:
    """Yield the running order as lines to read."""
    day = date.fromisoformat(answer["date"])
    yield f"{answer['name']}, {day:%a} {day.day} {day:%B %Y}, by the clocks of {answer['time_zone']}"
    for slot in answer["slots"]:
        yield f"{slot['number']}. {slot['words']}  {slot['name']}, {slot['site_name']}{' (fixed)' if slot['fixed'] else ''}"
        yield f"   Walk: {slot['walk']}. Gets {slot['light_percent']}\N{NO-BREAK SPACE}% of its light. {slot['slack']}"
        yield from (f"   {standby['words']}" for standby in slot["standbys"])
    yield from _rest(answer)


def _rest(answer: Answer) -> Iterator[str]:
    """Yield what is not in the order, and why there is none."""
    if answer["clash"]:
        yield answer["clash"]["words"]
        yield from (f"Would mend it: {mend}" for mend in answer["clash"]["mends"])
    for number, part in enumerate(answer["parts"], 1):
        yield f"Too many for one order; part {number}: {', '.join(part['ids'])}."
    for one in answer["left_out"]:
        yield f"Not planned: {one['name']}. {one['why'] or 'Windows: ' + one['windows'] + '.'}"
    yield from answer["warnings"]
    if not (answer["slots"] or answer["left_out"]):
        yield "No setup is wished for yet."


def _slot(line: SlotLine, zone: str) -> Answer:
    return {
        "number": line.number,
        "id": line.wish.id,
        "name": line.called,
        "site": line.wish.site,
        "site_name": line.site,
        "setup": line.wish.setup,
        "starts": iso_local(line.slot.starts_utc_s, zone),
        "ends": iso_local(line.slot.ends_utc_s, zone),
        "words": line.span,
        "fixed": line.wish.fixed_start_utc_s is not None,
        "must": line.wish.must,
        "light_percent": line.percent,
        "looks": [name for name, _, _ in line.looks],
        "walk_min": line.leg.minutes,
        "walk": line.leg.words,
        "slack": line.slack,
        "why": line.why,
        "standbys": [_standby(one) for one in line.standbys],
    }


def _standby(one: Any) -> Answer:
    if isinstance(one, NoStandby):
        return {"trouble": one.trouble, "trigger": one.trigger, "setup": None, "words": one.words}
    return {"trouble": one.trouble, "trigger": one.trigger, "setup": one.spot, "look": one.look, "costs_min": one.cost_min, "words": one.words}
