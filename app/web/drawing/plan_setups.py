"""Setups on the plan: the camera with its angle of view, the line, the couple, the number tag."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from app.picture.people import SHOULDER_ROOM_M
from app.picture.setup import Setup
from app.units import FloatArray
from app.web.drawing.plan_labels import Box, Label, Lettering, turned_box, width_of
from app.web.drawing.plan_sheet import Sheet

SYMBOL = 30.0  # units from the camera to the arc of its symbol, where there is room
FAR_TIMES, FAR_LEAST, FAR_MOST = 2.2, 90.0, 300.0  # how far the angle of view is drawn
DOTS_APART = 7.6  # units, where true shoulders would run into one blot
DIMENSION_OFF = (30.0, -30.0, 46.0, -46.0)  # units from the line to its measure
TAG = 16.0
LAMP_UNITS = 11.0
WIDTH_AT = (0.68, 0.95, 0.45)  # of the way along the edge of the view


@dataclass(frozen=True)
class SetupMark:
    """One setup as it is drawn, in units.

    Attributes
    ----------
    camera, couple : tuple of float
        The two pins.
    symbol : str
        The wedge of the camera, closed by an arc.
    view, far : str
        The two edges of the angle of view, and the arc that joins them.
    dots : tuple
        Where each of the people stands.
    measure, ticks : str
        The dimension line with its two feet, and the strokes across it; empty
        unless selected.
    tag : tuple of float
        The upper left corner of the number.
    lights : str
        The lamps of the lights on their stands, opening towards what they are turned to.
    """

    setup_id: str
    name: str
    number: int
    selected: bool
    camera: tuple[float, float]
    couple: tuple[float, float]
    symbol: str
    view: str
    far: str
    dots: tuple[tuple[float, float], ...]
    measure: str
    ticks: str
    tag: tuple[float, float]
    lights: str = ""


def setup_marks(
    numbered: Sequence[tuple[int, Setup]], selected: str | None, sheet: Sheet, lettering: Lettering
) -> tuple[SetupMark, ...]:
    """Return setups drawn and lettered; the selected one is the first to choose its places, the last drawn."""
    for _, setup in numbered:
        _keep_clear(setup, sheet, lettering)
    selected_first = sorted(numbered, key=lambda one: one[1].id != selected)
    marks = [_mark(number, setup, setup.id == selected, sheet, lettering) for number, setup in selected_first]
    return tuple(reversed(marks))


def _keep_clear(setup: Setup, sheet: Sheet, lettering: Lettering) -> None:
    camera, couple = sheet.of_pin(setup.camera_pin), sheet.of_pin(setup.couple_pin)
    lettering.keep_clear_along(np.stack([camera, couple]), weight=1.5)
    lettering.keep_clear(Box.around(*couple, 9.0), 2.0)
    lettering.keep_clear(Box.around(*camera, 9.0), 2.0)


def _mark(number: int, setup: Setup, selected: bool, sheet: Sheet, lettering: Lettering) -> SetupMark:
    camera, couple = sheet.of_pin(setup.camera_pin), sheet.of_pin(setup.couple_pin)
    length = float(np.hypot(*(couple - camera)))
    edges = [_towards(setup.view.bearing_deg + side * setup.camera.horizontal_deg / 2) for side in (-1, 1)]
    far = float(np.clip(length * FAR_TIMES, FAR_LEAST, FAR_MOST)) * (1.0 if selected else 0.62)
    near = min(SYMBOL, max(length * 0.55, 12.0)) * (1.0 if selected else 0.8)
    measure, ticks = _dimension(setup, camera, couple, lettering) if selected else ("", "")
    if selected:
        _letter_width(setup, camera, edges, far, lettering)
        inside = [camera + (edges[0] + edges[1]) / 2 * far]
        lettering.keep_clear_along(
            np.stack([camera, camera + edges[0] * far, *inside, camera + edges[1] * far, camera])
        )
    return SetupMark(
        setup_id=setup.id,
        name=setup.name,
        number=number,
        selected=selected,
        camera=_pair(camera),
        couple=_pair(couple),
        symbol=f"M{_xy(camera)}L{_xy(camera + edges[0] * near)}{_arc(near, camera + edges[1] * near, setup)}Z",
        view=f"M{_xy(camera + edges[0] * far)}L{_xy(camera)}L{_xy(camera + edges[1] * far)}",
        far=f"M{_xy(camera + edges[0] * far)}{_arc(far, camera + edges[1] * far, setup)}",
        dots=_dots(setup, couple, sheet),
        measure=measure,
        ticks=ticks,
        tag=_tag(setup, selected, camera, couple, lettering),
        lights="".join(_lamp(sheet.of_corners([pin])[0], couple) for pin in _light_pins(setup)),
    )


def _light_pins(setup: Setup) -> Iterator[tuple[float, float]]:
    """Yield longitude and latitude of every light; one that is told wrongly is not drawn, its table says why."""
    for light in setup.lights:
        pin = light.get("pin")
        if isinstance(pin, list) and len(pin) >= 2 and all(isinstance(one, int | float) for one in pin[:2]):
            yield float(pin[0]), float(pin[1])


def _lamp(at: FloatArray, couple: FloatArray) -> str:
    """Return a reflector seen from above, narrow at its back and open towards the couple, with a stroke the way it shines."""
    way = couple - at
    along = way / max(float(np.hypot(*way)), 1e-9)
    across = np.array([-along[1], along[0]])
    back, front = at - along * LAMP_UNITS / 2, at + along * LAMP_UNITS / 2
    corners = (back - across * 2.5, back + across * 2.5, front + across * LAMP_UNITS / 1.6, front - across * LAMP_UNITS / 1.6)
    return f"M{'L'.join(_xy(corner) for corner in corners)}ZM{_xy(front)}L{_xy(front + along * LAMP_UNITS)}"


def _towards(bearing_deg: float) -> FloatArray:
    """Return one unit along a bearing, on the page."""
    return np.array([np.sin(np.radians(bearing_deg)), -np.cos(np.radians(bearing_deg))])


def _arc(radius: float, end: FloatArray, setup: Setup) -> str:
    return f"A{radius:.1f} {radius:.1f} 0 {int(setup.camera.horizontal_deg > 180)} 1 {_xy(end)}"


def _dots(setup: Setup, couple: FloatArray, sheet: Sheet) -> tuple[tuple[float, float], ...]:
    """Return the people side by side, square to the line, as far apart as they stand or can be told apart."""
    count = max(1, len(setup.people))
    apart = max(SHOULDER_ROOM_M * sheet.scale, DOTS_APART)
    across = _towards(setup.line_deg + 90.0)
    return tuple(_pair(couple + across * apart * (one - (count - 1) / 2)) for one in range(count))


def _dimension(setup: Setup, camera: FloatArray, couple: FloatArray, lettering: Lettering) -> tuple[str, str]:
    """Draw the measure beside the line, on the emptier side, and letter it."""
    words = f"{setup.distance_m:.1f} m  {setup.line_deg:03.0f}°"
    across, turn = _towards(setup.line_deg + 90.0), _upright(setup.line_deg - 90.0)
    middle = (camera + couple) / 2
    half = (
        max(width_of(words, "measure"), float(np.hypot(*(couple - camera))))
        / 2
        * np.abs(_towards(setup.line_deg))
    )
    boxes = [
        Box(*(middle + across * off - half - 6.0), *(middle + across * off + half + 6.0))
        for off in DIMENSION_OFF
    ]
    off = DIMENSION_OFF[lettering.best(boxes)]
    ends = [pin + across * off for pin in (camera, couple)]
    lettering.keep_clear_along(np.stack(ends))
    up = np.array([np.sin(np.radians(turn)), -np.cos(np.radians(turn))])
    at = (ends[0] + ends[1]) / 2 + up * 4.0
    lettering.put_turned(Label(float(at[0]), float(at[1]), words, "measure", "middle", turn))
    feet = "".join(
        f"M{_xy(pin + across * np.copysign(6.0, off))}L{_xy(pin + across * (off + np.copysign(5.0, off)))}"
        for pin in (camera, couple)
    )
    strokes = "".join(f"M{_xy(end + (-3.5, 3.5))}l7,-7" for end in ends)
    return f"{feet}M{_xy(ends[0])}L{_xy(ends[1])}", strokes


def _letter_width(
    setup: Setup, camera: FloatArray, edges: list[FloatArray], far: float, lettering: Lettering
) -> None:
    """Write lens and angle along the edge of the view that has most room, if any has enough."""
    words = f"{setup.camera.focal_mm:g} mm, {setup.camera.horizontal_deg:.1f}° wide"
    choices = []
    for share in WIDTH_AT:
        for edge, side in zip(edges, (-1, 1), strict=True):
            turn = _upright(float(np.degrees(np.arctan2(edge[1], edge[0]))))
            up = np.array([np.sin(np.radians(turn)), -np.cos(np.radians(turn))])
            outward = edge @ np.array([[0, 1], [-1, 0]]) * side
            off = 4.0 if up @ outward > 0 else 12.0
            at = camera + edge * far * share + outward * off
            choices.append(Label(float(at[0]), float(at[1]), words, "small", "middle", turn))
    best = choices[lettering.best([turned_box(one) for one in choices])]
    if lettering.has_room(turned_box(best)):
        lettering.put_turned(best)


def _tag(
    setup: Setup, selected: bool, camera: FloatArray, couple: FloatArray, lettering: Lettering
) -> tuple[float, float]:
    """Set the number, the name and, unless it is measured on the drawing, the length and bearing of the line.

    The number stands next to the pins: before the words on their right, after them on their left.
    """
    spec = "" if selected else f"{setup.distance_m:.1f} m  {setup.line_deg:03.0f}°"
    kind = "chosen" if selected else "name"
    words = max(width_of(setup.name, kind), width_of(spec, "spec"))
    height = TAG if selected else TAG + 11
    places = [
        place
        for reach in (12.0, 22.0, 36.0, 56.0)
        for point in (camera, couple)
        for place in _tags_around(float(point[0]), float(point[1]), words + TAG + 7, height, reach)
    ]
    boxes = [_tag_box(x, y, words, height, after) for x, y, after in places]
    which = lettering.best(boxes)
    x, y, after = places[which]
    lettering.keep_clear(boxes[which], 2.0)
    start, anchor = (x - 7, "end") if after else (x + TAG + 7, "start")
    lettering.labels.append(Label(start, y + 12.2, setup.name, kind, anchor))
    if spec:
        lettering.labels.append(Label(start, y + 24.5, spec, "spec", anchor))
    return x, y


def _tag_box(x: float, y: float, words: float, height: float, after: bool) -> Box:
    left, right = (x - words - 7, x + TAG) if after else (x, x + TAG + 7 + words)
    return Box(left - 4, y - 4, right + 4, y + height + 4)


def _tags_around(
    x: float, y: float, width: float, height: float, reach: float
) -> list[tuple[float, float, bool]]:
    """Return places for the number round a point, and whether it comes after its words."""
    slant = reach * 0.7
    return [
        (x + reach, y - TAG / 2, False),
        (x - reach - TAG, y - TAG / 2, True),
        (x + slant, y - slant - height, False),
        (x + slant, y + slant, False),
        (x - slant - TAG, y - slant - height, True),
        (x - slant - TAG, y + slant, True),
        (x - width / 2, y - reach - height, False),
        (x - width / 2, y + reach, False),
    ]


def _upright(turn_deg: float) -> float:
    """Return a turn along the same line, so that words on it stand upright."""
    return float((turn_deg + 90.0) % 180.0 - 90.0)


def _pair(point: FloatArray) -> tuple[float, float]:
    return float(point[0]), float(point[1])


def _xy(point: FloatArray) -> str:
    return f"{point[0]:.1f} {point[1]:.1f}"
