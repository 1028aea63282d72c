"""How the practice cuts in a photo were made, as a person tells it: in the command line's words, read by its code."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeVar

from service.domain.mistakes import MistakeError, check_text
from vision.drill.plan import LEFT_TO_RIGHT, DrillPlan, intents_from, keeps_from, numbers_from, order_from

T = TypeVar("T")

LONGEST = 200
"""Of what is told in one field: the numbers of some sixty cuts."""


@dataclass(frozen=True)
class HowCut:
    """The order in which the cuts were made, the leans that were meant, and the side on which the line was kept.

    The words of `vision.drill.plan`, which reads them. Raises MistakeError, naming the field, for any other.
    """

    order: str = LEFT_TO_RIGHT
    intended: str = "0"
    keep: str = "both"

    def __post_init__(self) -> None:
        for field in ("order", "intended", "keep"):
            check_text(field, getattr(self, field), LONGEST)
        _ = self.plan

    @property
    def plan(self) -> DrillPlan:
        """The same as the measurement takes it."""
        return DrillPlan(
            _read("order", "The order", order_from, self.order),
            _read("intended", "The leans that were meant", intents_from, self.intended),
            _read("keep", "The side that was kept", keeps_from, self.keep),
        )


def numbered_order(typed: str) -> str:
    """An order that a person typed as the cuts' numbers, as it is kept: `3,1,2`. Raises MistakeError."""
    check_text("order", typed, LONGEST)
    return ",".join(map(str, _read("order_numbers", "The order", numbers_from, typed)))


def _read(field: str, called: str, reader: Callable[[str], T], words: str) -> T:
    try:
        return reader(words)
    except ValueError as error:
        raise MistakeError(field, f"{called} {error}.") from error
