"""The kit as a form holds it: a row for each thing, a blank one for the next, times as on the camera."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from app.errors import BadInput
from app.light.kit import KINDS, MOST_OF_A_KIND, Kit, kit_document, kit_from
from app.units import number
from app.web.forms import Form, counted


@dataclass(frozen=True)
class Column:
    """One figure of a kind of thing: its field, what it is called, and how it is read and shown."""

    field: str
    called: str
    usual: str = ""
    read: Callable[[str], Any] = float
    show: Callable[[Any], str] = "{:g}".format


def time_s(text: str) -> float:
    """Return a time typed as on a camera, “1/200” or “0.5”. [s]"""
    whole = text.lower().removesuffix("s").strip()
    over, slash, under = whole.partition("/")
    parts = counted(over.strip()), counted(under.strip())
    if slash and parts[0] is not None and parts[1]:
        return parts[0] / parts[1]
    return number(whole, "A time")


def time_words(seconds: float) -> str:
    """Return a time as on a camera: “1/200”, “0.5”."""
    part = Fraction(seconds).limit_denominator(32_000)
    return f"1/{part.denominator}" if part.numerator == 1 and part.denominator > 3 else f"{seconds:.3g}"


def _figure(field: str, called: str, usual: str = "") -> Column:
    return Column(field, called, usual, lambda text: number(text, called))


def _time(field: str, called: str, usual: str) -> Column:
    return Column(field, called, usual, time_s, time_words)


def _maybe(text: str) -> float | None:
    return None if text.lower() in ("none", "no", "-") else number(text, "What high-speed sync takes")


@dataclass(frozen=True)
class Section:
    """One kind of thing on the page."""

    kind: str
    called: str
    one: str
    means: str
    columns: tuple[Column, ...]


SECTIONS = (
    Section("cameras", "Cameras", "camera", "What each can do. The slowest time is the longest you hold by hand and still get sharp.", (
        _time("slowest_s", "Slowest by hand [s]", "1/125"), _time("fastest_s", "Shortest [s]", "1/8000"),
        _time("sync_s", "Sync [s]", "1/200"), _figure("base_iso", "Base ISO", "100"), _figure("highest_iso", "Highest ISO", "6400"),
    )),
    Section("lenses", "Lenses", "lens", "A prime has the same focal length twice.", (
        _figure("shortest_mm", "From [mm]"), _figure("longest_mm", "To [mm]"),
        _figure("widest_f_number", "Widest f/"), _figure("smallest_f_number", "Smallest f/", "16"),
    )),
    Section("flashes", "Flashes", "flash", "Guide number in metres at ISO 100, bare, or the f-number a meter shows at 1 m: it is the same figure. The beam is the whole angle between the directions one stop darker than its middle. High-speed sync takes so many stops just past the sync time, 2 as common practice; measure your own. Write none where a flash has none.", (
        _figure("guide_number_m", "Guide number [m]"), _figure("beam_deg", "Beam [°]", "75"), _figure("range_stops", "Goes down [stops]", "8"),
        Column("high_speed_stops", "High-speed sync takes [stops]", "2", _maybe, lambda value: "none" if value is None else f"{value:g}"),
        _figure("colour_k", "Colour [K]", "5500"),
    )),
    Section("modifiers", "Modifiers", "modifier", "What each takes in the middle of its beam, and how wide that is. A grid cuts off what lies beyond.", (
        _figure("loss_stops", "Takes [stops]"), _figure("beam_deg", "Beam [°]"),
        Column("grid", "Grid", "no", lambda text: text.lower() in ("yes", "true", "1"), lambda value: "yes" if value else "no"),
    )),
    Section("filters", "Neutral-density filters", "filter", "By what each takes: 3 stops is also called ND 0.9 or 8×.", (_figure("taken_stops", "Takes [stops]"),)),
)  # fmt: skip


def kit_typed(kit: Kit) -> dict[str, str]:
    """Return a kit as the form holds it."""
    document = kit_document(kit)
    return {
        name(section.kind, row, field): words
        for section in SECTIONS
        for row, thing in enumerate(document[section.kind])
        for field, words in _shown(section, thing)
    }


def rows_in(form: Form, kind: str) -> range:
    """Return the numbers of a kind's rows, with a blank one at the end."""
    taken = [counted(row) or 0 for key in form.typed for has, row, _ in [key.split("-", 2) if key.count("-") >= 2 else ("", "", "")] if has == kind and (counted(row) or 0) < MOST_OF_A_KIND]
    filled = [row for row in taken if any(form.text(name(kind, row, field)) for field in ("name", *_fields(kind)))]
    return range(max(filled, default=-1) + 2)


def read_kit(form: Form) -> Kit | None:
    """Return the kit that was typed; None where a figure could not be used, which its field says."""
    document: dict[str, list[dict[str, Any]]] = {kind: [] for kind in KINDS}
    for section in SECTIONS:
        for row in rows_in(form, section.kind):
            thing = _row(form, section, row)
            if thing:
                document[section.kind].append(thing)
    if form.errors:
        return None
    try:
        return kit_from(document)
    except BadInput as error:
        form.errors["kit"] = str(error)
        return None


def name(kind: str, row: int, field: str) -> str:
    """Return the name of a field."""
    return f"{kind}-{row}-{field}"


def _fields(kind: str) -> tuple[str, ...]:
    return tuple(column.field for section in SECTIONS if section.kind == kind for column in section.columns)


def _row(form: Form, section: Section, row: int) -> dict[str, Any]:
    """Return what a row holds; nothing where its name is empty, which is how a thing is taken out."""
    called = form.text(name(section.kind, row, "name"))
    if not called:
        return {}
    found: dict[str, Any] = {"name": called}
    for column in section.columns:
        text_name = name(section.kind, row, column.field)
        text = form.text(text_name)
        if not text and not column.usual:
            form.errors[text_name] = f"{column.called} is missing."
        elif text:
            value = form.read(text_name, column.read)
            found |= {} if text_name in form.errors else {column.field: value}
    return found


def _shown(section: Section, thing: dict[str, Any]) -> Iterator[tuple[str, str]]:
    yield "name", thing["name"]
    for column in section.columns:
        yield column.field, column.show(thing[column.field])
