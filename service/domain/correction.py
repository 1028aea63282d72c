"""A second opinion: what a person says the walls of a measured photo are. It is written once; how it ended is added."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any, Literal, get_args

from service.domain.check import Answer, Check
from service.domain.fit import MOST_SOCKETS
from service.domain.mistakes import MistakeError, check_text
from service.domain.person import Person
from service.domain.wall_line import WallLine

CorrectionState = Literal["waiting", "standing", "unusable", "withdrawn", "replaced"]
CORRECTION_STATES: tuple[CorrectionState, ...] = get_args(CorrectionState)

LONGEST_WHY = 500
UNMOVED_PX = 0.02
"""A line this near to where it was, at all of its ends, was not moved: places are told to a hundredth of a pixel."""
TYPED_ZOOM = 1.0
"""Taken for a line that comes without a zoom, typed as numbers: a photo shown at its own size."""


@dataclass(frozen=True)
class Correction:
    """One person's row of walls for one photo, from left to right. `made_at` and `ended_at` are in UTC.

    `person` is the id, empty for one that an import brought; `name` is theirs as it was then, empty for somebody who
    has left. `advice` is what the tool advises by these walls, `said` why they could not be used. `ended_by` and
    `ended_name` tell who withdrew it or put another in its place. Raises MistakeError.
    """

    id: str
    check: str
    person: str
    name: str
    made_at: datetime
    walls: tuple[WallLine, ...]
    why: str = ""
    state: CorrectionState = "waiting"
    advice: str = ""
    said: str = ""
    ended_at: datetime | None = None
    ended_by: str = ""
    ended_name: str = ""

    def __post_init__(self) -> None:
        check_text("why", self.why, LONGEST_WHY)

    @property
    def stands(self) -> bool:
        """Whether the photo's answer is by this correction, or soon will be."""
        return self.state in ("waiting", "standing")

    def answered(self, answer: Answer) -> Correction:
        """The correction once its photo was measured by these walls, or could not be."""
        if answer.result.get("ok"):
            return replace(self, state="standing", advice=str(answer.result["advice"]))
        return replace(self, state="unusable", said=str(answer.words.get("mm", {}).get("message", "")))

    def ended(self, state: CorrectionState, by: Person, when: datetime) -> Correction:
        """The correction after somebody withdrew it or put another in its place."""
        return replace(self, state=state, ended_by=by.id, ended_name=by.name, ended_at=when)


def lines_of(check: Check) -> tuple[WallLine, ...]:
    """The walls' lines that a measured photo's answer rests on, from left to right; none if it does not tell them."""
    walls = check.answer.result.get("walls", ()) if check.answer and check.state == "measured" else ()
    try:
        found = tuple(_found(wall) for wall in walls)
    except (KeyError, TypeError, ValueError, MistakeError):  # of an older version, or brought by an import
        return ()
    told = check.told.walls if len(check.told.walls) == len(found) else found
    return tuple(line if line.placed else own for line, own in zip(told, found, strict=True))


def _found(wall: Mapping[str, Any]) -> WallLine:
    (show_x, show_y), (transfer_x, transfer_y) = wall["show_px"], wall["transfer_px"]
    return WallLine((show_x, show_y), (transfer_x, transfer_y))


def row_of(lines: Sequence[WallLine], wanted: Sequence[WallLine]) -> tuple[WallLine, ...]:
    """The row as wanted: lines that were not moved stay what they are in `lines`, all others were placed.

    Raises MistakeError for a row that cannot be one of tails, or that changes nothing.
    """
    row = tuple(_unmoved(line, lines) or _as_placed(line) for line in wanted)
    if len(row) % 2 or not 2 <= len(row) <= 2 * MOST_SOCKETS:
        raise MistakeError("walls", "Walls come in pairs: a left and a right one to every tail.")
    if row == tuple(lines):
        raise MistakeError("walls", "No line was moved: nothing to correct.")
    return row


def _unmoved(wanted: WallLine, lines: Sequence[WallLine]) -> WallLine | None:
    """The line that this one still is."""
    return next((line for line in lines if _apart_px(wanted, line) <= UNMOVED_PX), None)


def _apart_px(first: WallLine, second: WallLine) -> float:
    return max(abs(a - b) for a, b in zip(first.ends, second.ends, strict=True))


def _as_placed(line: WallLine) -> WallLine:
    return line if line.placed else replace(line, zoom=TYPED_ZOOM)
