"""The running order drawn: lanes over the evening, windows as ink, slots ringed, the sun's height above them."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import groupby

import numpy as np

from app.looks.margin import fit
from app.shoot.plan import Slot
from app.shoot.prospect import Prospect
from app.shoot.standby import Standby
from app.units import FloatArray
from app.web.drawing.frames_paths import path_through
from app.web.drawing.order_time import TimeScale, sun_lines, ticks
from app.web.render import clock
from app.web.shoots import OpenShoot

TOP, SUN, HALF, BOX = 30.0, 96.0, 7.0, 24.0  # a ring is ``BOX`` high round one lane
LANE = {"desk": 38.0, "hand": 50.0}
HEAD, FOOT = {"desk": 6.0, "hand": 22.0}, {"desk": 0.0, "hand": 14.0}  # what is over a setup's first lane and under its last
SHORT_NAME, LONGEST_NAME = 22, {"desk": 60, "hand": 38}  # letters that fit beside the lanes, and over them
WIDTH, LEFT, RIGHT = {"desk": 1120.0, "hand": 366.0}, {"desk": 176.0, "hand": 18.0}, {"desk": 24.0, "hand": 18.0}
LETTER, LABEL = 6.2, 104.0  # how wide a letter and a slot's times are, about
PAD_S, LONGEST_WHOLE_S, SHORTEST_S = 600.0, 6 * 3600.0, 3600.0


@dataclass(frozen=True)
class Lane:
    """One look of one setup: its ink, and why its last window closes, with where that is written; empty where there is no room."""

    name: str
    y: float
    ink: str
    closes: str
    closes_x: float


@dataclass(frozen=True)
class Group:
    """One setup with its lanes, from ``top`` to ``bottom``; ``spot`` is its site's address and its id."""

    spot: str
    name: str
    top: float
    bottom: float
    lanes: tuple[Lane, ...]


@dataclass(frozen=True)
class Ring:
    """One slot: its box, number and times with where they stand; ``fixed`` where a hand has placed it. ``ready_x`` is where its preparing begins."""

    wish_id: str
    number: int
    x: float
    y: float
    width: float
    height: float
    words: str
    fixed: bool
    ready_x: float | None
    edge: str
    label_x: float
    label_y: float


@dataclass(frozen=True)
class Spare:
    """Where a standby would be, and for which slot, in words or, where there is no room, as its number."""

    x: float
    y: float
    width: float
    words: str


@dataclass(frozen=True)
class Way:
    """The walk from one slot to the next: a line of right angles, and its minutes where there is room."""

    path: str
    words: str
    x: float
    y: float


@dataclass(frozen=True)
class OrderDrawing:
    """All of it, for a desk or for a hand; ``minute`` is how wide one is, ``closed`` where nobody is there, as (x, width)."""

    kind: str
    width: float
    height: float
    left: float
    right: float
    minute: float
    ticks: tuple[tuple[float, str, bool], ...]
    sun_up: str
    sun_down: str
    sun_marks: tuple[tuple[float, str], ...]
    sun_set: tuple[float, float, str] | None
    closed: tuple[tuple[float, float], ...]
    groups: tuple[Group, ...]
    rings: tuple[Ring, ...]
    spares: tuple[Spare, ...]
    ways: tuple[Way, ...]


@lru_cache(maxsize=64)
def draw_order(opened: OpenShoot, kind: str = "desk") -> OrderDrawing | None:
    """Return the drawing of a shoot's order, None where nothing is wished for; also where musts clash, without slots then."""
    light = opened.order.light
    if not light:
        return None
    scale = TimeScale(*_span(opened), LEFT[kind], WIDTH[kind] - RIGHT[kind])
    groups = tuple(_groups(opened, scale, kind))
    places = {(group.spot, lane.name): lane.y for group in groups for lane in group.lanes}
    rings, spares = tuple(_rings(opened, scale, kind, places)), tuple(_spares(opened, scale, places))
    ways = tuple(_ways(opened, rings))
    up, down, marks, sunset = sun_lines(light[0].scene.observer, scale, opened.shoot.zone, TOP + 14, TOP + SUN - 12)
    return OrderDrawing(
        kind=kind,
        width=WIDTH[kind],
        height=groups[-1].bottom + 2,
        left=scale.left,
        right=scale.right,
        minute=60 * (scale.right - scale.left) / (scale.last_s - scale.first_s),
        ticks=tuple(ticks(scale, opened.shoot.zone, kind)),
        sun_up=up,
        sun_down=down,
        sun_marks=marks,
        sun_set=sunset,
        closed=tuple(_closed(opened, scale)),
        groups=tuple(_with_room(group, rings, spares, ways, scale.right) for group in groups),
        rings=rings,
        spares=spares,
        ways=ways,
    )


