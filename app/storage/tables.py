"""The tables. Rows stay inside this room; what leaves it is in ``app.storage.records``."""

from datetime import UTC, datetime
from typing import Any, ClassVar

from sqlalchemy import (
    JSON,
    CheckConstraint,
    DateTime,
    Dialect,
    Double,
    ForeignKey,
    LargeBinary,
    MetaData,
    Text,
)
from sqlalchemy.dialects.postgresql import JSONB
from sqlalchemy.orm import DeclarativeBase, Mapped, deferred, mapped_column
from sqlalchemy.types import TypeDecorator

from app.storage.records import GroundKind

Document = JSON().with_variant(JSONB(), "postgresql")

NAMES = {
    "pk": "pk_%(table_name)s",
    "uq": "uq_%(table_name)s_%(column_0_name)s",
    "fk": "fk_%(table_name)s_%(column_0_name)s_%(referred_table_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
}


def in_utc(instant: datetime) -> datetime:
    """Return the same instant in UTC.

    Raises ``ValueError`` for a time that does not say its time zone: whoever
    made it knew the zone, and a guess here could be hours out.
    """
    if instant.utcoffset() is None:
        raise ValueError(f"{instant} has no time zone; only an instant with one can be stored.")
    return instant.astimezone(UTC)


class UtcDateTime(TypeDecorator[datetime]):
    """An instant. SQLite keeps no offset, so UTC is put in and UTC comes out."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """Refuse a time without a zone on its way in."""
        return None if value is None else in_utc(value)

    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """Say on its way out that it is UTC."""
        if value is None:
            return None
        return value.replace(tzinfo=UTC) if value.tzinfo is None else value.astimezone(UTC)


class Base(DeclarativeBase):
    """What the tables have in common."""

    metadata = MetaData(naming_convention=NAMES)
    type_annotation_map: ClassVar = {str: Text, datetime: UtcDateTime}


class SiteRow(Base):
    """A site and its site file. A document changed in place is not saved: assign a new one."""

    __tablename__ = "sites"

    id: Mapped[int] = mapped_column(primary_key=True)
    slug: Mapped[str] = mapped_column(unique=True)
    name: Mapped[str]
    document: Mapped[dict[str, Any]] = mapped_column(Document)
    version: Mapped[int] = mapped_column()
    created_utc: Mapped[datetime]
    updated_utc: Mapped[datetime]

    __mapper_args__: ClassVar = {"version_id_col": version}


class ChosenFrameRow(Base):
    """A frame ringed on the contact sheet of a setup."""

    __tablename__ = "chosen_frames"

    site_id: Mapped[int] = mapped_column(ForeignKey("sites.id", ondelete="CASCADE"), primary_key=True)
    setup_id: Mapped[str] = mapped_column(primary_key=True)
    instant_utc: Mapped[datetime] = mapped_column(primary_key=True)


class GroundRow(Base):
    """What a site's plan is drawn on. The picture is fetched only when it is asked for."""

    __tablename__ = "grounds"
    __table_args__ = (CheckConstraint("kind IN ('blank', 'picture', 'tiles')", name="kind"),)

    site_id: Mapped[int] = mapped_column(ForeignKey("sites.id", ondelete="CASCADE"), primary_key=True)
    kind: Mapped[GroundKind] = mapped_column(Text)
    picture: Mapped[bytes | None] = deferred(mapped_column(LargeBinary))
    media_type: Mapped[str | None]
    width_px: Mapped[int | None]
    height_px: Mapped[int | None]
    laying: Mapped[list[dict[str, Any]]] = mapped_column(Document)
    tiles_url: Mapped[str | None]
    attribution: Mapped[str | None]
    max_zoom: Mapped[int | None]
    version: Mapped[int] = mapped_column()

    __mapper_args__: ClassVar = {"version_id_col": version}


class TerrainRow(Base):
    """The heights of the ground around a site, as ``app.place.terrain_file`` packs them."""

    __tablename__ = "terrains"

    site_id: Mapped[int] = mapped_column(ForeignKey("sites.id", ondelete="CASCADE"), primary_key=True)
    data: Mapped[bytes] = mapped_column(LargeBinary, deferred=True)
    source: Mapped[str]
    attribution: Mapped[str]
    loaded_utc: Mapped[datetime]
    version: Mapped[int] = mapped_column()

    __mapper_args__: ClassVar = {"version_id_col": version}


