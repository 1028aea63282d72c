"""What the page of a board shows, worked out before any template sees it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from service.domain.board import Board
from service.domain.check import Check
from service.domain.person import Person
from service.use_cases.keep_log import BoardView


@dataclass(frozen=True)
class BoardPage:
    """A board with one photo in the foreground; `words` are its answer in the person's units, empty if there is none.

    `sockets` are the names of the board's sockets by its newest measured end, `fitted` what was said of each.
    """

    board: Board
    check: Check | None
    words: Mapping[str, Any]
    checks: Sequence[Check]
    sockets: Sequence[str]
    fitted: Mapping[int, str]

    @property
    def state(self) -> str:
        """How far all its photos are, newest first: changes when any answer comes in."""
        return " ".join(f"{check.id}:{check.state}" for check in self.checks)

    @property
    def waits(self) -> bool:
        """Whether any answer is still to come."""
        return any(check.state == "waiting" for check in self.checks)


def board_page(view: BoardView, chosen: str, person: Person) -> BoardPage:
    """The page of a board, with the photo `chosen` by id, else the one that says most."""
    check = next((check for check in view.checks if check.id == chosen), None) or _foremost(view.checks)
    fitted: dict[int, str] = {fit.socket: fit.outcome for fit in view.fits}
    return BoardPage(
        view.board, check, _words(check, person), tuple(reversed(view.checks)), _sockets(view.checks, person), fitted
    )


def _foremost(checks: Sequence[Check]) -> Check | None:
    """The newest end that waits, else the newest measured, else the newest end, else the newest photo."""
    return max(
        checks,
        key=lambda check: (check.view == "end", check.state == "waiting", bool(check.advice), check.sent_at, check.id),
        default=None,
    )


def _words(check: Check | None, person: Person) -> Mapping[str, Any]:
    if check is None or check.answer is None or check.state == "waiting":
        return {}
    words: Mapping[str, Any] = check.answer.words.get(person.units, {})
    return words


def _sockets(checks: Sequence[Check], person: Person) -> Sequence[str]:
    measured = [check for check in checks if check.advice]
    if not measured:
        return ()
    return [socket["name"] for socket in _words(measured[-1], person)["sockets"]]
