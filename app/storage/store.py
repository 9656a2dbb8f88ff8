"""The store: everything Westering keeps, behind one set of methods.

Every method is one transaction. What comes back is a record that belongs to
the caller; nothing in it is connected to the database.
"""

import os
from collections.abc import Iterable, Mapping
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Self

from sqlalchemy import select
from sqlalchemy.orm import Session

from app.errors import Conflict, NotFound, Unavailable
from app.storage.documents import as_kept, free_slug, json_copy, name_of, slug_of
from app.storage.door_book import DoorBook
from app.storage.engine import database_url, make_engine, reading, writing
from app.storage.ground_rows import fill_ground, fill_picture, ground_of
from app.storage.migrate import migrate
from app.storage.pictures import Picture
from app.storage.records import Ground, SiteSummary, StoredSite, StoredTerrain
from app.storage.shoot_book import ShootBook
from app.storage.tables import ChosenFrameRow, GroundRow, SettingRow, SiteRow, TerrainRow, in_utc
from app.storage.weather_book import WeatherBook


class Store:
    """The database at a path or a URL, made if it is not there and brought up to date.

    Its methods may be called from any thread. They raise ``NotFound``,
    ``Conflict``, ``BadInput`` and ``Unavailable`` with a sentence for the
    reader, and ``ValueError`` for a time without a time zone.
    """

    def __init__(self, where: str | Path) -> None:
        self.url = database_url(where)
        if self.path is not None:
            _make_private_file(self.path)
        self._engine = make_engine(self.url)
        try:
            migrate(self._engine)
            self.sites()  # from here on one connection stays open, which a restore notices
        except BaseException:
            self.close()
            raise

    @property
    def door(self) -> DoorBook:
        """The book of the owner's door."""
        return DoorBook(self._engine)

    @property
    def shoots(self) -> ShootBook:
        """The book of shoots."""
        return ShootBook(self._engine)

    @property
    def weather(self) -> WeatherBook:
        """The book of the weather."""
        return WeatherBook(self._engine)

    @property
    def path(self) -> Path | None:
        """The database file; None for PostgreSQL."""
        if self.url.get_backend_name() != "sqlite":
            return None
        return Path(self.url.database or "")

    def close(self) -> None:
        """Close every connection."""
        self._engine.dispose()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    # Sites

    def sites(self) -> tuple[SiteSummary, ...]:
        """Return all sites, in the order of their names."""
        columns = select(SiteRow.slug, SiteRow.name, SiteRow.version, SiteRow.updated_utc)
        with reading(self._engine) as session:
            found = [SiteSummary(*row) for row in session.execute(columns)]
        return tuple(sorted(found, key=lambda site: (site.name.casefold(), site.slug)))

    def site(self, slug: str) -> StoredSite:
        """Return one site with its site file."""
        with reading(self._engine) as session:
            return _stored(_site_row(session, slug))

    def add_site(self, document: Mapping[str, Any], slug: str | None = None) -> StoredSite:
        """Keep a new site, at an address made from its name unless one is given.

        An address that is taken gets -2, -3 and so on.
        """
        with writing(self._engine) as session:
            return _add_site(session, document, slug)

    def save_site(self, slug: str, document: Mapping[str, Any], version: int) -> StoredSite:
        """Keep a changed site file, if nobody has changed it since this version."""
        document = as_kept(document)
        with writing(self._engine) as session:
            row = _site_row(session, slug)
            _refuse_stale(row.name, row.version, version)
            row.name, row.document, row.updated_utc = name_of(document), document, _now_utc()
            session.flush()
            return _stored(row)

    def delete_site(self, slug: str, version: int) -> None:
        """Delete a site with its chosen frames, its ground and its terrain."""
        with writing(self._engine) as session:
            row = _site_row(session, slug)
            _refuse_stale(row.name, row.version, version)
            session.delete(row)

    def load_once(self, key: str, documents: Iterable[Mapping[str, Any]]) -> tuple[StoredSite, ...]:
        """Add these sites unless the same key has been loaded before.

        So a site that was deleted since does not come back at the next start.
        """
        with writing(self._engine) as session:
            mark = f"loaded:{key}"
            if session.get(SettingRow, mark):
                return ()
            session.add(SettingRow(key=mark, value=_now_utc().isoformat()))
            return tuple(_add_site(session, document, None) for document in documents)

    # Chosen frames

    def chosen_frames(self, slug: str, setup_id: str) -> frozenset[datetime]:
        """Return the instants, in UTC, of the frames ringed for a setup."""
        with reading(self._engine) as session:
            rows = _frame_rows(session, _site_row(session, slug).id, setup_id)
            return frozenset(row.instant_utc for row in rows)

    def choose_frame(self, slug: str, setup_id: str, instant: datetime, chosen: bool) -> None:
        """Ring a frame or take its ring away; doing it twice is doing it once."""
        instant = in_utc(instant)
        with writing(self._engine) as session:
            site_id = _site_row(session, slug).id
            row = session.get(ChosenFrameRow, (site_id, setup_id, instant))
            if chosen and not row:
                session.add(ChosenFrameRow(site_id=site_id, setup_id=setup_id, instant_utc=instant))
            if row and not chosen:
                session.delete(row)

    def move_chosen_frames(self, slug: str, old_setup_id: str, new_setup_id: str) -> None:
        """Give a setup's rings to another, beside those which that one has."""
        with writing(self._engine) as session:
            site_id = _site_row(session, slug).id
            there = {row.instant_utc for row in _frame_rows(session, site_id, new_setup_id)}
            for row in _frame_rows(session, site_id, old_setup_id):
                if row.instant_utc not in there:
                    row.setup_id = new_setup_id
                elif old_setup_id != new_setup_id:
                    session.delete(row)

    # Grounds

    def ground(self, slug: str) -> Ground:
        """Return what the plan is drawn on; blank, version 0, while nothing was saved."""
        with reading(self._engine) as session:
            row = session.get(GroundRow, _site_row(session, slug).id)
            return ground_of(row) if row else Ground()

    def ground_picture(self, slug: str) -> tuple[bytes, str]:
        """Return the ground's picture and its media type."""
        with reading(self._engine) as session:
            row = session.get(GroundRow, _site_row(session, slug).id)
            if not row or row.picture is None or row.media_type is None:
                raise NotFound(f"The site “{slug}” has no picture to draw on. Upload one on its plan.")
            return row.picture, row.media_type

    def save_ground(self, slug: str, ground: Ground, version: int, picture: Picture | None = None) -> Ground:
        """Keep a ground, if nobody has changed it since this version.

        A new picture comes beside it. Without one, the picture already kept
        stays for as long as the ground names its media type.
        """
        with writing(self._engine) as session:
            site = _site_row(session, slug)
            row = session.get(GroundRow, site.id)
            _refuse_stale(f"The ground of {site.name}", row.version if row else 0, version)
            if row is None:
                row = GroundRow(site_id=site.id)
                session.add(row)
            fill_ground(row, ground)
            fill_picture(row, ground, picture)
            session.flush()
            return ground_of(row)

    # Terrains

    def terrain(self, slug: str) -> StoredTerrain | None:
        """Return what is known of a site's terrain; None while it has none."""
        with reading(self._engine) as session:
            row = session.get(TerrainRow, _site_row(session, slug).id)
            return _terrain(row) if row else None

    def terrain_data(self, slug: str) -> bytes | None:
        """Return the heights of a site's terrain, packed; None while it has none."""
        with reading(self._engine) as session:
            row = session.get(TerrainRow, _site_row(session, slug).id)
            return row.data if row else None

    def save_terrain(self, slug: str, data: bytes, source: str, attribution: str, version: int) -> StoredTerrain:
        """Keep a terrain in place of any other, if nobody has changed it since this version, 0 for none."""
        with writing(self._engine) as session:
            row = _terrain_row(session, slug, version) or TerrainRow(site_id=_site_row(session, slug).id)
            row.data, row.source, row.attribution, row.loaded_utc = data, source, attribution, _now_utc()
            session.add(row)
            session.flush()
            return _terrain(row)

    def delete_terrain(self, slug: str, version: int) -> None:
        """Delete a site's terrain, if nobody has changed it since this version."""
        with writing(self._engine) as session:
            row = _terrain_row(session, slug, version)
            if row:
                session.delete(row)

    # Settings

    def setting(self, key: str, default: Any = None) -> Any:
        """Return a kept value, or the default."""
        with reading(self._engine) as session:
            row = session.get(SettingRow, key)
            return row.value if row else default

    def save_setting(self, key: str, value: Any) -> None:
        """Keep anything JSON can hold; the last one to save wins."""
        value = json_copy(value)
        with writing(self._engine) as session:
            session.merge(SettingRow(key=key, value=value))


