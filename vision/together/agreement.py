"""Whether photos of one end agree, by chi-square of all numbers and of each kind of number, and who is the odd one.

A photo is left out only on firm evidence, and only where at least two others agree without it.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from calibration.quantity import COVERAGE_FACTOR
from vision.together.combine import Deviation, Floats, Stack, deviation

FIRM = 1e-4
"""Probability below which photos firmly disagree: one honest pair in ten thousand."""
DOUBT = 0.01
"""Probability above which photos agree well enough to vouch for each other."""
FEWEST_TO_AGREE = 2
"""As many photos must agree without one that is left out."""
MOST_LEFT_OUT = 3
"""A set with more wrong photos than this is better taken anew."""
WIDTH, THICKNESS, SIDE = "width", "thickness", "left side"


@dataclass(frozen=True)
class Difference:
    """One kind of number in which a photo differs from the others, by how much and with which U, mm.

    `what` is `lean` or `place` of `wall` (its index), or `width`, `thickness`, or the board's `left side`.
    """

    what: str
    by_mm: float
    u95_mm: float
    wall: int | None = None


def contrasts(walls: int) -> tuple[list[tuple[str, int | None]], Floats]:
    """Kinds of numbers in which photos can differ, and their weights (kinds, 2 + 2 walls) on an end's numbers.

    An end's numbers are width, thickness, then every wall's x at the show and at the transfer face. Places count from
    the mean of all walls, whose own place is that of the board's left side.
    """
    kinds: list[tuple[str, int | None]] = [(WIDTH, None), (THICKNESS, None), (SIDE, None)]
    rows = [*np.eye(2, 2 + 2 * walls), np.concatenate([[0.0, 0.0], np.full(2 * walls, 0.5 / walls)])]
    for wall in range(walls):
        lean, place = np.zeros((2, 2 + 2 * walls))
        lean[2 + 2 * wall], lean[3 + 2 * wall] = -1.0, 1.0
        place[2 + 2 * wall : 4 + 2 * wall] = 0.5
        kinds += [("lean", wall), ("place", wall)]
        rows += [lean, place - rows[2]]
    return kinds, np.array(rows)


def agreement(stack: Stack) -> float:
    """Probability that measurements differ as much as these do: by all numbers, or by the one that differs most.

    Both tests together count for twice their smaller probability, each number for as many as there are (Bonferroni).
    """
    if len(stack.values) < 2:
        return 1.0
    by_one = min(_probabilities(stack, row).min() for row in range(len(stack.values)))
    tests = len(stack.values) * (3 + stack.values.shape[1] - 2)
    return min(1.0, 2.0 * min(stack.scatter().probability, tests * float(by_one)))


def _scores(stack: Stack, row: int) -> tuple[Floats, Floats]:
    """Differences of one measurement from the others by kind (kinds,), mm, and their standard uncertainties."""
    _, weights = contrasts((stack.values.shape[1] - 2) // 2)
    values, parts = stack.difference(row)
    return weights @ values, np.asarray(np.linalg.norm(weights @ parts, axis=1))


def _probabilities(stack: Stack, row: int) -> Floats:
    differences, u = _scores(stack, row)
    return np.array([math.erfc(abs(d) / s / math.sqrt(2.0)) for d, s in zip(differences, u, strict=True)])


def differences(stack: Stack, row: int) -> tuple[Difference, ...]:
    """In what one measurement differs from all others beyond doubt, the surest first."""
    kinds, _ = contrasts((stack.values.shape[1] - 2) // 2)
    values, u = _scores(stack, row)
    chances = _probabilities(stack, row) * len(kinds)
    surest = [index for index in np.argsort(-np.abs(values) / u) if chances[index] < DOUBT]
    return tuple(
        Difference(kinds[index][0], float(values[index]), COVERAGE_FACTOR * float(u[index]), kinds[index][1])
        for index in surest
    )


def against_the_rest(stack: Stack, row: int) -> Deviation:
    """Chi-square of one measurement against the estimate from all others."""
    return deviation(*stack.difference(row))


def odd_ones_out(stack: Stack) -> tuple[list[int], list[int]]:
    """Rows that are kept and rows that are left out.

    When all firmly disagree, the fewest are left out without which the others agree, each of them firmly at odds with
    those. When there is no such choice, or more than one, nobody can tell who is wrong, and all stay.
    """
    rows = range(len(stack.values))
    if agreement(stack) >= FIRM:
        return list(rows), []
    for count in range(1, 1 + min(MOST_LEFT_OUT, len(rows) - FEWEST_TO_AGREE)):
        choices = [out for out in itertools.combinations(rows, count) if _explains(stack, out)]
        if choices:
            out = choices[0] if len(choices) == 1 else ()
            return [row for row in rows if row not in out], list(out)
    return list(rows), []


def _explains(stack: Stack, out: Sequence[int]) -> bool:
    """Whether the others agree without the rows `out`, and with none of them."""
    rest = [row for row in range(len(stack.values)) if row not in out]
    vouched = agreement(stack.only(rest)) >= DOUBT
    return vouched and all(agreement(stack.only([*rest, row])) < FIRM for row in out)
