"""What a sawyer meant by the cuts of a drill: in which order, at which lean, and on which side of the line."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, TypeVar

from vision.end.report import Side

Keep = Literal["left", "right", "both"]
T = TypeVar("T")

LEFT_TO_RIGHT, RIGHT_TO_LEFT = "left-to-right", "right-to-left"
STEEPEST_DEG = 15.0
"""A steeper lean across the end is no joint's, but a slip of the pen."""


@dataclass(frozen=True)
class Intent:
    """How one cut was meant: its lean across the end (deg), and whether it was to slope left, right or neither."""

    lean_deg: float = 0.0
    side: Side | None = None


SQUARE = Intent()


class PlanMismatch(ValueError):  # noqa: N818 - named for what it tells
    """What was told of the cuts does not fit their number in the photo."""


@dataclass(frozen=True)
class DrillPlan:
    """`order` tells how the cuts were made: a direction, or their numbers counted from the left, from 1.

    `intents` and `keeps`, in the order cut, hold one for all cuts, two that take turns, or one for each. Of a kerf is
    measured the edge of the wood that is kept, or the middle of both edges.
    """

    order: str | tuple[int, ...] = LEFT_TO_RIGHT
    intents: tuple[Intent, ...] = (SQUARE,)
    keeps: tuple[Keep, ...] = ("both",)

    def sequence(self, count: int) -> list[int]:
        """Positions (from the left, from 0) of `count` cuts in the order cut.

        Raises PlanMismatch when the order told is not one of that many cuts.
        """
        if isinstance(self.order, str):
            return list(range(count)) if self.order == LEFT_TO_RIGHT else list(range(count))[::-1]
        if sorted(self.order) != list(range(1, count + 1)):
            told = f"; it names {len(self.order)}" if len(self.order) != count else ""
            each = f"each of the {count} cuts in the photo once, counted from the left"
            raise PlanMismatch(f"the order must name {each}{told}")
        return [number - 1 for number in self.order]

    def intents_of(self, count: int) -> list[Intent]:
        """How each cut was meant, in the order cut. Raises PlanMismatch when the told ones do not fit the count."""
        return _for_each("intended leans", self.intents, count)

    def keeps_of(self, count: int) -> list[Keep]:
        """Which edge is measured, in the order cut. Raises PlanMismatch when the told ones do not fit the count."""
        return _for_each("sides to keep", self.keeps, count)


def _for_each(what: str, told: Sequence[T], count: int) -> list[T]:
    if len(told) <= 2:
        return [told[index % len(told)] for index in range(count)]
    if len(told) != count:
        raise PlanMismatch(f"{len(told)} {what} were told, but the photo shows {count} cuts")
    return list(told)


def order_from(text: str) -> str | tuple[int, ...]:
    """An order as people write it: `left-to-right`, `right-to-left` or `3,1,2`. Raises ValueError for another."""
    if text in (LEFT_TO_RIGHT, RIGHT_TO_LEFT):
        return text
    words = text.split(",")
    if not all(_is_whole(word.strip()) for word in words):
        raise ValueError(f"must be left-to-right, right-to-left or the cuts' numbers, such as 3,1,2; got {text!r}")
    return tuple(int(word) for word in words)


def numbers_from(text: str) -> tuple[int, ...]:
    """The cuts' numbers in the order cut as people type them, on any keyboard: `3,1,2`, `3 1 2` or `3.1.2`.

    Raises ValueError unless they name every cut from 1 on, each once.
    """
    words = re.split(r"[\s,;.]+", text.strip(" \t\r\n,;."))
    wrong = next((word for word in words if not _is_whole(word)), None)
    if wrong is not None:
        got = f"; got {wrong!r}" if wrong else ""
        raise ValueError(f"must be the cuts' numbers, counted from the left, such as 3,1,2{got}")
    numbers = tuple(map(int, words))
    if 0 in numbers:
        raise ValueError("names a cut 0; the first cut from the left is cut 1")
    twice = next((number for number in numbers if numbers.count(number) > 1), None)
    if twice is not None:
        raise ValueError(f"names cut {twice} more than once; name every cut once, counted from the left")
    left_out = next((number for number in range(1, len(numbers) + 1) if number not in numbers), None)
    if left_out is not None:
        raise ValueError(f"names cut {max(numbers)} but not cut {left_out}; name every cut once, counted from the left")
    return numbers


def _is_whole(word: str) -> bool:
    return word.isascii() and word.isdigit()


def intents_from(text: str) -> tuple[Intent, ...]:
    """Intentions as people write them: `0`, `2,-2` or `left,right`. Raises ValueError for anything else."""
    return tuple(_intent(word.strip()) for word in text.split(","))


def _intent(word: str) -> Intent:
    if word in ("left", "right"):
        return Intent(0.0, "left" if word == "left" else "right")
    try:
        lean_deg = float(word)
    except ValueError:
        lean_deg = float("nan")
    if not abs(lean_deg) <= STEEPEST_DEG:
        raise ValueError(f"must be left, right or degrees up to {STEEPEST_DEG:.0f}, with commas between; got {word!r}")
    return Intent(lean_deg, None if lean_deg == 0.0 else "right" if lean_deg > 0.0 else "left")


def keeps_from(text: str) -> tuple[Keep, ...]:
    """Sides to keep as people write them: `left`, `both` or `left,right`. Raises ValueError for anything else."""
    return tuple(_keep(word.strip()) for word in text.split(","))


def _keep(word: str) -> Keep:
    keeps: dict[str, Keep] = {"left": "left", "right": "right", "both": "both"}
    if word not in keeps:
        raise ValueError(f"must be left, right or both, with commas between; got {word!r}")
    return keeps[word]