def _span(opened: OpenShoot) -> tuple[float, float]:
    """Return the people's time where that is an evening, else from the first thing drawn to the last."""
    first, last = opened.shoot.open_time[0].starts_utc_s, opened.shoot.open_time[-1].ends_utc_s
    if opened.shoot.free and SHORTEST_S <= last - first <= LONGEST_WHOLE_S:
        return first, last
    windows = [window for one in opened.order.light for _, window in one.windows if window.closes_utc_s > first and window.opens_utc_s < last]
    slots = opened.order.plan.slots if opened.order.plan else ()
    starts = [*(max(first, one.opens_utc_s) for one in windows), *(one.starts_utc_s for one in slots)]
    ends = [*(min(last, one.closes_utc_s) for one in windows), *(one.ends_utc_s for one in slots)]
    if not starts:
        return first, max(last, first + SHORTEST_S)
    low = min(starts) - PAD_S
    return low, max(max(ends) + PAD_S, low + SHORTEST_S)


def _groups(opened: OpenShoot, scale: TimeScale, kind: str) -> Iterator[Group]:
    """Yield the setups in the order of their first slots, those without one last."""
    order = opened.order.plan.order if opened.order.plan else ()
    rank = {wish_id: number for number, wish_id in enumerate(order)}
    by_spot: dict[str, list[Prospect]] = {}
    for one in sorted(opened.order.light, key=lambda one: rank.get(one.wish.id, len(rank))):
        by_spot.setdefault(one.wish.spot, []).append(one)
    names = {spot: _setup_name(opened, same[0]) for spot, same in by_spot.items()}
    head = HEAD[kind] if max(map(len, names.values())) <= SHORT_NAME else HEAD["hand"]
    top = TOP + SUN
    for spot, same in by_spot.items():
        lanes = tuple(_lanes(same, scale, top + head, LANE[kind]))
        bottom = top + head + LANE[kind] * len(lanes) + FOOT[kind]
        yield Group(spot, _shortened(names[spot], LONGEST_NAME[kind]), top, bottom, lanes)
        top = bottom


def _setup_name(opened: OpenShoot, one: Prospect) -> str:
    name = one.scene.setup.name
    return f"{name}, {opened.sites[one.wish.site].site.name}" if len(opened.sites) > 1 else name


def _shortened(name: str, letters: int) -> str:
    return name if len(name) <= letters else f"{name[: letters - 1].rstrip()}…"


def _lanes(same: list[Prospect], scale: TimeScale, top: float, height: float) -> Iterator[Lane]:
    """Yield a lane for each look that any wish of one setup will take."""
    looks = {look.name: look for one in same for look in one.looks}
    sun = same[0].scene.observer.sun_at(scale.instants)
    closes = {name: window for one in same for name, window in one.windows if scale.first_s < window.closes_utc_s < scale.last_s}
    for number, name in enumerate(looks or ["any light"]):
        fits = np.clip(fit(looks[name].margins(same[0].scene), sun), 0, 1) if looks else np.ones(sun.azimuth_deg.shape)
        y = top + (number + 0.6) * height
        window = closes.get(name)
        words = window.closes_because.partition(" at f/")[0] if window else ""  # the list has it whole
        yield Lane(name, y, _ink(fits, y, scale), words, float(scale.x(window.closes_utc_s)) + 10 if window else 0.0)


def _with_room(group: Group, rings: tuple[Ring, ...], spares: tuple[Spare, ...], ways: tuple[Way, ...], right: float) -> Group:
    """Return the setup's lanes, without words that would lie on a slot, a standby, a walk's words or the edge."""
    boxes = [(one.x, one.y, one.x + one.width, one.y + one.height) for one in rings]
    boxes += [(one.x, one.y - 12, one.x + one.width, one.y + BOX) for one in spares]
    labels = [*((one.label_x, one.label_y, LABEL) for one in rings), *((way.x, way.y, LETTER * 1.1 * len(way.words)) for way in ways)]
    boxes += [(x, y - 14, x + width, y + 2) for x, y, width in labels]

    def free(lane: Lane) -> bool:
        end = lane.closes_x + LETTER * len(lane.closes)
        return end < right and not any(x < end and lane.closes_x < last and top < lane.y + 5 and lane.y - 6 < bottom for x, top, last, bottom in boxes)

    return replace(group, lanes=tuple(lane if free(lane) else replace(lane, closes="") for lane in group.lanes))


def _ink(fits: FloatArray, y: float, scale: TimeScale) -> str:
    """Return windows as ink, thicker where the look fits better, one shape for each stretch."""
    x = np.asarray(scale.x(scale.instants))
    runs = (list(run) for open_, run in groupby(range(len(fits)), key=lambda n: fits[n] > 0) if open_)
    return "".join(_blade(x[run], y, fits[run]) for run in runs)


