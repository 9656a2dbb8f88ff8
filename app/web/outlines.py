"""Outlines that were loaded or fetched for a site and wait to be put on its plan."""

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np

from app.errors import BadInput
from app.outside.outlines import OutlineService
from app.place.edit import Document, Feature
from app.place.outline_match import DIFFERS, NEW, OVERLAPS, SAME, Match, matched, with_outlines
from app.place.outline_tags import ASSUMED, BY_LEVELS, BY_TAG, LEVEL_M
from app.place.outlines import MOST_KEPT, GroundAt, obstacles_from_outlines
from app.place.sides import called
from app.place.site import Pin, Site
from app.place.terrain_eye import standing_at
from app.storage.store import Store
from app.web.shelf import KeptSite

SERVICE_SETTING = "outline_service"
HEIGHT_FROM = {
    BY_TAG: "as its map says",
    BY_LEVELS: f"by storeys of {LEVEL_M:g} m",
    ASSUMED: "assumed, as its map says nothing",
}


@dataclass(frozen=True)
class Draft:
    """Outlines that wait. ``mark`` is another for any other content.

    ``origin`` says from which file or service, ``ground`` from where the ground under
    them is known, ``left_out`` which could not be used and why.
    """

    origin: str
    within_m: float
    ground: str
    features: tuple[Feature, ...]
    notes: tuple[str, ...]
    left_out: tuple[tuple[str, str], ...]
    mark: str = ""


@dataclass(frozen=True)
class Row:
    """One outline of the list: its number from 1, what it is called, and its heights over the ground. [m, °]"""

    number: int
    match: Match
    name: str
    kind: str
    top_m: float
    base_m: float
    height_from: str
    bearing_deg: float
    ticked: bool

    @property
    def there(self) -> str:
        """What stands there already is called."""
        return called(self.match.there) if self.match.there else ""


@dataclass(frozen=True)
class Preview:
    """The waiting outlines held against the site as it is now."""

    draft: Draft
    rows: tuple[Row, ...]

    @cached_property
    def groups(self) -> tuple[tuple[str, tuple[Row, ...]], ...]:
        """The rows that may be ticked, by what they are to the site, nearest first."""
        return tuple((state, self.of(state)) for state in (NEW, OVERLAPS, DIFFERS) if self.of(state))

    def of(self, state: str) -> tuple[Row, ...]:
        """Return the rows of one state, nearest first."""
        return tuple(sorted((row for row in self.rows if row.match.state == state), key=lambda row: row.match.away_m))

    @property
    def same(self) -> int:
        """How many stand on the plan already, just so."""
        return len(self.of(SAME))

    @property
    def counts(self) -> dict[str, int]:
        """How many have their height from where."""
        return {known: sum(row.height_from == words for row in self.rows) for known, words in HEIGHT_FROM.items()}


# The ground


def ground_under(kept: KeptSite) -> tuple[GroundAt, str]:
    """Return the ground above a site's zero as a function of latitude and longitude, and from where it is known.

    Terrain counts from the site's height above the sea. Where the two are more than
    30 m apart in the middle of the site one of them is wrong, and the middle's own
    ground by the terrain is taken for the zero.
    """
    of_pins = _ground_of_pins(kept.site)
    if kept.terrain is None:
        return of_pins, "The ground under each is taken to be that of the nearest pin on the plan, as no terrain is kept with this site."
    terrain, centre = kept.terrain, kept.site.centre
    middle = standing_at(terrain, kept.site, Pin(centre.lat_deg, centre.lon_deg))
    guessed = not middle.agree and bool(np.isfinite(middle.found_m))
    zero_m = middle.found_m if guessed else centre.height_m

    def ground_m(lat_deg: float, lon_deg: float) -> float:
        found_m = float(terrain.height_at(lat_deg, lon_deg)) - zero_m
        return found_m if np.isfinite(found_m) else of_pins(lat_deg, lon_deg)

    source = f"The ground under each is that of the terrain kept with this site ({terrain.source or 'source not said'})"
    doubt = f", counted from the {zero_m:.0f} m it has in the middle: the site file says {centre.height_m:.0f} m, and both cannot be right"
    return ground_m, f"{source}{doubt if guessed else ''}; where it knows nothing, that of the nearest pin."


def _ground_of_pins(site: Site) -> GroundAt:
    pins = [*(pin for one in site.setups for pin in (one.camera, one.couple)), *(one.pin for one in site.surveys)]
    if not pins:
        return lambda lat_deg, lon_deg: 0.0
    frame = site.local_frame
    east_m, north_m, _ = frame.to_metres(np.array([pin.lat_deg for pin in pins]), np.array([pin.lon_deg for pin in pins]))

    def nearest_m(lat_deg: float, lon_deg: float) -> float:
        x_m, y_m, _ = frame.to_metres(lat_deg, lon_deg)
        return pins[int(np.argmin(np.hypot(east_m - x_m, north_m - y_m)))].ground_m

    return nearest_m


