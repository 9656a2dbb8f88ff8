"""Why a running order is as it is: each pair's order, what was left out, and how much may slip."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from app.looks.window import Window
from app.shoot.plan import Plan, Slot
from app.shoot.problem import Problem
from app.shoot.prospect import Prospect
from app.shoot.shoot import Shoot
from app.shoot.slack import Slack, slacks
from app.shoot.solve import Table, best_in_order
from app.shoot.words import called, clock_at, windows_said

AS_GOOD_PERCENT = 0.5  # costs below this are called none
POOR_VALUE = 0.25  # a slot below it is warned of; common practice, no source


@dataclass(frozen=True)
class Swap:
    """What two neighbours would cost the other way round, everything else in its order.

    ``cost_percent`` is the share of the whole order's score; None where it cannot be.
    """

    first_id: str
    second_id: str
    cost_percent: float | None
    words: str


@dataclass(frozen=True)
class LeftOut:
    """What a wish that is left out would cost to put in, and which slots it would push out.

    ``cost_percent`` is the share of the whole order's score; None where it cannot be.
    """

    wish_id: str
    cost_percent: float | None
    pushed_out: tuple[str, ...]
    words: str


@dataclass(frozen=True)
class Reasons:
    """All that is to be said about a running order; ``slack`` has its words in ``slack_words``, slot by slot.

    ``warnings`` tell of slots that get little of their light, or none.
    """

    swaps: tuple[Swap, ...]
    left_out: tuple[LeftOut, ...]
    slack: tuple[Slack, ...]
    slack_words: tuple[str, ...]
    warnings: tuple[str, ...]


def explain(shoot: Shoot, light: Sequence[Prospect], table: Table, plan: Plan) -> Reasons:
    """Return why a plan is as it is; ``table`` is what found it out."""
    offered = {one.wish.id: one for one in light}
    pairs = zip(plan.slots, plan.slots[1:], strict=False)
    slack = slacks(table.problem, plan)
    return Reasons(
        swaps=tuple(_swap(shoot, offered, table.problem, plan, *pair) for pair in pairs),
        left_out=tuple(_left_out(shoot, offered, table, plan, one) for one in plan.left_out),
        slack=slack,
        slack_words=tuple(_slack_words(offered, one) for one in slack),
        warnings=tuple(_warnings(shoot, offered, plan)),
    )


def _swap(shoot: Shoot, offered: dict[str, Prospect], problem: Problem, plan: Plan, first: Slot, second: Slot) -> Swap:
    pair = first.wish_id, second.wish_id
    one, other = (f"“{offered[wish_id].called}”" for wish_id in pair)
    if pair[0] in offered[pair[1]].wish.after:
        return Swap(*pair, None, f"{one} before {other}: you asked for that.")
    swapped = best_in_order(problem, _swapped(plan.order, *pair))
    if swapped is None:
        why = _why(shoot, offered, first, second, None)
        return Swap(*pair, None, f"{one} before {other}: the other way round is impossible. {why}")
    percent = _percent(plan.score - swapped.score, plan)
    if percent < AS_GOOD_PERCENT:
        return Swap(*pair, percent, f"{one} before {other}: the other way round would be as good.")
    why = _why(shoot, offered, first, second, swapped)
    return Swap(*pair, percent, f"{one} before {other}: the other way round would cost {percent:.0f} % of the order's worth. {why}")


def _warnings(shoot: Shoot, offered: dict[str, Prospect], plan: Plan) -> Iterator[str]:
    for slot in plan.slots:
        if slot.value < POOR_VALUE:
            one = offered[slot.wish_id]
            light = f"{100 * slot.value:.0f} % of the light it could have" if slot.value else "no light for its looks"
            yield f"“{one.called}” gets {light}; its windows: {windows_said(shoot, one)}."


def _swapped(order: tuple[str, ...], first: str, second: str) -> tuple[str, ...]:
    turned = {first: second, second: first}
    return tuple(turned.get(one, one) for one in order)


def _why(shoot: Shoot, offered: dict[str, Prospect], first: Slot, second: Slot, swapped: Plan | None) -> str:
    """Say who would lose most of the two, and what ends or begins its window; both windows where no plan is left."""
    closing, opening = _closing(shoot, offered[first.wish_id], first), _opening(shoot, offered[second.wish_id], second, first.starts_utc_s)
    if swapped is None:
        return f"{closing} {opening}".strip()
    losses = [slot.weight * (slot.value - swapped.slot(slot.wish_id).value) for slot in (first, second)]
    loser, window = (first, closing) if losses[0] >= losses[1] else (second, opening)
    if max(losses) <= 0:
        return "Others would lose their light."
    then, now = (f"{100 * slot.value:.0f} %" for slot in (swapped.slot(loser.wish_id), loser))
    return f"“{offered[loser.wish_id].called}” would get {then} of its light in place of {now}. {window}".strip()


def _closing(shoot: Shoot, one: Prospect, slot: Slot) -> str:
    window = max(_during(one, slot), key=lambda window: window.closes_utc_s, default=None)
    if window is None:
        return ""
    return f"“{one.called}” ends {clock_at(shoot, one, window.closes_utc_s)}: {window.closes_because}."


def _opening(shoot: Shoot, one: Prospect, slot: Slot, since_utc_s: float) -> str:
    """Say when a window opens, unless it was open all along since an instant: then that is no reason to wait."""
    window = min(_during(one, slot), key=lambda window: window.opens_utc_s, default=None)
    if window is None or window.opens_utc_s <= since_utc_s:
        return ""
    return f"“{one.called}” begins only {clock_at(shoot, one, window.opens_utc_s)}: {window.opens_because}."


def _during(one: Prospect, slot: Slot) -> list[Window]:
    return [window for _, window in one.windows if window.opens_utc_s < slot.ends_utc_s and window.closes_utc_s > slot.starts_utc_s]


def _left_out(shoot: Shoot, offered: dict[str, Prospect], table: Table, plan: Plan, wish_id: str) -> LeftOut:
    name = f"“{offered[wish_id].called}”"
    if not offered[wish_id].fit.any():
        return LeftOut(wish_id, None, (), f"{name} gets no light in the people's time: {windows_said(shoot, offered[wish_id])}.")
    put_in = table.best_plan([wish_id])
    if put_in is None:
        return LeftOut(wish_id, None, (), f"{name} cannot be had beside what must be.")
    pushed = tuple(one for one in plan.order if one not in put_in.order)
    percent = _percent(plan.score - put_in.score, plan)
    drops = f", and {called(offered.values(), pushed)} would drop out" if pushed else ""
    return LeftOut(wish_id, percent, pushed, f"Putting in {name} would cost {_cost(percent)}{drops}.")


def _cost(percent: float) -> str:
    return f"{percent:.0f} % of the order's worth" if percent >= AS_GOOD_PERCENT else "next to nothing"


def _percent(cost: float, plan: Plan) -> float:
    return 100 * cost / plan.score if plan.score else 0.0


def _slack_words(offered: dict[str, Prospect], slack: Slack) -> str:
    stopped = "it" if slack.stopped_by == slack.wish_id else f"“{offered[slack.stopped_by].called}”"
    loses = {
        "light": f"{stopped} loses a tenth of its light",
        "time": f"{stopped} runs out of the people's time",
        "fixed": f"{stopped} cannot begin as fixed",
    }[slack.why]
    over = f"run over by {slack.overrun_min} min at no cost to the rest"
    if not slack.later_min:
        may = f"May {over}, but not begin later" if slack.overrun_min else "May neither begin later nor run over"
        return f"{may}; begun later, {loses}."
    return f"May begin {slack.later_min} min later, {f'or {over}' if slack.overrun_min else 'but not run over'}; begun later still, {loses}."
