"""The tables, as SQLAlchemy models. They are changed by migrations alone (`migrations/versions`)."""

from __future__ import annotations

from datetime import UTC, date, datetime
from typing import Any

from sqlalchemy import (
    JSON,
    DateTime,
    Dialect,
    ForeignKey,
    Index,
    LargeBinary,
    MetaData,
    String,
    Text,
    UniqueConstraint,
    false,
)
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
    __table_args__ = (
        Index(None, "person_id", "created", "id"),
        Index(None, "assignment_id", "person_id", "created", "id"),
        Index(None, "classroom_id", "person_id", "created", "id"),
        Index(None, "classroom_id", "review_rank", "handed_in", "id"),
        Index(None, "classroom_id", "reviewed_at", "id"),
        Index(None, "person_id", "review_rank", "created", "id"),
        Index(None, "person_id", "reviewed_at", "id"),
    )

    id: Mapped[str] = mapped_column(ID, primary_key=True)
    person_id: Mapped[str] = mapped_column(ForeignKey("people.id", ondelete="CASCADE"))
    name: Mapped[str] = mapped_column(String(80))
    created: Mapped[datetime] = mapped_column(UtcTime)
    species: Mapped[str] = mapped_column(String(80))
    thickness_mm: Mapped[float | None]
    saw: Mapped[str] = mapped_column(String(80))
    plan: Mapped[str] = mapped_column(String(400))
    notes: Mapped[str] = mapped_column(Text)
    print: Mapped[str] = mapped_column(String(80), server_default="")
    standing: Mapped[str] = mapped_column(String(20))
    thumbnail: Mapped[str] = mapped_column(String(80))
    assignment_id: Mapped[str | None] = mapped_column(ForeignKey("assignments.id"))
    classroom_id: Mapped[str | None] = mapped_column(ID)  # the assignment's, so that one index finds a class's boards
    assignment_title: Mapped[str] = mapped_column(String(80), server_default="")
    handed_in: Mapped[datetime | None] = mapped_column(UtcTime)
    decision: Mapped[str] = mapped_column(String(20), server_default="")
    reviewed_at: Mapped[datetime | None] = mapped_column(UtcTime)
    review_rank: Mapped[int | None]
    corrected: Mapped[bool] = mapped_column(server_default=false())
    fit_note: Mapped[str] = mapped_column(Text, server_default="")
    work_on: Mapped[str] = mapped_column(String(20), server_default="")


class LogLineRow(Table):
    """What the log is searched and narrowed by: one narrow row a board, in the order in which a person's log shows it.

    SQLite keeps such rows in the order of their key, so a search reads one stretch of the file.
    """

    __tablename__ = "log_lines"
    __table_args__ = (
        Index(None, "person_id", "species"),
        Index(None, "person_id", "saw"),
        {"sqlite_with_rowid": False},
    )

    person_id: Mapped[str] = mapped_column(ID, primary_key=True)
    created: Mapped[datetime] = mapped_column(UtcTime, primary_key=True)
    board_id: Mapped[str] = mapped_column(ForeignKey("boards.id", ondelete="CASCADE"), primary_key=True, unique=True)
    standing: Mapped[str] = mapped_column(String(20))
    species: Mapped[str] = mapped_column(String(80))
    saw: Mapped[str] = mapped_column(String(80))
    searched: Mapped[str] = mapped_column(Text)


class LogNumbersRow(Table):
    """The walls and sockets that the log's charts rest on, packed (`domain/log_numbers.py`)."""

    __tablename__ = "log_numbers"
    __table_args__ = (Index(None, "person_id", "created"),)

    board_id: Mapped[str] = mapped_column(ForeignKey("boards.id", ondelete="CASCADE"), primary_key=True)
    person_id: Mapped[str] = mapped_column(ForeignKey("people.id", ondelete="CASCADE"))
    created: Mapped[datetime] = mapped_column(UtcTime)
    walls: Mapped[bytes] = mapped_column(LargeBinary)
    sockets: Mapped[bytes] = mapped_column(LargeBinary)


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
    walls: Mapped[list[dict[str, Any]] | None] = mapped_column(JSON(none_as_null=True))
    how_cut: Mapped[dict[str, str] | None] = mapped_column(JSON(none_as_null=True))
    original: Mapped[dict[str, Any] | None] = mapped_column(JSON(none_as_null=True))
    original_outdated: Mapped[bool] = mapped_column(server_default=false())
    original_overlay: Mapped[str] = mapped_column(String(80), index=True, server_default="")
    original_screen: Mapped[str] = mapped_column(String(80), index=True, server_default="")
    original_thumbnail: Mapped[str] = mapped_column(String(80), index=True, server_default="")


