"""A correction of walls as plain data, for export and import."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict
from datetime import datetime
from typing import Any

from service.domain.board import LONGEST_NAME, STANDINGS
from service.domain.check import Check
from service.domain.correction import CORRECTION_STATES, LONGEST_WHY, Correction
from service.domain.mistakes import check_text
from service.domain.read_record import id_of, moment_of, one_of, text_of
from service.domain.wall_line import WallLine

_LONGEST_SAID = 1000


def correction_record(correction: Correction, owner: str) -> dict[str, Any]:
    """A correction of a photo of that person's; people are told by their names alone."""
    ended_at = correction.ended_at.isoformat() if correction.ended_at else None
    made = {"id": correction.id, "check": correction.check, "name": correction.name, "own": correction.person == owner}
    said = {"why": correction.why, "state": correction.state, "advice": correction.advice, "said": correction.said}
    when = {"made_at": correction.made_at.isoformat(), "ended_at": ended_at, "ended_name": correction.ended_name}
    return made | said | when | {"walls": [asdict(wall) for wall in correction.walls]}


def correction_from_record(record: Mapping[str, Any], check: Check, now: datetime, *, alone: bool) -> Correction:
    """A correction of that check.

    Whoever brings one may have written it: only the one person who is `alone` on this service is taken for who made it.
    Raises KeyError, TypeError, ValueError or OverflowError for a damaged record, MistakeError for values.
    """
    ended_at = record["ended_at"]
    correction = Correction(
        id_of(record["id"]),
        check.id,
        check.person if alone and record["own"] is True else "",
        text_of(record["name"], LONGEST_NAME),
        min(moment_of(record["made_at"]), now),
        lines_from_record(record["walls"]),
        text_of(record["why"], LONGEST_WHY),
        one_of(record["state"], CORRECTION_STATES),
        one_of(record["advice"], ("", *STANDINGS)),
        text_of(record["said"], _LONGEST_SAID),
        None if ended_at is None else moment_of(ended_at),
        "",
        text_of(record["ended_name"], LONGEST_NAME),
    )
    for name in ("name", "said", "ended_name"):
        check_text(name, getattr(correction, name), _LONGEST_SAID)
    if correction.stands != (check.corrected and correction.walls == check.told.walls and ended_at is None):
        raise ValueError("a correction that stands is that of its photo, and no other does")
    return correction


def lines_from_record(records: Sequence[Mapping[str, Any]]) -> tuple[WallLine, ...]:
    """Walls' lines. Raises like `correction_from_record`."""
    return tuple(_line(record) for record in records)


def _line(record: Mapping[str, Any]) -> WallLine:
    (show_x, show_y), (transfer_x, transfer_y) = record["show_px"], record["transfer_px"]
    zoom = record["zoom"]
    ends = (float(show_x), float(show_y)), (float(transfer_x), float(transfer_y))
    return WallLine(*ends, None if zoom is None else float(zoom))
