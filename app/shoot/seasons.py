"""Which date to take: a shoot's wishes over a season, with the dates on which every must can be had."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, time, timedelta

import numpy as np

from app.errors import BadInput
from app.looks.margin import Scene
from app.looks.search import windows_through
from app.place.timezone import civil_day
from app.shoot.problem import GRAINS, IntArray, Problem, problem_of
from app.shoot.prospect import MINUTE_S, Prospect, called_in, looks_wanted
from app.shoot.shoot import Free, Shoot, Wish, free_between
from app.shoot.solve import MOST, best_in_order, solve
from app.units import FloatArray

MOST_DAYS = 3 * 366
LEAST_LIT = 0.5  # share of its shortest time that a must's windows have to hold; common practice, no source
Spans = FloatArray  # windows that open on a day and when they close, shape (windows, 2) [s since 1970 UTC]


@dataclass(frozen=True)
class WishDay:
    """One wish on one date: its windows of any look within the people's time, in time order. [s since 1970 UTC]"""

    wish_id: str
    windows: tuple[tuple[float, float], ...]

    @property
    def minutes(self) -> float:
        """How much light it has in the people's time. [min]"""
        return sum(end - start for start, end in self.windows) / MINUTE_S


@dataclass(frozen=True)
class ShootDay:
    """One date of the season.

    ``musts_fit`` tells whether one plan holds every must, half of its shortest time or
    more within its windows; ``missing`` are the musts for which that cannot be even
    if they come alone.
    """

    day: date
    weekend: bool
    blocked: bool
    free: Free
    wishes: tuple[WishDay, ...]
    musts_fit: bool
    missing: tuple[str, ...]
    words: str


def season(
    shoot: Shoot, scenes: Mapping[str, Scene], first: date, last: date, start: time, end: time
) -> tuple[ShootDay, ...]:
    """Return every date from first to last, both included.

    Parameters
    ----------
    shoot : Shoot
        Its own date and free time are not asked; beginnings fixed by hand neither.
    scenes : mapping of wish id to Scene
    first, last : date
        Three years at most.
    start, end : time
        The people's time on each date, on the shoot's clocks; an end not later than
        the start is on the next day.

    Raises
    ------
    BadInput
        For more dates, or more wishes that must come than a running order holds.

    Notes
    -----
    Windows are searched once for the whole season. Whether musts fit is asked of the
    solver; how good the light is in a window is not.
    """
    days = _days(first, last)
    musts = [wish for wish in shoot.wishes if wish.must]
    if len(musts) > MOST:
        raise BadInput(f"{len(musts)} wishes that must come are too many for one order, {MOST} at most.", "wishes")
    light = _light(shoot, scenes, days)
    called = {wish.id: called_in(wish, scenes[wish.id].setup.name) for wish in shoot.wishes}
    task = _task(shoot, scenes, musts)
    return tuple(_shoot_day(shoot, light, called, task, day, free_between(shoot.zone, day, start, end)) for day in days)


def _days(first: date, last: date) -> list[date]:
    count = (last - first).days + 1
    if not 1 <= count <= MOST_DAYS:
        raise BadInput(f"A season has 1 to {MOST_DAYS} dates, the first before the last; {count} came.", "last")
    return [first + timedelta(days=number) for number in range(count)]


def _light(shoot: Shoot, scenes: Mapping[str, Scene], days: Sequence[date]) -> dict[str, dict[date, Spans] | None]:
    """Return the windows of every wish by day; the same looks of the same setup are searched once."""
    searched: dict[tuple[str, tuple[str, ...]], dict[date, Spans] | None] = {}
    for wish in shoot.wishes:
        if (wish.spot, wish.looks) not in searched:
            searched[wish.spot, wish.looks] = _by_day(shoot, wish, scenes[wish.id], days)
    return {wish.id: searched[wish.spot, wish.looks] for wish in shoot.wishes}


def _by_day(shoot: Shoot, wish: Wish, scene: Scene, days: Sequence[date]) -> dict[date, Spans] | None:
    """Return the windows by the day on which they open, from the day before the first on; None for any light."""
    looks = looks_wanted(wish, scene)
    if not looks:
        return None
    found: dict[date, list[tuple[float, float]]] = {}
    for look in looks:
        through = windows_through(look, scene, days[0] - timedelta(days=1), days[-1] + timedelta(days=1), lambda day: civil_day(shoot.zone, day))
        for one in through:
            found.setdefault(one.day, []).extend((window.opens_utc_s, window.closes_utc_s) for window in one.windows)
    return {day: np.array(spans).reshape(-1, 2) for day, spans in found.items()}


