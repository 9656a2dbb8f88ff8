"""Read back by pypdf, which shares no code with what sets the page."""

import io
from collections.abc import Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pypdf import PdfReader

from app.sharing.languages import LANGUAGES, tongue
from app.sharing.print_sheet import LONG_LETTERS, Paper, print_sheet
from app.sharing.sheet import CoupleSheet, CrewSheet, Stop, Turn
from app.sharing.told import told
from tests.sharing.sheets import CREW, DOORS, FIRST, JETTY, MEADOW, at, moved, revised

ENGLISH = tongue("en")
LINK = "https://photographs.example/with/" + "k" * 32
FRAME = (
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 216 144"><rect width="216" height="144" fill="#ccc"/>'
    '<circle cx="108" cy="47" r="4" fill="#fff"/></svg>'
)
FRAMES = {stop.id: FRAME for stop in FIRST.stops}
POINT_MM = 25.4 / 72
HALF_POINT = 0.5  # PDF sizes are rounded to a thousandth; half a point is what no printer shows


def printed(
    sheet: CoupleSheet | CrewSheet = FIRST, language: str = "en", paper: Paper = Paper.A4,
    frames: Mapping[str, str] = FRAMES, link: str = LINK, before: CoupleSheet | None = None,
) -> PdfReader:  # fmt: skip
    speak = tongue(language)
    return PdfReader(io.BytesIO(print_sheet(told(sheet, speak, before), speak, paper, frames, at(7, 10), link)))


def words(pdf: PdfReader) -> str:
    """Return all text, with line breaks and doubled spaces made single spaces."""
    return " ".join(" ".join(page.extract_text() for page in pdf.pages).split())


@pytest.mark.parametrize("paper, wide_mm, high_mm", [(Paper.A4, 210, 297), (Paper.LETTER, 215.9, 279.4)])
def test_the_page_has_the_size_asked_for(paper, wide_mm, high_mm):
    """A4 is 210 by 297 mm (ISO 216), Letter 215.9 by 279.4 mm (ANSI Y14.1)."""
    box = printed(paper=paper).pages[0].mediabox
    assert float(box.width) == pytest.approx(wide_mm / POINT_MM, abs=HALF_POINT)
    assert float(box.height) == pytest.approx(high_mm / POINT_MM, abs=HALF_POINT)


def test_all_that_a_couple_needs_is_on_the_page():
    text = words(printed())
    for part in (
        "Ines and Tomasz", "Tarnholme", "Saturday, 18 September 2027", "Be ready", "17:00", "By the green doors",
        "54.57100, -3.13400", "Sheep meadow", "17:15 to 17:40", "Behind the barn", "You walk, I follow.",
        "Wear or bring Flat soles", "6 minutes on foot. Along the shore.", "Instead, if need be The boathouse doors",
        "A shower", "We wait under the roof.", "I decide by Saturday, 14:00", "07700 900147", "marlow@example.com",
        "British Summer Time, UTC+1", "Sheet 1, written 11 September 2027, 10:00.", "look straight at the sun",
    ):  # fmt: skip
        assert part in text


def test_what_has_changed_is_printed_with_what_it_was():
    text = words(printed(revised(stops=(moved(MEADOW, 15), DOORS, JETTY)), before=FIRST))
    assert "The first stop is 15 minutes later: 17:30." in text
    assert "Changed Saturday, 08:10." in text and "was 17:15" in text


def test_the_crew_gets_its_notes_and_the_couple_does_not():
    secrets = ("1/200 s, f/2.8", "Key, 1/4 power", "Camera on the shore", "Wet boards", "Jun, lights", "Gusts")
    crew, couple = words(printed(CREW)), words(printed(FIRST))
    assert all(secret in crew and secret not in couple for secret in secrets)
    assert "Crew sheet" in crew and "Crew sheet" not in couple


MARKUP = [
    "#let x = [*a*]", "*bold* _slanted_", "#include \"/etc/hosts\"", "[bracket] $x^2$ `raw`", "\\ \\n \\u{41} ~ --- ...",
    "<b>bold</b> &amp; <script>alert(1)</script>", "= heading", "@ref <label> // comment /* x */", "#(1+1) #sys.inputs",
    "{page} {pages} {0}", '"quoted" \'q\'',
]  # fmt: skip


@pytest.mark.parametrize("odd", MARKUP)
def test_what_people_type_never_becomes_markup(odd):
    stop = replace(JETTY, title=odd, where=odd, about=odd, bring=odd, walk=odd)
    text = words(printed(revised(stops=(stop,), names=(odd,), place=odd, turns=(Turn(odd, odd),))))
    plain = " ".join(odd.split())
    assert text.count(plain) >= 8


