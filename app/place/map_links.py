"""Coordinates inside addresses: geo URIs, WKT points and links to maps."""

import re
from urllib.parse import unquote

from app.errors import BadInput
from app.place.positions import Coordinates, check_position

_NUMBER = r"(-?[0-9]+(?:\.[0-9]+)?)"
_GEO_URI = re.compile(rf"geo:{_NUMBER},{_NUMBER}(?:,{_NUMBER})?((?:;[a-z0-9-]+(?:=[^;]*)?)*)", re.I)
_WKT_POINT = re.compile(rf"(?:SRID=4326;)? ?POINT ?Z? ?\( ?{_NUMBER} {_NUMBER}(?: {_NUMBER})? ?\)", re.I)
_LINK = re.compile(r"://|^www\.|^[#?@]|#map=|/@|[?&][a-z]+=|^[a-z]+=", re.I)
_END = r"(?![0-9.])"
_PAIRS = [  # a marked point comes before the middle of the view
    re.compile(rf"^(?=.*(?:[?&#]|^)mlat={_NUMBER}{_END})(?=.*(?:[?&#]|^)mlon={_NUMBER}{_END})"),
    re.compile(rf"!3d{_NUMBER}!4d{_NUMBER}{_END}"),
    re.compile(rf"(?:[?&#]|^)(?:q|query|ll)=(?:loc:)?{_NUMBER},[ +]?{_NUMBER}{_END}"),
    re.compile(rf"#map=[0-9.]+/{_NUMBER}/{_NUMBER}{_END}"),
    re.compile(rf"(?:/|^)@{_NUMBER},{_NUMBER}{_END}"),
]


def read_geo_uri(text: str) -> Coordinates | None:
    """Return the point of a ``geo:`` address, None when the text is none.

    RFC 5870, section 3.3: latitude, longitude, perhaps an altitude, then
    parameters, of which ``crs`` has to be wgs84 and ``u`` is the uncertainty in
    metres; unknown ones are passed over. Raises ``BadInput`` otherwise.
    """
    if not text.lower().startswith("geo:"):
        return None
    match = _GEO_URI.fullmatch(text)
    if match is None:
        raise BadInput(f"“{text[:60]}” is no geo address; one looks like geo:51.4545,-2.5879;u=10.")
    lat_deg, lon_deg = float(match[1]), float(match[2])
    check_position(lat_deg, lon_deg, first="latitude")
    height_m = float(match[3]) if match[3] else None
    return Coordinates(lat_deg, lon_deg, height_m, _uncertainty_m(_parameters(match[4])))


def read_wkt_point(text: str) -> Coordinates | None:
    """Return the point of “POINT (longitude latitude)”, None when the text is none.

    Well-known text of OGC 06-103r4, section 7, which leaves the order of axes to
    its user; longitude first is what every common program writes.
    """
    if not re.match(r"(SRID=[0-9]+; ?)?POINT", text, re.I):
        return None
    match = _WKT_POINT.fullmatch(text)
    if match is None:
        raise BadInput(f"“{text[:60]}” is no WKT point in WGS84; one looks like POINT (-2.5879 51.4545).")
    lon_deg, lat_deg = float(match[1]), float(match[2])
    check_position(lat_deg, lon_deg, first="longitude")
    return Coordinates(lat_deg, lon_deg, float(match[3]) if match[3] else None)


def read_link(text: str) -> Coordinates | None:
    """Return the point written in a link to a map, None when the text is no link."""
    if not _LINK.search(text):
        return None
    address = unquote(text)
    found = next(filter(None, (set(pattern.findall(address)) for pattern in _PAIRS)), set())
    if not found:
        raise BadInput(
            "No coordinates are written in this link. A short link has to be followed over the"
            " network, which is not done here: open it, then paste the long address or the numbers."
        )
    if len(found) > 1:
        raise BadInput("This link holds several points; paste the latitude and longitude of the one meant.")
    lat_deg, lon_deg = map(float, found.pop())
    check_position(lat_deg, lon_deg, first="latitude")
    return Coordinates(lat_deg, lon_deg)


def _parameters(text: str) -> dict[str, str]:
    pairs = [parameter.partition("=") for parameter in text.split(";")[1:]]
    return {name.lower(): value for name, _, value in pairs}


def _uncertainty_m(parameters: dict[str, str]) -> float | None:
    crs, doubt = parameters.get("crs", "wgs84"), parameters.get("u")
    if crs.lower() != "wgs84":
        raise BadInput(
            f"This geo address counts in “{crs[:40]}”; only wgs84 is known here, so convert it first."
        )
    if doubt is not None and not re.fullmatch(r"[0-9]+(\.[0-9]+)?", doubt):
        raise BadInput(f"The uncertainty of a geo address is a number of metres; “{doubt[:40]}” is none.")
    return float(doubt) if doubt is not None else None
