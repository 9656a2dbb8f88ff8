"""What a photographer is told about one frame."""

import math

from app.picture.frame import Sight
from app.place.skyline import Skyline
from app.units import percent


def where_words(sight: Sight, skyline: Skyline, which: int) -> str:
    """Return where the sun is: “4° left · 6.9° up”, or what it is behind."""
    if sight.clear_deg[which] <= 0:
        return hidden_words(sight, skyline, which)
    return f"{side_words(sight.offset_deg[which])} · {height_words(sight.altitude_deg[which])}"


def hidden_words(sight: Sight, skyline: Skyline, which: int) -> str:
    """Return what took the sun: the skyline's name, or that it has set or not risen."""
    called = skyline.called_at(sight.sun.azimuth_deg[which], sight.sun.upper_edge_deg[which])
    if sight.sun.upper_edge_deg[which] > 0 or called != "the horizon":
        return f"{'below' if 'horizon' in called or 'sea' in called else 'behind'} {called.removeprefix('the ')}"
    return down_words(sight.sun.airless_deg[which])


def side_words(offset_deg: float) -> str:
    """Return “4° left” or “12° right” of the line, “on the line” within half a degree."""
    if abs(offset_deg) < 0.5:
        return "on the line"
    return f"{abs(offset_deg):.0f}° {'right' if offset_deg > 0 else 'left'}"


def height_words(altitude_deg: float) -> str:
    """Return “6.9° up”, as seen, or “0.3° below level” where a horizon lies lower."""
    return f"{altitude_deg:.1f}° up" if altitude_deg > -0.05 else f"{-altitude_deg:.1f}° below level"


def down_words(airless_deg: float) -> str:
    """Return “2.0° below the horizon” for a sun that has set or not risen, without air, as twilight is told."""
    return f"{abs(airless_deg):.1f}° below the horizon"


def cover_words(sight: Sight, which: int) -> str:
    """Return whether the sun is in the frame and what the people do to it."""
    if sight.clear_deg[which] <= 0:
        return "sun out of sight"
    covered, room = float(sight.covered[which]), sight.room_m[which]
    if covered >= 1.0:
        return f"hidden, {_room(room)} to spare"
    if covered > 0:
        return f"{percent(max(0.01, min(0.99, covered)))} hidden"
    if not sight.in_frame[which]:
        return "sun outside the frame"
    return f"in frame, {_room(room)} clear" if room < 1 else "in frame"


def _room(room_m: float) -> str:
    """Return a distance in whole centimetres, never promising more than there is."""
    return f"{math.floor(room_m * 100 + 1e-6)} cm"
