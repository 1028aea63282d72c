"""One board of the practice log, as a value: what was measured, what was predicted, and how it fitted.

Frames, signs and words are those of the result JSON: lean is positive when a wall moves to the right on its way from
show to transfer face; taper is positive where the socket is wider at the show face (loose). `u95` is k = 2.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal, get_args

from calibration.quantity import COVERAGE_FACTOR

Side = Literal["left", "right"]
Fit = Literal["seated", "loose", "split", "not assembled"]
Verdict = Literal["seats", "loose", "splitting", "too close to call"]
Kind = Literal["half", "full"]

COVERAGE = COVERAGE_FACTOR
"""k of every expanded uncertainty."""
SIDES, KINDS, VERDICTS = get_args(Side), get_args(Kind), get_args(Verdict)
FITS = (*get_args(Fit), None)


@dataclass(frozen=True)
class PracticeWall:
    """One wall: tail counted from 0, and where it stands on the board, from 0 (left) to 1 (right)."""

    tail: int
    side: Side
    position: float
    lean_deg: float
    lean_u95_deg: float
    out_of_square_mm: float
    out_of_square_u95_mm: float
    flags: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        _check_word("side", self.side, SIDES)
        _check_finite(self, "position", "lean_deg", "out_of_square_mm")
        _check_not_negative(self, "tail", "lean_u95_deg", "out_of_square_u95_mm")


@dataclass(frozen=True)
class Chances:
    """Probabilities of the three things a pin can do; they add up to one."""

    seats: float
    loose: float
    splitting: float

    def __post_init__(self) -> None:
        _check_not_negative(self, "seats", "loose", "splitting")
        if not math.isclose(self.seats + self.loose + self.splitting, 1.0, abs_tol=1e-6):
            raise ValueError("seats, loose and splitting must add up to 1")


@dataclass(frozen=True)
class PracticeSocket:
    """One socket: what was measured, what was foretold (`chances` is None where that cannot be derived), and, once the
    joint was driven, the `fit`. Limits are the policy that the verdict was given by."""

    kind: Kind
    taper_mm: float
    taper_u95_mm: float
    gap_mm: float
    squeeze_mm: float
    verdict: Verdict
    gap_limit_mm: float
    squeeze_limit_mm: float | None = None
    chances: Chances | None = None
    fit: Fit | None = None

    def __post_init__(self) -> None:
        _check_word("kind", self.kind, KINDS)
        _check_word("verdict", self.verdict, VERDICTS)
        _check_word("fit", self.fit, FITS)
        _check_finite(self, "taper_mm")
        _check_not_negative(self, "taper_u95_mm", "gap_mm", "squeeze_mm", "gap_limit_mm")


@dataclass(frozen=True)
class DrivenBoard:
    """As much of a board as predictions against outcomes need: whose, in what wood, and the sockets driven."""

    person: str
    species: str
    sockets: tuple[PracticeSocket, ...]


@dataclass(frozen=True)
class PracticeBoard:
    """One measured board of one person. Words that were not given are empty; `decision` is an instructor's."""

    identity: str
    date: dt.date
    person: str
    walls: tuple[PracticeWall, ...]
    sockets: tuple[PracticeSocket, ...]
    width_mm: float
    thickness_mm: float
    stage: str = "sawn"
    advice: str = ""
    species: str = ""
    saw: str = ""
    plan: str = ""
    assignment: str = ""
    notes: str = ""
    name: str = ""
    decision: str = ""
    corrected: bool = False

    def __post_init__(self) -> None:
        if len(self.walls) < 2:
            raise ValueError(f"walls must be at least two, got {len(self.walls)}")
        if not (self.width_mm > 0.0 and self.thickness_mm > 0.0):
            raise ValueError("width_mm and thickness_mm must be greater than zero")

    @property
    def failed(self) -> int:
        """Sockets that are firmly too loose or too tight."""
        return sum(socket.verdict in ("loose", "splitting") for socket in self.sockets)


def with_fits(board: PracticeBoard, fits: Sequence[Fit | None]) -> PracticeBoard:
    """The board with the answers to "how did it fit?", one for each socket from the left. Raises ValueError."""
    if len(fits) != len(board.sockets):
        raise ValueError(f"fits must be one for each of {len(board.sockets)} sockets, got {len(fits)}")
    sockets = tuple(replace(socket, fit=fit) for socket, fit in zip(board.sockets, fits, strict=True))
    return replace(board, sockets=sockets)


def in_order(boards: Sequence[PracticeBoard]) -> list[PracticeBoard]:
    """Boards by date; those of one day in the order given."""
    return sorted(boards, key=lambda board: board.date)


def _check_word(name: str, word: str | None, words: Sequence[str | None]) -> None:
    if word not in words:
        raise ValueError(f"{name} must be one of {', '.join(str(each) for each in words)}, got {word!r}")


def _check_finite(owner: object, *names: str) -> None:
    for name in names:
        if not math.isfinite(getattr(owner, name)):
            raise ValueError(f"{name} must be a finite number, got {getattr(owner, name)}")


def _check_not_negative(owner: object, *names: str) -> None:
    for name in names:
        if not 0.0 <= getattr(owner, name) < math.inf:
            raise ValueError(f"{name} must be a finite number, not negative, got {getattr(owner, name)}")
