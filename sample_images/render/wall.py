"""The walls of the tails: where each runs on the end, exactly, and what a perfect instrument would report of it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d

from .params import Board, Params, Saw

STEP_MM = 0.04
SKIN_MM = 1.0
"""Left out of the fit at either face: arris wear and exit tear-out live there (the project's convention)."""

DRILL_SIDE_MM = 7.0
"""From the board's side to the first line of a drill."""

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Wall:
    """One wall. `x` (n,) is its true edge in the end plane at `y` (n,), `waste` (n,) the kerf's other edge, mm.

    `rough` and `waste_rough` (n,) are the parts of those due to roughness and tear-out, which fade below the end.
    """

    tail: int
    side: str
    nominal: float
    skew: float
    lean: float
    bow: float
    x_mid: float
    slope: float
    kerf: float
    y: Array
    x: Array
    waste: Array
    rough: Array
    waste_rough: Array

    @property
    def into_tail(self) -> int:
        """+1 where the tail lies at greater x (left walls), -1 at right walls."""
        return 1 if self.side == "left" else -1

    @property
    def ends(self) -> tuple[float, float]:
        """x at show and transfer face before bow, roughness and tear-out, mm."""
        run = np.tan(np.radians(self.lean)) * float(self.y[-1]) / 2
        return self.x_mid - run, self.x_mid + run


@dataclass(frozen=True)
class Fit:
    """Least squares through the true edge, SKIN_MM inside each face: degrees and mm."""

    lean: float
    x_show: float
    x_transfer: float
    zone: float


def fit(wall: Wall) -> Fit:
    """What a measurement of `wall` is to be compared with."""
    inside = (wall.y >= SKIN_MM - 1e-9) & (wall.y <= wall.y[-1] - SKIN_MM + 1e-9)
    y, x = wall.y[inside], wall.x[inside]
    run, x_show = np.polyfit(y, x, 1)
    return Fit(float(np.degrees(np.arctan(run))), float(x_show), float(x_show + run * wall.y[-1]), float(np.ptp(x)))


def walls(scene: Params) -> list[Wall]:
    """All walls of a board, left to right; the same seed gives the same walls.

    A drill's cuts count as left walls, the right edge of each kerf; the wood beyond the kerf stands as well.
    """
    rng = np.random.default_rng([scene.seed, 104729])
    if scene.drill:
        lines = zip(drill_lines(scene), scene.drill, strict=True)
        return [_sawn(scene, i, "left", x, rng, meant) for i, (x, meant) in enumerate(lines)]
    places = nominal_walls(scene.board)
    return [_sawn(scene, i // 2, ("left", "right")[i % 2], x, rng) for i, x in enumerate(places)]


def nominal_walls(board: Board) -> list[float]:
    """Where the layout lines stand, mm: tails share what half pins and pins leave of the width."""
    tail = (board.width - 2 * board.half_pin - (board.tails - 1) * board.pin) / board.tails
    starts = [board.half_pin + i * (tail + board.pin) for i in range(board.tails)]
    return [x for start in starts for x in (start, start + tail)]


def drill_lines(scene: Params) -> list[float]:
    """Where the lines of a drill's cuts stand, mm: evenly spaced."""
    return [float(x) for x in np.linspace(DRILL_SIDE_MM, scene.board.width - DRILL_SIDE_MM, len(scene.drill))]


def _sawn(scene: Params, tail: int, side: str, nominal: float, rng: np.random.Generator, meant: float = 0.0) -> Wall:
    """One wall along a line at `nominal` that leans by `meant` (deg)."""
    board, saw = scene.board, scene.saw
    into_tail = 1 if side == "left" else -1
    y = np.linspace(0, board.thickness, round(board.thickness / STEP_MM) + 1)
    lean, bow = meant + float(rng.normal(saw.lean_bias, saw.lean_sd)), float(rng.normal(0, saw.bow_sd))
    x_mid = nominal - into_tail * float(np.clip(rng.normal(0.1, saw.pos_sd), -0.15, 0.3))
    path = x_mid + np.tan(np.radians(lean)) * (y - board.thickness / 2) + bow * (1 - (2 * y / board.thickness - 1) ** 2)
    rough = roughness(y, saw, rng) + into_tail * _tearout(y, saw, rng)
    waste_rough = 0.5 * rough + roughness(y, saw, rng) - into_tail * _tearout(y, saw, rng)
    return Wall(
        tail,
        side,
        nominal,
        meant + float(rng.normal(0, scene.marks.pen_skew_sd)),
        lean,
        bow,
        x_mid,
        board.slope * float(rng.normal(1, 0.06)),
        board.kerf,
        y,
        path + rough,
        path - into_tail * board.kerf + waste_rough,
        rough,
        waste_rough,
    )


def roughness(y: Array, saw: Saw, rng: np.random.Generator) -> Array:
    """Saw-tooth and fibre roughness: two correlation lengths, 0.35 and 0.1 mm, rms `saw.rough`."""
    coarse = gaussian_filter1d(rng.normal(size=y.size), 0.35 / STEP_MM, mode="reflect")
    fine = gaussian_filter1d(rng.normal(size=y.size), 0.10 / STEP_MM, mode="reflect")
    shape = coarse / coarse.std() + 0.6 * fine / fine.std()
    return saw.rough * shape / shape.std()


def _tearout(y: Array, saw: Saw, rng: np.random.Generator) -> Array:
    """Wood lost from the edge (>= 0) in chips near the exit face, and a few small ones at the other."""
    lost = np.zeros_like(y)
    for face, count, size in ((y[-1], rng.poisson(2), 1.0), (0.0, rng.poisson(0.8), 0.4)):
        for _ in range(count):
            centre = face + (1 if face == 0 else -1) * abs(rng.normal(0, 0.45))
            depth = size * saw.tearout * rng.uniform(0.2, 1) * 0.6
            lost += depth * np.exp(-(((y - centre) / rng.uniform(0.12, 0.4)) ** 4))
    return lost
