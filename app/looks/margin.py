"""A margin: how far one condition of a look is from failing."""

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np

from app.looks.scene_light import SceneLight
from app.looks.way import Bounds, Way
from app.picture.setup import Setup
from app.picture.weather import Weather
from app.place.site import Site
from app.place.skyline import Skyline, level_skyline
from app.sky.track import Observer, SunTrack
from app.units import FloatArray

Words = str | Callable[[SunTrack], str]
AZIMUTH, ALTITUDE, BOTH = "azimuth", "altitude", "both"


@dataclass(frozen=True)
class Scene:
    """All that a look may ask about: the place, the setup and what hides the sky.

    ``skyline`` is what the camera sees, ``couple_skyline`` what lights the couple;
    ``ground`` is the camera's skyline without the site's obstacles, where they are
    drawn for themselves. ``light`` is what margins of brightness and flash go by; without
    it looks ask nothing of the light.
    """

    observer: Observer
    setup: Setup
    skyline: Skyline = field(default_factory=level_skyline)
    couple_skyline: Skyline = field(default_factory=level_skyline)
    site: Site | None = None
    weather: Weather = field(default_factory=Weather)
    ground: Skyline | None = None
    light: SceneLight | None = None


@dataclass(frozen=True)
class Margin:
    """One condition of a look, as a function of where the sun stands.

    Attributes
    ----------
    name : str
        What holds, in plain words: “sun behind the couple”.
    value : function of SunTrack
        1 when the condition is met as well as can be, 0 on the edge, negative
        when it fails; continuous, dimensionless, same shape as the track. It is
        capped at 1 where it is used.
    opens, closes : str or function of SunTrack
        What to say when this margin is the last to be met, or the first to
        fail; a function is given the sun at that instant.
    steepest_per_deg : float
        The most it changes per degree that the sun's azimuth, and per degree
        that its airless altitude changes.
    along : str
        ``AZIMUTH`` or ``ALTITUDE`` where it depends on that one alone.
    bounds : function of Way, optional
        The least and the most it can be on the sun's way between two instants, for
        one that can bend sharply.

    Raises
    ------
    ValueError
        With neither ``steepest_per_deg`` nor ``bounds``: they are what keeps the
        window search from stepping over anything.
    """

    name: str
    value: Callable[[SunTrack], FloatArray]
    opens: Words
    closes: Words
    steepest_per_deg: float = np.inf
    along: str = BOTH
    bounds: Callable[[Way], Bounds] | None = None

    def __post_init__(self) -> None:
        if self.bounds is None and not np.isfinite(self.steepest_per_deg):
            raise ValueError(f"The margin “{self.name}” must tell how steep it is, or give bounds.")
        if self.along not in (AZIMUTH, ALTITUDE, BOTH):
            raise ValueError(f"A margin goes along azimuth, altitude or both; “{self.along}” came.")

    def because(self, sun: SunTrack, opening: bool) -> str:
        """Return why a window opens or closes here."""
        words = self.opens if opening else self.closes
        return words if isinstance(words, str) else words(sun)

    def between(self, way: Way) -> Bounds:
        """Return the least and the most it can be on the sun's way, by steepness or bounds, the closer of the two."""
        if self.bounds is None:
            return self._by_steepness(way)
        if not np.isfinite(self.steepest_per_deg):
            return self.bounds(way)
        (low, high), (steep_low, steep_high) = self.bounds(way), self._by_steepness(way)
        return np.maximum(low, steep_low), np.minimum(high, steep_high)

    def _by_steepness(self, way: Way) -> Bounds:
        """Return what is left when it changes to and fro as much as it can."""
        turned_deg = way.turned_deg if self.along != ALTITUDE else 0.0
        climbed_deg = way.climbed_deg if self.along != AZIMUTH else 0.0
        (first, last), reach = self.value(way.ends), self.steepest_per_deg * (turned_deg + climbed_deg)
        return (first + last - reach) / 2, (first + last + reach) / 2


def fit(margins: tuple[Margin, ...], sun: SunTrack) -> FloatArray:
    """Return how well the look is met: the smallest of its margins, capped at 1."""
    return np.minimum.reduce([np.ones_like(sun.utc_s), *(margin.value(sun) for margin in margins)])
