"""How a ground lies in its row."""

from collections.abc import Mapping
from typing import Any

from app.errors import BadInput
from app.storage.pictures import Picture
from app.storage.records import Ground, LaidPoint
from app.storage.tables import GroundRow


def ground_of(row: GroundRow) -> Ground:
    """Return the record of a row."""
    return Ground(
        kind=row.kind,
        laying=tuple(_laid_point(point) for point in row.laying),
        media_type=row.media_type,
        width_px=row.width_px,
        height_px=row.height_px,
        tiles_url=row.tiles_url,
        attribution=row.attribution,
        max_zoom=row.max_zoom,
        version=row.version,
    )


def _laid_point(point: Mapping[str, Any]) -> LaidPoint:
    x_px, y_px = point["px"]
    return LaidPoint(x_px, y_px, lon_deg=point["lon"], lat_deg=point["lat"])


def fill_ground(row: GroundRow, ground: Ground) -> None:
    """Put all but the picture into a row."""
    row.kind = ground.kind
    row.laying = [{"px": [p.x_px, p.y_px], "lon": p.lon_deg, "lat": p.lat_deg} for p in ground.laying]
    row.tiles_url, row.attribution, row.max_zoom = ground.tiles_url, ground.attribution, ground.max_zoom


def fill_picture(row: GroundRow, ground: Ground, picture: Picture | None) -> None:
    """Put a new picture into a row, or take out one that the ground no longer names."""
    if picture:
        row.picture, row.media_type = picture.data, picture.media_type
        row.width_px, row.height_px = picture.width_px, picture.height_px
    elif ground.media_type is None:
        row.picture = row.media_type = row.width_px = row.height_px = None
    if ground.kind == "picture" and row.media_type is None:
        raise BadInput("A ground of kind picture needs a picture; upload one.", field="picture")