def _shoot_day(
    shoot: Shoot, light: Mapping[str, dict[date, Spans] | None], called: Mapping[str, str], task: Problem, day: date, free: Free
) -> ShootDay:
    wishes = tuple(WishDay(one, _within(by_day, day, free)) for one, by_day in light.items())
    today = _task_on(task, {one.wish_id: one.windows for one in wishes}, free)
    missing = tuple(one for one in task.ids if not _alone(today, one))
    fits = not missing and _all_fit(today)
    words = _words(task, [called[one] for one in missing], fits)
    return ShootDay(day, day.weekday() >= 5, day in shoot.blocked, free, wishes, fits, missing, words)


def _within(by_day: dict[date, Spans] | None, day: date, free: Free) -> tuple[tuple[float, float], ...]:
    """Return the parts of windows that lie in a stretch, joined where looks overlap."""
    if by_day is None:
        return ((free.starts_utc_s, free.ends_utc_s),)
    near = np.concatenate([by_day.get(day + timedelta(days=more), np.zeros((0, 2))) for more in (-1, 0, 1)])
    clipped = np.clip(near, free.starts_utc_s, free.ends_utc_s)
    joined: list[tuple[float, float]] = []
    for start, end in sorted(map(tuple, clipped[clipped[:, 1] > clipped[:, 0]].tolist())):
        if joined and start <= joined[-1][1]:
            joined[-1] = joined[-1][0], max(end, joined[-1][1])
        else:
            joined.append((start, end))
    return tuple(joined)


def _task(shoot: Shoot, scenes: Mapping[str, Scene], musts: Sequence[Wish]) -> Problem:
    """Return the task of the musts alone, its light still to be filled in."""
    ids = {wish.id for wish in musts}
    wishes = tuple(replace(wish, fixed_start_utc_s=None, after=tuple(one for one in wish.after if one in ids)) for wish in musts)
    bare = replace(shoot, wishes=wishes)
    light = tuple(Prospect(wish, scenes[wish.id], (), 0.0, np.zeros(1), (0.0, 0.0)) for wish in wishes)
    return problem_of(bare, light)


def _task_on(task: Problem, windows: Mapping[str, Sequence[tuple[float, float]]], free: Free) -> Problem:
    """Return the task of one date: a minute is worth the part of it that a window holds."""
    start = free.starts_utc_s // MINUTE_S * MINUTE_S
    minutes = int((free.ends_utc_s - start) // MINUTE_S)
    worth = np.array([_open_by(windows[one], start, minutes) for one in task.ids], np.int32).reshape(len(task.ids), minutes + 1)
    least = np.maximum(np.floor(LEAST_LIT * task.shortest_min / 60 * GRAINS), 1).astype(np.int32)
    ends = np.full_like(task.last_start_min, minutes)
    return replace(task, starts_utc_s=start, worth=worth, least_worth=least, free_min=((0, minutes),), last_start_min=ends)


def _open_by(windows: Sequence[tuple[float, float]], start_utc_s: float, minutes: int) -> IntArray:
    """Return how much of windows has gone by at each minute, a whole one rounded up. [1/10000 of 60 minutes]"""
    at = start_utc_s + MINUTE_S * np.arange(minutes + 1)
    gone_s = sum((np.clip(at - opens, 0, closes - opens) for opens, closes in windows), np.zeros(minutes + 1))
    return np.ceil(gone_s / 3600 * GRAINS).astype(np.int32)


def _alone(task: Problem, wish_id: str) -> bool:
    return best_in_order(task, [wish_id]) is not None


def _all_fit(task: Problem) -> bool:
    """Ask first for the order in which the light ends, which mostly does, then the solver."""
    by_end = np.argsort(np.argmax(task.worth == task.worth[:, -1:], axis=1), kind="stable")
    likely = [task.ids[place] for place in by_end]
    if not task.after.any() and best_in_order(task, likely):
        return True
    return solve(task) is not None


def _words(task: Problem, missing: Sequence[str], fits: bool) -> str:
    if missing:
        return f"Too little light in the people's time: {', '.join(f'“{one}”' for one in missing)}."
    if not task.ids:
        return "No wish must come."
    return "Every must fits." if fits else "Each must has its light, but not all in one order."
