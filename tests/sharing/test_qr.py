import re
from xml.etree import ElementTree

import numpy as np
import pytest
import zxingcpp

from app.errors import BadInput
from app.sharing.links import new_token
from app.sharing.qr import LONGEST_LINK, QUIET_MODULES, QrDrawing, qr_drawing

MODULE_PX = 4
BAR = re.compile(r"M(\d+) (\d+)h(\d+)v1h-(\d+)z")


def raster(drawing: QrDrawing) -> np.ndarray:
    """Return the path as printed: black bars on white, 4 pixels a module."""
    paper = np.full((drawing.side, drawing.side), 255, dtype=np.uint8)
    bars = [tuple(map(int, bar)) for bar in BAR.findall(drawing.path)]
    assert "".join(f"M{x} {y}h{w}v1h-{back}z" for x, y, w, back in bars) == drawing.path
    for x, y, width, back in bars:
        assert width == back
        paper[y, x : x + width] = 0
    return np.kron(paper, np.ones((MODULE_PX, MODULE_PX), dtype=np.uint8))


@pytest.mark.parametrize("link", ["https://a.example/with/" + "k" * 32, "http://192.168.1.20:8000/with/x", "x"])
def test_a_reader_of_codes_reads_the_link_back(link):
    """Decoded by ZXing, which shares no code with what draws it."""
    (found,) = zxingcpp.read_barcodes(raster(qr_drawing(link)))
    assert found.text == link
    assert found.format == zxingcpp.BarcodeFormat.QRCode
    assert found.ec_level == "M"


def test_the_longest_link_is_read_back():
    link = ("https://photographs.example/with/" + new_token()).ljust(LONGEST_LINK, "a")
    assert [found.text for found in zxingcpp.read_barcodes(raster(qr_drawing(link)))] == [link]


def test_a_blot_of_six_modules_is_survived():
    """Level M restores about 15 % of a code's words (ISO/IEC 18004); a blot of 6 by 6 modules touches 9 or more."""
    link = "https://photographs.example/with/" + "k" * 32
    paper = raster(qr_drawing(link))
    blot = slice(18 * MODULE_PX, 24 * MODULE_PX)
    assert (paper[blot, blot] == 255).any()
    paper[blot, blot] = 0
    assert [found.text for found in zxingcpp.read_barcodes(paper)] == [link]


def test_the_quiet_margin_is_left_white():
    paper = raster(qr_drawing("https://a.example"))
    margin = QUIET_MODULES * MODULE_PX
    inside = paper[margin:-margin, margin:-margin]
    assert (paper == 0).sum() == (inside == 0).sum() > 0
    assert inside[0, 0] == 0  # the corner mark begins right behind it


def test_the_drawing_is_a_document_whose_title_stays_text():
    root = ElementTree.fromstring(qr_drawing("https://a.example").svg("<b>Sheet</b> & more"))
    assert root.find("{http://www.w3.org/2000/svg}title").text == "<b>Sheet</b> & more"
    assert len(root) == 3


@pytest.mark.parametrize("link", ["", "a" * (LONGEST_LINK + 1)])
def test_a_link_that_no_code_should_hold_is_refused(link):
    with pytest.raises(BadInput, match=f"1 to 500 characters; {len(link)} came"):
        qr_drawing(link)
