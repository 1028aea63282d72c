"""The tables, as SQLAlchemy models. They are changed by migrations alone (`migrations/versions`)."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from sqlalchemy import JSON, DateTime, Dialect, ForeignKey, Index, MetaData, String, Text, UniqueConstraint
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column
from sqlalchemy.types import TypeDecorator

ID = String(32)
NAMES = {
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "fk": "fk_%(table_name)s_%(column_0_name)s",
    "pk": "pk_%(table_name)s",
}
"""Every constraint has a name of its own, so that a migration can take it away again on any database."""


class UtcTime(TypeDecorator[datetime]):
    """A moment in UTC: SQLite keeps no zone, so it is taken off on the way in and put back on the way out."""

    impl = DateTime
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        return None if value is None else value.astimezone(UTC).replace(tzinfo=None)

    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        return None if value is None else value.replace(tzinfo=UTC)


class Table(DeclarativeBase):
    """What all tables share."""

    metadata = MetaData(naming_convention=NAMES)


class PersonRow(Table):
    __tablename__ = "people"

    id: Mapped[str] = mapped_column(ID, primary_key=True)
    name: Mapped[str] = mapped_column(String(80))
    role: Mapped[str] = mapped_column(String(16))
    units: Mapped[str] = mapped_column(String(8))
    remembered: Mapped[dict[str, Any]] = mapped_column(JSON)


class BoardRow(Table):
    __tablename__ = "boards"
    __table_args__ = (Index(None, "person_id", "created", "id"),)

    id: Mapped[str] = mapped_column(ID, primary_key=True)
    person_id: Mapped[str] = mapped_column(ForeignKey("people.id", ondelete="CASCADE"))
    name: Mapped[str] = mapped_column(String(80))
    created: Mapped[datetime] = mapped_column(UtcTime)
    species: Mapped[str] = mapped_column(String(80))
    thickness_mm: Mapped[float | None]
    saw: Mapped[str] = mapped_column(String(80))
    plan: Mapped[str] = mapped_column(String(400))
    notes: Mapped[str] = mapped_column(Text)
    standing: Mapped[str] = mapped_column(String(20))
    thumbnail: Mapped[str] = mapped_column(String(80))


class CheckRow(Table):
    __tablename__ = "checks"
    __table_args__ = (UniqueConstraint("person_id", "sent_sha256"),)

    id: Mapped[str] = mapped_column(ID, primary_key=True)
    board_id: Mapped[str] = mapped_column(ForeignKey("boards.id", ondelete="CASCADE"), index=True)
    person_id: Mapped[str] = mapped_column(ForeignKey("people.id", ondelete="CASCADE"))
    photo: Mapped[str] = mapped_column(String(80), index=True)
    photo_kind: Mapped[str] = mapped_column(String(8))
    sent_sha256: Mapped[str] = mapped_column(String(64))
    sent_at: Mapped[datetime] = mapped_column(UtcTime)
    view: Mapped[str] = mapped_column(String(8))
    stage: Mapped[str | None] = mapped_column(String(16))
    card_side: Mapped[str] = mapped_column(String(16))
    state: Mapped[str] = mapped_column(String(16))
    answered_at: Mapped[datetime | None] = mapped_column(UtcTime)
    seconds: Mapped[float]
    result: Mapped[dict[str, Any] | None] = mapped_column(JSON(none_as_null=True))
    words: Mapped[dict[str, Any] | None] = mapped_column(JSON(none_as_null=True))
    overlay: Mapped[str] = mapped_column(String(80), index=True)
    screen: Mapped[str] = mapped_column(String(80), index=True)
    thumbnail: Mapped[str] = mapped_column(String(80), index=True)


class JobRow(Table):
    __tablename__ = "jobs"
    __table_args__ = (Index(None, "state", "created"),)

    id: Mapped[str] = mapped_column(ID, primary_key=True)
    check_id: Mapped[str] = mapped_column(ForeignKey("checks.id", ondelete="CASCADE"), unique=True)
    created: Mapped[datetime] = mapped_column(UtcTime)
    state: Mapped[str] = mapped_column(String(8))
    attempts: Mapped[int]
    worker: Mapped[str] = mapped_column(String(80))
    lease_until: Mapped[datetime | None] = mapped_column(UtcTime)


class FitRow(Table):
    __tablename__ = "fits"

    board_id: Mapped[str] = mapped_column(ForeignKey("boards.id", ondelete="CASCADE"), primary_key=True)
    socket: Mapped[int] = mapped_column(primary_key=True)
    outcome: Mapped[str] = mapped_column(String(16))
    noted_at: Mapped[datetime] = mapped_column(UtcTime)


class DeviceRow(Table):
    __tablename__ = "devices"

    id: Mapped[str] = mapped_column(ID, primary_key=True)
    person_id: Mapped[str] = mapped_column(ForeignKey("people.id", ondelete="CASCADE"), index=True)
    name: Mapped[str] = mapped_column(String(60))
    kind: Mapped[str] = mapped_column(String(8))
    secret_sha256: Mapped[str] = mapped_column(String(64), unique=True)
    paired_at: Mapped[datetime] = mapped_column(UtcTime)
    seen_at: Mapped[datetime] = mapped_column(UtcTime)


class PairingRow(Table):
    __tablename__ = "pairings"

    code_sha256: Mapped[str] = mapped_column(String(64), primary_key=True)
    person_id: Mapped[str] = mapped_column(ForeignKey("people.id", ondelete="CASCADE"))
    expires: Mapped[datetime] = mapped_column(UtcTime)


class AccountRow(Table):
    __tablename__ = "accounts"

    person_id: Mapped[str] = mapped_column(ForeignKey("people.id", ondelete="CASCADE"), primary_key=True)
    login: Mapped[str] = mapped_column(String(40), unique=True)
    password_hash: Mapped[str] = mapped_column(String(200))


class InvitationRow(Table):
    __tablename__ = "invitations"

    code_sha256: Mapped[str] = mapped_column(String(64), primary_key=True)
    role: Mapped[str] = mapped_column(String(16))
    person_id: Mapped[str | None] = mapped_column(ForeignKey("people.id", ondelete="CASCADE"))
    expires: Mapped[datetime] = mapped_column(UtcTime)
