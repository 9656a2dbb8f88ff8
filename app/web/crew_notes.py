"""What a crew has to know at one stop, in lines that are read aloud in a field."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace

import numpy as np

from app.errors import BadInput
from app.light.kit import Kit
from app.looks.light_plan import light_plan
from app.looks.lighting import Lighting, scene_lighting
from app.picture.setup import Setup
from app.place.coordinates import format_coordinates
from app.sharing.sheet import CrewNotes
from app.shoot.plan import Slot
from app.shoot.prospect import Prospect
from app.web.drawing.sketch_alone import sketch_document
from app.web.light_facts import NEAR_WATER_M, light_facts, near_water
from app.web.render import clock
from app.web.scenes import light_over
from app.web.shelf import KeptSite
from app.web.words import caution_for

LIGHT_BY_WATER = f"A light stands within {NEAR_WATER_M:g} m of water: weight the stand, keep mains cables away, and hold it by hand in wind."


def crew_notes(kept: KeptSite, one: Prospect, slot: Slot, kit: Kit, standby_words: Sequence[str] = ()) -> CrewNotes:
    """Return the crew's notes on a slot.

    Settings are told for its beginning, middle and end under a clear sky. Where lights or
    kit cannot be used, a line says why in their place.
    """
    setup = one.scene.setup
    cautions = (*standby_words, *_cautions(kept, one))
    try:
        return replace(_reckoned(kept, one, slot, kit), cautions=cautions)
    except (BadInput, ValueError) as error:
        return CrewNotes(slot.wish_id, (f"No settings: {error}",), (), tuple(_pins(setup)), cautions)


def site_cautions(sites: Iterable[KeptSite]) -> Iterator[str]:
    """Yield what is known of each site's hazards, its way in and who has to allow it."""
    for kept in dict.fromkeys(sites):
        notes = kept.site.notes
        yield from (f"{kept.site.name}: {words}" for words in (notes.hazards, notes.access, notes.permission) if words)


def _reckoned(kept: KeptSite, one: Prospect, slot: Slot, kit: Kit) -> CrewNotes:
    found, setup, zone = _lit(kept, one, slot, kit), one.scene.setup, kept.site.time_zone
    facts = light_facts(setup, found.plan, found, zone)
    powers = _lines(found, zone, found.flash_words) if found.plan.lights else ()
    sketch, told = sketch_document(setup, found.plan)
    return CrewNotes(
        slot.wish_id,
        settings=_lines(found, zone, found.settings.words),
        lights=(*(f"Light {fact.number}: {fact.words}" for fact in facts), *(f"Power {line}" for line in powers)),
        positions=(*_pins(setup), *(f"Light {fact.number}: {fact.where}" for fact in facts)),
        sketch=sketch,
        sketch_alt=told,
    )


def _lit(kept: KeptSite, one: Prospect, slot: Slot, kit: Kit) -> Lighting:
    """Return the light of a slot's beginning, middle and end; ``BadInput`` for lights or kit that cannot be used."""
    instants = np.array([slot.starts_utc_s, (slot.starts_utc_s + slot.ends_utc_s) / 2, slot.ends_utc_s])
    light_plan(one.scene.setup, kit)
    scene = replace(one.scene, light=light_over(one.scene.setup, kit, kept.site.observed_stops))
    return scene_lighting(scene, scene.observer.sun_at(instants))


def _lines(found: Lighting, zone: str, words: Callable[[int], str]) -> tuple[str, ...]:
    """Return a line for each moment, “18:30: f/2.8, 1/250 s, ISO 100”, and one alone where all say the same."""
    told = [(clock(float(at_s), zone), words(at)) for at, at_s in enumerate(found.day.sun.utc_s)]
    if len({line for _, line in told}) == 1:
        return (f"{told[0][0]} to {told[-1][0]}: {told[0][1]}",)
    return tuple(f"{at}: {line}" for at, line in told)


def _pins(setup: Setup) -> Iterator[str]:
    camera, couple = setup.camera_pin, setup.couple_pin
    yield (
        f"Camera: {format_coordinates(camera.lat_deg, camera.lon_deg)}, lens {setup.lens_height_m:g} m up, "
        f"{setup.camera.focal_mm:g} mm, facing {setup.line_deg:.0f}° true"
    )
    yield f"Couple: {setup.distance_m:.1f} m from the camera, {format_coordinates(couple.lat_deg, couple.lon_deg)}"


def _cautions(kept: KeptSite, one: Prospect) -> Iterator[str]:
    if caution := caution_for(one.looks):
        yield caution
    yield from (f"{note.title}. {note.words}" for note in kept.standing_notes(one.scene.setup))
    if near_water(kept, one.scene.setup):
        yield LIGHT_BY_WATER
