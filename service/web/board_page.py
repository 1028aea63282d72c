"""What the page of a board shows, worked out before any template sees it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from service.domain.board import Board
from service.domain.check import Check
from service.domain.person import Person
from service.practice.slopes import Slopes, slopes_of
from service.use_cases.hand_in import Open
from service.use_cases.keep_log import BoardView
from service.use_cases.solo import SOLO
from service.web.looks import wood_group
from service.web.review_view import ReviewView, review_views


@dataclass(frozen=True)
class NotMeasured:
    """A photo that got no answer: its number among the board's, oldest first from 1, and why."""

    number: int
    check: Check
    message: str


@dataclass(frozen=True)
class BoardPage:
    """A board with one photo in the foreground; `words` are its answer in the person's units, empty if there is none.

    `sockets` are the names of the board's sockets by its newest measured end, `fitted` what was said of each; `open`
    is what it can be handed in to. `reviews` come newest first; who is shown somebody else's board may review it.
    `slopes` are those of its faces beside what its assignment asks for. `missed` is the newest photo if it could not be
    measured and another one is in the foreground.
    """

    board: Board
    check: Check | None
    words: Mapping[str, Any]
    checks: Sequence[Check]
    sockets: Sequence[str]
    fitted: Mapping[int, str]
    owner: Person
    mine: bool
    open: Open
    reviews: Sequence[ReviewView] = ()
    may_review: bool = False
    slopes: Slopes | None = None
    missed: NotMeasured | None = None

    @property
    def numbered(self) -> Sequence[tuple[int, Check]]:
        """The photos to be measured, oldest first, with their numbers among all photos of the board."""
        return [(i, check) for i, check in enumerate(reversed(self.checks), 1) if check.view != "fit"]

    @property
    def unknown_wood(self) -> str:
        """The wood by the name it was given, if the tables do not know it; else empty."""
        return "" if wood_group(self.board.details.species) else self.board.details.species

    @property
    def fit_photos(self) -> Sequence[Check]:
        """Photos of the driven joint, newest first."""
        return [check for check in self.checks if check.view == "fit"]

    @property
    def policy(self) -> Mapping[str, Any]:
        """By what an assignment's board was judged; empty for any other."""
        told: Mapping[str, Any] = self.check.answer.words.get("policy", {}) if self.check and self.check.answer else {}
        return told

    @property
    def paring_not_allowed(self) -> bool:
        """Whether paring is advised where the assignment does not allow it, as answers of older versions do."""
        pare = self.check is not None and self.check.advice == "pare"
        return pare and not self.policy.get("paring_allowed", True)

    @property
    def printed(self) -> bool:
        """Whether there is a page of it to print."""
        return bool(self.sockets or self.board.work_on)

    @property
    def state(self) -> str:
        """How far all its photos are, newest first: changes when any answer comes in."""
        return " ".join(f"{check.id}:{check.state}" for check in self.checks)

    @property
    def waits(self) -> bool:
        """Whether any answer is still to come."""
        return any(check.state == "waiting" for check in self.checks)


def board_page(view: BoardView, chosen: str, person: Person, open_to: Open) -> BoardPage:
    """The page of a board, with the photo `chosen` by id, else the one that says most, and what it can be handed in to.

    Who sees a board of somebody else's sees it without the forms that change it.
    """
    check = next((check for check in view.checks if check.id == chosen), None) or _foremost(view.checks)
    fitted: dict[int, str] = {fit.socket: fit.outcome for fit in view.fits}
    return BoardPage(
        view.board,
        check,
        _words(check, person),
        tuple(reversed(view.checks)),
        _sockets(view.checks, person),
        fitted,
        view.owner,
        view.owner.id == person.id,
        open_to,
        review_views(view),
        person.id == SOLO or view.owner.id != person.id,
        slopes_of(view.checks, view.assignment.policy, view.together) if view.assignment else None,
        _missed(view.checks, check, person),
    )


def _foremost(checks: Sequence[Check]) -> Check | None:
    """The newest end that waits, else the newest measured, else the newest end; without one the same of practice cuts,
    else the newest photo."""
    return max(checks, key=_says_most, default=None)


def _says_most(check: Check) -> tuple[bool, bool, bool, bool, datetime, str]:
    kind = check.view == "end", check.view == "drill"
    return *kind, check.state == "waiting", bool(check.advice or check.work_on), check.sent_at, check.id


def _missed(checks: Sequence[Check], shown: Check | None, person: Person) -> NotMeasured | None:
    """`checks` come oldest first."""
    numbered = [(number, check) for number, check in enumerate(checks, 1) if check.view != "fit"]
    if not numbered or shown is None:
        return None
    number, newest = numbered[-1]
    if newest.id == shown.id or newest.state not in ("refused", "failed"):
        return None
    return NotMeasured(number, newest, str(_words(newest, person).get("message", "")))


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
