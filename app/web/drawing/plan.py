"""The plan of a site as a surveyor would draw it, as plain numbers for plan.html."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from app.looks.margin import Scene
from app.picture.setup import Setup
from app.place.declination import declination
from app.place.outline_match import credits_of
from app.place.site import Pin, Site
from app.place.values import short
from app.units import FloatArray
from app.web.drawing.plan_labels import Box, Label, Lettering, places_around
from app.web.drawing.plan_picture import LaidPicture
from app.web.drawing.plan_rim import SIDE, TOP, Rim, rim_for
from app.web.drawing.plan_setups import SetupMark, setup_marks
from app.web.drawing.plan_sheet import Extent, Sheet, extent_around, extent_of
from app.web.drawing.plan_things import (
    Shape,
    keep_things_clear,
    letter_things,
    lying_shapes,
    standing_shapes,
)
from app.web.drawing.shade import Tone, Toned

DESK, HAND = 640.0, 330.0  # units across the paper inside the border, on a desk and in a hand
LEAST_SCALE, MOST_SCALE = 0.05, 80.0  # units for a metre
PLAIN = 1.0  # the margin of a drawing without its border
ARROW_WIDE, ARROW_TALL = 172.0, 76.0
NEEDLE_LEAST_DEG = 0.05  # a needle nearer to north than this points north


@dataclass(frozen=True)
class Moment:
    """What the border tells about the sun: when, and by which clocks. [s since 1970 UTC]"""

    at_utc_s: float
    instants_utc_s: FloatArray
    zone: str
    day: date


@dataclass(frozen=True)
class ScaleBar:
    """Lower left corner, lengths of its pieces in units, and the figures over them."""

    x: float
    y: float
    pieces: tuple[tuple[float, float, bool], ...]
    figures: tuple[tuple[float, str], ...]


@dataclass(frozen=True)
class Plan:
    """All that plan.html may draw. Units are pixels at the plan's own size.

    Attributes
    ----------
    drawing_id : str
        Keeps patterns and clips of several plans on one page apart.
    left, top : float
        The border's width.
    bounds_deg : tuple of float
        South, west, north and east of the whole drawing, border included. [°]
    crosses : str
        Where the grid's lines would meet.
    figures : tuple of Label
        Metres along the sheet's edges.
    needle_deg : float
        How far the compass needle points from true north, east positive. [°]
    tones : tuple of Tone
        Shade, or how long light stays, under what stands.
    point
        A point asked about, ringed.
    """

    drawing_id: str
    sheet: Sheet
    left: float
    top: float
    bounds_deg: tuple[float, float, float, float]
    picture: LaidPicture | None
    lying: tuple[Shape, ...]
    standing: tuple[Shape, ...]
    surveys: tuple[tuple[float, float], ...]
    setups: tuple[SetupMark, ...]
    labels: tuple[Label, ...]
    crosses: str
    figures: tuple[Label, ...]
    arrow: tuple[float, float]
    needle_deg: float
    bar: ScaleBar
    rim: Rim | None
    tones: tuple[Tone, ...] = ()
    point: tuple[float, float] | None = None

    @property
    def width(self) -> float:
        return self.sheet.width + 2 * self.left

    @property
    def height(self) -> float:
        return self.sheet.height + 2 * self.top

    @property
    def selected(self) -> SetupMark | None:
        """The setup that is drawn in full."""
        return next((mark for mark in self.setups if mark.selected), None)

    @property
    def needle(self) -> str:
        """How far the compass needle points from true north, in words."""
        if abs(self.needle_deg) < NEEDLE_LEAST_DEG:
            return "true, and so the needle"
        return f"true; needle {abs(self.needle_deg):.1f}° {'east' if self.needle_deg > 0 else 'west'}"

    @property
    def words(self) -> str:
        """What is on the plan, for those who cannot see it."""
        names = ", ".join(f"{mark.number} {mark.name}" for mark in sorted(self.setups, key=lambda mark: mark.number))
        across, up = self.sheet.extent.width_m, self.sheet.extent.height_m
        return f"Plan, {across:.0f} by {up:.0f} m, north up. {f'Setups: {names}.' if names else 'No setups yet.'}"


@dataclass(frozen=True)
class PlanOf:
    """What a plan is drawn from.

    ``setups`` are drawn, on a sheet that ``framed`` fill: the same ones unless
    one is being moved. ``scene`` belongs to the selected setup, None where there
    is none. ``toned`` lays tones under the ink; ``point`` is ringed.
    """

    site: Site
    setups: tuple[Setup, ...]
    framed: tuple[Setup, ...]
    scene: Scene | None
    moment: Moment
    picture: LaidPicture | None = None
    toned: Toned | None = None
    point: Pin | None = None


def desk_plan(of: PlanOf, scale: float | None = None) -> Plan:
    """Return the whole site with its border, as wide as a desk's page unless a scale is given."""
    extent = extent_of(of.site, of.framed)
    wanted = scale or DESK / extent.width_m
    return _plan(of, extent, float(np.clip(wanted, LEAST_SCALE, MOST_SCALE)), "desk", with_rim=True)


