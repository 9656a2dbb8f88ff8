"""What the plan is drawn on as the texts of its form, and back."""

import re
from urllib.parse import urlsplit

from app.errors import BadInput
from app.place.coordinates import parse_coordinates
from app.place.geodesy import direct
from app.place.site import Pin
from app.storage.pictures import Picture
from app.storage.records import DEEPEST_ZOOM, Ground, LaidPoint
from app.units import number
from app.web.drawing.plan_rows import pin_words
from app.web.forms import Form, texts

POINTS = (1, 2)
FARTHEST_M = 20_000.0
HOST = re.compile(r"(\{s\}\.)?[a-z0-9]([a-z0-9.-]*[a-z0-9])?(:[0-9]{1,5})?", re.I)


def ground_typed(ground: Ground) -> dict[str, str]:
    """Return what the form of a ground holds."""
    points = {
        f"point_{n}{what}": value
        for n, point in zip(POINTS, ground.laying, strict=False)
        for what, value in (
            ("_x", point.x_px),
            ("_y", point.y_px),
            ("", pin_words(Pin(point.lat_deg, point.lon_deg))),
        )
    }
    tiles = {"tiles_url": ground.tiles_url or "", "attribution": ground.attribution or ""}
    zoom = {"max_zoom": "" if ground.max_zoom is None else ground.max_zoom}
    return texts({"kind": ground.kind, **points, **tiles, **zoom})


def read_ground(form: Form, before: Ground, picture: Picture | None) -> Ground | None:
    """Return the ground a form describes; None with the form's errors filled.

    A new picture is laid afresh: pixels of the old one mean nothing on it.
    """
    kind = form.text("kind")
    media_type = picture.media_type if picture else before.media_type
    if kind == "picture" and media_type is None and "picture" not in form.errors:
        form.errors["picture"] = "Choose a picture first: JPEG, PNG, WebP, GIF or TIFF, at most 20 MB."
    wants_laying = kind == "picture" and picture is None and any(_has_point(form, n) for n in POINTS)
    laying = _read_laying(form) if wants_laying else () if picture else before.laying
    if kind == "tiles":
        form.read("tiles_url", tile_source)
    zoom = form.read("max_zoom", _zoom) if kind == "tiles" or form.text("max_zoom") else None
    if form.errors or laying is None:
        return None
    tiles = {"tiles_url": form.text("tiles_url") or None, "attribution": form.text("attribution") or None}
    size = (picture.width_px, picture.height_px) if picture else (before.width_px, before.height_px)
    return Ground(kind, laying, media_type, *size, max_zoom=zoom, **tiles)


def tile_source(url: str) -> str:
    """Return the host of a tile address as the content policy names it, https://*.example.org for {s}.example.org.

    Raises ``BadInput`` for anything else, since what comes out stands in a header.
    """
    address = urlsplit(url)
    if address.scheme not in ("http", "https") or not HOST.fullmatch(address.netloc):
        raise BadInput(
            "The tiles' address begins with https:// and a host, like https://tiles.example.org/{z}/{x}/{y}.png"
        )
    return f"{address.scheme}://{address.netloc.lower().replace('{s}', '*')}"


def _has_point(form: Form, n: int) -> bool:
    names = (f"point_{n}_x", f"point_{n}_y", f"point_{n}", f"point_{n}_bearing_deg", f"point_{n}_distance_m")
    return any(form.text(name) for name in names)


def _read_laying(form: Form) -> tuple[LaidPoint, ...] | None:
    pixels = [tuple(form.read(f"point_{n}_{axis}", _pixel) for axis in "xy") for n in POINTS]
    first = form.read("point_1", parse_coordinates)
    places = [
        first and (first.lat_deg, first.lon_deg),
        _second_place(form, first and (first.lat_deg, first.lon_deg)),
    ]
    if form.errors:
        return None
    return tuple(LaidPoint(x, y, lon, lat) for (x, y), (lat, lon) in zip(pixels, places, strict=True))


def _second_place(form: Form, first: tuple[float, float] | None) -> tuple[float, float] | None:
    """Return where the second point is: from the first by bearing and distance where typed, else by coordinates."""
    if not (form.text("point_2_bearing_deg") or form.text("point_2_distance_m")):
        place = form.read("point_2", parse_coordinates)
        return place and (place.lat_deg, place.lon_deg)
    bearing_deg = form.read("point_2_bearing_deg", lambda text: number(text, "The bearing", 0, 360))
    distance_m = form.read(
        "point_2_distance_m", lambda text: number(text, "The distance in metres", 0.1, FARTHEST_M)
    )
    return (
        direct(*first, bearing_deg, distance_m) if first and bearing_deg is not None and distance_m else None
    )


def _pixel(text: str) -> float:
    return number(text, "A pixel", -20_000, 20_000)


def _zoom(text: str) -> int:
    return int(number(text, "The deepest zoom", 0, DEEPEST_ZOOM))