class CorrectionRow(Table):
    __tablename__ = "corrections"
    __table_args__ = (Index(None, "check_id", "made_at"),)

    id: Mapped[str] = mapped_column(ID, primary_key=True)
    check_id: Mapped[str] = mapped_column(ForeignKey("checks.id", ondelete="CASCADE"))
    person_id: Mapped[str | None] = mapped_column(ForeignKey("people.id", ondelete="SET NULL"), index=True)
    name: Mapped[str] = mapped_column(String(80))
    made_at: Mapped[datetime] = mapped_column(UtcTime)
    walls: Mapped[list[dict[str, Any]]] = mapped_column(JSON)
    why: Mapped[str] = mapped_column(Text)
    state: Mapped[str] = mapped_column(String(16))
    advice: Mapped[str] = mapped_column(String(20))
    said: Mapped[str] = mapped_column(Text)
    ended_at: Mapped[datetime | None] = mapped_column(UtcTime)
    ended_by_id: Mapped[str | None] = mapped_column(ForeignKey("people.id", ondelete="SET NULL"), index=True)
    ended_name: Mapped[str] = mapped_column(String(80))


class JobRow(Table):
    __tablename__ = "jobs"
    __table_args__ = (Index(None, "state", "created"),)

    id: Mapped[str] = mapped_column(ID, primary_key=True)
    check_id: Mapped[str | None] = mapped_column(ForeignKey("checks.id", ondelete="CASCADE"), unique=True)
    board_id: Mapped[str | None] = mapped_column(ForeignKey("boards.id", ondelete="CASCADE"), unique=True)
    created: Mapped[datetime] = mapped_column(UtcTime)
    state: Mapped[str] = mapped_column(String(8))
    attempts: Mapped[int]
    worker: Mapped[str] = mapped_column(String(80))
    lease_until: Mapped[datetime | None] = mapped_column(UtcTime)


class TogetherRow(Table):
    __tablename__ = "together"

    board_id: Mapped[str] = mapped_column(ForeignKey("boards.id", ondelete="CASCADE"), primary_key=True)
    left_out: Mapped[list[str]] = mapped_column(JSON)
    basis: Mapped[str] = mapped_column(String(64))
    state: Mapped[str] = mapped_column(String(16))
    result: Mapped[dict[str, Any] | None] = mapped_column(JSON(none_as_null=True))
    words: Mapped[dict[str, Any] | None] = mapped_column(JSON(none_as_null=True))
    end_picture: Mapped[str] = mapped_column(String(80), index=True)
    board_picture: Mapped[str] = mapped_column(String(80), index=True)
    answered_at: Mapped[datetime | None] = mapped_column(UtcTime)
    seconds: Mapped[float]


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


class ClassroomRow(Table):
    __tablename__ = "classrooms"

    id: Mapped[str] = mapped_column(ID, primary_key=True)
    name: Mapped[str] = mapped_column(String(80))
    join_code: Mapped[str | None] = mapped_column(String(40), unique=True)
    created: Mapped[datetime] = mapped_column(UtcTime)


class MembershipRow(Table):
    __tablename__ = "memberships"

    classroom_id: Mapped[str] = mapped_column(ForeignKey("classrooms.id", ondelete="CASCADE"), primary_key=True)
    person_id: Mapped[str] = mapped_column(ForeignKey("people.id", ondelete="CASCADE"), primary_key=True, index=True)
    as_: Mapped[str] = mapped_column(String(16))
    joined: Mapped[datetime] = mapped_column(UtcTime)
    shows_all: Mapped[bool]


