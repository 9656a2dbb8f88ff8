"""What the store hands out: facts that no longer change when the database does."""

import math
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Literal

from app.errors import BadInput

GroundKind = Literal["blank", "picture", "tiles"]

KINDS = ("blank", "picture", "tiles")
DEEPEST_ZOOM = 24
PLACEHOLDERS = ("{z}", "{x}", "{y}")


@dataclass(frozen=True)
class SiteSummary:
    """A site as the list of sites shows it."""

    slug: str
    name: str
    version: int
    updated_utc: datetime


@dataclass(frozen=True)
class StoredSite:
    """A site with its site file; ``version`` is what a save has to bring back."""

    slug: str
    name: str
    document: dict[str, Any]
    version: int
    updated_utc: datetime


@dataclass(frozen=True)
class LaidPoint:
    """A point of the ground picture, from its upper left corner, and where it is on Earth."""

    x_px: float
    y_px: float
    lon_deg: float
    lat_deg: float

    def __post_init__(self) -> None:
        if not (math.isfinite(self.x_px) and math.isfinite(self.y_px)):
            raise BadInput(f"A pixel has two finite numbers; {self.x_px}, {self.y_px} came.", field="laying")
        if not (abs(self.lat_deg) <= 90 and abs(self.lon_deg) <= 180):
            message = (
                f"Longitude is -180 to 180° and latitude -90 to 90°; {self.lon_deg}, {self.lat_deg} came."
            )
            raise BadInput(message, field="laying")


@dataclass(frozen=True)
class Ground:
    """What a site's plan is drawn on.

    ``laying`` is empty until the picture has been tied to the Earth by two
    points. A picture may wait unused under a blank or tiled ground; it is
    there while ``media_type`` is not None.
    """

    kind: GroundKind = "blank"
    laying: tuple[LaidPoint, ...] = ()
    media_type: str | None = None
    width_px: int | None = None
    height_px: int | None = None
    tiles_url: str | None = None
    attribution: str | None = None
    max_zoom: int | None = None
    version: int = 0

    def __post_init__(self) -> None:
        if self.kind not in KINDS:
            raise BadInput(f"The ground is blank, picture or tiles; “{self.kind}” came.", field="kind")
        _check_laying(self.laying)
        if self.kind == "tiles":
            _check_tiles(self)


@dataclass(frozen=True)
class StoredTerrain:
    """What is known of a site's terrain without its heights.

    ``source`` says from which files or service, ``attribution`` whose heights they
    are, empty where nobody asks for it. ``loaded_utc`` is never the same for two.
    """

    source: str
    attribution: str
    loaded_utc: datetime
    version: int


def _check_laying(laying: tuple[LaidPoint, ...]) -> None:
    if not laying:
        return
    if len(laying) != 2:
        raise BadInput(f"A picture is laid by two points; {len(laying)} came.", field="laying")
    one, other = laying
    same_pixel = (one.x_px, one.y_px) == (other.x_px, other.y_px)
    if same_pixel or (one.lon_deg, one.lat_deg) == (other.lon_deg, other.lat_deg):
        raise BadInput("The two points that lay the picture are the same; pick two apart.", field="laying")


def _check_tiles(ground: Ground) -> None:
    url = ground.tiles_url or ""
    if not url.startswith(("https://", "http://")) or not all(part in url for part in PLACEHOLDERS):
        message = f"The tiles' address begins https:// and holds {{z}}, {{x}} and {{y}}; “{url}” came."
        raise BadInput(message, field="tiles_url")
    if not (ground.attribution or "").strip():
        raise BadInput("Say whose tiles these are; it is shown on the plan.", field="attribution")
    if ground.max_zoom is None or not 0 <= ground.max_zoom <= DEEPEST_ZOOM:
        message = f"The deepest zoom of the tiles is 0 to {DEEPEST_ZOOM}; {ground.max_zoom} came."
        raise BadInput(message, field="max_zoom")
