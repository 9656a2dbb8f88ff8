"""What the forms of a site hold, read into its document."""

from collections.abc import Mapping
from datetime import date
from typing import Any

from app.lens.camera import camera_held
from app.picture.setup import Setup, properties_of
from app.place.coordinates import Coordinates, parse_coordinates
from app.place.declination import declination, true_bearing_deg
from app.place.edit import new_document, setup_feature, with_details, with_feature
from app.place.geodesy import direct
from app.place.shapes import HIGHEST_M, LOWEST_M
from app.place.site import Notes, Pin, Site
from app.place.sitefile import parse_site
from app.place.timezone import rules
from app.units import calendar_date, number
from app.web.conflicts import checked
from app.web.forms import Form, texts
from app.web.now import today_at

FIRST_SETUP_M, FIRST_FOCAL_MM = 8.0, 50.0  # what the quick question's frame shows


def new_site_document(form: Form, now: float) -> Mapping[str, Any] | None:
    """Return the document of a new site, None with the form's errors filled."""
    place = form.read("place", parse_coordinates)
    zone = form.read("time_zone", lambda text: rules(text).key, default="")
    height_m = form.read("height_m", height_above_sea, default=(place and place.height_m) or 0.0)
    bearing_deg = (
        form.read("bearing", lambda text: number(text, "A bearing", 0, 360)) if form.text("bearing") else None
    )
    if not form.text("name"):
        form.errors["name"] = "A site needs a name, such as “Old lighthouse”."
    if form.errors or place is None or height_m is None:
        return None
    document = new_document(form.text("name"), place.lat_deg, place.lon_deg, zone or None, height_m)
    document = with_details(document, notes=_notes(form))
    if bearing_deg is not None:
        document = with_feature(document, _first_setup(form, place, bearing_deg, document["time_zone"], now))
    return document if checked(form, "place", lambda: parse_site(document)) else None


def _first_setup(
    form: Form, place: Coordinates, bearing_deg: float, zone: str, now: float
) -> Mapping[str, Any]:
    """Return the setup of the quick question: the camera at the place, the couple 8 m along the bearing."""
    if "magnetic" in (form.text("north"), form.text("magnetic")):
        day = typed_day(form, "date", today_at(zone, now))
        bearing_deg = float(true_bearing_deg(bearing_deg, declination(place.lat_deg, place.lon_deg, day)))
    camera = Pin(place.lat_deg, place.lon_deg)
    couple = Pin(*direct(place.lat_deg, place.lon_deg, bearing_deg, FIRST_SETUP_M))
    setup = Setup("", "First setup", camera, couple, camera_held(FIRST_FOCAL_MM, "36x24"))
    return setup_feature(setup.name, camera, couple, properties_of(setup))


def changed_details(form: Form, site: Site) -> Mapping[str, Any] | None:
    """Return the document with the details typed, None with the form's errors filled."""
    zone = form.read("time_zone", lambda text: rules(text).key)
    height_m = form.read("height_m", height_above_sea)
    if not form.text("name"):
        form.errors["name"] = "A site needs a name, such as “Old lighthouse”."
    if form.errors:
        return None
    document = with_details(
        site.document,
        name=form.text("name"),
        notes=_notes(form),
        datum=form.text("datum"),
        time_zone=zone,
        height_m=height_m,
    )
    return document if checked(form, "name", lambda: parse_site(document)) else None


def details_typed(site: Site) -> dict[str, str]:
    details = {
        "name": site.name,
        "time_zone": site.time_zone,
        "height_m": site.centre.height_m,
        "datum": site.datum,
    }
    return texts({**details, **vars(site.notes)})


def _notes(form: Form) -> Notes:
    return Notes(*(form.text(name) for name in ("access", "permission", "hazards")))


def height_above_sea(text: str) -> float:
    return number(text, "The height above sea level in metres", LOWEST_M, HIGHEST_M)


def typed_day(form: Form, name: str, today: date) -> date:
    return form.read(name, calendar_date, default=today) or today
