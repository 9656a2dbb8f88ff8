"""The window that a slot lies in, in the air and the light of the day."""

from app.looks.look import WantedLook
from app.looks.window import Window, find_windows
from app.picture.forecast import Hour
from app.shoot.morning_weather import dimmed, in_air
from app.shoot.plan import Slot
from app.shoot.prospect import Prospect
from app.shoot.shoot import Shoot
from app.shoot.words import clock_at

WINDOW_MOVED_S = 30.0  # less is told as no difference


def window_words(shoot: Shoot, one: Prospect, look: WantedLook | None, slot: Slot, hour: Hour | None) -> str:
    """Return the window that the slot lies in, in the air of the day, and by how much that moves its end."""
    planned = next((window for name, window in one.windows if look and name == look.name and _holds(window, slot)), None)
    if planned is None:
        return "any minute is as good as another" if look is None else "no window of its look holds the middle of the slot"
    scene = dimmed(in_air(one.scene, hour), hour)
    span = planned.opens_utc_s - 1800.0, planned.closes_utc_s + 1800.0
    now = next((window for window in find_windows(look.margins(scene), scene.observer, *span) if _holds(window, slot)), None)
    if now is None:
        opens, closes = clock_at(shoot, one, planned.opens_utc_s), clock_at(shoot, one, planned.closes_utc_s)
        return f"{look.name} was planned {opens}–{closes}; in the light and air of this day it does not hold in the middle of the slot"
    later_s = now.closes_utc_s - planned.closes_utc_s
    size = f"{abs(later_s):.0f} s" if abs(later_s) < 120.0 else f"{abs(later_s) / 60.0:.0f} min"
    moved = f", {size} {'later' if later_s > 0 else 'earlier'} than planned" if abs(later_s) >= WINDOW_MOVED_S else ""
    opens, closes = clock_at(shoot, one, now.opens_utc_s), clock_at(shoot, one, now.closes_utc_s)
    return f"{look.name} {opens}–{closes}{moved}; closes: {now.closes_because}"


def _holds(window: Window, slot: Slot) -> bool:
    return window.opens_utc_s <= (slot.starts_utc_s + slot.ends_utc_s) / 2 <= window.closes_utc_s
