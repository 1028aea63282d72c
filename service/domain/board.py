"""A board that was sawn: what a person says of it, and how it stands."""

from __future__ import annotations

from collections.abc import Container, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import chain, count
from typing import Literal, get_args

from service.domain.check import Check
from service.domain.edition import edition_of
from service.domain.mistakes import MistakeError, check_text

Standing = Literal[
    "empty", "waiting", "refused", "failed", "transfer", "pare", "start over", "photograph again", "practice cuts"
]
"""How a board stands by its ends: the advice of the newest measured one, else what became of the newest.

It waits while any of them does. One without an end stands by its practice cuts in the same way, and is empty without
either; measured practice cuts have no advice: what to work on stands in its place (`Board.work_on`).
"""

STANDINGS: tuple[Standing, ...] = get_args(Standing)

LONGEST_NAME = 80
LONGEST_TEXT = 4000
MOST_AT_ONCE = 9999
"""No more boards than that are made of photos sent together."""
THINNEST_MM, THICKEST_MM = 3.0, 80.0
"""Boards outside are not dovetailed by hand; most likely the unit was mistaken."""


@dataclass(frozen=True)
class Details:
    """What a person may say of a board; nothing of it is required.

    `plan` may be the name of a kept one, which its end is then held against; `print` that of the card's measured print.
    Raises MistakeError, naming the field, for a thickness (mm) that no board has or a text that is too long.
    """

    species: str = ""
    thickness_mm: float | None = None
    saw: str = ""
    plan: str = ""
    notes: str = ""
    print: str = ""

    def __post_init__(self) -> None:
        short = dict.fromkeys(("species", "saw", "print"), LONGEST_NAME)
        for name, longest in (short | {"plan": 400, "notes": LONGEST_TEXT}).items():
            check_text(name, getattr(self, name), longest)
        if self.thickness_mm is not None and not THINNEST_MM <= self.thickness_mm <= THICKEST_MM:
            raise MistakeError(
                "thickness", f"The thickness must lie between {THINNEST_MM:.0f} and {THICKEST_MM:.0f} mm."
            )


@dataclass(frozen=True)
class Board:
    """One board of one person. `created` is in UTC.

    `assignment` is the id of the one it was handed in to, at `handed_in`; `assignment_title` outlives the class.
    `decision` is that of its newest review, at `reviewed_at`; `review_rank` is how soon an instructor should look at
    it, 0 first, None when it waits for no review. Neither changes how it stands. `corrected` tells that it stands by
    walls that somebody corrected. `fit_note` is what was said of how the driven joint fitted. `work_on` is what its
    practice cuts say to work on, a word of `vision.drill.review`; empty for any board but one of practice cuts.
    """

    id: str
    person: str
    name: str
    created: datetime
    details: Details = Details()
    standing: Standing = "empty"
    thumbnail: str = ""
    assignment: str = ""
    assignment_title: str = ""
    handed_in: datetime | None = None
    decision: str = ""
    reviewed_at: datetime | None = None
    review_rank: int | None = None
    corrected: bool = False
    fit_note: str = ""
    work_on: str = ""

    @property
    def edition(self) -> str:
        """The mark of what its form shows."""
        return edition_of(self.name, self.details)


def board_name(wanted: str, created: datetime, taken: Container[str] = ()) -> str:
    """The name to keep: what was wanted, else the day, with a number where boards of those `taken` names have it.

    Raises MistakeError when it is too long.
    """
    name = " ".join(wanted.split())
    check_text("name", name, LONGEST_NAME)
    day = f"Board of {created:%d %B %Y}".replace(" 0", " ")
    of_day = chain([day], (f"{day} ({number})" for number in count(2)))
    return name or next(free for free in of_day if free not in taken)


def numbered_name(wanted: str, number: int) -> str:
    """What to want for the board of that number, from 1, among several of one name; without a name each gets the day.

    Raises MistakeError when the name leaves no room for every number.
    """
    name = " ".join(wanted.split())
    check_text("name", name, LONGEST_NAME - len(f" {MOST_AT_ONCE}"))
    return f"{name} {number}" if name else ""


def standing_of(checks: Sequence[Check]) -> Standing:
    """How a board with these checks stands: a photo still waiting first, then the newest measured one that counts."""
    counting = _counting(checks)
    if not counting:
        return "empty"
    if any(check.state == "waiting" for check in counting):
        return "waiting"
    measured = [check.advice or "practice cuts" for check in counting if check.advice or check.work_on]
    if measured:
        return measured[-1]  # type: ignore[return-value]
    return "refused" if counting[-1].state == "refused" else "failed"


def work_on(checks: Sequence[Check]) -> str:
    """What a board of practice cuts says to work on, by its newest measured photo; empty for any other board."""
    return next((check.work_on for check in reversed(_counting(checks)) if check.work_on), "")


def _counting(checks: Sequence[Check]) -> list[Check]:
    """The photos by which a board stands, oldest first: its ends, else its practice cuts."""
    ordered = sorted(checks, key=lambda check: (check.sent_at, check.id))
    ends = [check for check in ordered if check.view == "end"]
    return ends or [check for check in ordered if check.view == "drill"]


def is_corrected(checks: Sequence[Check]) -> bool:
    """Whether the newest measured end, by which a board stands, is measured by walls that somebody corrected."""
    ends = [check for check in checks if check.view == "end" and check.answer and check.answer.result.get("ok")]
    newest = max(ends, key=lambda check: (check.sent_at, check.id), default=None)
    return newest is not None and newest.corrected


def thumbnail_of(checks: Sequence[Check]) -> str:
    """The stored picture that stands for a board: of its newest measured end, else of its newest
    measured practice cuts, else of its newest photo."""
    shown = [check for check in checks if check.answer is not None and check.answer.pictures.thumbnail]
    best = max(shown, key=lambda each: (bool(each.advice), bool(each.work_on), each.sent_at, each.id), default=None)
    return best.answer.pictures.thumbnail if best and best.answer else ""
