"""Times and names as a running order tells them."""

from collections.abc import Iterable, Sequence
from datetime import timedelta

from app.looks.window import Window
from app.place.timezone import local_time
from app.shoot.prospect import Prospect
from app.shoot.shoot import Shoot


def clock(shoot: Shoot, utc_s: float) -> str:
    """Return what the shoot's clocks show, 18:52, with the day where it is not the shoot's."""
    at = local_time(utc_s, shoot.zone)
    days = (at.date() - shoot.day) // timedelta(days=1)
    beside = {0: "", 1: " the day after", -1: " the day before"}.get(days, f" on {at.day} {at:%b}")
    return f"{at:%H:%M}{beside}"


def span(shoot: Shoot, starts_utc_s: float, ends_utc_s: float) -> str:
    """Return from when to when by the shoot's clocks, 18:31–18:49, another day told once where it is that of both ends."""
    start, end = clock(shoot, starts_utc_s), clock(shoot, ends_utc_s)
    return f"{start[:5]}–{end}" if start[5:] == end[5:] else f"{start}–{end}"


def clock_at(shoot: Shoot, one: Prospect, utc_s: float) -> str:
    """Return what the shoot's clocks show, and the site's where they show something else."""
    site = one.scene.site
    if site is None or local_time(utc_s, site.time_zone).utcoffset() == local_time(utc_s, shoot.zone).utcoffset():
        return clock(shoot, utc_s)
    return f"{clock(shoot, utc_s)} ({local_time(utc_s, site.time_zone):%H:%M} at the site)"


def called(light: Iterable[Prospect], ids: Sequence[str]) -> str:
    """Return the names of some wishes: “a”, “b” and “c”."""
    names = {one.wish.id: f"“{one.called}”" for one in light}
    *most, last = [names[one] for one in ids]
    return f"{', '.join(most)} and {last}" if most else last


def windows_said(shoot: Shoot, one: Prospect) -> str:
    """Return a wish's windows of the day in words, those of one minute or more."""
    told = [f"{look} {window_said(shoot, one, window)}" for look, window in one.windows if window.minutes >= 1]
    return "; ".join(told) or "no window that day"


def window_said(shoot: Shoot, one: Prospect, window: Window) -> str:
    """Return a window's two ends and why it closes."""
    ends = clock_at(shoot, one, window.opens_utc_s), clock_at(shoot, one, window.closes_utc_s)
    plain = clock(shoot, window.opens_utc_s), clock(shoot, window.closes_utc_s)
    told = span(shoot, window.opens_utc_s, window.closes_utc_s) if ends == plain else "–".join(ends)
    return f"{told} ({window.closes_because})"
