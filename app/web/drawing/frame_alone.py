"""One frame as an SVG document of its own: for a sheet that is kept, sent and printed without our style sheets."""

import re
from functools import lru_cache
from typing import Any
from xml.etree import ElementTree

import numpy as np

from app.looks.margin import Scene
from app.web.drawing.frames import sheet_for
from app.web.render import ROOT, TEMPLATES

WIDE, HIGH = 216, 144  # three to two, as the strip on paper is cut
RULE = re.compile(r"\.(frame__[a-z]+(?:--[a-z]+)?) \{([^}]*)\}")
# What may stand as an attribute of a drawing as well as in a style sheet: SVG 2, 6.6.
PAINT = re.compile(r"(?:fill|stroke)(?:-[a-z]+)?")
NOT_KEPT = ("role", "aria-label", "aria-hidden", "focusable", "class")


def frame_document(scene: Scene, utc_s: float, zone: str) -> str:
    """Return the predicted frame of a setup at an instant, 3 wide to 2 high, with no word in it.

    A picture held upright stands in the middle, black to its sides. ``utc_s`` is in
    seconds since 1970, UTC. [s]
    """
    sheet = sheet_for(scene, np.array([utc_s]), zone, sheet_id="f")
    macros: Any = TEMPLATES.env.get_template("frames.html").module
    root = ElementTree.Element("svg", xmlns="http://www.w3.org/2000/svg", viewBox=f"0 0 {WIDE} {HIGH}")
    ElementTree.SubElement(root, "rect", width=str(WIDE), height=str(HIGH), fill="#171615")
    shapes, picture = (ElementTree.fromstring(str(drawn).strip()) for drawn in (macros.shapes(sheet), macros.picture(sheet, sheet.frames[0])))
    root.extend(list(shapes))
    picture.attrib |= {"width": str(WIDE), "height": str(HIGH)}
    root.append(picture)
    for element in root.iter():
        _paint(element)
    return ElementTree.tostring(root, encoding="unicode")


def _paint(element: ElementTree.Element) -> None:
    """Put what our style sheet says of an element's classes into the element, and take off what only a page needs."""
    painted = {name: value for one in element.get("class", "").split() for name, value in inks().get(one, {}).items()}
    element.attrib |= painted
    for name in NOT_KEPT:
        element.attrib.pop(name, None)


@lru_cache
def inks() -> dict[str, dict[str, str]]:
    """Return the paints of the frame's style sheet by class, so that a frame alone looks as on the page."""
    found = RULE.findall((ROOT / "static" / "css" / "frame.css").read_text(encoding="utf-8"))
    return {name: _paints(body) for name, body in found if _paints(body)}


def _paints(body: str) -> dict[str, str]:
    pairs = (declared.split(":", 1) for declared in body.split(";") if ":" in declared)
    return {name.strip(): value.strip() for name, value in pairs if PAINT.fullmatch(name.strip())}
