"""Where to stand: how well a look fits from every place within reach, and the best of them."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from app.looks.look import WantedLook
from app.looks.margin import Margin, Scene
from app.looks.places import GroundAt, Places, grid
from app.picture.setup import Setup
from app.place.geodesy import LocalFrame
from app.place.sides import BoolArray
from app.place.site import Pin
from app.place.skyline import Skyline
from app.sky.track import SunTrack
from app.units import FloatArray

MOST_TRIED = 600  # places of a look that is tried place by place
MOST_CANDIDATES = 5
APART_M = 3.0  # between candidates
MIDDLE_COUNTS = 1e-3  # how much the places around count where many fit alike: the middle of them is taken
Report = Callable[[int, int], None]


@dataclass(frozen=True)
class Candidate:
    """One of the best places.

    Attributes
    ----------
    pin : Pin
    setup : Setup
        As it would be from there.
    fit : float
        By the exact margins of that place, above 0.
    limited_by : str
        The name of the smallest margin.
    ahead_m, aside_m : float
        From the pin as it is now: along the line of now, and to its right. [m]
    """

    pin: Pin
    setup: Setup
    fit: float
    limited_by: str
    ahead_m: float
    aside_m: float


@dataclass(frozen=True, eq=False)
class Stand:
    """The fit of a look from every place at one instant.

    ``fit`` is at most 1, NaN where nobody can stand; shape (places,).
    """

    places: Places
    utc_s: float
    fit: FloatArray
    candidates: tuple[Candidate, ...]

    @property
    def standable(self) -> BoolArray:
        return ~np.isnan(self.fit)


def where_to_stand(
    wanted: WantedLook,
    scene_of: Callable[[Setup], Scene],
    setup: Setup,
    moved: str,
    utc_s: float,
    reach_m: float = 30.0,
    step_m: float = 1.0,
    ground_at: GroundAt | None = None,
    ground: Skyline | None = None,
    report: Report = lambda done, of: None,
) -> Stand:
    """Return the fit of a look from every place within reach, and the best places.

    Parameters
    ----------
    scene_of : function of Setup
        Makes the scene of a setup, with all that is known of its surroundings.
    moved : str
        Which pin is to be placed, ``CAMERA`` or ``COUPLE``.
    utc_s : float
        The moment. [s]
    reach_m, step_m : float
        A look that must be tried place by place takes a longer step, for 600 places at most. [m]
    ground_at, ground
        The ground's height, and its skyline from the moved pin, where better is known than the site tells.
    report : function of steps done and steps in all
        Called while places are tried one by one.

    Notes
    -----
    The margins are those of the look's own file, asked with arrays that hold all places.
    Every candidate is looked at again alone, by the skyline of its own pin.
    """
    scene = scene_of(setup)
    if wanted.look.place_by_place:
        step_m = max(step_m, reach_m * float(np.sqrt(np.pi / MOST_TRIED)))
    places = grid(scene.site, setup, moved, reach_m, step_m, ground_at)
    skylines = places.skylines(ground)
    free = places.standable(skylines)
    fit, sun = np.full(free.shape, np.nan), scene.observer.sun_at(utc_s)
    if wanted.look.place_by_place:
        fit[free] = _one_by_one(wanted, scene_of, places.take(free), sun, report)
    else:
        some = places.take(free)
        fit[free] = smallest(wanted.margins(some.scene(scene, some.skylines(ground))), sun, int(free.sum()))
    return Stand(places, utc_s, fit, _candidates(wanted, scene_of, places, fit, sun))


def smallest(margins: tuple[Margin, ...], sun: SunTrack, count: int) -> FloatArray:
    """Return the fit of many places at once: the smallest of their margins, capped at 1; shape (count,)."""
    fit = np.ones(count)
    for margin in margins:
        fit = np.minimum(fit, margin.value(sun))
    return fit


def _one_by_one(
    wanted: WantedLook, scene_of: Callable[[Setup], Scene], places: Places, sun: SunTrack, report: Report
) -> FloatArray:
    count, fits = len(places.east_m), []
    for place in range(count):
        report(place, count)
        fits.append(_exact(wanted, scene_of(places.setup_at(place)), sun)[0])
    return np.array(fits)


def _exact(wanted: WantedLook, scene: Scene, sun: SunTrack) -> tuple[float, str]:
    """Return the fit of one scene and the name of the margin that limits it."""
    values = [(min(1.0, float(margin.value(sun))), margin.name) for margin in wanted.margins(scene)]
    return min(values, key=lambda pair: pair[0])


def _candidates(
    wanted: WantedLook, scene_of: Callable[[Setup], Scene], places: Places, fit: FloatArray, sun: SunTrack
) -> tuple[Candidate, ...]:
    """Return the best places, some metres apart, each by its own exact margins; none that fails there."""
    found: list[Candidate] = []
    score = fit + MIDDLE_COUNTS * _around(places, fit)
    left = np.flatnonzero(fit > 0)
    left = left[np.argsort(-score[left], kind="stable")]
    while left.size and len(found) < MOST_CANDIDATES:
        best, apart_m = left[0], max(APART_M, 2 * places.step_m)
        away_m = np.hypot(places.east_m[left] - places.east_m[best], places.north_m[left] - places.north_m[best])
        left = left[away_m >= apart_m]
        exact, limited_by = _exact(wanted, scene_of(places.setup_at(best)), sun)
        if exact > 0:
            found.append(_candidate(places, int(best), exact, limited_by))
    return tuple(sorted(found, key=lambda one: -one.fit))


def _candidate(places: Places, place: int, fit: float, limited_by: str) -> Candidate:
    pin, now, line = places.pin(place), places.goes, np.radians(places.setup.line_deg)
    east, north, _ = LocalFrame(now.lat_deg, now.lon_deg).to_metres(pin.lat_deg, pin.lon_deg)
    ahead_m, aside_m = east * np.sin(line) + north * np.cos(line), east * np.cos(line) - north * np.sin(line)
    return Candidate(pin, places.setup_at(place), fit, limited_by, float(ahead_m), float(aside_m))


def _around(places: Places, fit: FloatArray) -> FloatArray:
    """Return the mean fit of the places up to two steps away, with 0 for where it fails or nobody can stand."""
    column, row = (np.rint((side - side.min(initial=np.inf)) / places.step_m).astype(int) + 2 for side in (places.east_m, places.north_m))
    board = np.zeros((row.max(initial=0) + 3, column.max(initial=0) + 3))
    board[row, column] = np.clip(np.nan_to_num(fit), 0.0, 1.0)
    near = [board[row + down, column + right] for down in range(-2, 3) for right in range(-2, 3)]
    return np.mean(near, axis=0)
