"""A photographer's own picture under the plan, laid to scale by two points."""

import math
from dataclasses import dataclass

from app.place.geodesy import LocalFrame
from app.storage.records import Ground
from app.web.drawing.plan_sheet import Sheet


@dataclass(frozen=True)
class LaidPicture:
    """A picture and how it lies on the ground.

    A point x right and y down in the picture lies at ``turn`` times (x - iy)
    plus ``corner``, as east + i north of the site's centre: one turn and one
    scale, which is what two points can tell. [px, m]
    """

    address: str
    width_px: int
    height_px: int
    turn: complex
    corner: complex

    @property
    def metres_per_pixel(self) -> float:
        return abs(self.turn)

    @property
    def top_bearing_deg(self) -> float:
        """Where the picture's upper edge points, from true north. [°]"""
        return -math.degrees(math.atan2(self.turn.imag, self.turn.real)) % 360.0

    def matrix(self, sheet: Sheet) -> tuple[float, ...]:
        """Return what takes pixels to units of a sheet, as SVG's matrix(a b c d e f)."""
        turn, scale = self.turn * sheet.scale, sheet.scale
        left = (self.corner.real - sheet.extent.west_m) * scale
        top = (sheet.extent.north_m - self.corner.imag) * scale
        return turn.real, -turn.imag, turn.imag, turn.real, left, top


def laid_picture(ground: Ground, local: LocalFrame, address: str) -> LaidPicture | None:
    """Return the ground's picture; None unless it is wanted, there and laid by two points."""
    if ground.kind != "picture" or not ground.laying or ground.width_px is None or ground.height_px is None:
        return None
    pixels = [complex(point.x_px, -point.y_px) for point in ground.laying]
    east_m, north_m, _ = zip(
        *(local.to_metres(point.lat_deg, point.lon_deg) for point in ground.laying), strict=True
    )
    metres = [complex(float(east), float(north)) for east, north in zip(east_m, north_m, strict=True)]
    turn = (metres[1] - metres[0]) / (pixels[1] - pixels[0])
    return LaidPicture(address, ground.width_px, ground.height_px, turn, metres[0] - turn * pixels[0])