class AssignmentRow(Table):
    __tablename__ = "assignments"
    __table_args__ = (Index(None, "classroom_id", "created"),)

    id: Mapped[str] = mapped_column(ID, primary_key=True)
    classroom_id: Mapped[str] = mapped_column(ForeignKey("classrooms.id", ondelete="CASCADE"))
    title: Mapped[str] = mapped_column(String(80))
    created: Mapped[datetime] = mapped_column(UtcTime)
    what_to_cut: Mapped[str] = mapped_column(Text)
    species: Mapped[str] = mapped_column(String(80))
    plan: Mapped[str] = mapped_column(String(400))
    due: Mapped[date | None]
    closed: Mapped[bool]
    policy: Mapped[dict[str, Any]] = mapped_column(JSON)


class MeasuresRow(Table):
    __tablename__ = "measures"
    __table_args__ = (
        Index(None, "person_id", "created"),
        Index(None, "assignment_id", "person_id", "created"),
        Index(None, "classroom_id", "person_id", "created"),
    )

    board_id: Mapped[str] = mapped_column(ForeignKey("boards.id", ondelete="CASCADE"), primary_key=True)
    check_id: Mapped[str] = mapped_column(ForeignKey("checks.id", ondelete="CASCADE"), index=True)
    person_id: Mapped[str] = mapped_column(ForeignKey("people.id", ondelete="CASCADE"))
    assignment_id: Mapped[str | None] = mapped_column(ID)  # as the board has them, so that no class page has to join
    classroom_id: Mapped[str | None] = mapped_column(ID)
    created: Mapped[datetime] = mapped_column(UtcTime)
    stage: Mapped[str] = mapped_column(String(16))
    advice: Mapped[str] = mapped_column(String(20))
    width_mm: Mapped[float]
    thickness_mm: Mapped[float]
    gap_limit_mm: Mapped[float]
    walls: Mapped[int]
    lean_deg: Mapped[float]
    abs_lean_deg: Mapped[float]
    lean_u_deg: Mapped[float]
    left_lean_deg: Mapped[float | None]
    right_lean_deg: Mapped[float | None]
    spread_deg: Mapped[float]
    spread_u_deg: Mapped[float]
    out_of_square_mm: Mapped[float]
    out_of_square_u_mm: Mapped[float]
    worst_out_of_square_mm: Mapped[float]
    left_walls: Mapped[int]
    right_walls: Mapped[int]
    left_to_left: Mapped[int]
    left_to_right: Mapped[int]
    right_to_left: Mapped[int]
    right_to_right: Mapped[int]
    sockets: Mapped[int]
    taper_mm: Mapped[float | None]
    abs_taper_mm: Mapped[float | None]
    taper_u_mm: Mapped[float | None]
    worst_taper_mm: Mapped[float | None]
    worst_gap_mm: Mapped[float | None]
    worst_squeeze_mm: Mapped[float | None]
    seats: Mapped[int]
    loose: Mapped[int]
    splitting: Mapped[int]
    too_close_to_call: Mapped[int]


class ReviewRow(Table):
    __tablename__ = "reviews"
    __table_args__ = (Index(None, "board_id", "made_at"),)

    id: Mapped[str] = mapped_column(ID, primary_key=True)
    board_id: Mapped[str] = mapped_column(ForeignKey("boards.id", ondelete="CASCADE"))
    check_id: Mapped[str | None] = mapped_column(ForeignKey("checks.id", ondelete="SET NULL"), index=True)
    reviewer_id: Mapped[str | None] = mapped_column(ForeignKey("people.id", ondelete="SET NULL"), index=True)
    name: Mapped[str] = mapped_column(String(80))
    made_at: Mapped[datetime] = mapped_column(UtcTime)
    decision: Mapped[str] = mapped_column(String(20))
    advice: Mapped[str] = mapped_column(String(20))
    picture: Mapped[str] = mapped_column(String(80), index=True)
    remarks: Mapped[str] = mapped_column(Text)
    marks: Mapped[list[dict[str, Any]]] = mapped_column(JSON)
    seen_at: Mapped[datetime | None] = mapped_column(UtcTime)
    imported: Mapped[bool] = mapped_column(server_default=false())


class SavedRemarkRow(Table):
    __tablename__ = "saved_remarks"

    id: Mapped[str] = mapped_column(ID, primary_key=True)
    person_id: Mapped[str] = mapped_column(ForeignKey("people.id", ondelete="CASCADE"), index=True)
    text: Mapped[str] = mapped_column(String(500))
