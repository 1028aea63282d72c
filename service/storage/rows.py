"""Rows to values of the domain and back; nothing outside storage ever sees a row."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from service.domain.board import Board, Details
from service.domain.check import Answer, Check, Pictures, StoredPhoto, Told
from service.domain.fit import Fit
from service.domain.job import Job
from service.domain.person import Person
from service.storage.tables import BoardRow, CheckRow, FitRow, JobRow, PersonRow


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


def board_of(row: BoardRow) -> Board:
    """The board of a row."""
    details = Details(row.species, row.thickness_mm, row.saw, row.plan, row.notes)
    return Board(row.id, row.person_id, row.name, row.created, details, row.standing, row.thumbnail)  # type: ignore[arg-type]


def board_values(board: Board) -> dict[str, Any]:
    """The columns of a board."""
    kept = {"standing": board.standing, "thumbnail": board.thumbnail}
    named = {"id": board.id, "person_id": board.person, "name": board.name, "created": board.created}
    return named | asdict(board.details) | kept


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
        Told(row.stage, row.card_side),  # type: ignore[arg-type]
        row.state,  # type: ignore[arg-type]
        _answer_of(row),
    )


def _answer_of(row: CheckRow) -> Answer | None:
    if row.result is None:
        return None
    pictures = Pictures(row.overlay, row.screen, row.thumbnail)
    return Answer(row.result, row.words or {}, pictures, row.answered_at, row.seconds)


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
        **asdict(answer.pictures),
    }


def job_of(row: JobRow) -> Job:
    """The job of a row."""
    return Job(row.id, row.check_id, row.created, row.state, row.attempts, row.worker, row.lease_until)  # type: ignore[arg-type]


def job_values(job: Job) -> dict[str, Any]:
    """The columns of a job."""
    return {
        "id": job.id,
        "check_id": job.check,
        "created": job.created,
        "state": job.state,
        "attempts": job.attempts,
        "worker": job.worker,
        "lease_until": job.lease_until,
    }


def fit_of(row: FitRow) -> Fit:
    """The fit of a row."""
    return Fit(row.socket, row.outcome, row.noted_at)  # type: ignore[arg-type]
