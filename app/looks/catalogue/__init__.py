"""The looks Westering knows, one file each: a file dropped in here is a look more."""

from importlib import import_module
from pkgutil import iter_modules

from app.looks.look import Look


def _found() -> dict[str, Look]:
    looks = (import_module(f"{__name__}.{module.name}").LOOK for module in iter_modules(__path__))
    return {look.name: look for look in sorted(looks, key=lambda look: (look.name == "custom", look.name))}


LOOKS: dict[str, Look] = _found()
