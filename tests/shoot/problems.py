"""Bare tasks to try the solver on, and the plain search through every plan that it is held against."""

from itertools import pairwise, permutations, product

import numpy as np
from hypothesis import strategies as st

from app.shoot.problem import Problem

FAR = 10_000


def problem(fit, **terms):
    """A task from the fit of each wish by minute; the rest are easy terms unless given."""
    fit = np.asarray(fit, dtype=float)
    count, minutes = fit.shape
    ideal = np.asarray(terms.get("longest", [2] * count))
    weight = np.asarray(terms.get("weight", [1.0] * count), dtype=float)
    worth = np.concatenate([np.zeros((count, 1)), np.cumsum(fit, axis=1)], axis=1) * (1e4 * weight / ideal)[:, np.newaxis]
    fixed = np.asarray(terms.get("fixed", [-1] * count))
    after = np.zeros((count, count), bool)
    for later, earlier in terms.get("after", ()):
        after[later, earlier] = True
    return Problem(
        ids=tuple("abcdefghijklmnopqrstuvwxyz"[:count]),
        starts_utc_s=0.0,
        worth=np.rint(worth).astype(np.int32),
        weight=weight,
        shortest_min=np.asarray(terms.get("shortest", [1] * count), np.int32),
        longest_min=ideal.astype(np.int32),
        must=np.asarray(terms.get("must", [False] * count), bool),
        after=after,
        gap_min=np.asarray(terms.get("gap", np.zeros((count, count))), np.int32),
        arrival_min=np.asarray(terms.get("arrival", [0] * count), np.int32),
        free_min=tuple(terms.get("free", ((0, minutes),))),
        first_start_min=np.where(fixed < 0, 0, fixed).astype(np.int32),
        last_start_min=np.where(fixed < 0, FAR, fixed).astype(np.int32),
        least_worth=np.where(fixed >= 0, 0, 1).astype(np.int32),
    )


@st.composite
def problems(draw, most=6, longest_evening=9):
    """Any task of up to six wishes, with every kind of term."""
    count, minutes = draw(st.integers(1, most)), draw(st.integers(1, longest_evening))

    def small(low, high):
        return st.lists(st.integers(low, high), min_size=count, max_size=count)

    fits = st.lists(st.sampled_from([0.0, 0.0, 0.25, 0.5, 1.0]), min_size=minutes, max_size=minutes)
    shortest = draw(small(1, 3))
    cut = draw(st.integers(0, minutes))
    free = [(0, minutes)] if draw(st.booleans()) else [(one, other) for one, other in ((0, cut), (cut + 1, minutes)) if other > one]
    return problem(
        draw(st.lists(fits, min_size=count, max_size=count)),
        shortest=shortest,
        longest=[short + more for short, more in zip(shortest, draw(small(0, 3)), strict=True)],
        weight=draw(st.lists(st.sampled_from([0.5, 1.0, 2.0]), min_size=count, max_size=count)),
        must=draw(st.lists(st.sampled_from([False, False, True]), min_size=count, max_size=count)),
        after=[(later, earlier) for earlier in range(count) for later in range(earlier + 1, count) if draw(st.integers(0, 5)) == 0],
        gap=[draw(small(0, 3)) for _ in range(count)],
        arrival=draw(small(0, 2)),
        free=free,
        fixed=[draw(st.integers(0, minutes - 1)) if draw(st.integers(0, 7)) == 0 else -1 for _ in range(count)],
    )


def best_by_trying_all(task):
    """The best score of all plans, None without any: every subset, every order, every start and length. [1/10000]"""
    count = len(task.ids)
    scores = [
        score
        for size in range(count + 1)
        for order in permutations(range(count), size)
        if set(np.flatnonzero(task.must)) <= set(order) and _in_order(task, order)
        for score in _scores(task, order, 0)
    ]
    return max(scores, default=None)


def breaks_no_rule(task, plan):
    """Whether a plan keeps every term of its task, slot by slot."""
    placed = [(task.ids.index(slot.wish_id), task.minute_of(slot.starts_utc_s), task.minute_of(slot.ends_utc_s)) for slot in plan.slots]
    waits = all(
        after[1] >= before[2] + task.gap_min[before[0], after[0]] for before, after in pairwise(placed)
    )
    order = [place for place, *_ in placed]
    return waits and _in_order(task, order) and set(np.flatnonzero(task.must)) <= set(order) and all(_may_lie(task, *one) for one in placed)


def _in_order(task, order):
    return not any(task.after[earlier, later] for at, earlier in enumerate(order) for later in order[at + 1 :])


def _scores(task, order, ready):
    """Yield the scores of all ways to time an order, from a minute on."""
    if not order:
        yield 0
        return
    first, *rest = order
    for start, lasts in product(range(ready, task.minutes), range(task.shortest_min[first], task.longest_min[first] + 1)):
        if _may_lie(task, first, start, start + lasts):
            own = int(task.worth[first, start + lasts] - task.worth[first, start])
            wait = int(task.gap_min[first, rest[0]]) if rest else 0
            yield from (own + others for others in _scores(task, rest, start + lasts + wait))


def _may_lie(task, place, start, end):
    inside = any(begin + task.arrival_min[place] <= start and start >= 0 and end <= stop for begin, stop in task.free_min)
    lasts = task.shortest_min[place] <= end - start <= task.longest_min[place]
    begins = task.first_start_min[place] <= start <= task.last_start_min[place]
    return inside and lasts and begins and task.worth[place, end] - task.worth[place, start] >= task.least_worth[place]
