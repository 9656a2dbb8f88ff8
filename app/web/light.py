"""Sun and shade of a site for pages: who is lit when, what lies in the shade, and where the light lingers."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from functools import lru_cache, partial

import numpy as np

from app.errors import BadInput
from app.light.lingering import LingeringPlace, lingering_places
from app.light.low_sun import LOW_DEG, LowSunMap, low_sun_minutes
from app.light.sunlit import DayLight, LitSpan, first_and_last_light
from app.picture.setup import Setup
from app.picture.sheet import half_day, sheet_span
from app.place.coordinates import format_coordinates, parse_coordinates
from app.place.geodesy import inverse
from app.place.obstacles import containing
from app.place.sides import called
from app.place.site import Pin, Site
from app.place.skyline import Skyline, ground_skyline, skyline_for
from app.place.terrain import Terrain
from app.place.timezone import rules
from app.sky.track import Observer
from app.web.drawing.shade import Toned, shade_tones
from app.web.render import clock
from app.web.scenes import FACE_M, ridges_from
from app.web.shelf import KeptSite

HOUR_S = 3600.0
NEAREST_ACROSS_M, FARTHEST_ACROSS_M = 200.0, 1000.0
CELL_M, MOST_ALONG = 2.0, 125  # the side of a square, and how many make a side before they grow
ROOM_M = 30.0  # of the map beyond the outermost pin
BESIDE_M = 3.0  # nearer than this a square's middle is where they stand
FARTHEST_POINT_M = 5000.0  # what stands on the site means nothing farther away


@dataclass(frozen=True)
class Lit:
    """One point through a day.

    Attributes
    ----------
    who : str
        “camera”, “couple” or “the point”.
    height_m : float
        The eye or the faces above the ground. [m]
    light : DayLight
    headline : str
        First and last light and what gives and takes them.
    spans : tuple of str
        Every stretch of direct sun in words.
    """

    who: str
    height_m: float
    light: DayLight
    headline: str
    spans: tuple[str, ...]


@dataclass(frozen=True)
class LitSetup:
    """A setup's number, the setup, and the light on camera and couple."""

    number: int
    setup: Setup
    lit: tuple[Lit, Lit]


@dataclass(frozen=True)
class LitPoint:
    """A point asked about: where, its light, and what to know about it."""

    pin: Pin
    coordinates: str
    lit: Lit
    note: str


@dataclass(frozen=True)
class SunNow:
    """The sun at a moment; ``hidden`` says why it reaches nothing of the site, None where it reaches some. [s, °]"""

    at_utc_s: float
    azimuth_deg: float
    altitude_deg: float
    hidden: str | None

    def toned(self, site: Site) -> Toned | None:
        """Return what lays this shade on a plan; None where all is shade, or none."""
        return None if self.hidden else partial(shade_tones, site, self.azimuth_deg, self.altitude_deg)


@dataclass(frozen=True)
class Lingering:
    """A place where the light stays long, in words: where it is, and its coordinates."""

    minutes: float
    where: str
    coordinates: str


@dataclass(frozen=True)
class LowSun:
    """The low-sun map, the share of its squares that lose nothing, and its best places."""

    low: LowSunMap
    open_share: float
    places: tuple[Lingering, ...]


# First and last light


def lit_setups(kept: KeptSite, day: date) -> tuple[LitSetup, ...]:
    """Return first and last light on a date at the camera and the couple of every setup.

    They count the whole round disc, as the eye does on a face; windows of looks count
    the disc's middle column. Beside an upright edge the two differ by about a minute,
    and the page says so; neither is bent to the other.
    """
    return tuple(_lit_setup(kept, number, setup, day) for number, setup in enumerate(kept.setups(), 1))


def lit_point(kept: KeptSite, place: Pin, eye_height_m: float, day: date) -> LitPoint:
    """Return first and last light on a date for an eye over any point.

    Raises
    ------
    BadInput
        For a point more than 5 km from the site.
    """
    centre = kept.site.centre
    away_m = inverse(centre.lat_deg, centre.lon_deg, place.lat_deg, place.lon_deg).distance_m
    if away_m > FARTHEST_POINT_M:
        raise BadInput(f"A point lies within {FARTHEST_POINT_M / 1000:g} km of the site; this one is {away_m / 1000:.0f} km away.", "point")
    skyline = skyline_for(kept.site, place, eye_height_m, ridges_from(kept.terrain, kept.site, place, eye_height_m))
    holding = containing(kept.site, place, eye_height_m)
    note = f"The point stands in {_and([called(one) for one in holding])}, left out of its view." if holding else ""
    observer = Observer(place.lat_deg, place.lon_deg, centre.height_m)
    lit = _lit(kept, "the point", eye_height_m, observer, skyline, day)
    return LitPoint(place, format_coordinates(place.lat_deg, place.lon_deg), lit, note)


