"""A review: what an instructor decided about a board, and the marks on its picture. It is written once and kept."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime
from typing import Literal, get_args

from service.domain.board import LONGEST_TEXT, Standing
from service.domain.mistakes import MistakeError, check_text

Decision = Literal["transfer", "pare", "start over", "photograph again", "saw tails", "practise more"]
DECISIONS: tuple[Decision, ...] = get_args(Decision)
ADVICES, ABOUT_PRACTICE = DECISIONS[:4], (DECISIONS[4], DECISIONS[5], DECISIONS[3])
"""The words of the tool's own advice, which a decision stands beside, never in its place; and what can be decided about
practice cuts, which have no advice."""

LONGEST_COMMENT = 500
MOST_MARKS = 40


@dataclass(frozen=True)
class Mark:
    """A place on a picture and what is to be said of it. Raises MistakeError.

    `x` and `y` are parts of the picture's width and height, 0 at its left and its top.
    """

    x: float
    y: float
    comment: str

    def __post_init__(self) -> None:
        for place in (self.x, self.y):
            if not (math.isfinite(place) and 0.0 <= place <= 1.0):
                raise MistakeError("marks", "A mark lies on the picture: 0 to 100 % from the left and from the top.")
        check_text("comment", self.comment, LONGEST_COMMENT)
        if not self.comment.strip():
            raise MistakeError("marks", "Every mark needs a comment. Say what it shows, or remove the mark.")


@dataclass(frozen=True)
class Review:
    """One decision of one person about one board. `made_at` is in UTC. Raises MistakeError.

    `name` is the reviewer's as it was then and `reviewer` the id; both are empty once they have left. One that was
    `imported` decides nothing, for whoever brings a file may have written it. `advice` is how the tool had the board at
    that moment. `picture` is the stored picture that the marks are on, of the photo `check`; both are empty when that
    photo was deleted. `seen_at` is when the board's person said that they saw it.
    """

    id: str
    board: str
    reviewer: str
    name: str
    made_at: datetime
    decision: Decision
    advice: Standing
    check: str = ""
    picture: str = ""
    remarks: str = ""
    marks: tuple[Mark, ...] = ()
    seen_at: datetime | None = None
    imported: bool = False

    def __post_init__(self) -> None:
        check_text("remarks", self.remarks, LONGEST_TEXT)
        if len(self.marks) > MOST_MARKS:
            raise MistakeError("marks", f"A picture takes {MOST_MARKS} marks at most.")