class ShootRow(Base):
    """A shoot and its wishes. A document changed in place is not saved: assign a new one."""

    __tablename__ = "shoots"

    id: Mapped[int] = mapped_column(primary_key=True)
    slug: Mapped[str] = mapped_column(unique=True)
    name: Mapped[str]
    document: Mapped[dict[str, Any]] = mapped_column(Document)
    version: Mapped[int] = mapped_column()
    changed_utc: Mapped[datetime]

    __mapper_args__: ClassVar = {"version_id_col": version}


class RevisionRow(Base):
    """What was shared of a shoot at one time; never changed."""

    __tablename__ = "shoot_revisions"

    shoot_id: Mapped[int] = mapped_column(ForeignKey("shoots.id", ondelete="CASCADE"), primary_key=True)
    number: Mapped[int] = mapped_column(primary_key=True)
    made_utc: Mapped[datetime]
    couple: Mapped[dict[str, Any]] = mapped_column(Document)
    crew: Mapped[dict[str, Any]] = mapped_column(Document)


class LinkRow(Base):
    """A link that opens what was shared; its token itself is not kept."""

    __tablename__ = "shoot_links"

    id: Mapped[int] = mapped_column(primary_key=True)
    shoot_id: Mapped[int] = mapped_column(ForeignKey("shoots.id", ondelete="CASCADE"))
    kind: Mapped[str]
    token_sha256: Mapped[str] = mapped_column(unique=True)
    language: Mapped[str]
    made_utc: Mapped[datetime]
    ends_utc: Mapped[datetime]
    withdrawn_utc: Mapped[datetime | None]
    opened_utc: Mapped[datetime | None]


class LogRow(Base):
    """One thing that happened on the day of a shoot, as a device told it."""

    __tablename__ = "shoot_log"

    shoot_id: Mapped[int] = mapped_column(ForeignKey("shoots.id", ondelete="CASCADE"), primary_key=True)
    uid: Mapped[str] = mapped_column(primary_key=True)
    slot: Mapped[str]
    kind: Mapped[str]
    at_utc: Mapped[datetime]
    told: Mapped[dict[str, Any]] = mapped_column(Document)
    device: Mapped[str]
    received_utc: Mapped[datetime]


class SessionRow(Base):
    """A browser that the owner's passphrase has let in; its token itself is not kept."""

    __tablename__ = "sessions"

    token_sha256: Mapped[str] = mapped_column(primary_key=True)
    opened_utc: Mapped[datetime]
    ends_utc: Mapped[datetime]


class WrongTryRow(Base):
    """How often something was tried in vain from somewhere, and when last."""

    __tablename__ = "wrong_tries"

    who: Mapped[str] = mapped_column(primary_key=True)
    count: Mapped[int]
    last_utc: Mapped[datetime]


class SettingRow(Base):
    """One value that belongs to the whole installation."""

    __tablename__ = "settings"

    key: Mapped[str] = mapped_column(primary_key=True)
    value: Mapped[Any] = mapped_column(Document)
    version: Mapped[int] = mapped_column()

    __mapper_args__: ClassVar = {"version_id_col": version}


class WeatherAnswerRow(Base):
    """The last good answer of a weather service for one spot, exactly as it came. Times in seconds since 1970 UTC."""

    __tablename__ = "weather_answers"

    source: Mapped[str] = mapped_column(primary_key=True)
    spot: Mapped[str] = mapped_column(primary_key=True)
    body: Mapped[str]
    fetched_utc_s: Mapped[float] = mapped_column(Double)
    ask_again_utc_s: Mapped[float] = mapped_column(Double)
    last_modified: Mapped[str | None]


class WeatherWaitRow(Base):
    """A weather service that asked for peace, and until when. [s since 1970 UTC]"""

    __tablename__ = "weather_waits"

    source: Mapped[str] = mapped_column(primary_key=True)
    until_utc_s: Mapped[float] = mapped_column(Double)
    times: Mapped[int]


class WeatherDayRow(Base):
    """What was seen of a day's weather at a site, and what airfields near by were heard to say."""

    __tablename__ = "weather_days"

    site_id: Mapped[int] = mapped_column(ForeignKey("sites.id", ondelete="CASCADE"), primary_key=True)
    day: Mapped[str] = mapped_column(primary_key=True)
    seen: Mapped[dict[str, Any] | None] = mapped_column(Document)
    reports: Mapped[str]
    reports_utc_s: Mapped[float | None] = mapped_column(Double)


class MorningCheckRow(Base):
    """One morning check of a shoot, in short. [s since 1970 UTC]"""

    __tablename__ = "morning_checks"

    shoot_id: Mapped[int] = mapped_column(ForeignKey("shoots.id", ondelete="CASCADE"), primary_key=True)
    checked_utc_s: Mapped[float] = mapped_column(Double, primary_key=True)
    told: Mapped[dict[str, Any]] = mapped_column(Document)
