"""The book of the weather: forecasts as they came, who asked for peace, what was seen, and the checks made of it."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from sqlalchemy import Engine, delete, select
from sqlalchemy.orm import Session

from app.errors import NotFound
from app.storage.documents import json_copy
from app.storage.engine import reading, writing
from app.storage.tables import (
    MorningCheckRow,
    ShootRow,
    SiteRow,
    WeatherAnswerRow,
    WeatherDayRow,
    WeatherWaitRow,
)

FORGOTTEN_AFTER_S = 14 * 86_400.0  # an answer that old says nothing any more
MOST_CHECKS = 20  # kept of one shoot, the oldest go first


@dataclass(frozen=True)
class KeptAnswer:
    """An answer for one spot as it came; times in seconds since 1970 UTC. [s]"""

    source: str
    spot: str
    body: str
    fetched_utc_s: float
    ask_again_utc_s: float
    last_modified: str | None = None


@dataclass(frozen=True)
class KeptWait:
    """A service that asked for peace, until when, and how many times running. [s since 1970 UTC]"""

    source: str
    until_utc_s: float
    times: int = 1


@dataclass(frozen=True)
class KeptDay:
    """What is kept of one day at a site.

    ``seen`` is what somebody typed of the sky, ``reports`` what airfields said, and when
    that was pasted or fetched. [s since 1970 UTC]
    """

    seen: Mapping[str, Any] | None = None
    reports: str = ""
    reports_utc_s: float | None = None


class WeatherBook:
    """What the database holds of the weather. Every method is one transaction.

    Those that take a site's or a shoot's slug raise ``NotFound`` where there is none.
    """

    def __init__(self, engine: Engine) -> None:
        self._engine = engine

    # Answers of services

    def answers(self, spots: Iterable[str]) -> tuple[KeptAnswer, ...]:
        """Return the last good answers for some spots, of every source."""
        row = WeatherAnswerRow
        with reading(self._engine) as session:
            found = session.scalars(select(row).where(row.spot.in_(list(spots))).order_by(row.source, row.spot))
            return tuple(
                KeptAnswer(one.source, one.spot, one.body, one.fetched_utc_s, one.ask_again_utc_s, one.last_modified) for one in found
            )

    def waits(self) -> tuple[KeptWait, ...]:
        """Return the services that asked for peace."""
        with reading(self._engine) as session:
            found = session.scalars(select(WeatherWaitRow).order_by(WeatherWaitRow.source))
            return tuple(KeptWait(one.source, one.until_utc_s, one.times) for one in found)

    def keep(self, answers: Iterable[Any], waits: Iterable[Any], now_utc_s: float) -> None:
        """Keep answers in place of those of the same source and spot, waits in place of all waits; forget old answers.

        They have the fields of ``KeptAnswer`` and ``KeptWait``.
        """
        with writing(self._engine) as session:
            session.execute(delete(WeatherAnswerRow).where(WeatherAnswerRow.fetched_utc_s < now_utc_s - FORGOTTEN_AFTER_S))
            for one in answers:
                facts = {name: getattr(one, name) for name in ("source", "spot", "body", "fetched_utc_s", "ask_again_utc_s", "last_modified")}
                session.merge(WeatherAnswerRow(**facts))
            session.execute(delete(WeatherWaitRow))
            session.add_all(WeatherWaitRow(source=one.source, until_utc_s=one.until_utc_s, times=one.times) for one in waits)

    # What was seen and heard

    def day(self, site: str, day: date) -> KeptDay:
        """Return what was seen and heard of a day at a site; empty where nothing was."""
        with reading(self._engine) as session:
            row = session.get(WeatherDayRow, (_site_id(session, site), day.isoformat()))
            return KeptDay(row.seen, row.reports, row.reports_utc_s) if row else KeptDay()

    def keep_seen(self, site: str, day: date, seen: Mapping[str, Any] | None) -> None:
        """Keep what was seen of a day in place of what was before; None takes it away."""
        with writing(self._engine) as session:
            _day_row(session, site, day).seen = None if seen is None else json_copy(dict(seen))

    def keep_reports(self, site: str, day: date, text: str, now_utc_s: float) -> None:
        """Keep what airfields say in place of what they said before; an empty text takes it away."""
        with writing(self._engine) as session:
            row = _day_row(session, site, day)
            row.reports, row.reports_utc_s = text, now_utc_s if text else None

    # Checks

    def add_check(self, shoot: str, told: Mapping[str, Any], checked_utc_s: float) -> None:
        """Keep a check of a shoot beside those before it."""
        with writing(self._engine) as session:
            shoot_id = _shoot_id(session, shoot)
            session.merge(MorningCheckRow(shoot_id=shoot_id, checked_utc_s=checked_utc_s, told=json_copy(dict(told))))
            session.flush()
            row = MorningCheckRow
            old = session.scalars(select(row).where(row.shoot_id == shoot_id).order_by(row.checked_utc_s.desc()).offset(MOST_CHECKS))
            for one in old:
                session.delete(one)

    def checks(self, shoot: str, most: int = 2) -> tuple[Mapping[str, Any], ...]:
        """Return the last checks of a shoot, the newest first."""
        with reading(self._engine) as session:
            row = MorningCheckRow
            mine = select(row).where(row.shoot_id == _shoot_id(session, shoot))
            return tuple(one.told for one in session.scalars(mine.order_by(row.checked_utc_s.desc()).limit(most)))


def _day_row(session: Session, site: str, day: date) -> WeatherDayRow:
    key = _site_id(session, site), day.isoformat()
    row = session.get(WeatherDayRow, key)
    if row is None:
        row = WeatherDayRow(site_id=key[0], day=key[1], seen=None, reports="", reports_utc_s=None)
        session.add(row)
    return row


def _site_id(session: Session, slug: str) -> int:
    found = session.scalar(select(SiteRow.id).where(SiteRow.slug == slug))
    if found is None:
        raise NotFound(f"There is no site “{slug}”. The list of sites shows those there are.")
    return found


def _shoot_id(session: Session, slug: str) -> int:
    found = session.scalar(select(ShootRow.id).where(ShootRow.slug == slug))
    if found is None:
        raise NotFound(f"There is no shoot “{slug}”. The list of shoots shows those there are.")
    return found
