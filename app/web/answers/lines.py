"""The answers as lines to read, every number with its unit."""

from collections.abc import Iterator
from datetime import date, datetime
from typing import Any

from app.units import percent

Answer = dict[str, Any]
STATUS = {"always_above": "none, the sun stays higher all day", "always_below": "none, the sun stays lower all day"}


def sun_lines(answer: Answer) -> Iterator[str]:
    """Yield where the sun stands, and how to the line."""
    yield f"The sun at {_place(answer)}, {answer['height_m']:g} m above the sea, {answer['time_utc']}"
    yield f"Azimuth   {answer['azimuth_deg']:9.4f}° from true north"
    yield f"Altitude  {answer['altitude_deg']:9.4f}° without air"
    air = f"{answer['pressure_hpa']:g} hPa and {answer['temperature_c']:g} °C"
    yield f"As seen   {answer['refracted_altitude_deg']:9.4f}° through air of {air}"
    yield f"Half width {answer['semidiameter_deg']:8.4f}°"
    if "bearing_deg" in answer:
        yield f"Along {_bearing(answer)} the sun stands {_backlight(answer)}."
        yield from _crossings(answer, datetime.fromisoformat(answer["time_local"]).date())
        yield from answer["notes"]


def day_lines(answer: Answer) -> Iterator[str]:
    """Yield a date's events in time order, its stretches, the moon and what is odd."""
    day = date.fromisoformat(answer["date"])
    yield f"{_long(day)} at {_place(answer)}, by the clocks of {answer['time_zone']}"
    yield from (_event(event) for event in answer["events"])
    for stretch in answer["stretches"]:
        span = f"{_clock(stretch['opens'], day)} to {_clock(stretch['closes'], day)}"
        yield f"{stretch['stretch'].capitalize()}, {stretch['part']}: {span}"
    yield _moon(answer["moon"], day)
    if "bearing_deg" in answer:
        yield f"Along {_bearing(answer)}:"
        yield from _crossings(answer, day)
    yield from answer["notes"]


def windows_lines(answer: Answer) -> Iterator[str]:
    """Yield a date's windows of a setup, each with its reasons."""
    day = date.fromisoformat(answer["date"])
    yield f"{answer['setup']}, {answer['site']}, {_long(day)}, by the clocks of {answer['time_zone']}"
    yield from (_window(window, day) for window in answer["windows"])
    if not answer["looks"]:
        yield "This setup asks for no look; name one to search for."
    elif not answer["windows"]:
        yield f"No window opens on this date for: {', '.join(answer['looks'])}."


def year_lines(answer: Answer) -> Iterator[str]:
    """Yield the windows of a year, a line for each; dates without one are left out."""
    where = f"{answer['setup']}, {answer['site']}"
    yield f"{where}, {answer['look']} in {answer['year']}, by the clocks of {answer['time_zone']}"
    for same in answer["days"]:
        day = date.fromisoformat(same["date"])
        yield from (f"{day:%a} {day.day:2} {day:%b}  {_window(window, day)}" for window in same["windows"])
    if not any(same["windows"] for same in answer["days"]):
        yield f"No window opens in {answer['year']}."


def _place(answer: Answer) -> str:
    return f"{answer['lat_deg']:.6f}°, {answer['lon_deg']:.6f}°"


def _bearing(answer: Answer) -> str:
    words = f"{answer['bearing_deg']:.2f}° true"
    if "declination_deg" not in answer:
        return words
    return f"{words} (compass {(answer['bearing_deg'] - answer['declination_deg']) % 360:.2f}°)"


def _backlight(answer: Answer) -> str:
    if answer["backlight_side"] == "on the line":
        return f"on the line ({answer['backlight_deg']:+.2f}°)"
    return f"{abs(answer['backlight_deg']):.2f}° {answer['backlight_side']} of straight behind a subject"


def _crossings(answer: Answer, day: date) -> Iterator[str]:
    for crossing in answer["crosses_line"]:
        when = f"{_clock(crossing['time_local'], day)} ({answer['time_zone']})"
        yield f"It crosses that line at {when}, {crossing['refracted_altitude_deg']:.2f}° up as seen."


def _event(event: Answer) -> str:
    name = event["event"].replace("_", " ").replace("plus6", "+6°").replace("minus4", "-4°").replace("minus6", "-6°")
    if event["status"] != "ok":
        return f"--:--:--  {name}: {STATUS[event['status']]}"
    turn = f", {_backlight(event)}" if "backlight_deg" in event else ""
    return f"{_clock(event['time_local'])}  {name}, azimuth {event['azimuth_deg']:.2f}°{turn}"


def _moon(moon: Answer, day: date) -> str:
    times = [f"rises {_clock(rise, day)}" for rise in moon["rises"]] + [f"sets {_clock(fall, day)}" for fall in moon["sets"]]
    return f"Moon: {', '.join([*times, moon['phase']])}"


def _window(window: Answer, day: date) -> str:
    span = f"{_clock(window['opens'], day)} to {_clock(window['closes'], day)}"
    best = f"best {_clock(window['best'], day)}, fit {percent(window['best_fit'])}"
    return f"{window['look']}: {span} ({best}). Opens: {window['opens_because']}. Closes: {window['closes_because']}."


def _clock(iso: str, day: date | None = None) -> str:
    """Return “18:40:05”, with the date where it is not the day spoken of."""
    local = datetime.fromisoformat(iso)
    words = f"{local:%H:%M:%S}"
    return words if day in (None, local.date()) else f"{words} on {local.day} {local:%B}"


def _long(day: date) -> str:
    return f"{day:%a} {day.day} {day:%B %Y}"
