"""Site files in and out of the store, for the command line."""

import os
import tempfile
import zipfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, BinaryIO

from app.errors import BadInput, NotFound, WesteringError
from app.light.kit import DEMO_KIT, Kit
from app.picture.setup import setup_from
from app.place.site import Site
from app.place.sitefile import MAX_BYTES, parse_site, write_site
from app.settings import Settings
from app.storage.records import StoredSite
from app.storage.store import Store
from app.web.kits import kept_kit
from app.web.scenes import looks_of

if TYPE_CHECKING:
    from app.place.terrain import Terrain

MOST_IN_ZIP = 1000  # sites; a store that is larger is moved by its backup


@contextmanager
def opened(data: str | None, must_exist: bool = False) -> Iterator[Store]:
    """Give the store of a data folder; ``NotFound`` where one is wanted that nobody has begun."""
    database = Settings.from_environment(data=data).database
    if must_exist and isinstance(database, Path) and not database.is_file():
        raise NotFound(f"Nothing is kept in {database.parent} yet; name another folder with --data.")
    with Store(database) as store:
        yield store


def read_site(file: str) -> Site:
    """Return the site of a file, its setups unread."""
    with _opened_file(file, "a site file") as source:
        return _parsed(Path(file).name, source)


def read_terrain(files: Sequence[str], site: Site) -> "Terrain | None":
    """Return the ground round a site that elevation files tell of, None without files."""
    from app.outside.elevation import terrain_of_file
    from app.place.terrain import joined

    parts = []
    for file in files:
        with _opened_file(file, "an elevation file") as source:
            parts.append(terrain_of_file(Path(file).name, source.read(), site.centre.lat_deg, site.centre.lon_deg))
    return joined(parts) if parts else None


def kit_of(data: str | None) -> Kit:
    """Return the kit that is kept in a data folder, the demo's where nothing is kept yet."""
    database = Settings.from_environment(data=data).database
    if isinstance(database, Path) and not database.is_file():
        return DEMO_KIT
    with Store(database) as store:
        return kept_kit(store)


def bring_in(store: Store, file: str) -> Iterator[StoredSite]:
    """Keep the site of a file, or all sites of a zip file once every one of them has been read."""
    sites = list(_sites_in_zip(file)) if zipfile.is_zipfile(file) else [read_site(file)]
    for site in sites:
        _check_setups(site)
    return (store.add_site(_named(site)) for site in sites)


def write_one(store: Store, wanted: str, file: str, overwrite: bool) -> None:
    """Write the site of this address or name to a file."""
    with _whole_file(file, overwrite) as target:
        target.write(_text(store, _address(store, wanted)))


def write_all(store: Store, file: str, overwrite: bool) -> int:
    """Write every site into one zip file, and return how many there are."""
    addresses = [summary.slug for summary in store.sites()]
    with _whole_file(file, overwrite) as target, zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as packed:
        for address in addresses:
            packed.writestr(f"{address}.geojson", _text(store, address))
    return len(addresses)


@contextmanager
def _opened_file(file: str, wanted: str) -> Iterator[BinaryIO]:
    path = Path(file)
    if path.is_dir():
        raise BadInput(f"{file} is a folder; name {wanted}.", "file")
    try:
        source = path.open("rb")
    except FileNotFoundError:
        raise BadInput(f"There is no file {file}.", "file") from None
    with source:
        yield source


def _parsed(name: str, source: BinaryIO) -> Site:
    """Read no more of it than a site may have, and say in which file a fault is."""
    try:
        return parse_site(source.read(MAX_BYTES + 1))
    except WesteringError as error:
        raise type(error)(f"{name}: {error}", error.field) from error


def _sites_in_zip(file: str) -> Iterator[Site]:
    try:
        with zipfile.ZipFile(file) as packed:
            names = [name for name in packed.namelist() if name.lower().endswith((".geojson", ".json"))]
            if not 0 < len(names) <= MOST_IN_ZIP:
                raise BadInput(f"A zip file has 1 to {MOST_IN_ZIP} site files, *.geojson; {file} has {len(names)}.", "file")
            for name in names:
                with packed.open(name) as source:
                    yield _parsed(name, source)
    except (zipfile.BadZipFile, RuntimeError, NotImplementedError) as error:
        raise BadInput(f"{file} cannot be unpacked: {error}.", "file") from error


def _named(site: Site) -> dict[str, Any]:
    """Return the document as it came, with a name if it came without one."""
    has_name = str(site.document.get("name") or "").strip()
    return dict(site.document) if has_name else {**site.document, "name": site.name}


def _check_setups(site: Site) -> None:
    for feature in site.setups:
        looks_of(setup_from(feature))


def _address(store: Store, wanted: str) -> str:
    sites = store.sites()
    found = [site.slug for site in sites if wanted == site.slug] or [site.slug for site in sites if wanted == site.name]
    if len(found) == 1:
        return found[0]
    known = ", ".join(site.slug for site in sites) or "none yet"
    which = "more than one site is" if found else "no site is"
    raise NotFound(f"By “{wanted[:60]}” {which} found; there are: {known}.")


def _text(store: Store, address: str) -> bytes:
    return write_site(parse_site(store.site(address).document)).encode()


@contextmanager
def _whole_file(file: str, overwrite: bool) -> Iterator[BinaryIO]:
    """Give a file to write, which gets its name only when all is written."""
    path = Path(file).absolute()
    if not path.parent.is_dir():
        raise BadInput(f"There is no folder {path.parent}; make it, or name another.", "file")
    if path.exists() and not overwrite:
        raise BadInput(f"{file} is there already and was left alone; name another, or add --overwrite.", "file")
    handle, part = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)
    try:
        with os.fdopen(handle, "wb") as target:
            yield target
        os.replace(part, path)
    finally:
        Path(part).unlink(missing_ok=True)
