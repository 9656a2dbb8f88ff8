"""Ways out when the flash falls short: each is tried, and says what it leaves missing.

While day and flash share one exposure, aperture, sensitivity and filters change both alike: only
the time tells them apart. So a wider aperture or a higher ISO helps either by a time nearer to
sync, or by letting the sky come up; both are offered for what they are.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from app.light.camera_settings import Settings, settings_for
from app.light.faces import Point
from app.light.flash import ENOUGH_STOPS, Flashed, flash_for, reach
from app.light.lights import Light
from app.light.stops import APERTURES, SPEEDS, stops_words

NEAREST_M = 0.5  # from any face; nearer, lights are in the picture and in people's way; common practice, no source
MOST_MORE = 3  # of the same flash
TO_M = 0.01


@dataclass(frozen=True)
class Way:
    """One way out.

    Attributes
    ----------
    kind : str
        “closer”, “bare”, “more”, “sync”, “aperture”, “iso” or “wait”.
    words : str
        What to do and what it brings, without the instant of waiting.
    left_stops : float
        What is still missing, 0 where it suffices. [stop]
    utc_s : float, optional
        Of waiting: seconds since 1970 from which it suffices. [s]
    """

    kind: str
    words: str
    left_stops: float
    utc_s: float | None = None


def ways_out(flashed: Flashed, at: int | tuple[int, ...] = (), utc_s: np.ndarray | None = None) -> tuple[Way, ...]:
    """Return the ways out at one moment, those that suffice first; none where the flash suffices.

    One that brings less than a sixth of a stop is left out.

    Parameters
    ----------
    flashed : Flashed
    at : int or tuple
        The moment.
    utc_s : array, optional
        Instants of a one-dimensional row of moments, to tell how long to wait. [s]
    """
    if flashed.enough[at] or not np.isfinite(flashed.full_stops[at]):
        return ()
    now = flashed.one(at)
    tried = [*_closer(now), *_bare(now), *_more(now), *_sync(now), *_sky_comes_up(now)]
    found = [way for way in tried if float(now.short_stops) - way.left_stops >= ENOUGH_STOPS]
    if utc_s is not None:
        found += _wait(flashed, int(at), utc_s)
    return tuple(sorted(found, key=lambda way: way.left_stops > 0))


def first_enough_s(flashed: Flashed, utc_s: np.ndarray, after: int = 0) -> float:
    """Return the first instant from a moment on at which the flash suffices; NaN where it never does. [s]

    Between two moments what is missing is taken to shrink evenly.
    """
    enough = np.flatnonzero(flashed.enough[after:])
    if not len(enough):
        return np.nan
    late = after + int(enough[0])
    if late == after:
        return float(utc_s[late])
    missing = -ENOUGH_STOPS - flashed.full_stops[late - 1 : late + 1]
    share = missing[0] / (missing[0] - missing[1]) if np.isfinite(missing[0]) else 1.0
    return float(utc_s[late - 1] + share * (utc_s[late] - utc_s[late - 1]))


def _try(now: Flashed, lights: tuple[Light, ...] | None = None, settings: Settings | None = None) -> Flashed:
    return flash_for(settings or now.settings, now.face_lux, lights or now.lights, now.faces, now.down_stops)


def _way(kind: str, words: str, tried: Flashed) -> Way:
    left = float(tried.short_stops)
    return Way(kind, f"{words}: {f'still {stops_words(left)} short' if left else 'enough'}", left)


def _point(metres: np.ndarray) -> Point:
    east_m, north_m, up_m = (float(one) for one in metres)
    return east_m, north_m, up_m


def _key_at(now: Flashed) -> int:
    """Return which light gives the faces most."""
    return int(np.argmax(reach(now.lights, now.faces).lux_s.sum(axis=1)))


def _instead(now: Flashed, light: Light) -> tuple[Light, ...]:
    """Return the lights with another in place of the key."""
    key = _key_at(now)
    return (*now.lights[:key], light, *now.lights[key + 1 :])


def _closer(now: Flashed) -> Iterator[Way]:
    """Move the key straight towards the faces' middle, turned to it, no farther than does it."""
    key, middle = now.lights[_key_at(now)], np.mean([face.position_m for face in now.faces], axis=0)
    away = np.subtract(key.position_m, middle)
    away_m = float(np.linalg.norm(away))
    near_m = NEAREST_M + max(float(np.linalg.norm(np.subtract(face.position_m, middle))) for face in now.faces)
    if away_m <= near_m:
        return

    def moved_to(distance_m: float) -> Flashed:
        place = _point(middle + away * distance_m / away_m)
        return _try(now, _instead(now, replace(key, position_m=place, aim_m=_point(middle))))

    reached_m, short_m = near_m, away_m
    while moved_to(near_m).enough and short_m - reached_m > TO_M:
        between_m = (reached_m + short_m) / 2
        reached_m, short_m = (between_m, short_m) if moved_to(between_m).enough else (reached_m, between_m)
    words = f"{key.words} closer, {reached_m:.1f} m from them instead of {away_m:.1f} m"
    yield _way("closer", words, moved_to(reached_m))


def _bare(now: Flashed) -> Iterator[Way]:
    key = now.lights[_key_at(now)]
    if key.modifier:
        yield _way("bare", f"{key.words} without the {key.modifier.name or 'modifier'}", _try(now, _instead(now, replace(key, modifier=None))))


def _more(now: Flashed) -> Iterator[Way]:
    """Put more of the key's kind beside it."""
    key = now.lights[_key_at(now)]
    for count in range(1, MOST_MORE + 1):
        tried = _try(now, (*now.lights, *[key] * count))
        if tried.enough or count == MOST_MORE:
            yield _way("more", f"{count} more like {key.words} beside it", tried)
            return


def _sync(now: Flashed) -> Iterator[Way]:
    """Take the sync time itself, the shortest at which the flash gives all it has."""
    limits = now.settings.limits
    if now.settings.time == limits.times[2]:
        return
    at_sync = settings_for(now.settings.camera_ev100, replace(limits, slowest_s=limits.sync_s), sync=True)
    if abs(at_sync.miss_stops - now.settings.miss_stops) < ENOUGH_STOPS:
        yield _way("sync", f"the sync time, {at_sync.words()}", _try(now, settings=at_sync))


def _sky_comes_up(now: Flashed) -> Iterator[Way]:
    """Let flash and sky both come up, by the aperture or by the sensitivity."""
    set_, limits = now.settings, now.settings.limits
    wanted = int(np.ceil(3 * float(now.short_stops) - 3 * ENOUGH_STOPS - 1e-6))
    wider = min(wanted, int(set_.aperture) - limits.apertures[0])
    faster = min(wanted, limits.speeds[1] - int(set_.speed))
    if wider > 0:
        opened = replace(set_, aperture=set_.aperture - wider)
        yield _way("aperture", f"{APERTURES.mark(int(opened.aperture))}, and the sky {stops_words(wider / 3)} brighter", _try(now, settings=opened))
    if faster > 0:
        raised = replace(set_, speed=set_.speed + faster)
        yield _way("iso", f"{SPEEDS.mark(int(raised.speed))}, and the sky {stops_words(faster / 3)} brighter", _try(now, settings=raised))


def _wait(flashed: Flashed, at: int, utc_s: np.ndarray) -> Iterator[Way]:
    when_s = first_enough_s(flashed, utc_s, at)
    if np.isfinite(when_s):
        yield Way("wait", "wait until the day is dark enough: enough", 0.0, when_s)
