"""What all forms that change a site share: versions, conflicts, faults found late."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Annotated, ClassVar, TypeVar

from fastapi import Depends, Request, Response

from app.errors import BadInput
from app.web.forms import Form, read_form
from app.web.render import render
from app.web.shelf import KeptSite

DELETE = "Delete it all the same"

T = TypeVar("T")
Posted = Annotated[Form, Depends(read_form)]


@dataclass(frozen=True)
class Difference:
    """One field of a form that was sent too late: what was typed, and what is there now."""

    name: str
    called: str
    mine: str
    theirs: str

    @property
    def differs(self) -> bool:
        return self.mine.split() != self.theirs.split()


@dataclass(frozen=True)
class ConflictPage:
    """All that conflict.html may use.

    ``again`` takes what was typed, in the words of ``way``; ``look`` shows what is there.
    """

    template: ClassVar[str] = "conflict.html"
    kept: KeptSite
    version: int
    fields: tuple[Difference, ...]
    again: str
    look: str
    way: str


def is_stale(form: Form, version: int) -> bool:
    """Tell whether a form was opened before the thing it changes was last changed."""
    return form.text("version") != str(version)


def conflict(
    request: Request,
    kept: KeptSite,
    form: Form,
    there: Mapping[str, str],
    again: str,
    look: str,
    version: int | None = None,
    way: str = "Keep what I typed",
    **ids: str,
) -> Response:
    """Answer a form that comes too late with both versions of it and both ways out.

    ``again`` and ``look`` name the routes that keep and show the thing;
    ``version`` is what counts its changes, unless that is the site itself.
    """
    names = [name for name in {**form.typed, **there} if name != "version"]
    fields = (Difference(name, called(name), form.text(name), there.get(name, "").strip()) for name in names)
    addresses = (request.url_for(route, site=kept.slug, **ids).path for route in (again, look))
    now = kept.version if version is None else version
    return render(request, ConflictPage(kept, now, tuple(fields), *addresses, way), 409)


def called(name: str) -> str:
    """Return what a form's field is called, its unit in brackets: “camera ground [m]”."""
    units = {"deg": "°", "mm": "mm", "m": "m", "px": "px"}
    *words, last = name.split("_")
    return f"{' '.join(words)} [{units[last]}]" if words and last in units else " ".join([*words, last])


def checked(form: Form, otherwise: str, make: Callable[[], T]) -> T | None:
    """Return what is made; a fault found in the making goes to its field, or to another, and gives None."""
    try:
        return make()
    except BadInput as error:
        form.blame(error, otherwise)
        return None
