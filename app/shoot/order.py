"""A shoot's running order with all that is to be said about it, from one call."""

from collections.abc import Mapping
from dataclasses import dataclass

from app.looks.margin import Scene
from app.shoot.conflicts import Clash, clash_of
from app.shoot.explain import Reasons, explain
from app.shoot.plan import Plan
from app.shoot.problem import Problem, problem_of
from app.shoot.prospect import Prospect, prospects
from app.shoot.shoot import Shoot, Wish
from app.shoot.solve import MOST, tabulate
from app.shoot.split import Part, split
from app.shoot.walking import Leg, leg, leg_from_meeting


@dataclass(frozen=True)
class RunningOrder:
    """What came out.

    Attributes
    ----------
    light : tuple of Prospect
        In the order of the wishes.
    plan : Plan or None
        None where musts clash or there are too many wishes.
    reasons : Reasons or None
        Beside a plan.
    legs : tuple of Leg
        The way to each slot, from the meeting point for the first.
    clash : Clash or None
        Where musts clash.
    parts : tuple of Part
        How to split the evening, where there are too many wishes.
    """

    shoot: Shoot
    light: tuple[Prospect, ...]
    problem: Problem
    plan: Plan | None = None
    reasons: Reasons | None = None
    legs: tuple[Leg, ...] = ()
    clash: Clash | None = None
    parts: tuple[Part, ...] = ()

    def prospect(self, wish_id: str) -> Prospect:
        """Return the light of one wish."""
        return next(one for one in self.light if one.wish.id == wish_id)

    def wish(self, wish_id: str) -> Wish:
        """Return one wish."""
        return self.prospect(wish_id).wish


def running_order(shoot: Shoot, scenes: Mapping[str, Scene]) -> RunningOrder:
    """Return the best running order of a shoot, or why there is none; ``scenes`` go by the wish's id.

    Raises ``BadInput`` for a wish without a scene or with an unknown look.
    """
    light = prospects(shoot, scenes)
    return ordered(shoot, light, problem_of(shoot, light))


def ordered(shoot: Shoot, light: tuple[Prospect, ...], problem: Problem) -> RunningOrder:
    """Return the best running order of a task, or why there is none."""
    if len(problem.ids) > MOST:
        return RunningOrder(shoot, light, problem, parts=split(problem))
    table = tabulate(problem)
    plan = table.best_plan()
    if plan is None:
        return RunningOrder(shoot, light, problem, clash=clash_of(shoot, light, problem))
    return RunningOrder(shoot, light, problem, plan, explain(shoot, light, table, plan), legs_of(shoot, light, plan))


def legs_of(shoot: Shoot, light: tuple[Prospect, ...], plan: Plan) -> tuple[Leg, ...]:
    """Return the way to each slot of a plan, from the meeting point for the first."""
    offered = {one.wish.id: one for one in light}
    stops = [offered[one] for one in plan.order]
    first = [leg_from_meeting(shoot, one.wish, one.scene) for one in stops[:1]]
    pairs = zip(stops, stops[1:], strict=False)
    return tuple(first + [leg(shoot, (one.wish.site, one.scene), (other.wish.site, other.scene)) for one, other in pairs])
