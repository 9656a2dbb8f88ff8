"""A margin: how far one condition of a look is from failing."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from app.picture.setup import Setup
from app.place.skyline import Skyline, level_skyline
from app.sky.track import Observer, SunTrack
from app.units import FloatArray

Words = str | Callable[[SunTrack], str]
Bounds = tuple[FloatArray, FloatArray]


@dataclass(frozen=True)
class Scene:
    """All that a look may ask about: the place, the setup and what hides the sky.

    ``skyline`` is what the camera sees, ``couple_skyline`` what lights the couple.
    """

    observer: Observer
    setup: Setup
    skyline: Skyline = level_skyline()
    couple_skyline: Skyline = level_skyline()


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
        The most it changes per degree that the sun's azimuth or altitude
        changes. This, or ``bounds``, is what keeps the window search from
        stepping over anything.
    bounds : function of two SunTracks, optional
        For a margin that can bend sharply: the least and the most it can be
        while the sun goes from the first to the second.
    """

    name: str
    value: Callable[[SunTrack], FloatArray]
    opens: Words
    closes: Words
    steepest_per_deg: float = np.inf
    bounds: Callable[[SunTrack, SunTrack], Bounds] | None = None

    def because(self, sun: SunTrack, opening: bool) -> str:
        """Return why a window opens or closes here."""
        words = self.opens if opening else self.closes
        return words if isinstance(words, str) else words(sun)


def fit(margins: tuple[Margin, ...], sun: SunTrack) -> FloatArray:
    """Return how well the look is met: the smallest of its margins, capped at 1."""
    return np.minimum.reduce([np.ones_like(sun.utc_s), *(margin.value(sun) for margin in margins)])