def parse_point(text: str) -> Pin:
    """Return the point typed; ``BadInput`` with a sentence otherwise."""
    place = parse_coordinates(text)
    return Pin(place.lat_deg, place.lon_deg)


def light_words(light: DayLight, zone: str) -> str:
    """Return first and last light in one line, “first light 07:02, over the ridge; last light 18:31, behind the barn”."""
    if not light.spans:
        return "no direct sun on this date"
    if light.always:
        return "in the sun all day and all night"
    first, last = light.spans[0], light.spans[-1]
    if first.over is None and last.behind is None:
        goes, comes = clock(first.closes_utc_s, zone), clock(last.opens_utc_s, zone)
        return f"in the sun at both midnights; it goes {goes}, behind {first.behind}, and is back for the night {comes}, over {last.over}"
    told = [
        f"first light {clock(first.opens_utc_s, zone)}, over {first.over}" if first.over else "in the sun at midnight already",
        f"last light {clock(last.closes_utc_s, zone)}, behind {last.behind}" if last.behind else "still in the sun at midnight",
    ]
    return "; ".join(told)


def span_words(span: LitSpan, zone: str) -> str:
    """Return “07:02 to 18:31, 689 min: comes over the ridge, goes behind the barn”."""
    comes = f"comes over {span.over}" if span.over else "there at midnight"
    goes = f"goes behind {span.behind}" if span.behind else "still there at midnight"
    times = f"{clock(span.opens_utc_s, zone)} to {clock(span.closes_utc_s, zone)}"
    return f"{times}, {_minutes(span.minutes)}: {comes}, {goes}"


def _lit_setup(kept: KeptSite, number: int, setup: Setup, day: date) -> LitSetup:
    scene = kept.scene(setup)
    couple = Observer(setup.couple_pin.lat_deg, setup.couple_pin.lon_deg, kept.site.centre.height_m)
    return LitSetup(
        number,
        setup,
        (
            _lit(kept, "couple", FACE_M, couple, scene.couple_skyline, day),
            _lit(kept, "camera", setup.lens_height_m, scene.observer, scene.skyline, day),
        ),
    )


def _lit(kept: KeptSite, who: str, height_m: float, observer: Observer, skyline: Skyline, day: date) -> Lit:
    light, zone = first_and_last_light(observer, skyline, *kept.civil_day(day)), kept.site.time_zone
    return Lit(who, height_m, light, light_words(light, zone), tuple(span_words(span, zone) for span in light.spans))


def _minutes(minutes: float) -> str:
    return f"{minutes:.0f} min" if minutes >= 1 else f"{minutes * 60:.0f} s"


# Shade on the ground


def moment_on(kept: KeptSite, day: date, wanted: time | None, part: str) -> float:
    """Return a typed time of a date as an instant; without one, an hour of sun before sunset, or after sunrise. [s]"""
    if wanted:
        return datetime.combine(day, wanted, rules(kept.site.time_zone)).timestamp()
    span = sheet_span(_observer(kept.site), *kept.civil_day(day), part)
    shift = {"sunset": -HOUR_S, "sunrise": HOUR_S}.get(span.around, 0.0)
    return round((span.around_utc_s + shift) / 60) * 60.0


def sun_now(kept: KeptSite, at_utc_s: float) -> SunNow:
    """Return the sun over the site at a moment, and whether ground far away hides it from everything."""
    sun = _observer(kept.site).sun_at(np.array([at_utc_s]))
    azimuth_deg, altitude_deg = float(sun.azimuth_deg[0]), float(sun.refracted_deg[0])
    hidden = _hidden(kept, azimuth_deg, altitude_deg, float(sun.upper_edge_deg[0]))
    return SunNow(at_utc_s, azimuth_deg, altitude_deg, hidden)


