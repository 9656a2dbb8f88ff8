"""Lettering: each label set down where it covers least of what is drawn and lettered already."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

import numpy as np

from app.units import FloatArray

# Height and mean width of a letter, in units, by the kind of label; as the style sheet sets them.
LETTERS = {
    "water": (17.0, 13.5),
    "thing": (11.0, 5.9),
    "building": (9.5, 6.6),
    "name": (12.5, 6.9),
    "chosen": (12.5, 7.9),
    "spec": (9.5, 5.8),
    "measure": (10.5, 6.4),
    "small": (9.0, 5.5),
}
OUTSIDE = 6.0  # how much worse it is to leave the sheet than to cover as much of a drawing
CROWDED = 0.5  # covering as much as this, a label that can be spared is left away
EDGE = 3.0  # units of the sheet's edge that stay free
LATER = 0.35  # how much worse the last place is than the first, so that of free ones the first wins


@dataclass(frozen=True)
class Box:
    """A rectangle of the drawing."""

    left: float
    top: float
    right: float
    bottom: float

    @classmethod
    def around(cls, x: float, y: float, reach: float) -> "Box":
        return cls(x - reach, y - reach, x + reach, y + reach)


@dataclass(frozen=True)
class Label:
    """Words at a place: the baseline's start, middle or end. ``turn_deg`` is clockwise."""

    x: float
    y: float
    words: str
    kind: str
    anchor: str = "start"
    turn_deg: float = 0.0


@dataclass
class Lettering:
    """The labels of one sheet, and what they keep clear of."""

    width: float
    height: float
    labels: list[Label] = field(default_factory=list)
    _taken: list[tuple[float, float, float, float, float]] = field(default_factory=list)

    def keep_clear(self, box: Box, weight: float = 1.0) -> None:
        """Have later labels avoid a box, the more the heavier it weighs."""
        self._taken.append((box.left, box.top, box.right, box.bottom, weight))

    def keep_clear_along(self, points: FloatArray, weight: float = 1.0, reach: float = 4.0) -> None:
        """Have later labels avoid a line through points."""
        for start, end in zip(points, points[1:], strict=False):
            steps = max(1, int(np.hypot(*(end - start)) / (2 * reach)))
            for x, y in start + (end - start) * np.linspace(0, 1, steps + 1)[:, np.newaxis]:
                self._taken.append((x - reach, y - reach, x + reach, y + reach, weight))

    def best(self, boxes: Sequence[Box]) -> int:
        """Return which of several boxes covers least."""
        return int(np.argmin(self._costs(boxes) + np.linspace(0, LATER, len(boxes))))

    def has_room(self, box: Box) -> bool:
        """Tell whether most of a box is free."""
        return bool(self._costs([box])[0] < CROWDED)

    def put(self, words: str, kind: str, places: Iterable[tuple[float, float, str]]) -> Label:
        """Set words at the best of several places, each x and y of the baseline and its anchor."""
        labels = [Label(float(x), float(y), words, kind, anchor) for x, y, anchor in places]
        boxes = [box_of(label) for label in labels]
        which = self.best(boxes)
        self.keep_clear(boxes[which])
        self.labels.append(labels[which])
        return labels[which]

    def put_turned(self, label: Label) -> None:
        """Set one label as it is, turned, and keep its length clear."""
        length, turn = width_of(label.words, label.kind), np.radians(label.turn_deg)
        along = np.array([np.cos(turn), np.sin(turn)]) * length / 2
        middle = np.array([label.x, label.y - 3.0])
        self.keep_clear_along(np.stack([middle - along, middle + along]), weight=1.5, reach=6.0)
        self.labels.append(label)

    def _costs(self, boxes: Sequence[Box]) -> FloatArray:
        """Return for each box the weight of what it covers, and of what of it leaves the sheet, over its area."""
        wanted = np.array([(box.left, box.top, box.right, box.bottom) for box in boxes])
        area = np.maximum((wanted[:, 2] - wanted[:, 0]) * (wanted[:, 3] - wanted[:, 1]), 1.0)
        paper = np.array([[EDGE, EDGE, self.width - EDGE, self.height - EDGE]])
        outside = area - _shared(wanted, paper)[:, 0]
        taken = np.array(self._taken).reshape(-1, 5)
        near = (taken[:, :2] < wanted[:, 2:].max(axis=0)) & (taken[:, 2:4] > wanted[:, :2].min(axis=0))
        taken = taken[near.all(axis=1)]
        covered = _shared(wanted, taken[:, :4]) @ taken[:, 4]
        return (covered + OUTSIDE * outside) / area


def _shared(some: FloatArray, others: FloatArray) -> FloatArray:
    """Return the area that each box shares with each other one."""
    low = np.maximum(some[:, np.newaxis, :2], others[np.newaxis, :, :2])
    high = np.minimum(some[:, np.newaxis, 2:], others[np.newaxis, :, 2:])
    return np.prod(np.maximum(high - low, 0.0), axis=-1)


def width_of(words: str, kind: str) -> float:
    """Return about how long words are, in units."""
    return len(words) * LETTERS[kind][1]


def box_of(label: Label) -> Box:
    """Return the box that an upright label fills."""
    height, width = LETTERS[label.kind][0], width_of(label.words, label.kind)
    left = label.x - {"start": 0.0, "middle": width / 2, "end": width}[label.anchor]
    return Box(left - 2.0, label.y - height, left + width + 2.0, label.y + height * 0.3)


def turned_box(label: Label) -> Box:
    """Return the upright box round a label turned about its middle."""
    half, turn = width_of(label.words, label.kind) / 2, np.radians(label.turn_deg)
    across, down = half * abs(np.cos(turn)) + 5.0, half * abs(np.sin(turn)) + 5.0
    return Box(label.x - across, label.y - 3.0 - down, label.x + across, label.y - 3.0 + down)


def places_around(x: float, y: float, reach: float) -> list[tuple[float, float, str]]:
    """Return places for a label round a point: right, left, above, below and the corners."""
    slant = reach * 0.75
    return [
        (x + reach, y + 4, "start"),
        (x - reach, y + 4, "end"),
        (x, y - reach, "middle"),
        (x, y + reach + 9, "middle"),
        (x + slant, y - slant, "start"),
        (x + slant, y + slant + 9, "start"),
        (x - slant, y - slant, "end"),
        (x - slant, y + slant + 9, "end"),
    ]
