"""The book of shoots: what is wished for, what was shared, who may open it, and what happened."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import Engine, func, select
from sqlalchemy.orm import Session

from app.errors import BadInput, Conflict, NotFound
from app.storage.documents import free_slug, json_copy, one_line_name, slug_of
from app.storage.engine import reading, writing
from app.storage.tables import LinkRow, LogRow, RevisionRow, ShootRow

NAMELESS = "A shoot needs a name, such as “Mira and Tomas”."


@dataclass(frozen=True)
class KeptShoot:
    """A shoot as it is kept; ``version`` is what a save has to bring back. Times in seconds since 1970 UTC. [s]"""

    slug: str
    name: str
    document: dict[str, Any]
    version: int
    changed_utc_s: float


@dataclass(frozen=True)
class Revision:
    """What the couple and the crew were told at one time, counted from 1. [s since 1970 UTC]"""

    number: int
    made_utc_s: float
    couple: dict[str, Any]
    crew: dict[str, Any]


@dataclass(frozen=True)
class KeptLink:
    """A link as it is kept: ``digest`` is of its token, which is not. [s since 1970 UTC]"""

    id: int
    slug: str
    kind: str
    digest: str
    made_utc_s: float
    ends_utc_s: float
    withdrawn_utc_s: float | None = None
    opened_utc_s: float | None = None
    language: str = "en"


@dataclass(frozen=True)
class LogEntry:
    """One thing that happened, under an id which the device that saw it has made. [s since 1970 UTC]"""

    uid: str
    slot: str
    kind: str
    at_utc_s: float
    told: dict[str, Any]
    device: str
    received_utc_s: float


class ShootBook:
    """What the database holds of shoots. Every method is one transaction.

    Those that take a shoot's slug raise ``NotFound`` where there is no such shoot.
    Instants come and go as seconds since 1970, UTC, to the microsecond.
    """

    def __init__(self, engine: Engine) -> None:
        self._engine = engine

    # Shoots

    def all(self) -> tuple[KeptShoot, ...]:
        """Return all shoots, in the order of their names."""
        with reading(self._engine) as session:
            found = [_kept(row) for row in session.scalars(select(ShootRow))]
        return tuple(sorted(found, key=lambda one: (one.name.casefold(), one.slug)))

    def read(self, slug: str) -> KeptShoot:
        """Return one shoot."""
        with reading(self._engine) as session:
            return _kept(_row(session, slug))

    def add(self, name: str, document: Mapping[str, Any]) -> str:
        """Keep a new shoot and return its address, made from its name; one that is taken gets -2, -3 and so on.

        The document keeps the address as its id, and the name.
        """
        name = one_line_name(name, NAMELESS)
        with writing(self._engine) as session:
            slug = free_slug(slug_of(name, "shoot"), set(session.scalars(select(ShootRow.slug))))
            row = ShootRow(slug=slug)
            _fill(row, {**document, "name": name})
            session.add(row)
        return slug

    def replace(self, slug: str, document: Mapping[str, Any], version: int) -> int:
        """Keep a changed shoot if nobody has changed it since this version; return the new version."""
        with writing(self._engine) as session:
            row = _row(session, slug)
            if row.version != version:
                raise Conflict(
                    f"“{row.name}” was changed since you opened it: it is at version {row.version}, your change began "
                    f"at {version}. Nothing was saved; open it again and repeat your change there."
                )
            _fill(row, document)
            session.flush()
            return row.version

    def delete(self, slug: str) -> None:
        """Delete a shoot with its revisions, its links and its log."""
        with writing(self._engine) as session:
            session.delete(_row(session, slug))

    # What was shared

    def share(self, slug: str, couple: Mapping[str, Any], crew: Mapping[str, Any], now_utc_s: float) -> int:
        """Keep what couple and crew are told from now on, beside all they were told before; return its number."""
        with writing(self._engine) as session:
            shoot = _row(session, slug).id
            last = session.scalar(select(func.max(RevisionRow.number)).where(RevisionRow.shoot_id == shoot)) or 0
            sheets = {"couple": _object(couple), "crew": _object(crew)}
            session.add(RevisionRow(shoot_id=shoot, number=last + 1, made_utc=_instant(now_utc_s), **sheets))
            return last + 1

    def revisions(self, slug: str) -> tuple[Revision, ...]:
        """Return all that was shared of a shoot, oldest first."""
        with reading(self._engine) as session:
            mine = RevisionRow.shoot_id == _row(session, slug).id
            rows = session.scalars(select(RevisionRow).where(mine).order_by(RevisionRow.number))
            return tuple(Revision(row.number, row.made_utc.timestamp(), row.couple, row.crew) for row in rows)

    # Links

    def add_link(
        self, slug: str, kind: str, token_digest: str, made_utc_s: float, ends_utc_s: float, language: str = "en"
    ) -> int:
        """Keep a new link and return its id; ``token_digest`` is the SHA-256 of its token."""
        times = {"made_utc": _instant(made_utc_s), "ends_utc": _instant(ends_utc_s)}
        with writing(self._engine) as session:
            shoot = _row(session, slug).id
            row = LinkRow(shoot_id=shoot, kind=kind, token_sha256=token_digest, language=language, **times)
            session.add(row)
            session.flush()
            return row.id

    def links(self, slug: str) -> tuple[KeptLink, ...]:
        """Return all links of a shoot, oldest first, those withdrawn or ended among them."""
        with reading(self._engine) as session:
            mine = LinkRow.shoot_id == _row(session, slug).id
            rows = session.scalars(select(LinkRow).where(mine).order_by(LinkRow.id))
            return tuple(_kept_link(slug, row) for row in rows)

    def link(self, digest: str) -> KeptLink | None:
        """Return the link whose token has this SHA-256, whatever has become of it; None where there is none."""
        asked = select(ShootRow.slug, LinkRow).join(LinkRow, LinkRow.shoot_id == ShootRow.id)
        with reading(self._engine) as session:
            found = session.execute(asked.where(LinkRow.token_sha256 == digest)).first()
            return _kept_link(*found) if found else None

    def opened(self, id: int, now_utc_s: float) -> None:
        """Note when a link was opened last; one that is gone by now is no trouble."""
        with writing(self._engine) as session:
            row = session.get(LinkRow, id)
            if row:
                row.opened_utc = _instant(now_utc_s)

    def withdraw(self, slug: str, id: int, now_utc_s: float) -> None:
        """Close a link for good; one that was withdrawn before keeps its date."""
        with writing(self._engine) as session:
            row = _link_row(session, slug, id)
            row.withdrawn_utc = row.withdrawn_utc or _instant(now_utc_s)

    def renew(self, slug: str, id: int, token_digest: str, ends_utc_s: float) -> None:
        """Give a link another end and another token, or the same; a withdrawn one stays closed."""
        with writing(self._engine) as session:
            row = _link_row(session, slug, id)
            if row.withdrawn_utc is not None:
                raise BadInput("A withdrawn link stays closed. Make a new one.", "expires")
            row.token_sha256, row.ends_utc = token_digest, _instant(ends_utc_s)

    # The log of the day

    def log(self, slug: str) -> tuple[LogEntry, ...]:
        """Return what happened, in the order in which it did."""
        with reading(self._engine) as session:
            mine = LogRow.shoot_id == _row(session, slug).id
            rows = session.scalars(select(LogRow).where(mine).order_by(LogRow.at_utc, LogRow.uid))
            return tuple(_entry(row) for row in rows)

    def add_log(self, slug: str, entries: Iterable[LogEntry]) -> int:
        """Keep what is not there yet, by its uid, and return how many that were; the first to come stays."""
        with writing(self._engine) as session:
            shoot = _row(session, slug).id
            there = set(session.scalars(select(LogRow.uid).where(LogRow.shoot_id == shoot)))
            new = {one.uid: one for one in reversed(tuple(entries)) if one.uid not in there}
            session.add_all(_log_row(shoot, one) for one in new.values())
        return len(new)


def _row(session: Session, slug: str) -> ShootRow:
    row = session.scalar(select(ShootRow).where(ShootRow.slug == slug))
    if row is None:
        raise NotFound(f"There is no shoot “{slug[:80]}”. The list of shoots shows those there are.")
    return row


def _fill(row: ShootRow, document: Mapping[str, Any]) -> None:
    """Put a document into a row under its own address, whatever id came in it."""
    name = one_line_name(document.get("name"), NAMELESS)
    row.name, row.document = name, _object({**document, "id": row.slug, "name": name})
    row.changed_utc = datetime.now(UTC)


def _object(value: Mapping[str, Any]) -> dict[str, Any]:
    return dict(json_copy(dict(value)))


def _kept(row: ShootRow) -> KeptShoot:
    return KeptShoot(row.slug, row.name, row.document, row.version, row.changed_utc.timestamp())


def _link_row(session: Session, slug: str, id: int) -> LinkRow:
    row = session.get(LinkRow, id)
    if row is None or row.shoot_id != _row(session, slug).id:
        raise NotFound("This shoot has no such link. Its page lists those there are.")
    return row


def _kept_link(slug: str, row: LinkRow) -> KeptLink:
    made, ends = row.made_utc.timestamp(), row.ends_utc.timestamp()
    closed, opened = _seconds(row.withdrawn_utc), _seconds(row.opened_utc)
    return KeptLink(row.id, slug, row.kind, row.token_sha256, made, ends, closed, opened, row.language)


def _entry(row: LogRow) -> LogEntry:
    times = row.at_utc.timestamp(), row.received_utc.timestamp()
    return LogEntry(row.uid, row.slot, row.kind, times[0], row.told, row.device, times[1])


def _log_row(shoot: int, one: LogEntry) -> LogRow:
    times = {"at_utc": _instant(one.at_utc_s), "received_utc": _instant(one.received_utc_s)}
    return LogRow(shoot_id=shoot, uid=one.uid, slot=one.slot, kind=one.kind, told=_object(one.told), device=one.device, **times)


def _instant(utc_s: float) -> datetime:
    try:
        return datetime.fromtimestamp(utc_s, UTC)
    except (ValueError, OverflowError, OSError) as error:
        raise BadInput(f"An instant is a number of seconds since 1970; {utc_s} came.") from error


def _seconds(instant: datetime | None) -> float | None:
    return None if instant is None else instant.timestamp()
