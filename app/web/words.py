"""Small sentences pages share."""

from app.looks.look import WantedLook
from app.looks.window import Window
from app.picture.setup import Setup
from app.web.render import clock

SUN_CAUTION = (
    "The sun is in or near the picture: never look at it through an optical finder or a long lens, "
    "and keep the lens off it between frames, since a sensor can burn."
)


def setup_line(setup: Setup) -> str:
    """Return “70 mm · camera 10.0 m from the couple · line 268° true”."""
    return (
        f"{setup.camera.focal_mm:g} mm · camera {setup.distance_m:.1f} m from the couple · "
        f"line {setup.line_deg:.0f}° true · lens {setup.lens_height_m:g} m up"
    )


def span_words(window: Window, zone: str) -> str:
    """Return “18:30–18:48” on the site's clocks."""
    return f"{clock(window.opens_utc_s, zone)}–{clock(window.closes_utc_s, zone)}"


def headline(found: tuple[tuple[WantedLook, tuple[Window, ...]], ...], zone: str) -> str:
    """Return the windows of all looks in one line, “backlit 18:30–18:48, behind the ridge”.

    What lasts less than a minute stands in the list below it only.
    """
    told = [
        f"{wanted.name} {span_words(window, zone)}, {window.closes_because}"
        for wanted, windows in found
        for window in windows
        if window.minutes >= 1
    ]
    return " · ".join(told) or "none of its looks holds on this date"


def caution_for(looks: tuple[WantedLook, ...]) -> str | None:
    """Return the caution that the looks call for."""
    return SUN_CAUTION if any(wanted.look.sun_in_picture for wanted in looks) else None