def _hidden(kept: KeptSite, azimuth_deg: float, altitude_deg: float, upper_edge_deg: float) -> str | None:
    """Return why the sun reaches nothing of the site, None when it reaches some."""
    if not altitude_deg > 0.0:
        return "The sun is down: there is no direct light, and so no shade to draw."
    far = far_skyline(kept.site, kept.terrain)
    if far.clearance_deg(azimuth_deg, upper_edge_deg) > 0.0:
        return None
    return f"The sun is behind {far.called_at(azimuth_deg)}: all of the site lies in its shade."


def far_skyline(site: Site, terrain: Terrain | None) -> Skyline:
    """Return the skyline of the ground far away, from faces in the middle of the site: terrain and survey, no obstacles."""
    middle = Pin(site.centre.lat_deg, site.centre.lon_deg)
    return ground_skyline(site, middle, FACE_M, ridges_from(terrain, site, middle, FACE_M))


def _observer(site: Site) -> Observer:
    return Observer(site.centre.lat_deg, site.centre.lon_deg, site.centre.height_m)


# Where the light lingers


def low_sun(kept: KeptSite, day: date, part: str, highest_deg: float = LOW_DEG, from_utc_s: float | None = None) -> LowSun:
    """Return the minutes of low sun on every square in an evening or morning, or of what is left from a moment on."""
    start, end = half_day(_observer(kept.site), *kept.civil_day(day), part)
    start = start if from_utc_s is None else min(max(start, from_utc_s), end)
    across_m = _across_m(kept)
    cell_m = max(CELL_M, float(np.ceil(across_m / MOST_ALONG)))
    low = _counted(kept.site, kept.terrain, (start, end), cell_m, across_m, highest_deg, part == "morning")
    free = low.minutes[~low.built_on]
    share = float(np.mean(free >= low.open_minutes - 0.5)) if free.size else 0.0
    couples = [setup.couple_pin for setup in kept.setups()]
    places = lingering_places(kept.site, low, couples)
    return LowSun(low, share, tuple(_lingering(kept, couples, place) for place in places))


@lru_cache(maxsize=16)
def _counted(
    site: Site, terrain: Terrain | None, span_utc_s: tuple[float, float], cell_m: float, across_m: float, highest_deg: float, rising: bool
) -> LowSunMap:
    """Return ``low_sun_minutes``; asking about a point of the same evening costs no second count."""
    far, observer = far_skyline(site, terrain), _observer(site)
    return low_sun_minutes(site, observer, *span_utc_s, cell_m, across_m, highest_deg, far, ground_m=None, rising=rising)


def _across_m(kept: KeptSite) -> float:
    """Return the side of a map that holds every pin, 200 m or more. [m]"""
    frame = kept.site.local_frame
    pins = [pin for setup in kept.setups() for pin in (setup.camera_pin, setup.couple_pin)]
    away_m = [float(np.max(np.abs(frame.to_metres(pin.lat_deg, pin.lon_deg)[:2]))) for pin in pins]
    wanted_m = 20.0 * np.ceil((max(away_m, default=0.0) + ROOM_M) / 10.0)
    return float(np.clip(wanted_m, NEAREST_ACROSS_M, FARTHEST_ACROSS_M))


def _lingering(kept: KeptSite, couples: Sequence[Pin], place: LingeringPlace) -> Lingering:
    lat_deg, lon_deg, _ = kept.site.local_frame.to_degrees(place.east_m, place.north_m)
    coordinates = format_coordinates(float(lat_deg), float(lon_deg))
    ways = [inverse(pin.lat_deg, pin.lon_deg, float(lat_deg), float(lon_deg)) for pin in couples]
    if not ways:
        return Lingering(place.minutes, "", coordinates)
    nearest = min(range(len(ways)), key=lambda n: ways[n].distance_m)
    way = ways[nearest]
    if way.distance_m < BESIDE_M:
        return Lingering(place.minutes, f"where the couple of setup {nearest + 1} stand", coordinates)
    return Lingering(place.minutes, f"{way.distance_m:.0f} m from the couple of setup {nearest + 1}, at {way.bearing_deg:.0f}° true", coordinates)


def _and(names: Sequence[str]) -> str:
    *most, last = names
    return f"{', '.join(most)} and {last}" if most else last
