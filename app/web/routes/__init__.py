"""One file of routes for each part of the address; each exposes ``router``."""

from collections.abc import Iterator
from importlib import import_module
from pkgutil import iter_modules

from fastapi import APIRouter


def all_routers() -> Iterator[APIRouter]:
    """Yield the router of every file in this folder."""
    return (import_module(f"{__name__}.{module.name}").router for module in iter_modules(__path__))
