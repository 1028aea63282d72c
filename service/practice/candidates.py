"""What could be worth working on: every number that might be off, on one scale, before it is known which are firm."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

import numpy as np

from service.practice.columns import Columns
from service.practice.comparing import Comparison, all_comparisons, side_mean
from service.practice.estimates import Estimate, mean_estimate

Kind = Literal["left", "right", "spread", "position", "species", "saw"]

FEWEST = 3
SPREAD_WALLS = 4
"""Walls on a board from which their spread about the two sides' means can be told: two a side."""


@dataclass(frozen=True)
class Candidate:
    """A number that would be zero in perfect work, in degrees, and the comparison it comes from, if any."""

    kind: Kind
    estimate: Estimate
    comparison: Comparison | None = None

    def size_mm(self, thickness_mm: float) -> float:
        """How much of it is beyond doubt, as it shows over the thickness: the scale that all candidates share."""
        return thickness_mm * math.tan(math.radians(min(self.estimate.firm_size, 45.0)))


def candidates_of(columns: Columns) -> list[Candidate]:
    """All candidates that the boards can carry, each as one of so many comparisons; none with fewer than three."""
    if columns.count < FEWEST:
        return []
    found = [*_sides(columns), *_spread(columns), *_compared(columns)]
    return [Candidate(each.kind, each.estimate.among(len(found)), each.comparison) for each in found]


def _sides(columns: Columns) -> Iterator[Candidate]:
    for kind, left in (("left", True), ("right", False)):
        if estimate := side_mean(columns, left):
            yield Candidate("left" if kind == "left" else "right", estimate)


def _spread(columns: Columns) -> Iterator[Candidate]:
    """Mean spread of walls about their side's mean on the board, less what the measurement alone would make.

    The measurement's part is the root mean square of the walls' uncertainties: the most it can be.
    """
    walls = columns.walls
    means = [columns.mean_per_board(walls.lean_deg, walls.left == left) for left in (False, True)]
    off = walls.lean_deg - np.where(walls.left, means[1][walls.board], means[0][walls.board])
    number = np.bincount(walls.board, minlength=columns.count)
    squares = np.bincount(walls.board, off**2, minlength=columns.count)
    have = (number >= SPREAD_WALLS) & np.isfinite(squares)
    if have.sum() < FEWEST:
        return
    spreads = np.sqrt(squares[have] / (number[have] - 2))
    noise = math.sqrt(float((walls.lean_u_deg**2).mean()))
    estimate = mean_estimate(spreads, np.zeros(len(spreads)))
    left = max(estimate.value - noise, 0.0)
    yield Candidate("spread", Estimate(left, estimate.error, estimate.freedom, estimate.counts))


def _compared(columns: Columns) -> Iterator[Candidate]:
    """Places, woods and saws; left against right is told by the sides' own means."""
    for comparison in all_comparisons(columns):
        if comparison.topic != "side":
            yield Candidate(comparison.topic, comparison.difference, comparison)
