"""The book of the owner's door: the passphrase, who is in, and who tried in vain."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from hashlib import sha256

from sqlalchemy import Engine, delete
from sqlalchemy.orm import Session

from app.storage.engine import reading, writing
from app.storage.tables import SessionRow, SettingRow, WrongTryRow, in_utc

KEY = "passphrase"
FORGOTTEN_AFTER = timedelta(days=1)  # a wrong try counts no longer


@dataclass(frozen=True)
class WrongTries:
    """How often somebody failed of late, and when last."""

    count: int = 0
    last_utc: datetime | None = None


class DoorBook:
    """What the database holds of the door. Tokens are kept as their SHA-256 alone."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine

    def passphrase_hash(self) -> str | None:
        """Return the hash of the passphrase, None while none is set."""
        with reading(self._engine) as session:
            row = session.get(SettingRow, KEY)
            return str(row.value) if row else None

    def set_passphrase(self, hashed: str | None) -> None:
        """Keep the hash of a new passphrase, or none, and send everybody out who is in."""
        with writing(self._engine) as session:
            row = session.get(SettingRow, KEY)
            if row and hashed is None:
                session.delete(row)
            elif row:
                row.value = hashed
            elif hashed is not None:
                session.add(SettingRow(key=KEY, value=hashed))
            session.execute(delete(SessionRow))

    def improve_hash(self, hashed: str) -> None:
        """Keep the same passphrase under a stronger hash; nobody is sent out."""
        with writing(self._engine) as session:
            row = session.get(SettingRow, KEY)
            if row:
                row.value = hashed

    def let_in(self, token: str, now: datetime, lasts: timedelta) -> None:
        """Keep a new session, and forget those that have ended."""
        now = in_utc(now)
        with writing(self._engine) as session:
            session.execute(delete(SessionRow).where(SessionRow.ends_utc <= now))
            session.add(SessionRow(token_sha256=_hashed(token), opened_utc=now, ends_utc=now + lasts))

    def is_in(self, token: str, now: datetime) -> bool:
        """Tell whether a token belongs to a session that has not ended."""
        with reading(self._engine) as session:
            row = session.get(SessionRow, _hashed(token))
            return row is not None and row.ends_utc > in_utc(now)

    def send_out(self, token: str) -> None:
        """End one session."""
        with writing(self._engine) as session:
            session.execute(delete(SessionRow).where(SessionRow.token_sha256 == _hashed(token)))

    def wrong_tries(self, who: str, now: datetime) -> WrongTries:
        """Return how often somebody has failed within a day of the last time."""
        with reading(self._engine) as session:
            return _recent(session, who, now)

    def note_wrong_try(self, who: str, now: datetime) -> WrongTries:
        """Count one more failure of somebody, and forget those of long ago."""
        now = in_utc(now)
        with writing(self._engine) as session:
            count = _recent(session, who, now).count + 1
            session.execute(delete(WrongTryRow).where((WrongTryRow.last_utc <= now - FORGOTTEN_AFTER) | (WrongTryRow.who == who)))
            session.add(WrongTryRow(who=who, count=count, last_utc=now))
        return WrongTries(count, now)

    def forgive(self, who: str) -> None:
        """Forget somebody's failures."""
        with writing(self._engine) as session:
            session.execute(delete(WrongTryRow).where(WrongTryRow.who == who))


def _recent(session: Session, who: str, now: datetime) -> WrongTries:
    row = session.get(WrongTryRow, who)
    if row is None or row.last_utc <= in_utc(now) - FORGOTTEN_AFTER:
        return WrongTries()
    return WrongTries(row.count, row.last_utc)


def _hashed(token: str) -> str:
    return sha256(token.encode()).hexdigest()