@pytest.mark.parametrize("name", ["李小龍", "김민지", "नूर", "👰🏽‍♀️", "\ufffe\u0378", "ᚠᚢᚦ"])
def test_letters_that_no_font_has_leave_a_sheet_that_says_so(name):
    """Some machines have fonts for these; then all is printed and nothing needs saying."""
    pdf = printed(revised(names=(name, "Tomasz"), place=name))
    text = words(pdf)
    assert "Tomasz" in text and "17:15 to 17:40" in text
    assert "Some letters could not be printed here." in text or name in text


def test_a_private_letter_is_in_no_font_and_the_sheet_says_so():
    text = words(printed(revised(names=("\U0010fffd", "Tomasz"))))
    assert "Some letters could not be printed here. The sheet behind the code shows them all." in text


def test_without_a_code_nobody_is_sent_to_it():
    assert "behind the code" not in words(printed(revised(names=("\U0010fffd", "Tomasz")), link=""))


def test_a_whole_sheet_says_nothing_of_missing_letters():
    assert "could not be printed" not in words(printed(revised(names=("Łucja", "Νίκος", "Юрий", "Gül"))))


@pytest.mark.parametrize("name", ["נועה", "نور"])
def test_right_to_left_names_are_printed(name):
    text = words(printed(revised(names=(name, "Tomasz"))))
    assert "Tomasz" in text and "Sheep meadow" in text
    assert any(letter in text for letter in name)


@settings(max_examples=25)
@given(st.text(max_size=40), st.text(max_size=200))
def test_no_text_whatever_breaks_the_file(short, long):
    stop = replace(JETTY, title=short, where=long, about=short, bring=short, standby=long, walk=short)
    sheet = revised(stops=(stop,), names=(short,), place=short, turns=(Turn(short, long),))
    assert len(printed(sheet).pages) >= 1


def test_control_letters_do_not_break_the_file():
    assert "Sheep" in words(printed(revised(names=("A\x00\x07\x1b\u202eB",), place="\u200b\ufeff")))


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("paper", Paper)
def test_each_language_fits_three_stops_on_one_page(language, paper):
    pdf = printed(language=language, paper=paper)
    assert len(pdf.pages) == 1
    assert tongue(language).say("Where to meet") in words(pdf)
    assert pdf.trailer["/Root"]["/Lang"].split("-")[0] == tongue(language).locale.language


def test_the_file_is_tagged_named_and_dated():
    pdf = printed()
    assert pdf.trailer["/Root"]["/MarkInfo"]["/Marked"]
    assert pdf.metadata.title == "Ines and Tomasz, Tarnholme"
    assert pdf.metadata.creation_date.timestamp() == at(7, 10)
    assert b"pdfuaid" in pdf.trailer["/Root"]["/Metadata"].get_data()


def test_the_same_sheet_is_the_same_file():
    sheet = told(FIRST, ENGLISH)
    one, other = (print_sheet(sheet, ENGLISH, Paper.A4, FRAMES, at(7), LINK) for _ in range(2))
    assert one == other


def test_sheets_printed_at_once_do_not_disturb_each_other():
    """A bug once: the compiler refuses a second thread, and the second reader got an error."""
    def text_of(number: int) -> str:
        sheet = replace(told(FIRST, ENGLISH), names=f"Couple {number}")
        return words(PdfReader(io.BytesIO(print_sheet(sheet, ENGLISH, Paper.A4, {}, at(7)))))

    with ThreadPoolExecutor(4) as pool:
        assert all(f"Couple {number}" in text for number, text in enumerate(pool.map(text_of, range(12))))


def test_without_frames_and_link_it_is_a_sheet_still():
    text = words(printed(frames={}, link=""))
    assert "17:15 to 17:40" in text
    assert "drawings" not in text and "newest version" not in text


def test_without_stops_it_says_that_nothing_is_settled():
    text = words(printed(replace(FIRST, stops=(), ready_utc_s=None, decide_utc_s=None), frames={}))
    assert "Nothing is settled yet." in text


def test_sixty_stops_run_over_pages_that_are_counted():
    stops = tuple(Stop(f"s{n}", at(16) + n * 60, at(16) + n * 60 + 50, f"Stop number {n}") for n in range(60))
    pdf = printed(revised(stops=stops), frames={stop.id: FRAME for stop in stops})
    text = words(pdf)
    assert all(f"Stop number {n}" in text for n in range(60))
    assert f"Page 2 of {len(pdf.pages)}" in text


def test_a_text_longer_than_a_page_is_printed_to_its_end():
    tale = " ".join(f"word{n}" for n in range(2000))
    assert len(tale) > LONG_LETTERS
    text = words(printed(revised(stops=(replace(JETTY, about=tale),), turns=(Turn("Rain", tale),))))
    assert text.count("word1999") == 2 and text.count("word1000") == 2


@pytest.mark.parametrize("frame", ["", "<svg", "<p>no drawing</p>", "plain"])
def test_a_broken_frame_is_a_fault_of_ours_and_says_so(frame):
    with pytest.raises(ValueError, match="the frame of jetty is no SVG document"):
        printed(frames={"jetty": frame})