def _make_private_file(path: Path) -> None:
    try:
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        if not path.exists():
            os.close(os.open(path, os.O_CREAT | os.O_WRONLY, 0o600))
    except OSError as error:
        raise Unavailable(f"No database can be kept at {path}: {error.strerror}. Name another.") from error


def _now_utc() -> datetime:
    return datetime.now(UTC)


def _refuse_stale(name: str, now: int, came: int) -> None:
    if now != came:
        raise Conflict(
            f"“{name}” was changed since you opened it: it is at version {now}, your change began at {came}. "
            "Nothing was saved; open it again and repeat your change there."
        )


def _site_row(session: Session, slug: str) -> SiteRow:
    row = session.scalar(select(SiteRow).where(SiteRow.slug == slug))
    if row is None:
        raise NotFound(f"There is no site “{slug}”. The list of sites shows those there are.")
    return row


def _add_site(session: Session, document: Mapping[str, Any], slug: str | None) -> StoredSite:
    document = as_kept(document)
    name, now = name_of(document), _now_utc()
    slug = free_slug(slug_of(slug or name), set(session.scalars(select(SiteRow.slug))))
    row = SiteRow(slug=slug, name=name, document=document, created_utc=now, updated_utc=now)
    session.add(row)
    session.flush()
    return _stored(row)


def _stored(row: SiteRow) -> StoredSite:
    return StoredSite(row.slug, row.name, row.document, row.version, row.updated_utc)


def _terrain_row(session: Session, slug: str, came: int) -> TerrainRow | None:
    site = _site_row(session, slug)
    row = session.get(TerrainRow, site.id)
    _refuse_stale(f"The terrain of {site.name}", row.version if row else 0, came)
    return row


def _terrain(row: TerrainRow) -> StoredTerrain:
    return StoredTerrain(row.source, row.attribution, row.loaded_utc, row.version)


def _frame_rows(session: Session, site_id: int, setup_id: str) -> list[ChosenFrameRow]:
    frame = ChosenFrameRow
    return list(session.scalars(select(frame).where(frame.site_id == site_id, frame.setup_id == setup_id)))
