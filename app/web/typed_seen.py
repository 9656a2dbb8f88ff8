"""The weather by eye, and what airfields say, as they are typed."""

from collections.abc import Callable, Mapping
from dataclasses import asdict
from typing import Any

from app.errors import BadInput
from app.picture.by_eye import OKTAS, RUFFLED, STILL, ByEye
from app.place.site import Site
from app.units import number
from app.web.forms import Form
from app.web.mornings_weather import heard
from app.web.typed_weather import wind_from_deg

LONGEST_REPORT = 20_000
COVERS = {"cloud_oktas": "Cloud", "low_oktas": "Low cloud", "middle_oktas": "Middle cloud", "high_oktas": "High cloud"}
WATERS = (("", "not looked at"), (STILL, "still: it mirrors"), (RUFFLED, "ruffled"))


def read_seen(form: Form, utc_s: float) -> dict[str, Any] | None:
    """Return what somebody saw, as it is kept; None with the form's errors, or where nothing was typed, which is an error too."""
    told: dict[str, Any] = {name: form.read(name, _whole(called, OKTAS)) for name, called in COVERS.items() if form.text(name)}
    if form.text("force"):
        told["force"] = form.read("force", _whole("The Beaufort force", 12))
    if form.text("wind_from"):
        told["wind_from_deg"] = form.read("wind_from", wind_from_deg)
    if form.text("temperature"):
        told["temperature_c"] = form.read("temperature", lambda text: number(text, "The temperature in °C", -60, 60))
    if form.text("water"):
        told["water"] = form.text("water")
    if not told and not form.errors:
        form.errors["cloud_oktas"] = "Type at least one thing that you see."
    if form.errors:
        return None
    try:
        return asdict(ByEye(utc_s, **told))
    except BadInput as error:
        form.blame(error, "cloud_oktas")
        return None


def seen_texts(seen: Mapping[str, Any] | None) -> dict[str, str]:
    """Return what is kept as a form would hold it."""
    if not seen:
        return {}
    named = {"wind_from": seen["wind_from_deg"], "temperature": seen["temperature_c"]}
    values = {**{name: seen[name] for name in (*COVERS, "force", "water")}, **named}
    return {name: f"{value:g}" if isinstance(value, float) else str(value) for name, value in values.items() if value is not None}


def read_reports(form: Form, site: Site, now_utc_s: float) -> str | None:
    """Return the text of airfields' reports once at least one of them can be read; None with the form's errors."""
    text = form.text("reports")
    if len(text) > LONGEST_REPORT:
        form.errors["reports"] = f"{LONGEST_REPORT} characters at most; {len(text)} came. Paste the newest reports alone."
        return None
    faults: list[str] = []
    found = heard(text, now_utc_s, site.centre.lat_deg, site.centre.lon_deg, faults) if text else (None, None)
    if text and not any(found):
        form.errors["reports"] = " ".join(faults)
        return None
    return text


def _whole(called: str, most: int) -> Callable[[str], int]:
    def read(text: str) -> int:
        value = number(text, f"{called}, a whole number,", 0, most)
        if value != int(value):
            raise BadInput(f"{called} is a whole number from 0 to {most}; “{text[:20]}” came.")
        return int(value)

    return read
