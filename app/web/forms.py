"""Forms: each value read by one parser, each fault shown by its field, nothing typed lost."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any, TypeVar

from fastapi import Request

from app.errors import BadInput

T = TypeVar("T")


@dataclass
class Form:
    """What came from a form, and what was wrong with it.

    ``read`` a value by name; after reading all, ``errors`` says by field what
    could not be used, and ``typed`` still holds every text as it came.
    """

    typed: Mapping[str, str]
    errors: dict[str, str] = field(default_factory=dict)

    def text(self, name: str, default: str = "") -> str:
        """Return a text without the space around it."""
        return self.typed.get(name, default).strip()

    def count(self, name: str) -> int | None:
        """Return a whole number of at most nine digits, such as a version or a place in a list; None for anything else."""
        return counted(self.text(name))

    def read(self, name: str, parse: Callable[[str], T], default: T | None = None) -> T | None:
        """Return a value through its parser; a fault is kept for its field and gives None.

        An empty field gives the default when there is one.
        """
        text = self.text(name)
        if not text and default is not None:
            return default
        try:
            return parse(text)
        except (BadInput, ValueError) as error:
            self.errors[name] = str(error)
            return None

    def error(self, name: str) -> str | None:
        """Return what was wrong with a field, None when nothing was."""
        return self.errors.get(name)

    def blame(self, error: BadInput, otherwise: str) -> None:
        """Put an error found later to its field, or to another if the form has none of that name."""
        name = error.field if error.field in self.typed else otherwise
        self.errors[name] = str(error)


def counted(text: str) -> int | None:
    """Return a whole number of at most nine digits, None for anything else."""
    return int(text) if text.isascii() and text.isdecimal() and len(text) <= 9 else None


async def read_form(request: Request) -> Form:
    """Return the texts of a posted form."""
    form = await request.form()
    return Form({name: value for name, value in form.multi_items() if isinstance(value, str)})


def query_form(request: Request) -> Form:
    """Return the texts of the address's query as a form."""
    return Form(dict(request.query_params))


def texts(values: Mapping[str, Any]) -> dict[str, str]:
    """Return values as a form would hold them."""
    return {name: f"{value:g}" if isinstance(value, float) else str(value) for name, value in values.items()}


def typed(parse: Callable[[str], T], text: str, field_name: str) -> T:
    """Return a value through its parser; a fault becomes ``BadInput`` for that field."""
    try:
        return parse(text)
    except ValueError as error:
        raise BadInput(str(error), field_name) from error
