"""A remark that an instructor keeps to use again."""

from __future__ import annotations

from dataclasses import dataclass

from service.domain.mistakes import MistakeError, check_text
from service.domain.review import LONGEST_COMMENT

MOST_SAVED = 200


@dataclass(frozen=True)
class SavedRemark:
    """One remark of one person."""

    id: str
    person: str
    text: str


def remark_text(typed: str) -> str:
    """A remark as kept: one line. Raises MistakeError when it is empty or too long."""
    text = " ".join(typed.split())
    check_text("remark", text, LONGEST_COMMENT)
    if not text:
        raise MistakeError("text", "A remark to keep needs words.")
    return text
