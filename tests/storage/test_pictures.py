"""Uploads come out as plain pixels, the right way up, or are refused with words."""

import struct
import zlib
from io import BytesIO

import pytest
from PIL import ExifTags, Image, ImageDraw, TiffImagePlugin
from PIL.PngImagePlugin import PngInfo

from app.errors import BadInput, TooLarge
from app.storage.pictures import LARGEST_BYTES, LARGEST_PIXELS, LONG_SIDE_PX, Picture, clean_picture

RED, GREEN, BLUE = (204, 51, 51), (51, 153, 51), (51, 51, 204)
NEAR = 24  # what JPEG and WebP may do to a flat colour, of 255
SVG = '<svg xmlns="http://www.w3.org/2000/svg"><script>alert(1)</script></svg>'


def photograph(size: tuple[int, int] = (400, 300), mode: str = "RGB") -> Image.Image:
    """Soft colours that differ everywhere."""
    slopes = [Image.linear_gradient("L").resize(size).rotate(turn) for turn in (0, 90, 180)]
    return Image.merge("RGB", slopes).convert(mode)


def encoded(image: Image.Image, kind: str, **options: object) -> bytes:
    file = BytesIO()
    image.save(file, kind, **options)
    return file.getvalue()


def opened(picture: Picture) -> Image.Image:
    image = Image.open(BytesIO(picture.data))
    image.load()
    return image


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "GIF", "TIFF"])
def test_every_kind_that_is_offered_becomes_webp(kind):
    picture = clean_picture(encoded(photograph(), kind))
    assert (picture.media_type, picture.width_px, picture.height_px) == ("image/webp", 400, 300)
    assert (opened(picture).format, opened(picture).size) == ("WEBP", (400, 300))


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_positions_and_all_other_camera_data_are_left_behind(kind):
    exif = Image.Exif()
    exif[ExifTags.Base.Model] = "Secret camera"
    exif.get_ifd(ExifTags.IFD.GPSInfo)[ExifTags.GPS.GPSMapDatum] = "SECRET-GPS"
    came = encoded(photograph(), kind, exif=exif)
    assert b"SECRET-GPS" in came
    picture = clean_picture(came)
    assert not opened(picture).getexif()
    assert set(opened(picture).info) <= {"background", "loop", "timestamp", "duration"}
    assert b"ecret" not in picture.data and b"SECRET" not in picture.data


def test_the_tags_of_a_tiff_are_left_behind():
    description = 270  # TIFF 6.0, ImageDescription
    came = encoded(photograph(), "TIFF", tiffinfo={description: "48.8584 N"})
    assert b"48.8584" in came
    assert b"48.8584" not in clean_picture(came).data


def test_texts_and_profiles_are_left_behind():
    notes = PngInfo()
    notes.add_itxt("XML:com.adobe.xmp", "<x>48.8584 N</x>")
    notes.add_text("Comment", "48.8584 N")
    came = encoded(photograph(), "PNG", pnginfo=notes, icc_profile=b"48.8584 N")
    assert b"48.8584" not in clean_picture(came).data


@pytest.mark.parametrize(
    ("orientation", "corner"),
    [(1, "upper left"), (2, "upper right"), (3, "lower right"), (4, "lower left")]
    + [(5, "upper left"), (6, "upper right"), (7, "lower right"), (8, "lower left")],
)
def test_a_picture_is_turned_as_its_camera_asks(orientation, corner):
    """Exif 2.32, tag 0x0112: what the number says about where row 0 and column 0 are."""
    image = Image.new("RGB", (60, 40), BLUE)
    ImageDraw.Draw(image).rectangle((0, 0, 19, 12), fill=RED)  # at row 0 and column 0
    exif = Image.Exif()
    exif[ExifTags.Base.Orientation] = orientation
    upright = opened(clean_picture(encoded(image, "PNG", exif=exif)))
    assert upright.size == ((60, 40) if orientation < 5 else (40, 60))
    right, down = upright.width - 1, upright.height - 1
    corners = {
        "upper left": (0, 0), "upper right": (right, 0), "lower left": (0, down), "lower right": (right, down)
    }  # fmt: skip
    assert [name for name, at in corners.items() if upright.getpixel(at) == RED] == [corner]


@pytest.mark.parametrize(("size", "kept"), [((5000, 2500), (4096, 2048)), ((100, 8192), (50, 4096))])
@pytest.mark.parametrize("kind", ["JPEG", "PNG"])
def test_a_large_picture_is_made_smaller_and_keeps_its_shape(kind, size, kept):
    picture = clean_picture(encoded(Image.new("RGB", size, GREEN), kind))
    assert (picture.width_px, picture.height_px) == kept
    assert opened(picture).size == kept


def test_a_small_picture_keeps_its_size():
    picture = clean_picture(encoded(Image.new("RGB", (LONG_SIDE_PX, 10), GREEN), "PNG"))
    assert (picture.width_px, picture.height_px) == (LONG_SIDE_PX, 10)


