"""QR codes of links, drawn as one path so that a page can place them without foreign markup."""

from dataclasses import dataclass
from html import escape
from itertools import groupby

import segno

from app.errors import BadInput

QUIET_MODULES = 4  # the margin that ISO/IEC 18004 asks for
LONGEST_LINK = 500  # code 17 or so: still readable from paper at 40 mm


@dataclass(frozen=True)
class QrDrawing:
    """A code in a square of ``side`` modules, its quiet margin included; ``path`` is black on white."""

    side: int
    path: str

    def svg(self, title: str) -> str:
        """Return the drawing as an SVG document of its own, with a title for those who cannot see it."""
        box = f'viewBox="0 0 {self.side} {self.side}"'
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" {box} role="img" shape-rendering="crispEdges">'
            f"<title>{escape(title)}</title>"
            f'<rect width="{self.side}" height="{self.side}" fill="#fff"/>'
            f'<path d="{self.path}" fill="#000"/></svg>'
        )


def qr_drawing(link: str) -> QrDrawing:
    """Return the QR code of a link, at error level M with the quiet margin.

    Level M restores about 15 % of a code's words (ISO/IEC 18004), such as under a blot.
    Raises ``BadInput`` for an empty link or one of more than 500 characters.
    """
    if not 0 < len(link) <= LONGEST_LINK:
        raise BadInput(f"A code holds a link of 1 to {LONGEST_LINK} characters; {len(link)} came.", "link")
    code = segno.make(link, error="m", micro=False, boost_error=False)
    rows = list(code.matrix_iter(border=QUIET_MODULES))
    return QrDrawing(len(rows), "".join(_row_path(y, row) for y, row in enumerate(rows)))


def _row_path(y: int, row: bytearray) -> str:
    # One bar for each run of dark modules: a third of the length of a square for each.
    parts, x = [], 0
    for dark, modules in groupby(row):
        width = len(list(modules))
        if dark:
            parts.append(f"M{x} {y}h{width}v1h-{width}z")
        x += width
    return "".join(parts)
