"""The fit of every place, hatched over the plan: the denser, the better; the best places ringed and numbered."""

from functools import partial

import numpy as np

from app.looks.where_to_stand import Stand
from app.web.drawing.plan import DESK, HAND, Plan, PlanOf, part_plan
from app.web.drawing.plan_labels import Box, Label, Lettering
from app.web.drawing.plan_sheet import Extent, Sheet
from app.web.drawing.shade import Tone, area_path, cells_area

# What a fit is called from each on; thirds, to look right.
STEPS = (("fit-1", 0.0, "just holds"), ("fit-2", 1 / 3, "holds well"), ("fit-3", 2 / 3, "holds best"))
ROOM = 1.06
SMOOTHED = 0.75
RING, RING_IN_HAND, DROP = 10.0, 7.0, 4.4  # units; a digit's baseline lies so far under its middle


def stand_plans(of: PlanOf, stand: Stand, reach_m: float) -> tuple[Plan, Plan]:
    """Return the ground within reach, for a desk and for a hand."""
    east, north = stand.places.stays_m
    side = reach_m * ROOM
    extent = Extent(east - side, north - side, east + side, north + side)
    toned = PlanOf(of.site, of.setups, of.framed, of.scene, of.moment, None, partial(_tones, stand))
    return part_plan(toned, extent, DESK, "stand-desk"), part_plan(toned, extent, HAND, "stand-hand")


def _tones(stand: Stand, sheet: Sheet, lettering: Lettering) -> tuple[Tone, ...]:
    places, tones = stand.places, []
    finest = SMOOTHED * places.step_m * sheet.scale
    for (kind, low, _), high in zip(STEPS, [*(step[1] for step in STEPS[1:]), np.inf], strict=True):
        with np.errstate(invalid="ignore"):
            chosen = (stand.fit > low) & (stand.fit <= high)
        if chosen.any():
            area = cells_area(places.east_m[chosen], places.north_m[chosen], places.step_m)
            tones.append(Tone(kind, area_path(area, sheet, finest)))
    return (*(tone for tone in tones if tone.path), *_spots(stand, sheet, lettering))


def _spots(stand: Stand, sheet: Sheet, lettering: Lettering) -> list[Tone]:
    """Return a ring round every candidate, with its number inside, so that none can be taken for another's."""
    rings, reach = [], RING if lettering.width >= DESK else RING_IN_HAND
    for number, one in enumerate(stand.candidates, 1):
        x, y = sheet.of_pin(one.pin).tolist()
        rings.append(_circle(x, y, reach))
        lettering.keep_clear(Box.around(x, y, reach))
        lettering.labels.append(Label(x, y + DROP, str(number), "name", "middle"))
    return [Tone("fit-spot", "".join(rings))] if rings else []


def _circle(x: float, y: float, radius: float) -> str:
    return f"M{x - radius:.1f} {y:.1f}a{radius:g} {radius:g} 0 1 0 {2 * radius:g} 0a{radius:g} {radius:g} 0 1 0 {-2 * radius:g} 0Z"