@pytest.mark.parametrize("kind", ["PNG", "GIF"])
def test_a_drawing_keeps_its_lines_exactly(kind):
    drawing = Image.new("RGB", (200, 150), "white")
    ImageDraw.Draw(drawing).line((3, 3, 190, 140), fill=BLUE)
    assert opened(clean_picture(encoded(drawing, kind))).convert("RGB").tobytes() == drawing.tobytes()


@pytest.mark.parametrize("mode", ["1", "L", "P", "CMYK", "YCbCr", "RGB"])
def test_every_way_of_keeping_colours_gives_the_same_colours(mode):
    grey = mode in {"1", "L"}
    flat = Image.new("RGB", (64, 64), "white" if grey else GREEN).convert(mode)
    shown = opened(clean_picture(encoded(flat, "TIFF"))).convert("RGB").getpixel((32, 32))
    expected = (255, 255, 255) if grey else GREEN
    assert shown == pytest.approx(expected, abs=NEAR)


def test_sixteen_bits_of_grey_are_scaled_and_not_cut_off():
    came = encoded(Image.new("I;16", (32, 32), 0x8000), "PNG")
    assert opened(clean_picture(came)).convert("RGB").getpixel((5, 5)) == pytest.approx((128,) * 3, abs=2)


@pytest.mark.parametrize("mode", ["RGBA", "LA", "PA"])
def test_what_was_clear_stays_clear(mode):
    image = Image.new("RGBA", (32, 32), (*GREEN, 255))
    image.paste((0, 0, 0, 0), (0, 0, 16, 32))
    kept = opened(clean_picture(encoded(image.convert(mode), "TIFF" if mode == "PA" else "PNG")))
    assert [kept.getpixel((x, 5))[3] for x in (3, 28)] == [0, 255]


def test_of_an_animation_the_first_frame_is_kept():
    frames = [Image.new("RGB", (32, 32), colour) for colour in (RED, BLUE)]
    came = encoded(frames[0], "GIF", save_all=True, append_images=frames[1:])
    kept = opened(clean_picture(came))
    assert getattr(kept, "n_frames", 1) == 1
    assert kept.convert("RGB").getpixel((5, 5)) == pytest.approx(RED, abs=NEAR)


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"The light was better on the north side.",
        b"%PDF-1.7",
        encoded(photograph(), "BMP"),
        encoded(photograph(), "PNG")[:-400],
        encoded(photograph(), "JPEG")[:900],
        encoded(photograph(), "WEBP")[:-40],
        b"\x89PNG\r\n\x1a\n" + b"\0" * 100,
    ],
    ids=["empty", "text", "PDF", "BMP", "cut PNG", "cut JPEG", "cut WebP", "false PNG"],
)
def test_what_is_no_whole_picture_is_refused(data):
    with pytest.raises(BadInput, match="no picture that can be read: JPEG, PNG, WebP, GIF or TIFF"):
        clean_picture(data)


@pytest.mark.parametrize("data", [SVG, f"\ufeff \n{SVG}", f'<?xml version="1.0"?><!-- plan -->{SVG.upper()}'])
def test_an_svg_is_refused_by_name(data):
    with pytest.raises(BadInput, match="An SVG drawing cannot be used; save it as JPEG"):
        clean_picture(data.encode())


def bomb(width: int, height: int) -> bytes:
    """A PNG of one colour that says it has so many pixels, in a few bytes."""

    def chunk(kind: bytes, content: bytes) -> bytes:
        check = zlib.crc32(kind + content)
        return struct.pack(">I", len(content)) + kind + content + struct.pack(">I", check)

    header = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    content = zlib.compress(bytes(1000))
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", content) + chunk(b"IEND", b"")


@pytest.mark.parametrize("side", [9_000, 60_000], ids=["above our limit", "above twice the limit"])
@pytest.mark.filterwarnings("ignore::PIL.Image.DecompressionBombWarning")
def test_a_bomb_is_refused_before_it_is_unpacked(side):
    assert side**2 > LARGEST_PIXELS
    with pytest.raises(TooLarge, match="up to 80 million pixels"):
        clean_picture(bomb(side, side))


@pytest.mark.filterwarnings("error")
def test_a_bomb_is_refused_in_the_same_words_where_warnings_are_errors():
    with pytest.raises(TooLarge, match="up to 80 million pixels"):
        clean_picture(bomb(9_000, 9_000))


def test_a_text_bomb_inside_a_png_is_refused():
    notes = PngInfo()
    notes.add_itxt("Comment", "x" * 80_000_000, zip=True)
    came = encoded(Image.new("L", (8, 8)), "PNG", pnginfo=notes)
    assert len(came) < 200_000
    with pytest.raises(BadInput, match="no picture that can be read"):
        clean_picture(came)


def test_a_file_that_is_too_big_is_refused_before_it_is_read():
    with pytest.raises(TooLarge, match=r"up to 20 MB; 20\.0 MB came"):
        clean_picture(b"\xff\xd8" + bytes(LARGEST_BYTES))


def test_measured_numbers_are_no_picture():
    came = encoded(Image.new("F", (8, 8), 412.5), "TIFF", compression=None)
    assert TiffImagePlugin.TiffImageFile(BytesIO(came)).mode == "F"
    with pytest.raises(BadInput, match="measured numbers"):
        clean_picture(came)