def hand_plan(of: PlanOf) -> Plan | None:
    """Return the ground near the selected setup, as wide as a phone; None without a setup."""
    if of.scene is None:
        return None
    extent = extent_around(of.site, of.scene.setup)
    return _plan(of, extent, min(HAND / extent.width_m, MOST_SCALE), "hand", with_rim=False)


def part_plan(of: PlanOf, extent: Extent, wide: float, drawing_id: str) -> Plan:
    """Return any piece of the ground without a border, so many units wide."""
    return _plan(of, extent, min(wide / extent.width_m, MOST_SCALE), drawing_id, with_rim=False)


def _plan(of: PlanOf, extent: Extent, scale: float, drawing_id: str, with_rim: bool) -> Plan:
    sheet = Sheet(of.site.local_frame, extent, scale)
    rim = _rim(of, sheet) if with_rim else None
    left, top = (SIDE, TOP) if rim else (PLAIN, PLAIN)
    lettering = Lettering(sheet.width, sheet.height)
    keep_things_clear(of.site, sheet, lettering)
    selected = of.scene.setup.id if of.scene else None
    marks = setup_marks(_numbered(of.setups, sheet), selected, sheet, lettering)
    surveys = _surveys(of.site, sheet, lettering)
    bar, arrow = _bar(sheet, lettering), _arrow(sheet, lettering)
    _credit(of.site, sheet, lettering)
    tones = of.toned(sheet, lettering) if of.toned else ()
    letter_things(of.site, sheet, lettering)
    return Plan(
        drawing_id=drawing_id,
        sheet=sheet,
        left=left,
        top=top,
        bounds_deg=sheet.bounds_deg(left, top),
        picture=of.picture,
        lying=lying_shapes(of.site, sheet),
        standing=standing_shapes(of.site, sheet),
        surveys=surveys,
        setups=marks,
        labels=tuple(lettering.labels),
        crosses=_crosses(sheet),
        figures=tuple(_figures(sheet)),
        arrow=arrow,
        needle_deg=_needle_deg(of.site, of.moment.day),
        bar=bar,
        rim=rim,
        tones=tones,
        point=tuple(sheet.of_pin(of.point).tolist()) if of.point else None,
    )


def _needle_deg(site: Site, day: date) -> float:
    return declination(site.centre.lat_deg, site.centre.lon_deg, day, site.centre.height_m).east_deg


def _rim(of: PlanOf, sheet: Sheet) -> Rim | None:
    if of.scene is None:
        return None
    return rim_for(of.scene, sheet, of.moment.instants_utc_s, of.moment.at_utc_s, of.moment.zone)


def _numbered(setups: Sequence[Setup], sheet: Sheet) -> tuple[tuple[int, Setup], ...]:
    """Return the setups that have a pin on the sheet, with their numbers on the site."""
    return tuple(
        (number, setup)
        for number, setup in enumerate(setups, 1)
        if any(_on(sheet, sheet.of_pin(pin)) for pin in (setup.camera_pin, setup.couple_pin))
    )


def _on(sheet: Sheet, point: FloatArray) -> bool:
    return bool(0 <= point[0] <= sheet.width and 0 <= point[1] <= sheet.height)


