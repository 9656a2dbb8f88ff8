"""A setup's lights from above as an SVG document of its own, for the crew's sheet."""

import math
from xml.etree import ElementTree

from app.looks.light_plan import LightPlan
from app.picture.setup import Setup
from app.web.drawing.light_sketch import LightSketch, light_sketch
from app.web.render import fixed

LINE = {"fill": "none", "stroke": "#111", "stroke-width": "0.7", "stroke-linecap": "round"}
WORDS = {"fill": "#111", "font-size": "5", "font-family": "DejaVu Sans Mono, monospace"}
CAMERA = "M46,95h8v4h-8ZM48,95l2,-3l2,3"  # at the foot, looking up the sheet


def sketch_document(setup: Setup, plan: LightPlan) -> tuple[str, str]:
    """Return the drawing and what it shows in words; two empty texts where there are no lights."""
    sketch = light_sketch(setup, plan, ())
    return (_drawn(sketch), f"Seen from above, the camera at the foot: {sketch.told}") if sketch else ("", "")


def _drawn(sketch: LightSketch) -> str:
    root = ElementTree.Element("svg", xmlns="http://www.w3.org/2000/svg", viewBox="0 0 100 100")
    _add(root, "rect", {"width": "100", "height": "100", "fill": "#fff"})
    _add(root, "path", LINE | {"d": "M50,50V92", "stroke-dasharray": "1.5 1.5"})
    _add(root, "path", LINE | {"d": CAMERA})
    for x, y, look in sketch.people:
        _add(root, "circle", {"cx": fixed(x), "cy": fixed(y), "r": "2", "fill": "#111"})
        _add(root, "path", LINE | {"d": look})
    for one in sketch.lights:
        _add(root, "path", LINE | {"d": one.lamp})
        x, y = _behind(one.x, one.y)
        _add(root, "text", WORDS | {"x": fixed(x), "y": fixed(y), "text-anchor": "middle"}).text = str(one.number)
    _add(root, "path", LINE | {"d": f"M3,97h{fixed(sketch.bar)}m0,-1.5v3M3,95.5v3"})
    _add(root, "text", WORDS | {"x": "3", "y": "93"}).text = f"{sketch.bar_m:g} m"
    return ElementTree.tostring(root, encoding="unicode")


def _behind(x: float, y: float) -> tuple[float, float]:
    """Return where a light's number stands: farther from the people than the light, and the line of text in the middle."""
    away = math.hypot(x - 50, y - 50) or 1.0
    return x + 5 * (x - 50) / away, y + 5 * (y - 50) / away + 1.7


def _add(root: ElementTree.Element, name: str, attributes: dict[str, str]) -> ElementTree.Element:
    return ElementTree.SubElement(root, name, attributes)
