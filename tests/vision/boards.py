"""Tail boards made of exact or uncertain walls, for the tests."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import accumulate

import numpy as np

from calibration.quantity import Quantity, Source
from vision.end.report import Wall

THICKNESS_MM = 19.0


def wall(number: int, x_transfer_mm: float, into_mm: float, u_mm: float = 0.0, datum_mm: float = 0.0) -> Wall:
    """Wall `number` from the left, `into_mm` in the socket at the show face.

    `u_mm` is the standard uncertainty of its own line, `datum_mm` that of the datum it shares with all walls.
    """
    side = "left" if number % 2 == 0 else "right"
    sign = 1.0 if side == "left" else -1.0
    parts = {Source("wall edge", f"{number}"): u_mm, Source("datum"): datum_mm}
    out = Quantity(sign * into_mm, {source: part for source, part in parts.items() if part})
    x_transfer = Quantity(x_transfer_mm)
    lean = math.degrees(math.atan(out.value / THICKNESS_MM))
    return Wall(number // 2, side, Quantity(lean, {}, "deg"), x_transfer - out, x_transfer, out, abs(into_mm), 0.6)


def board(
    into_mm: Sequence[float],
    u_mm: float = 0.0,
    datum_mm: float = 0.0,
    half_mm: float = 7.0,
    pin_mm: float = 8.0,
    tail_mm: float = 20.0,
) -> tuple[list[Wall], Quantity]:
    """Walls from left to right, reaching `into_mm` into their sockets at the show face, and the board's width."""
    steps = [half_mm, *(tail_mm if number % 2 == 0 else pin_mm for number in range(len(into_mm) - 1))]
    walls = [
        wall(number, x, into, u_mm, datum_mm)
        for number, (x, into) in enumerate(zip(accumulate(steps), into_mm, strict=True))
    ]
    return walls, Quantity(sum(steps) + half_mm)


def random_board(rng: np.random.Generator, into_mm: float = 0.2) -> tuple[list[Wall], Quantity]:
    """Two to five tails with walls off square by up to `into_mm` either way, exact."""
    walls = 2 * int(rng.integers(2, 6))
    return board(rng.uniform(-into_mm, into_mm, walls), pin_mm=rng.uniform(4, 12), tail_mm=rng.uniform(10, 30))


def mirrored(walls: Sequence[Wall], width: Quantity) -> list[Wall]:
    """The same board seen from the other side: x runs from the right edge."""
    tails = len(walls) // 2
    return [
        Wall(
            tails - 1 - one.tail,
            "right" if one.side == "left" else "left",
            -one.lean,
            width - one.x_show,
            width - one.x_transfer,
            -one.out_of_square,
            one.squareness_zone_mm,
            one.kerf_mm,
            one.flags,
        )
        for one in reversed(walls)
    ]
