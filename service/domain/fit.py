"""How the driven joint fitted, socket by socket, as a person saw it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Literal, get_args

from service.domain.mistakes import MistakeError, check_text

Outcome = Literal["seated", "loose", "split", "not assembled"]
OUTCOMES: tuple[Outcome, ...] = get_args(Outcome)

MOST_SOCKETS = 60
LONGEST_NOTE = 2000


@dataclass(frozen=True)
class Fit:
    """One socket's outcome; `socket` counts from the left, from 0."""

    socket: int
    outcome: Outcome
    noted_at: datetime

    def __post_init__(self) -> None:
        if not 0 <= self.socket < MOST_SOCKETS:
            raise MistakeError("socket", f"A socket is counted from 0 to {MOST_SOCKETS - 1}.")
        if self.outcome not in OUTCOMES:
            raise MistakeError("outcome", f"How a socket fitted is one of: {', '.join(OUTCOMES)}.")


def fit_note(typed: str) -> str:
    """What was said of how the joint fitted, to be kept. Raises MistakeError when it is too long."""
    note = typed.strip().replace("\r\n", "\n")
    check_text("note", note, LONGEST_NOTE)
    return note
