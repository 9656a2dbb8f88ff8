"""Exposure: what a meter says of a light, and how far an intent lets sky and faces fall.

Every EV here is at ISO 100. A face is read as by an incident meter held before it, flat, and
what lies behind as by a meter pointed at it: ISO 2720:1974, N²/t = E S / C and N²/t = L S / K.
The standard leaves ranges for both constants; those used here are the common ones.
"""

from dataclasses import dataclass
from typing import Self

import numpy as np
from numpy.typing import ArrayLike

from app.errors import BadInput
from app.light.stops import stops, stops_words
from app.units import FloatArray, FloatOrArray

FLAT_C = 250.0  # flat receptor; ISO 2720 recommends 240 to 400. [lx s]
DOME_C = 330.0  # for a hemispherical receptor; 320 to 340 are in use. [lx s]
REFLECTED_K = 12.5  # ISO 2720 recommends 10.6 to 13.4. [cd/m² s]
FULL_SPEED = 100.0

FACES, SKY, SILHOUETTE = "faces", "sky", "silhouette"
KINDS = (FACES, SKY, SILHOUETTE)
SILHOUETTE_STOPS = 3.0  # faces this far under mid-tone keep no features; common practice, no source
MOST_STOPS = 6.0


def ev100_of_lux(illuminance_lux: ArrayLike, constant: float = FLAT_C) -> FloatOrArray:
    """Return the EV at ISO 100 of an illuminance, any shape; NaN where there is no light.

    ``constant`` is C: 250 for a flat receptor, 330 for a dome, which reads 0.40 stop lower.
    """
    return stops(np.asarray(illuminance_lux, dtype=float) * FULL_SPEED / constant)


def lux_of_ev100(ev100: ArrayLike, constant: float = FLAT_C) -> FloatOrArray:
    """Return the illuminance that an EV at ISO 100 is right for, any shape. [lx]"""
    return constant / FULL_SPEED * 2.0 ** np.asarray(ev100, dtype=float)


def ev100_of_cd_m2(luminance_cd_m2: ArrayLike) -> FloatOrArray:
    """Return the EV at ISO 100 of a luminance metered to mid-tone, any shape; NaN where there is no light."""
    return stops(np.asarray(luminance_cd_m2, dtype=float) * FULL_SPEED / REFLECTED_K)


def cd_m2_of_ev100(ev100: ArrayLike) -> FloatOrArray:
    """Return the luminance that an EV at ISO 100 renders as mid-tone, any shape. [cd/m²]"""
    return REFLECTED_K / FULL_SPEED * 2.0 ** np.asarray(ev100, dtype=float)


def ev100_of_settings(f_number: ArrayLike, time_s: ArrayLike, iso: ArrayLike, nd_stops: ArrayLike = 0.0) -> FloatOrArray:
    """Return the EV at ISO 100 that settings are right for, from shapes that fit together.

    log2(N²/t) - log2(S/100), plus what a neutral-density filter takes; NaN unless all are above 0.
    """
    f_number, time_s, iso = (np.asarray(one, dtype=float) for one in (f_number, time_s, iso))
    possible = (f_number > 0) & (time_s > 0) & (iso > 0)
    with np.errstate(divide="ignore", invalid="ignore"):
        ratio = f_number**2 * FULL_SPEED / (time_s * iso)
    return stops(np.where(possible, ratio, np.nan)) + np.asarray(nd_stops, dtype=float)


def right_lux_s(camera_ev100: ArrayLike, time_s: ArrayLike) -> FloatOrArray:
    """Return the light that a face needs within the time that the shutter is open, any shape. [lx s]

    It is C N²/S, filters counted: the same whether sun or flash supplies it.
    """
    return lux_of_ev100(camera_ev100) * np.asarray(time_s, dtype=float)


@dataclass(frozen=True)
class Intent:
    """What the exposure is made for.

    Attributes
    ----------
    kind : str
        “faces” or “sky”: that is what comes out right; “silhouette”: the sky does, and it
        falls further where that is needed to leave the faces three stops under mid-tone.
    down_stops : float
        How far under right it shall fall, -6..6; above right when negative. [stop]

    Raises
    ------
    BadInput
        For another kind, or stops out of range.
    """

    kind: str = FACES
    down_stops: float = 0.0

    def __post_init__(self) -> None:
        if self.kind not in KINDS:
            raise BadInput(f"An exposure is for the faces, the sky or a silhouette; “{str(self.kind)[:40]}” came.", "intent")
        if not abs(self.down_stops) <= MOST_STOPS:
            raise BadInput(f"Sky or faces go down by -{MOST_STOPS:g} to {MOST_STOPS:g} stops; {self.down_stops:g} came.", "down_stops")

    @classmethod
    def named(cls, text: str) -> Self:
        """Return the intent typed as one of the words in ``INTENTS``; ``BadInput`` names them all."""
        if text not in INTENTS:
            raise BadInput(f"An intent is one of {', '.join(INTENTS)}; “{str(text)[:40]}” came.", "intent")
        return cls(*INTENTS[text])

    @property
    def words(self) -> str:
        """“faces right”, “sky down 1 stop”, “silhouette”."""
        if self.kind == SILHOUETTE:
            return self.kind
        if abs(self.down_stops) < 1 / 6:
            return f"{self.kind} right"
        return f"{self.kind} {'down' if self.down_stops > 0 else 'up'} {stops_words(self.down_stops)}"

    def camera_ev100(self, face_ev100: ArrayLike, sky_ev100: ArrayLike) -> FloatArray:
        """Return the EV at ISO 100 to expose for, from shapes that fit together.

        Parameters
        ----------
        face_ev100, sky_ev100 : any shape
            As metered: the face by incident light, what lies behind by its luminance.

        Returns
        -------
        same shape
            NaN where the light that it goes by is unknown.
        """
        face, sky = np.broadcast_arrays(np.asarray(face_ev100, dtype=float), np.asarray(sky_ev100, dtype=float))
        if self.kind == SILHOUETTE:
            return np.fmax(sky + self.down_stops, face + SILHOUETTE_STOPS) + 0.0 * sky
        return (face if self.kind == FACES else sky) + self.down_stops


# Kind and stops down. What a page or a command line offers by name.
INTENTS = {
    "faces": (FACES, 0.0),
    "sky": (SKY, 0.0),
    "sky-down-1": (SKY, 1.0),
    "sky-down-2": (SKY, 2.0),
    "sky-up-1": (SKY, -1.0),
    "silhouette": (SILHOUETTE, 0.0),
}