def _blade(x: FloatArray, y: float, fits: FloatArray) -> str:
    step = max(1, len(x) // 120)
    keep = np.unique(np.append(np.arange(0, len(x), step), len(x) - 1))
    x, half = x[keep], 0.8 + (HALF - 0.8) * fits[keep]
    return f"{path_through(np.append(x, x[::-1]), np.append(y - half, (y + half)[::-1]))}Z"


def _rings(opened: OpenShoot, scale: TimeScale, kind: str, places: dict[tuple[str, str], float]) -> Iterator[Ring]:
    """Yield the slots; their times stand over the ring on a desk, under it in a hand, where the looks' names are above."""
    plan = opened.order.plan
    for number, slot in enumerate(plan.slots if plan else (), 1):
        one = opened.order.prospect(slot.wish_id)
        ys = [places[one.wish.spot, name] for name in _held(one, slot)]
        x, end = float(scale.x(slot.starts_utc_s)), float(scale.x(slot.ends_utc_s))
        pause = max(one.wish.change_before_min, one.wish.lights_min if number > 1 else 0)  # first lights are up before people come
        words = f"{clock(slot.starts_utc_s, opened.shoot.zone)}–{clock(slot.ends_utc_s, opened.shoot.zone)}"
        top, height = min(ys) - BOX / 2, max(ys) - min(ys) + BOX
        ready = float(scale.x(slot.starts_utc_s - 60 * pause)) if pause else None
        label = min(x, scale.right - LABEL), top - 3 if kind == "desk" else top + height + 15
        yield Ring(slot.wish_id, number, x, top, end - x, height, words, one.wish.fixed_start_utc_s is not None, ready, _edge(x, top, end - x, height), *label)


def _held(one: Prospect, slot: Slot) -> list[str]:
    """Return the looks of a wish that hold somewhere in its slot, all of them where none does."""
    during = {name for name, window in one.windows if window.opens_utc_s < slot.ends_utc_s and window.closes_utc_s > slot.starts_utc_s}
    return [look.name for look in one.looks if look.name in during] or [look.name for look in one.looks] or ["any light"]


def _edge(x: float, y: float, width: float, height: float) -> str:
    """Return a ring as a grease pencil draws it: not quite closed on itself, and over its own beginning."""
    w, h = max(width, 6.0), height
    bend = min(12.0, w / 2, h / 2)
    return (
        f"M{x + bend + 4:.1f} {y - 0.8:.1f}H{x + w - bend:.1f}Q{x + w + 1:.1f} {y:.1f} {x + w:.1f} {y + bend:.1f}"
        f"V{y + h - bend:.1f}Q{x + w:.1f} {y + h:.1f} {x + w - bend:.1f} {y + h:.1f}H{x + bend:.1f}"
        f"Q{x:.1f} {y + h:.1f} {x - 0.6:.1f} {y + h - bend:.1f}V{y + bend:.1f}Q{x:.1f} {y + 1.4:.1f} {x + bend + 7:.1f} {y + 1.2:.1f}"
    )


def _spares(opened: OpenShoot, scale: TimeScale, places: dict[tuple[str, str], float]) -> Iterator[Spare]:
    """Yield the first standby of each slot whose setup and look have a lane."""
    plan = opened.order.plan
    for number, slot in enumerate(plan.slots if plan else (), 1):
        found = next((one for one in opened.standbys if isinstance(one, Standby) and one.wish_id == slot.wish_id), None)
        y = found and places.get((found.spot, found.look))
        if found and y:
            x, end = (float(scale.x(at)) for at in (slot.starts_utc_s + 60 * found.cost_min, slot.ends_utc_s))
            words = f"standby {number}"
            yield Spare(x, y - BOX / 2, max(end - x, 4.0), words if end - x > 11 * LETTER else str(number))


def _ways(opened: OpenShoot, rings: tuple[Ring, ...]) -> Iterator[Way]:
    """Yield the walks between slots on different lanes; from the meeting point there is no lane to come from."""
    for before, after, leg in zip(rings, rings[1:], opened.order.legs[1:], strict=False):
        start, end = before.y + before.height / 2, after.y + after.height / 2
        if leg.minutes:
            x = (before.x + before.width + after.x) / 2
            path = f"M{before.x + before.width:.1f} {start:.1f}H{x:.1f}V{end:.1f}H{after.x:.1f}"
            words, y = f"walk {leg.minutes} min", start + (24 if end > start else -16)
            yield Way(path, words if not _meets_a_ring(rings, x + 5, y, LETTER * 1.1 * len(words)) else "", x + 5, y)


def _meets_a_ring(rings: tuple[Ring, ...], x: float, y: float, width: float) -> bool:
    """Tell whether words would lie on a slot or on its times."""
    boxes = [(one.x, one.y, one.x + one.width, one.y + one.height) for one in rings]
    boxes += [(one.label_x, one.label_y - 14, one.label_x + LABEL, one.label_y + 2) for one in rings]
    return any(left < x + width and x < right and top < y and y - 11 < bottom for left, top, right, bottom in boxes)


def _closed(opened: OpenShoot, scale: TimeScale) -> Iterator[tuple[float, float]]:
    """Yield where nobody is free, between the edges of the drawing."""
    edges = [scale.first_s, *(at for one in opened.shoot.open_time for at in (one.starts_utc_s, one.ends_utc_s)), scale.last_s]
    for start, end in zip(edges[::2], edges[1::2], strict=True):
        x, last = float(scale.x(start)), float(scale.x(end))
        if last - x > 1:
            yield x, last - x