def _surveys(site: Site, sheet: Sheet, lettering: Lettering) -> tuple[tuple[float, float], ...]:
    """Return the viewpoints on the sheet, with their names set beside them."""
    found = []
    for survey in site.surveys:
        x, y = sheet.of_pin(survey.pin)
        if _on(sheet, (x, y)):
            lettering.keep_clear(Box.around(x, y, 8.0), 2.0)
            lettering.put(survey.name, "thing", [*places_around(x, y, 12.0), *places_around(x, y, 26.0)])
            found.append((float(x), float(y)))
    return tuple(found)


def _credit(site: Site, sheet: Sheet, lettering: Lettering) -> None:
    """Letter whose outlines the plan shows, as their licences ask of every drawing."""
    for words in credits_of(site):
        left, right, foot = 12.0, sheet.width - 44.0, sheet.height - 20.0  # clear of the metres along the edges
        places = [(right, foot, "end"), (left, foot, "start"), (right, 16.0, "end"), (left, 16.0, "start")]
        lettering.put(short(words, 60), "spec", places)


def _crosses(sheet: Sheet) -> str:
    return "".join(f"M{x - 3:.1f} {y:.1f}h6m-3,-3v6" for x in _lines(sheet, 0)[1] for y in _lines(sheet, 1)[1])


def _figures(sheet: Sheet) -> list[Label]:
    """Return metres from the first line on, west to east along the foot and south to north up the side."""
    across, up = (zip(*_lines(sheet, axis), strict=True) for axis in (0, 1))
    return [
        *(Label(x + 3, sheet.height - 5, f"{m:g}", "grid") for m, x in across if m and x < sheet.width - 43),
        *(Label(sheet.width - 5, y - 3, f"{m:g}", "grid", "end") for m, y in up if m and y > 27),
    ]


def _lines(sheet: Sheet, axis: int) -> tuple[list[float], list[float]]:
    """Return the grid's lines of one direction: metres from the first, and units on the sheet."""
    step, extent = sheet.cross_m, sheet.extent
    low, high = ((extent.west_m, extent.east_m), (extent.south_m, extent.north_m))[axis]
    at_m = np.arange(np.ceil(low / step), np.floor(high / step) + 1) * step
    units = sheet.of_metres(at_m, at_m)[:, axis]
    return (at_m - at_m[0]).tolist() if len(at_m) else [], units.tolist()


def _arrow(sheet: Sheet, lettering: Lettering) -> tuple[float, float]:
    """Return the foot of the north arrow, in the emptiest corner."""
    left, right = 22.0, sheet.width - ARROW_WIDE - 22.0
    top, foot = 22.0, sheet.height - ARROW_TALL - 26.0
    corners = [(left, top), (right, top), (left, top + 60), (right, top + 60), (right, foot), (left, foot)]
    boxes = [Box(x - 8, y - 8, x + ARROW_WIDE, y + ARROW_TALL) for x, y in corners]
    which = lettering.best(boxes)
    lettering.keep_clear(boxes[which], 2.0)
    return corners[which][0] + 8.0, corners[which][1] + ARROW_TALL - 14.0


def _bar(sheet: Sheet, lettering: Lettering) -> ScaleBar:
    """Return the scale bar: five checks in the first quarter, then a quarter, then a half."""
    whole = sheet.bar_m * sheet.scale
    foot, head = sheet.height - 24.0, 50.0
    corners = [
        (20.0, foot),
        (sheet.width - whole - 44.0, foot),
        (20.0, head),
        (sheet.width - whole - 44.0, head),
    ]
    boxes = [Box(x - 10, y - 22, x + whole + 26, y + 8) for x, y in corners]
    which = lettering.best(boxes)
    lettering.keep_clear(boxes[which], 2.0)
    ends = np.array([0, 1, 2, 3, 4, 5, 10, 20]) / 20 * whole
    sizes = zip(ends, np.diff(ends), strict=False)
    pieces = [(float(start), float(length), n % 2 == 0) for n, (start, length) in enumerate(sizes)]
    shares = (0.0, 0.25, 0.5, 1.0)
    figures = [(share * whole, f"{share * sheet.bar_m:g}{' m' if share == 1 else ''}") for share in shares]
    return ScaleBar(*corners[which], tuple(pieces), tuple(figures))
