"""Building outlines near a point, from an Overpass service at an address the photographer sets."""

import re
from dataclasses import dataclass
from typing import Any
from urllib.parse import quote

import httpx

from app.errors import BadInput, Unavailable, WesteringError
from app.outside.fetch import fetched, open_client
from app.place.outlines import FARTHEST_M
from app.place.overpass import geojson_from_overpass, is_overpass
from app.place.positions import check_position
from app.place.strict_json import read_json
from app.place.values import short

MOST_BYTES = 20_000_000
THINKING_S = 25  # the service is asked to give up after so long
PAUSE_S = 35.0  # so that its own words about giving up are heard
LONGEST_S = 90.0


@dataclass(frozen=True)
class OutlineService:
    """Where outlines are asked for; ``address`` is that of the interpreter. ``BadInput`` when it is none."""

    address: str

    def __post_init__(self) -> None:
        try:
            url = httpx.URL(self.address)
        except httpx.InvalidURL:
            url = httpx.URL()
        if url.scheme not in ("https", "http") or not re.fullmatch(r"[\w.:-]+", url.host) or url.query:
            raise BadInput(f"The outlines' address begins https:// and has no “?”; “{short(self.address, 80)}” came.", "address")

    @property
    def host(self) -> str:
        """The name that sentences call it by."""
        return httpx.URL(self.address).host


def fetch_outlines(
    service: OutlineService, lat_deg: float, lon_deg: float, within_m: float, client: httpx.Client | None = None
) -> dict[str, Any]:
    """Return what stands up near a point as GeoJSON, ready for ``obstacles_from_outlines``.

    Parameters
    ----------
    lat_deg, lon_deg, within_m : float
        Up to 2 km around the point. [°, °, m]
    client : httpx.Client, optional
        One with other time limits, for tests.

    Raises
    ------
    BadInput
        For a point off the Earth or a distance over 2 km.
    Unavailable
        When the service is down, slow, overrun, answers with something else than data, or
        with more than 20 MB; the sentence says which.
    """
    check_position(lat_deg, lon_deg)
    if not 0.0 < within_m <= FARTHEST_M:
        raise BadInput(f"Outlines are fetched from up to {FARTHEST_M:g} m away; {within_m:g} m came.", "within_m")
    with client or open_client(PAUSE_S) as asking:
        body = fetched(asking, f"{service.address}?data={quote(_question(lat_deg, lon_deg, within_m))}", MOST_BYTES, LONGEST_S)
    return geojson_from_overpass(_answer(service.host, body))


def _question(lat_deg: float, lon_deg: float, within_m: float) -> str:
    """Return the question in Overpass's language: buildings, walls and woods around the point, with their shapes."""
    around = f"(around:{within_m:.0f},{lat_deg:.6f},{lon_deg:.6f})"
    wanted = (
        'way["building"]', 'way["building:part"]', 'relation["building"]["type"="multipolygon"]',
        'way["barrier"~"^(wall|city_wall|retaining_wall|hedge|fence)$"]', 'way["natural"~"^(wood|tree_row)$"]',
        'way["landuse"="forest"]', 'relation["natural"="wood"]', 'relation["landuse"="forest"]',
    )  # fmt: skip
    return f"[out:json][timeout:{THINKING_S}];({''.join(f'{part}{around};' for part in wanted)});out geom;"


def _answer(host: str, body: bytes) -> dict[str, Any]:
    if body.lstrip()[:1] == b"<":
        raise Unavailable(f"{host} sent a web page in place of outlines. It may be overrun, or its address wrong; try again later.")
    try:
        answer = read_json(body, MOST_BYTES)
    except WesteringError:
        raise Unavailable(f"{host} sent something in place of outlines that is not JSON. Is the address right?") from None
    if not is_overpass(answer):
        raise Unavailable(f"{host} sent JSON that is no answer of Overpass. Is the address right?")
    remark = answer.get("remark")
    if isinstance(remark, str) and "error" in remark.lower():
        raise Unavailable(f"{host} gave up: “{short(remark, 120)}”. Ask for a shorter distance, or later.")
    return answer
