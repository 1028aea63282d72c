"""Left walls against right walls, places on the board, woods and saws: differences with intervals.

The board is the unit: walls of one board are sawn in one go and measured in one photo, so they are no independent
witnesses. What differs within a board is compared within it (then shared errors cancel) and averaged over boards; woods
and saws are compared between boards after Welch.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from service.practice.columns import Columns, Named
from service.practice.estimates import COMMON_SHARE, Estimate, difference_estimate, mean_estimate
from service.practice.say import plus_minus
from service.practice.series import ABS_LEAN, series_of
from vision.answer.words import Units

Floats = NDArray[np.float64]
Booleans = NDArray[np.bool_]
Topic = Literal["side", "position", "species", "saw"]

THIRDS = (("left third", 0.0, 1 / 3), ("middle third", 1 / 3, 2 / 3), ("right third", 2 / 3, 1.0 + 1e-9))
FEWEST = 3
"""Boards behind each side of a comparison."""
ALL_OTHERS = "all others"
POSITION_CAVEAT = "A card that is not parallel to the end fans the walls out in the same way."


@dataclass(frozen=True)
class Comparison:
    """How far `group` lies from `other` in `what`; among all comparisons made at once (`difference.comparisons`)."""

    topic: Topic
    group: str
    other: str
    what: str
    unit: str
    difference: Estimate
    caveat: str = ""

    def sentence(self, units: Units = "mm") -> str:
        """The difference, and whether it can be told from none."""
        told = plus_minus(self.difference.value, self.difference.simultaneous, self.unit, units)
        head = f"{self.what}, {self.group} less {self.other}: {told}"
        tail = "" if self.difference.firm else ", which may be chance"
        return f"{head}{tail}.{' ' + self.caveat if self.caveat and self.difference.firm else ''}"

    def to_dict(self) -> dict[str, Any]:
        """For a chart on a page; `half_width` holds for this comparison alone, `simultaneous` for all together."""
        difference = self.difference
        return {
            "topic": self.topic,
            "group": self.group,
            "other": self.other,
            "what": self.what,
            "unit": self.unit,
            "value": difference.value,
            "half_width": difference.half_width,
            "simultaneous": difference.simultaneous,
            "boards": list(difference.counts),
            "comparisons": difference.comparisons,
            "p": difference.p,
            "firm": difference.firm,
            "sentence": self.sentence(),
        }


def all_comparisons(columns: Columns) -> list[Comparison]:
    """Every comparison the boards can carry, each widened for their number (Bonferroni)."""
    found = [
        *_side(columns),
        *_positions(columns),
        *_between("species", columns, lambda board: board.species),
        *_between("saw", columns, lambda board: board.saw),
    ]
    return [replace(each, difference=each.difference.among(len(found))) for each in found]


def side_mean(columns: Columns, left: bool) -> Estimate | None:
    """Mean lean of all left (or right) walls, deg, over boards; None with fewer than three boards."""
    walls = columns.walls
    chosen = walls.left == left
    values, u = columns.mean_per_board(walls.lean_deg, chosen), columns.mean_per_board(walls.lean_u_deg, chosen)
    have = np.isfinite(values)
    return mean_estimate(values[have], u[have]) if have.sum() >= FEWEST else None


def _side(columns: Columns) -> list[Comparison]:
    """What the walls of a photo share cancels; what is left is at most what independent walls would have."""
    left = columns.walls.left
    u = np.sqrt(_variance_of_mean(columns, left) + _variance_of_mean(columns, ~left))
    difference = _within(columns, left, u, 0.0)
    return [Comparison("side", "left walls", "right walls", "Lean", "deg", difference)] if difference else []


def _positions(columns: Columns) -> list[Comparison]:
    """Each third of the board against the rest of it. A tilted card fans the walls out, wrong in opposite ways at the
    two ends, so the uncertainties of both add up as they are."""
    walls = columns.walls
    found = []
    for name, low, high in THIRDS:
        inside = (walls.position >= low) & (walls.position < high)
        u = sum(columns.mean_per_board(walls.lean_u_deg, mask) for mask in (inside, ~inside))
        if difference := _within(columns, inside, np.asarray(u), COMMON_SHARE):
            found.append(
                Comparison("position", name, "the rest of the board", "Lean", "deg", difference, POSITION_CAVEAT)
            )
    return found


def _within(columns: Columns, chosen: Booleans, u: Floats, common: float) -> Estimate | None:
    """Mean over boards of the difference, within each, between chosen walls and the others; (boards,) `u` of it."""
    leans = columns.walls.lean_deg
    differences = columns.mean_per_board(leans, chosen) - columns.mean_per_board(leans, ~chosen)
    have = np.isfinite(differences)
    return mean_estimate(differences[have], u[have], common=common) if have.sum() >= FEWEST else None


def _variance_of_mean(columns: Columns, chosen: Booleans) -> Floats:
    """(boards,) squared standard uncertainty of each board's mean over chosen walls with independent errors."""
    walls, number = columns.walls, columns.count
    count = np.bincount(walls.board, chosen.astype(float), minlength=number)
    total = np.bincount(walls.board, np.where(chosen, walls.lean_u_deg**2, 0.0), minlength=number)
    return np.divide(total, count**2, out=np.full(number, np.nan), where=count > 0)


def _between(topic: Topic, columns: Columns, key: Callable[[Named], str]) -> list[Comparison]:
    """Each group of boards against all others, in the size of their lean; boards without a word are left out."""
    words = np.array([key(board) for board in columns.boards], dtype=object)
    names = sorted({word for word in words if word})
    found = [_group_difference(topic, columns, words, name, names) for name in names]
    return [each for each in found if each][: 1 if len(names) == 2 else None]


def _group_difference(
    topic: Topic, columns: Columns, words: NDArray[np.object_], name: str, names: Sequence[str]
) -> Comparison | None:
    """One group against the rest, if both are large enough; of two groups the rest is the other one, by name."""
    own, rest = words == name, (words != name) & (words != "")
    if min(own.sum(), rest.sum()) < FEWEST:
        return None
    series = series_of(columns, ABS_LEAN)
    difference = difference_estimate(series.values[own], series.u[own], series.values[rest], series.u[rest])
    other = next(each for each in names if each != name) if len(names) == 2 else ALL_OTHERS
    return Comparison(topic, name, other, "Size of lean", "deg", difference)
