"""The rest of an evening solved again from an instant, beside what people know: what stays, moves, drops out or comes."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from app.shoot.again import Changed, from_now, least_change
from app.shoot.conflicts import Clash, clash_of
from app.shoot.plan import Plan, Slot
from app.shoot.shoot import Shoot
from app.shoot.words import span
from app.web.shoots import OpenShoot, holding

DONE, SKIPPED, LEFT = "done", "skipped", "left"


@dataclass(frozen=True)
class OldAndNew:
    """One wish: when it was to be, when it is to be now, and what became of it."""

    wish_id: str
    called: str
    old: str
    new: str
    what: str


@dataclass(frozen=True)
class Proposal:
    """What solving again came to. ``changed`` is None where what must come cannot any more, which ``clash`` tells."""

    changed: Changed | None
    clash: Clash | None
    rows: tuple[OldAndNew, ...]
    kept: Plan | None
    dropped: tuple[str, ...]

    @property
    def share_percent(self) -> int:
        """What the calm plan is worth of the best one. [%]"""
        return round(100 * self.changed.share) if self.changed else 0


def propose(opened: OpenShoot, known: Plan, at_utc_s: float, done: Sequence[str], skipped: Sequence[str]) -> Proposal:
    """Return the plan from an instant on that changes least of the known one.

    ``done`` is in the order it was done. Raises ``BadInput`` when the people's time is over.
    """
    rest, light, task = from_now(_unfixed(opened, known, done, skipped, at_utc_s), opened.scenes, at_utc_s, done, skipped)
    ahead = replace(known, slots=tuple(slot for slot in known.slots if slot.wish_id not in {*done, *skipped}))
    changed = least_change(task, ahead)
    was = tuple(slot for slot in known.slots if slot.wish_id in done)
    rows = tuple(_rows(opened, known, changed, done, skipped))
    if changed is None:
        return Proposal(None, clash_of(rest, light, task), rows, None, ())
    return Proposal(changed, None, rows, replace(changed.plan, slots=(*was, *changed.plan.slots)), (*skipped, *changed.dropped))


def accepted(opened: OpenShoot, proposal: Proposal, done: Sequence[str]) -> OpenShoot:
    """Return the shoot with a proposal's times fixed and what dropped out put aside.

    What is done keeps its planned time where that goes with the rest, else it is put aside too.
    """
    assert proposal.kept and proposal.changed
    held = holding(opened, proposal.kept, proposal.dropped)
    return held if held.order.plan else holding(opened, proposal.changed.plan, (*proposal.dropped, *done))


def _unfixed(opened: OpenShoot, known: Plan, done: Sequence[str], skipped: Sequence[str], at_utc_s: float) -> Shoot:
    """Return the shoot without beginnings fixed by hand that have gone by."""
    gone = {slot.wish_id for slot in known.slots if slot.starts_utc_s < at_utc_s}
    wishes = tuple(replace(wish, fixed_start_utc_s=None) if wish.id in gone else wish for wish in opened.shoot.wishes)
    return replace(opened.shoot, wishes=wishes)


def _rows(opened: OpenShoot, known: Plan, changed: Changed | None, done: Sequence[str], skipped: Sequence[str]) -> Iterator[OldAndNew]:
    """Yield what was planned in its order, then what is new."""
    plan = changed.plan if changed else None
    for slot in known.slots:
        new = plan.slot(slot.wish_id) if plan else None
        yield OldAndNew(slot.wish_id, opened.order.prospect(slot.wish_id).called, _span(opened, slot), _span(opened, new), _what(slot, new, done, skipped))
    for one in changed.added if changed else ():
        yield OldAndNew(one, opened.order.prospect(one).called, "", _span(opened, plan.slot(one)), "comes in")


def _what(slot: Slot, new: Slot | None, done: Sequence[str], skipped: Sequence[str]) -> str:
    if slot.wish_id in done:
        return "done"
    if slot.wish_id in skipped:
        return "skipped"
    if new is None:
        return "drops out"
    shift_min = round((new.starts_utc_s - slot.starts_utc_s) / 60)
    if shift_min:
        return f"{abs(shift_min)} min {'later' if shift_min > 0 else 'earlier'}"
    return "as it was" if new.ends_utc_s == slot.ends_utc_s else f"{new.minutes} min long, was {slot.minutes}"


def _span(opened: OpenShoot, slot: Slot | None) -> str:
    return span(opened.shoot, slot.starts_utc_s, slot.ends_utc_s) if slot else ""
