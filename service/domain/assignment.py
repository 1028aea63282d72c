"""An assignment: what a class shall cut, in what wood, by when, and by which limits its boards are judged."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import date, datetime

from service.domain.board import LONGEST_NAME, LONGEST_TEXT, Board
from service.domain.edition import edition_of
from service.domain.mistakes import MistakeError, check_text

LONGEST_PLAN = 400
LIMITS = {
    "gap_mm": "widest gap to be seen",
    "squeeze_softwood_mm": "largest squeeze in softwood",
    "squeeze_hardwood_mm": "largest squeeze in hardwood",
}
"""What each limit is called."""
LARGEST_LIMIT_MM = 2.0
"""Beyond it a joint is no joint; most likely the unit was mistaken."""
STEEPEST_N, FLATTEST_N = 3.0, 12.0
"""Slopes outside 1:3 to 1:12 are not cut as dovetails; most likely rise and run were mistaken."""


@dataclass(frozen=True)
class Policy:
    """By what a class judges. Lengths in mm; the defaults are those of a check without a class (common practice).

    Without `paring_allowed` a board with tight walls is to be started over. A slope of 1:n may be no steeper than
    1:`slope_steepest_n` and no flatter than 1:`slope_flattest_n`; None leaves that end open. Raises MistakeError.
    """

    gap_mm: float = 0.10
    squeeze_softwood_mm: float = 0.15
    squeeze_hardwood_mm: float = 0.08
    half_pin_factor: float = 0.5
    paring_allowed: bool = False
    slope_steepest_n: float | None = None
    slope_flattest_n: float | None = None

    def __post_init__(self) -> None:
        for name, called in LIMITS.items():
            if not 0.0 < getattr(self, name) <= LARGEST_LIMIT_MM:
                raise MistakeError(name, f"The {called} lies above 0 and up to {LARGEST_LIMIT_MM:.0f} mm.")
        if not 0.0 < self.half_pin_factor <= 1.0:
            raise MistakeError("half_pin_factor", "The part that a half pin takes lies above 0 and up to 1.")
        steepest, flattest = self.slope_steepest_n, self.slope_flattest_n
        for called, n in (("steepest", steepest), ("flattest", flattest)):
            if n is not None and not STEEPEST_N <= n <= FLATTEST_N:
                sentence = f"The {called} slope lies between 1:{STEEPEST_N:.0f} and 1:{FLATTEST_N:.0f}."
                raise MistakeError(f"slope_{called}_n", sentence)
        if steepest is not None and flattest is not None and steepest > flattest:
            raise MistakeError("slope_steepest_n", "The steepest slope is steeper than the flattest: 1:6 before 1:8.")

    @property
    def slope(self) -> str:
        """The slope policy in short, such as `1:6 to 1:8`; empty when any slope will do."""
        steepest, flattest = self.slope_steepest_n, self.slope_flattest_n
        if steepest is not None and flattest is not None:
            return f"1:{steepest:g}" if steepest == flattest else f"1:{steepest:g} to 1:{flattest:g}"
        if steepest is not None:
            return f"1:{steepest:g} or flatter"
        return "" if flattest is None else f"1:{flattest:g} or steeper"


@dataclass(frozen=True)
class Assignment:
    """One task of one class. Nothing but a title is required; `due` is the last day. Raises MistakeError.

    To a `closed` one nothing more is handed in; what was handed in stays.
    """

    id: str
    classroom: str
    title: str
    created: datetime
    what_to_cut: str = ""
    species: str = ""
    plan: str = ""
    due: date | None = None
    closed: bool = False
    policy: Policy = field(default_factory=Policy)

    def __post_init__(self) -> None:
        if not self.title.strip():
            raise MistakeError("title", "An assignment needs a title, such as Three tails in cherry.")
        for name, longest in (
            ("title", LONGEST_NAME),
            ("what_to_cut", LONGEST_TEXT),
            ("species", LONGEST_NAME),
            ("plan", LONGEST_PLAN),
        ):
            check_text(name, getattr(self, name), longest)

    @property
    def edition(self) -> str:
        """The mark of what its form shows."""
        return edition_of(self.title, self.what_to_cut, self.species, self.plan, self.due, self.policy)

    def is_past(self, day: date) -> bool:
        """Whether nothing more is expected on that day: it is closed, or its last day is over."""
        return self.closed or (self.due is not None and self.due < day)

    def is_late(self, handed_in: datetime) -> bool:
        """Whether a board handed in at that moment (UTC) came after the last day."""
        return self.due is not None and handed_in.date() > self.due


def handed_in(board: Board, assignment: Assignment, now: datetime) -> Board:
    """The board for that assignment; its wood and plan are the assignment's where nothing was said of them."""
    details = board.details
    said = replace(details, species=details.species or assignment.species, plan=details.plan or assignment.plan)
    named = {"assignment": assignment.id, "assignment_title": assignment.title}
    return replace(board, details=said, handed_in=now, **named)  # type: ignore[arg-type]


def taken_back(board: Board) -> Board:
    """The board for no assignment."""
    return replace(board, assignment="", assignment_title="", handed_in=None)
