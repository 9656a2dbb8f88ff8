"""Where one slot may begin for each minute it may end at, and the best that can be had by then."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from app.shoot.problem import IntArray, Problem

NEVER = np.int32(-1_000_000_000)  # the score of what cannot be; any score is far above half of it
CANNOT = NEVER // 2


@dataclass(frozen=True, eq=False)
class Places:
    """The slots one wish may have: for a slot that ends at ``ends``, it begins at ``low`` to ``high``, both included."""

    place: int
    worth: IntArray
    ends: NDArray[np.intp]
    low: NDArray[np.intp]
    high: NDArray[np.intp]

    @cached_property
    def levels(self) -> tuple[tuple[int, NDArray[np.intp]], ...]:
        """Powers of two and which ends have as many beginnings or more, but not twice as many."""
        power = np.frexp(self.high - self.low + 1)[1] - 1
        return tuple((int(one), np.flatnonzero(power == one)) for one in np.unique(power))

    def latest_start(self) -> int:
        """Return the last minute at which it may begin at all, -1 where it cannot."""
        return int(self.high.max()) if self.high.size else -1

    def best_by_end(self, ready: IntArray) -> IntArray:
        """Return the best score with this slot ending at each minute.

        ``ready`` is the best score with which one can be there by each minute, shape
        (rows, T + 1), as is what comes back. A running maximum over all
        beginnings, from tables of the maxima of 1, 2, 4, … of them.
        """
        score = np.full_like(ready, NEVER)
        table, width = ready - self.worth, 1
        for power, which in self.levels:
            while width < 1 << power:
                table[:, :-width] = np.maximum(table[:, :-width], table[:, width:])
                width *= 2
            first, last = self.low[which], self.high[which] - width + 1
            best = np.maximum(table[:, first], table[:, last]) if width > 1 else table[:, first]
            score[:, self.ends[which]] = best + self.worth[self.ends[which]]
        score[score < CANNOT] = NEVER
        return score

    def start_of(self, ready: IntArray, end: int, score: int) -> int:
        """Return the latest beginning with which a slot that ends here has this score; ``ready`` has shape (T + 1,)."""
        row = int(np.searchsorted(self.ends, end))
        starts = np.arange(self.low[row], self.high[row] + 1)
        scores = ready[starts] + self.worth[end] - self.worth[starts]
        return int(starts[np.flatnonzero(scores == score)[-1]])


def places_of(problem: Problem, place: int) -> Places:
    """Return the slots that one wish may have, whatever comes before it.

    A slot lies in one stretch of free time, lasts from shortest to longest, and
    has its least worth.
    """
    worth = problem.worth[place]
    ends = np.arange(problem.minutes + 1)
    low = np.full(ends.shape, problem.minutes + 1)
    for start, end in problem.free_min:
        low[(ends > start) & (ends <= end)] = max(0, start + int(problem.arrival_min[place]))
    low = np.maximum(low, np.maximum(ends - int(problem.longest_min[place]), int(problem.first_start_min[place])))
    high = np.minimum(ends - int(problem.shortest_min[place]), int(problem.last_start_min[place]))
    high = np.minimum(high, np.searchsorted(worth, worth - problem.least_worth[place], side="right") - 1)
    good = low <= high
    return Places(place, worth, ends[good], low[good], high[good])
