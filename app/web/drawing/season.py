"""A season drawn: months down, days across, ink for the setups that have light, rings where all that must come fits."""

from dataclasses import dataclass
from datetime import date

from app.shoot.seasons import ShootDay
from app.shoot.shoot import Shoot

LEFT, TOP, COLUMN, ROW = 44.0, 26.0, 30.0, 34.0
TALLEST = 22.0
ENOUGH = 0.5  # of its shortest time, for a setup to count as lit; as app.shoot.seasons counts musts


@dataclass(frozen=True)
class DayMark:
    """One date: how tall its ink is, and what is marked on it."""

    day: date
    x: float
    y: float
    ink: float
    fits: bool
    weekend: bool
    blocked: bool
    chosen: bool


@dataclass(frozen=True)
class SeasonDrawing:
    """All of a year, with its days' numbers across and its months down."""

    width: float
    height: float
    column: float
    days: tuple[tuple[float, str], ...]
    months: tuple[tuple[float, str], ...]
    marks: tuple[DayMark, ...]
    today: tuple[float, float] | None


def draw_season(days: tuple[ShootDay, ...], shoot: Shoot, any_must: bool, chosen: date, today: date) -> SeasonDrawing:
    """Return the drawing of a year's dates; rings only where something must come."""
    shortest_min = {wish.id: wish.shortest_min for wish in shoot.wishes}
    marks = tuple(_mark(one, shortest_min, any_must, chosen) for one in days)
    months = tuple((TOP + ROW * number + 22, date(2000, number + 1, 1).strftime("%b")) for number in range(12))
    return SeasonDrawing(
        width=LEFT + 31 * COLUMN + 4,
        height=TOP + 12 * ROW + 4,
        column=COLUMN,
        days=tuple((LEFT + (number - 0.5) * COLUMN, str(number)) for number in range(1, 32)),
        months=months,
        marks=marks,
        today=next(((one.x, one.y) for one in marks if one.day == today), None),
    )


def _mark(one: ShootDay, shortest_min: dict[str, int], any_must: bool, chosen: date) -> DayMark:
    lit = sum(wish.minutes >= max(1.0, ENOUGH * shortest_min[wish.wish_id]) for wish in one.wishes)
    return DayMark(
        day=one.day,
        x=LEFT + (one.day.day - 1) * COLUMN,
        y=TOP + (one.day.month - 1) * ROW,
        ink=TALLEST * lit / max(1, len(one.wishes)),
        fits=any_must and one.musts_fit,
        weekend=one.weekend,
        blocked=one.blocked,
        chosen=one.day == chosen,
    )