# Drafts


def draft_of(kept: KeptSite, document: str | bytes | Mapping[str, Any], within_m: float, origin: str, owner: str = "") -> Draft:
    """Return what a document holds near a site, to be looked through; ``BadInput`` when it is none.

    ``owner`` is named with those outlines of which the document does not say whose they are.
    """
    ground_at, ground = ground_under(kept)
    centre = kept.site.centre
    found = obstacles_from_outlines(document, centre.lat_deg, centre.lon_deg, within_m, ground_at)
    owned = [{**one, "properties": {"attribution": owner, **one["properties"]}} if owner else one for one in found.features]
    notes = (*found.notes, f"Outlines: {owner}.") if owned != list(found.features) else found.notes
    return _marked(Draft(origin, within_m, ground, tuple(owned), notes, found.left_out))


def save_draft(store: Store, kept: KeptSite, draft: Draft | None) -> None:
    """Keep the waiting outlines of a site in place of any others; None drops them."""
    store.save_setting(_key(kept.slug), {"centre": _centre(kept), **vars(draft)} if draft else None)


def kept_draft(store: Store, kept: KeptSite) -> Draft | None:
    """Return the waiting outlines of a site; those of a deleted site that lay elsewhere are none of its."""
    found = store.setting(_key(kept.slug))
    if not found or found["centre"] != _centre(kept):
        return None
    lists = {name: tuple(found[name]) for name in ("features", "notes")}
    left_out = tuple((name, reason) for name, reason in found["left_out"])
    return Draft(found["origin"], found["within_m"], found["ground"], left_out=left_out, mark=found["mark"], **lists)


def kept_service(store: Store) -> OutlineService | None:
    """Return where outlines are fetched from; None while no address is set."""
    address = store.setting(SERVICE_SETTING)
    return OutlineService(address) if address else None


def _marked(draft: Draft) -> Draft:
    written = json.dumps([draft.origin, draft.within_m, draft.features, draft.left_out], sort_keys=True)
    return replace(draft, mark=hashlib.sha256(written.encode()).hexdigest()[:16])


def _key(slug: str) -> str:
    return f"outlines:{slug}"


def _centre(kept: KeptSite) -> list[float]:
    return [kept.site.centre.lat_deg, kept.site.centre.lon_deg]


# The list to look through


def preview_of(kept: KeptSite, draft: Draft, chosen: frozenset[int] | None = None) -> Preview:
    """Return the waiting outlines against the site; ``chosen`` are the numbers ticked, None before anybody ticked."""
    ground_at, _ = ground_under(kept)
    found = matched(draft.features, kept.site)
    rows = (_row(kept, number, match, ground_at, chosen) for number, match in enumerate(found, 1))
    return Preview(draft, tuple(rows))


def with_chosen(kept: KeptSite, draft: Draft, chosen: frozenset[int]) -> Document:
    """Return the site's document with the outlines of these numbers, but for those that stand there just so."""
    found = matched(draft.features, kept.site)
    wanted = [match for number, match in enumerate(found, 1) if number in chosen and match.state != SAME]
    if not wanted:
        raise BadInput("Tick at least one outline that is to stand on the plan.", "outlines")
    return with_outlines(kept.site, wanted)


def _row(kept: KeptSite, number: int, match: Match, ground_at: GroundAt, chosen: frozenset[int] | None) -> Row:
    one = match.obstacle
    lon_deg, lat_deg = np.mean(one.outline, axis=0)
    ground_m = ground_at(float(lat_deg), float(lon_deg))
    east_m, north_m, _ = kept.site.local_frame.to_metres(lat_deg, lon_deg)
    return Row(
        number=number,
        match=match,
        name=called(one),
        kind=one.kind,
        top_m=one.top_m - ground_m,
        base_m=one.base_m - ground_m,
        height_from=HEIGHT_FROM[match.feature["properties"].get("height_from", ASSUMED)],
        bearing_deg=float(np.degrees(np.arctan2(east_m, north_m)) % 360.0),
        ticked=match.state == NEW if chosen is None else number in chosen,
    )


# Numbers that were ticked


def numbers_in(texts: Sequence[str]) -> frozenset[int]:
    """Return the numbers in texts like “3” and “1-14 16”; what is none is passed over."""
    return frozenset(number for text in texts for part in text.split()[:MOST_KEPT] for number in _range(part))


def numbers_words(numbers: frozenset[int]) -> str:
    """Return numbers as “1-14 16”."""
    runs: list[list[int]] = []
    for number in sorted(numbers):
        if runs and number == runs[-1][1] + 1:
            runs[-1][1] = number
        else:
            runs.append([number, number])
    return " ".join(f"{first}-{last}" if last > first else f"{first}" for first, last in runs)


def _range(part: str) -> range:
    first, _, last = part.partition("-")
    if not (first.isdecimal() and (last or first).isdecimal() and len(part) < 12):
        return range(0)
    return range(int(first), min(int(last or first), MOST_KEPT) + 1)
