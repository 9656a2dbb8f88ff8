"""A sheet as plain JSON and back: what a revision keeps, so that it can be read for ever as it was."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict, fields
from datetime import date
from typing import Any, TypeVar

from app.sharing.sheet import Contact, CoupleSheet, CrewNotes, CrewSheet, Meeting, Point, Revision, Stop, Turn

T = TypeVar("T")


def couple_document(sheet: CoupleSheet) -> dict[str, Any]:
    """Return the JSON object of a couple's sheet; its revision is left to the book that counts them."""
    kept = asdict(sheet)
    del kept["revision"]
    return {**kept, "day": sheet.day.isoformat()}


def crew_document(sheet: CrewSheet) -> dict[str, Any]:
    """Return the JSON object of a crew's sheet, the couple's within it."""
    return {**asdict(sheet), "couple": couple_document(sheet.couple)}


def read_couple(kept: Mapping[str, Any], revision: Revision) -> CoupleSheet:
    """Return the couple's sheet of a revision.

    What the document lacks takes its default and what it has too much is passed over,
    so that a revision written by another release opens still.
    """
    return _made(
        CoupleSheet,
        kept,
        revision=revision,
        names=tuple(kept["names"]),
        day=date.fromisoformat(kept["day"]),
        stops=tuple(map(_stop, kept.get("stops", ()))),
        dropped=tuple(map(_stop, kept.get("dropped", ()))),
        meeting=_made(Meeting, kept.get("meeting", {}), point=_point(kept.get("meeting", {}))),
        contact=_made(Contact, kept.get("contact", {})),
        turns=tuple(_made(Turn, turn) for turn in kept.get("turns", ())),
    )


def read_crew(kept: Mapping[str, Any], revision: Revision) -> CrewSheet:
    """Return the crew's sheet of a revision, as ``read_couple`` does."""
    notes = (_made(CrewNotes, _tuples(one)) for one in kept.get("notes", ()))
    return CrewSheet(read_couple(kept["couple"], revision), tuple(notes), tuple(kept.get("crew", ())), tuple(kept.get("cautions", ())))


def _stop(kept: Mapping[str, Any]) -> Stop:
    return _made(Stop, kept, point=_point(kept))


def _point(kept: Mapping[str, Any]) -> Point | None:
    return _made(Point, kept["point"]) if kept.get("point") else None


def _tuples(kept: Mapping[str, Any]) -> dict[str, Any]:
    return {name: tuple(value) if isinstance(value, Sequence) and not isinstance(value, str) else value for name, value in kept.items()}


def _made(made: type[T], kept: Mapping[str, Any], **values: Any) -> T:
    known = {one.name for one in fields(made)}  # type: ignore[arg-type]
    return made(**{name: value for name, value in {**kept, **values}.items() if name in known})
