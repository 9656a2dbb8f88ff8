"""The sheet on paper: a tagged PDF, A4 or Letter, set by typst.

What people typed goes in as JSON, so it can never become markup. Letters that no font
here can draw leave a box on the paper, never a broken file, and the sheet says in words
where they can be read.
"""

import json
from collections.abc import Mapping
from dataclasses import asdict
from enum import Enum
from functools import lru_cache
from pathlib import Path
from threading import Lock
from xml.etree import ElementTree

import typst

from app.sharing.languages import Tongue
from app.sharing.qr import qr_drawing
from app.sharing.sheet import CrewNotes
from app.sharing.told import ToldSheet, ToldStop

TEMPLATE = Path(__file__).with_name("print_sheet.typ")
FOR_EVERYBODY = "ua-1"  # PDF/UA-1, which refuses odd texts and letters that no font has
NOT_FOR_EVERYBODY, NO_GLYPH = "PDF/UA-1 error", "could not be displayed"  # what typst 0.15 says then
LONG_LETTERS = 900  # more than this may not fit a page in one piece, and is let break
ONE_AT_A_TIME = Lock()  # a compiler of typst refuses a second thread; a sheet takes it some 10 ms


class Paper(Enum):
    """The sizes a sheet is made for, by typst's names."""

    A4 = "a4"
    LETTER = "us-letter"


def print_sheet(
    sheet: ToldSheet, tongue: Tongue, paper: Paper, frames: Mapping[str, str], written_utc_s: float,
    link: str = "",
) -> bytes:  # fmt: skip
    """Return the sheet as a PDF.

    Parameters
    ----------
    sheet : ToldSheet
        In words, for the couple or for the crew.
    tongue : Tongue
        The language of those words.
    paper : Paper
        Its size.
    frames : mapping of str to str
        Predicted frames by the ids of their stops, each a whole SVG document, 3 wide
        to 2 high. A stop without one has its time in its place.
    written_utc_s : float
        What the file gives as its date, so that the same sheet is the same file. [s]
    link : str, optional
        The whole address of the sheet's page, printed as a code.

    Raises
    ------
    ValueError
        For a frame that is no SVG document: a drawing of ours is broken.
    """
    for stop_id, frame in frames.items():
        _check_svg(stop_id, frame)
    data = _data(sheet, tongue, paper, frames, link)
    try:
        return _compiled(data, int(written_utc_s), [FOR_EVERYBODY])
    except typst.TypstError as error:
        if NOT_FOR_EVERYBODY not in str(error):
            raise
        data["unprintable"] = bool(link) and NO_GLYPH in str(error)
    return _compiled(data, int(written_utc_s), [])


def _compiled(data: dict[str, object], written_utc_s: int, standards: list[str]) -> bytes:
    inputs = {"sheet": json.dumps(data, ensure_ascii=False)}
    with ONE_AT_A_TIME:
        return _compiler().compile(sys_inputs=inputs, pdf_standards=standards, timestamp=written_utc_s)


@lru_cache
def _compiler() -> typst.Compiler:
    # Its root holds this room only, and it finds no package: the template needs neither.
    return typst.Compiler(input=TEMPLATE, root=TEMPLATE.parent)


def _data(
    sheet: ToldSheet, tongue: Tongue, paper: Paper, frames: Mapping[str, str], link: str
) -> dict[str, object]:
    point = sheet.meeting.point
    turns = (text for turn in sheet.turns for text in turn)
    return {
        "paper": paper.value,
        "lang": tongue.locale.language,
        "title": f"{sheet.names}, {sheet.place}",
        "kind": sheet.labels.crew_sheet if sheet.for_crew else "",
        "labels": asdict(sheet.labels),
        "names": sheet.names,
        "place": sheet.place,
        "date": sheet.date,
        "ready": sheet.ready,
        "done": sheet.done,
        "meeting": {"words": sheet.meeting.words, "at": point.shown if point else ""},
        "contact": asdict(sheet.contact),
        "changes": sheet.changes,
        "changed": sheet.changed,
        "stops": [_stop(stop, frames.get(stop.stop.id, "")) for stop in sheet.stops],
        "empty": sheet.labels.no_stops,
        "turns": sheet.turns,
        "decide": sheet.decide,
        "crew": sheet.crew,
        "cautions": sheet.cautions,
        "zone": sheet.zone,
        "written": sheet.written,
        "page": tongue.say("Page {page} of {pages}", page="{page}", pages="{pages}"),
        "drawn": bool(frames),
        "long": _is_long(sheet.decide, *sheet.cautions, *sheet.crew, *turns),
        "qr": qr_drawing(link).svg(sheet.labels.scan) if link else "",
        "unprintable": False,
    }


def _stop(told: ToldStop, frame: str) -> dict[str, object]:
    stop, notes = told.stop, told.notes or CrewNotes(told.stop.id)
    return {
        "number": told.number,
        "start": told.start,
        "span": told.span,
        "was": told.was,
        "walk": told.walk,
        "title": stop.title,
        "where": stop.where,
        "about": stop.about,
        "bring": stop.bring,
        "standby": stop.standby,
        "chosen": stop.chosen,
        "frame": frame,
        "frame_alt": told.frame_alt,
        "long": _is_long(stop.where, stop.about, stop.bring, stop.standby, told.walk, *_lines(notes)),
        "settings": notes.settings,
        "lights": notes.lights,
        "positions": notes.positions,
        "sketch": notes.sketch,
        "sketch_alt": notes.sketch_alt,
        "cautions": notes.cautions,
    }


def _lines(notes: CrewNotes) -> tuple[str, ...]:
    return (*notes.settings, *notes.lights, *notes.positions, *notes.cautions)


def _is_long(*texts: str) -> bool:
    return sum(map(len, texts)) > LONG_LETTERS


def _check_svg(stop_id: str, frame: str) -> None:
    try:
        root = ElementTree.fromstring(frame)
    except ElementTree.ParseError as error:
        raise ValueError(f"the frame of {stop_id} is no SVG document: {error}") from error
    if root.tag != "{http://www.w3.org/2000/svg}svg":
        raise ValueError(f"the frame of {stop_id} is no SVG document: its root is {root.tag}")
