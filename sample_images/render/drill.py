"""A drill board: a row of practice cuts in a scrap's end in place of tails, and what is true of each."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from .params import Params
from .wall import Wall, fit


def drilled(scene: Params, meant: tuple[float, ...]) -> Params:
    """The scene with practice cuts meant to lean by `meant` (deg) in place of its tails, straight down, waste in."""
    board = replace(scene.board, stage="sawn", slope=0.0, tails=0)
    return replace(scene, board=board, marks=replace(scene.marks, hatch=False), drill=meant)


def true_cut(number: int, wall: Wall, meant: float) -> dict[str, Any]:
    """One cut of the truth file, counted from 1: both edges of its kerf as fitted, and the line midway."""
    right, left = fit(wall), fit(replace(wall, x=wall.waste))
    return {
        "number": number,
        "meant": meant,
        "lean": (left.lean + right.lean) / 2,
        "lean_left": left.lean,
        "lean_right": right.lean,
        "x_show": (left.x_show + right.x_show) / 2,
        "x_transfer": (left.x_transfer + right.x_transfer) / 2,
        "bow": wall.bow,
        "kerf": (right.x_show + right.x_transfer - left.x_show - left.x_transfer) / 2,
    }
