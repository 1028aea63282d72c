"""How an invented student saws: a bias of each side and a scatter, both changing from the first board to the last."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

Span = tuple[float, float]
"""At the first board and at the last."""
TAIL_SHARE = 0.6
"""Of the pitch; the rest is a pin's."""
WANDER_MM = 0.4
"""How far a line was laid out beside its even place."""


@dataclass(frozen=True)
class Habit:
    """Mean lean of left and right walls and the scatter of single walls, degrees; `boards_deg` moves whole boards."""

    left_deg: Span
    right_deg: Span
    walls_deg: Span
    boards_deg: float = 0.08

    @classmethod
    def from_table(cls, table: Mapping[str, Any]) -> Habit:
        """From a table of the school's file."""
        return cls(_span(table["left_deg"]), _span(table["right_deg"]), _span(table["walls_deg"]))


def leans_deg(habit: Habit, progress: float, tails: int, rng: np.random.Generator) -> tuple[float, ...]:
    """Leans of the walls of one board, from the left; `progress` runs from 0 to 1."""
    sides = np.tile([_at(habit.left_deg, progress), _at(habit.right_deg, progress)], tails)
    found = sides + rng.normal(0.0, _at(habit.walls_deg, progress), 2 * tails) + rng.normal(0.0, habit.boards_deg)
    return tuple(found.tolist())


def cut_leans_deg(habit: Habit, progress: float, cuts: int, rng: np.random.Generator) -> tuple[float, ...]:
    """The same of practice cuts that are meant to be square: without a side, they lean as both sides do on average."""
    usual = (_at(habit.left_deg, progress) + _at(habit.right_deg, progress)) / 2.0
    found = usual + rng.normal(0.0, _at(habit.walls_deg, progress), cuts) + rng.normal(0.0, habit.boards_deg)
    return tuple(found.tolist())


def cut_places_mm(width_mm: float, cuts: int) -> tuple[float, ...]:
    """Where practice cuts are made, as far from one another as from the board's sides."""
    return tuple((width_mm * (np.arange(cuts) + 1.0) / (cuts + 1.0)).tolist())


def places_mm(width_mm: float, tails: int, rng: np.random.Generator) -> tuple[float, ...]:
    """Where the walls were laid out, from the left, half-way through the board."""
    pitch = width_mm / tails
    middles = (np.arange(tails) + 0.5) * pitch
    walls = np.column_stack([middles - TAIL_SHARE * pitch / 2.0, middles + TAIL_SHARE * pitch / 2.0]).ravel()
    return tuple((walls + rng.uniform(-WANDER_MM, WANDER_MM, len(walls))).tolist())


def _span(ends: Sequence[float]) -> Span:
    first, last = ends
    return float(first), float(last)


def _at(span: Span, progress: float) -> float:
    """Slow at first and in the end: between them somebody has understood something."""
    return span[0] + (span[1] - span[0]) * progress**2 * (3.0 - 2.0 * progress)
