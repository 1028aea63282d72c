"""Rows to values of the domain and back; nothing outside storage ever sees a row."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict
from datetime import datetime
from typing import Any

from sqlalchemy import Row, ScalarSelect, select

from service.domain.board import Board, Details
from service.domain.check import Answer, Check, Pictures, StoredPhoto, Told
from service.domain.fit import Fit
from service.domain.how_cut import HowCut
from service.domain.job import Job
from service.domain.person import Person
from service.domain.wall_line import WallLine
from service.storage.tables import AssignmentRow, BoardRow, CheckRow, FitRow, JobRow, PersonRow


def person_of(row: PersonRow) -> Person:
    """The person of a row."""
    return Person(row.id, row.name, row.role, row.units, Details(**row.remembered))  # type: ignore[arg-type]


def person_values(person: Person) -> dict[str, Any]:
    """The columns of a person."""
    return {
        "id": person.id,
        "name": person.name,
        "role": person.role,
        "units": person.units,
        "remembered": asdict(person.remembered),
    }


def board_of(row: BoardRow | Row[Any]) -> Board:
    """The board of a row, read as an object or as its columns."""
    details = Details(row.species, row.thickness_mm, row.saw, row.plan, row.notes, row.print)
    return Board(
        row.id,
        row.person_id,
        row.name,
        row.created,
        details,
        row.standing,  # type: ignore[arg-type]
        row.thumbnail,
        row.assignment_id or "",
        row.assignment_title,
        row.handed_in,
        row.decision,
        row.reviewed_at,
        row.review_rank,
        row.corrected,
        row.fit_note,
        row.work_on,
    )


def board_values(board: Board) -> dict[str, Any]:
    """The columns of a board."""
    kept = {"standing": board.standing, "thumbnail": board.thumbnail, "corrected": board.corrected}
    kept |= {"fit_note": board.fit_note, "work_on": board.work_on}
    named = {"id": board.id, "person_id": board.person, "name": board.name, "created": board.created}
    reviewed = {"decision": board.decision, "reviewed_at": board.reviewed_at, "review_rank": board.review_rank}
    return named | asdict(board.details) | kept | reviewed | _handed_in(board)


def _handed_in(board: Board) -> dict[str, Any]:
    """Its assignment, and that one's class as the database has it."""
    columns = {"assignment_title": board.assignment_title, "handed_in": board.handed_in}
    if not board.assignment:
        return columns | {"assignment_id": None, "classroom_id": None}
    return columns | {"assignment_id": board.assignment, "classroom_id": class_of(board.assignment)}


def class_of(assignment_id: str) -> ScalarSelect[str]:
    """The class of an assignment as the database has it, when the row is written."""
    return select(AssignmentRow.classroom_id).where(AssignmentRow.id == assignment_id).scalar_subquery()


def check_of(row: CheckRow) -> Check:
    """The check of a row."""
    return Check(
        row.id,
        row.board_id,
        row.person_id,
        StoredPhoto(row.photo, row.photo_kind),
        row.sent_sha256,
        row.sent_at,
        row.view,  # type: ignore[arg-type]
        Told(row.stage, row.card_side, walls_of(row.walls or ()), HowCut(**row.how_cut or {})),  # type: ignore[arg-type]
        row.state,  # type: ignore[arg-type]
        _answer_of(row),
        _original_of(row),
        row.original_outdated,
    )


def _answer_of(row: CheckRow) -> Answer | None:
    if row.result is None:
        return None
    pictures = Pictures(row.overlay, row.screen, row.thumbnail)
    return Answer(row.result, row.words or {}, pictures, row.answered_at, row.seconds)


def _original_of(row: CheckRow) -> Answer | None:
    """The program's own answer while a corrected one stands; its pictures' names are columns of their own."""
    if row.original is None:
        return None
    pictures = Pictures(row.original_overlay, row.original_screen, row.original_thumbnail)
    when, kept = row.original["answered_at"], row.original
    answered_at = datetime.fromisoformat(when) if when else None
    return Answer(kept["result"], kept["words"], pictures, answered_at, kept["seconds"])


def _original_values(check: Check) -> dict[str, Any]:
    answer, pictures = check.original, check.original.pictures if check.original else Pictures()
    names = {f"original_{which}": name for which, name in asdict(pictures).items()}
    if answer is None:
        return {"original": None, "original_outdated": False, **names}
    when = answer.answered_at.isoformat() if answer.answered_at else None
    kept = {"result": answer.result, "words": answer.words, "answered_at": when, "seconds": answer.seconds}
    return {"original": kept, "original_outdated": check.original_outdated, **names}


def walls_of(kept: Sequence[Mapping[str, Any]]) -> tuple[WallLine, ...]:
    """Walls' lines as they are kept."""
    return tuple(WallLine(tuple(each["show_px"]), tuple(each["transfer_px"]), each["zoom"]) for each in kept)


def walls_values(walls: Sequence[WallLine]) -> list[dict[str, Any]]:
    """Walls' lines to keep."""
    return [asdict(wall) for wall in walls]


def check_values(check: Check) -> dict[str, Any]:
    """The columns of a check."""
    answer = check.answer or Answer({}, {})
    return {
        "id": check.id,
        "board_id": check.board,
        "person_id": check.person,
        "photo": check.photo.name,
        "photo_kind": check.photo.kind,
        "sent_sha256": check.sent_sha256,
        "sent_at": check.sent_at,
        "view": check.view,
        "stage": check.told.stage,
        "card_side": check.told.card_side,
        "state": check.state,
        "answered_at": answer.answered_at,
        "seconds": answer.seconds,
        "result": answer.result if check.answer else None,
        "words": answer.words if check.answer else None,
        "walls": walls_values(check.told.walls) or None,
        "how_cut": asdict(check.told.how_cut) if check.view == "drill" else None,
        **asdict(answer.pictures),
        **_original_values(check),
    }


def job_of(row: JobRow) -> Job:
    """The job of a row."""
    held = row.state, row.attempts, row.worker, row.lease_until
    return Job(row.id, row.check_id or "", row.created, *held, board=row.board_id or "")  # type: ignore[arg-type]


def job_values(job: Job) -> dict[str, Any]:
    """The columns of a job."""
    return {
        "id": job.id,
        "check_id": job.check or None,
        "board_id": job.board or None,
        "created": job.created,
        "state": job.state,
        "attempts": job.attempts,
        "worker": job.worker,
        "lease_until": job.lease_until,
    }


def fit_of(row: FitRow | Row[Any]) -> Fit:
    """The fit of a row, or of its columns."""
    return Fit(row.socket, row.outcome, row.noted_at)  # type: ignore[arg-type]
