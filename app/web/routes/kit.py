"""The kit: the photographer's own cameras, lenses, flashes, modifiers and filters."""

import json
from dataclasses import dataclass
from hashlib import sha256
from typing import ClassVar

from fastapi import APIRouter, Request, Response
from fastapi.responses import RedirectResponse

from app.light.kit import Kit, kit_document
from app.web.conflicts import Posted, is_stale
from app.web.forms import Form
from app.web.kits import keep_kit, kept_kit
from app.web.render import render
from app.web.shelf import Sites
from app.web.typed_kit import SECTIONS, Section, kit_typed, name, read_kit, rows_in

router = APIRouter()


@dataclass(frozen=True)
class KitRow:
    """One row of the form: its number and the names of its fields, the name's own first."""

    number: int
    names: tuple[str, ...]


@dataclass(frozen=True)
class KitPage:
    """All that kit.html may use; ``changed`` says that another tab has kept a kit meanwhile."""

    template: ClassVar[str] = "kit.html"
    form: Form
    sections: tuple[tuple[Section, tuple[KitRow, ...]], ...]
    version: str
    changed: bool = False


@router.get("/kit", name="kit")
def show_kit(request: Request, sites: Sites) -> Response:
    """What is owned, and a blank row for the next of each kind."""
    kit = kept_kit(sites.store)
    return render(request, _page(Form(kit_typed(kit)), kit))


@router.post("/kit")
def save_kit(request: Request, form: Posted, sites: Sites) -> Response:
    """Keep the whole list; a row without a name goes."""
    before = kept_kit(sites.store)
    if is_stale(form, _version(before)):
        return render(request, _page(form, before, changed=True), 409)
    kit = read_kit(form)
    if kit is None:
        return render(request, _page(form, before), 422)
    keep_kit(sites.store, kit)
    return RedirectResponse(request.url_for("kit").path, 303)


def _page(form: Form, kept: Kit, changed: bool = False) -> KitPage:
    sections = tuple((section, tuple(_row(section, row) for row in rows_in(form, section.kind))) for section in SECTIONS)
    return KitPage(form, sections, _version(kept), changed)


def _row(section: Section, row: int) -> KitRow:
    return KitRow(row, tuple(name(section.kind, row, field) for field in ("name", *(column.field for column in section.columns))))


def _version(kit: Kit) -> str:
    """Return a mark that changes with the kit; a setting has no count of its own."""
    return sha256(json.dumps(kit_document(kit), sort_keys=True).encode()).hexdigest()[:16]
