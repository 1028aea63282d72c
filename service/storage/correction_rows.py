"""Corrections of walls as rows of one database session."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from sqlalchemy import select, update
from sqlalchemy.orm import Session

from service.domain.correction import Correction
from service.storage.repositories import portions
from service.storage.rows import walls_of, walls_values
from service.storage.tables import CorrectionRow


class CorrectionRows:
    """`ports.Corrections` on a session."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def add(self, correction: Correction) -> None:
        self._session.add(CorrectionRow(**_values(correction)))
        self._session.flush()

    def put(self, correction: Correction) -> None:
        changed = update(CorrectionRow).where(CorrectionRow.id == correction.id)
        self._session.execute(changed.values(**_values(correction)))

    def of_checks(self, check_ids: Iterable[str]) -> Sequence[Correction]:
        found = []
        for some in portions(check_ids):
            asked = select(CorrectionRow).where(CorrectionRow.check_id.in_(some))
            rows = self._session.scalars(asked.execution_options(populate_existing=True))
            found += [_correction(row) for row in rows]
        return sorted(found, key=lambda correction: (correction.made_at, correction.id))

    def has(self, correction_id: str) -> bool:
        asked = select(CorrectionRow.id).where(CorrectionRow.id == correction_id)
        return self._session.scalar(asked) is not None

    def forget(self, person_id: str) -> None:
        made, ended = CorrectionRow.person_id == person_id, CorrectionRow.ended_by_id == person_id
        self._session.execute(update(CorrectionRow).where(made).values(name="", person_id=None))
        self._session.execute(update(CorrectionRow).where(ended).values(ended_name="", ended_by_id=None))


def _correction(row: CorrectionRow) -> Correction:
    return Correction(
        row.id,
        row.check_id,
        row.person_id or "",
        row.name,
        row.made_at,
        walls_of(row.walls),
        row.why,
        row.state,  # type: ignore[arg-type]
        row.advice,
        row.said,
        row.ended_at,
        row.ended_by_id or "",
        row.ended_name,
    )


def _values(correction: Correction) -> dict[str, Any]:
    return {
        "id": correction.id,
        "check_id": correction.check,
        "person_id": correction.person or None,
        "name": correction.name,
        "made_at": correction.made_at,
        "walls": walls_values(correction.walls),
        "why": correction.why,
        "state": correction.state,
        "advice": correction.advice,
        "said": correction.said,
        "ended_at": correction.ended_at,
        "ended_by_id": correction.ended_by or None,
        "ended_name": correction.ended_name,
    }
