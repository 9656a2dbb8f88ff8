"""A running order: slots in time, what was left out, and what it is worth."""

from dataclasses import dataclass

from app.shoot.problem import GRAINS, Problem


@dataclass(frozen=True)
class Slot:
    """One line of a running order.

    ``value`` is the fit integrated over the slot, over the ideal time at a fit of
    1: 0..1. ``weight`` times it is what the slot adds to the score.
    """

    wish_id: str
    starts_utc_s: float
    ends_utc_s: float
    value: float
    weight: float

    @property
    def minutes(self) -> int:
        """How long it lasts. [min]"""
        return round((self.ends_utc_s - self.starts_utc_s) / 60.0)


@dataclass(frozen=True)
class Plan:
    """Slots in time order; ``score`` is the sum of weight times value, ``best_score`` what it could be at most."""

    slots: tuple[Slot, ...]
    left_out: tuple[str, ...]
    score: float
    best_score: float

    @property
    def order(self) -> tuple[str, ...]:
        """The wishes' ids in time order."""
        return tuple(slot.wish_id for slot in self.slots)

    def slot(self, wish_id: str) -> Slot | None:
        """Return the slot of a wish, None where it was left out."""
        return next((slot for slot in self.slots if slot.wish_id == wish_id), None)


def plan_of(problem: Problem, placed: tuple[tuple[int, int, int], ...]) -> Plan:
    """Return the plan of wishes with their first and last minutes, in time order."""
    slots = tuple(_slot(problem, *one) for one in placed)
    done = {slot.wish_id for slot in slots}
    grains = sum(problem.slot_worth(*one) for one in placed)
    return Plan(slots, tuple(one for one in problem.ids if one not in done), grains / GRAINS, float(problem.weight.sum()))


def _slot(problem: Problem, place: int, start: int, end: int) -> Slot:
    weight = float(problem.weight[place])
    value = problem.slot_worth(place, start, end) / (GRAINS * weight)
    return Slot(problem.ids[place], problem.utc_s(start), problem.utc_s(end), value, weight)
