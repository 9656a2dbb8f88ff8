"""Makes an uploaded picture safe to keep and to show."""

import struct
from dataclasses import dataclass
from io import BytesIO
from threading import Lock

from PIL import Image, ImageOps

from app.errors import BadInput, TooLarge

LARGEST_BYTES = 20 * 2**20
LARGEST_PIXELS = 80_000_000  # an A1 plan scanned at 300 dots an inch has 70 million
LONG_SIDE_PX = 4096
FORMATS = ("JPEG", "PNG", "WEBP", "GIF", "TIFF")
READABLE = "JPEG, PNG, WebP, GIF or TIFF"
DRAWING_COLOURS = 256  # a picture of so few is a drawing, and its lines are kept sharp

# Pillow's own guard, from its own default to ours; it also guards frames found later in a file.
Image.MAX_IMAGE_PIXELS = LARGEST_PIXELS

# What Pillow's readers raise on a broken file, as far as damaging files at random has shown.
UNREADABLE = (OSError, SyntaxError, ValueError, TypeError, LookupError, OverflowError, EOFError, struct.error)

_ONE_AT_A_TIME = Lock()  # the largest takes some 600 MB while it is read


@dataclass(frozen=True)
class Picture:
    """A picture as it is kept and served."""

    data: bytes
    media_type: str
    width_px: int
    height_px: int


def clean_picture(data: bytes) -> Picture:
    """Return the picture drawn anew as WebP, at most 4096 px on its long side.

    Only the pixels go over: camera data, which hold positions, are left
    behind, after the picture has been turned as they ask. So are the colour
    profile and all frames of an animation but the first.

    Raises ``BadInput`` for what is no picture and ``TooLarge`` for what has
    more than 20 MB or 80 million pixels.
    """
    if len(data) > LARGEST_BYTES:
        came = f"{len(data) / 2**20:.1f} MB came"
        raise TooLarge(f"A picture has up to {LARGEST_BYTES // 2**20} MB; {came}. Save it smaller.")
    _refuse_svg(data)
    with _ONE_AT_A_TIME:
        return _as_webp(_bare_pixels(data))


def _refuse_svg(data: bytes) -> None:
    # It is a program as much as a picture, and can hold scripts.
    start = data[:4096].lstrip(b"\xef\xbb\xbf \t\r\n").lower()
    if start.startswith(b"<") and b"<svg" in start:
        raise BadInput(f"An SVG drawing cannot be used; save it as {READABLE} and send that.")


def _bare_pixels(data: bytes) -> Image.Image:
    try:
        with Image.open(BytesIO(data), formats=FORMATS) as image:
            _refuse_too_many_pixels(image)
            image.draft("RGB", (LONG_SIDE_PX, LONG_SIDE_PX))  # a large JPEG is read smaller at once
            ImageOps.exif_transpose(image, in_place=True)
            coloured = _in_true_colours(image)
            coloured.thumbnail((LONG_SIDE_PX, LONG_SIDE_PX))
            bare = Image.new(coloured.mode, coloured.size)
            bare.paste(coloured)
            return bare
    except (Image.DecompressionBombError, Image.DecompressionBombWarning) as error:
        raise TooLarge(_too_many_pixels("far more")) from error
    except UNREADABLE as error:
        raise BadInput(f"This is no picture that can be read: {READABLE} is expected, whole.") from error


def _refuse_too_many_pixels(image: Image.Image) -> None:
    pixels = image.width * image.height
    if pixels > LARGEST_PIXELS:
        raise TooLarge(_too_many_pixels(f"{pixels / 1e6:.0f} million"))


def _too_many_pixels(came: str) -> str:
    return f"A picture has up to {LARGEST_PIXELS // 10**6} million pixels; {came} came. Save it smaller."


def _in_true_colours(image: Image.Image) -> Image.Image:
    if image.mode == "F":
        raise BadInput("This file holds measured numbers, not colours; send a picture of the plan.")
    if image.mode.startswith("I"):  # sixteen bits of grey, which Pillow would cut off at 255
        image = image.convert("I").point(lambda grey: grey / 256).convert("L")
    mode = "RGBA" if image.has_transparency_data else "RGB"
    return image if image.mode == mode else image.convert(mode)


def _as_webp(image: Image.Image) -> Picture:
    drawing = image.getcolors(DRAWING_COLOURS) is not None
    kept = BytesIO()
    image.save(kept, "WEBP", lossless=drawing, quality=75 if drawing else 88)
    return Picture(kept.getvalue(), "image/webp", image.width, image.height)
