"""Tail boards with walls in three dimensions, and what their end and faces show of them, for the tests."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from calibration.quantity import Quantity, Source
from tests.vision.boards import THICKNESS_MM
from vision.board.walls import BoardShape, BoardWall
from vision.end.report import CardView, Measurement, Side, Wall
from vision.face.report import Baseline, FaceKerf, FaceMeasurement, FaceView

Floats = NDArray[np.float64]

DEPTH_MM = 16.0
SLOPE = 1 / 7
CARD = CardView("short", 33, 0.05)


@dataclass(frozen=True)
class TrueBoard:
    """A board by the true corners of its walls, (walls, 4) in `BoardWall`'s order, mm."""

    corners: Floats
    width_mm: float
    depth_mm: float = DEPTH_MM
    thickness_mm: float = THICKNESS_MM

    def side(self, number: int) -> Side:
        return "left" if number % 2 == 0 else "right"

    def shape(self) -> BoardShape:
        """The board known exactly."""
        walls = tuple(
            BoardWall(n // 2, self.side(n), _exact(row), self.depth_mm, self.thickness_mm)
            for n, row in enumerate(self.corners)
        )
        sizes = (Quantity(size) for size in (self.width_mm, self.thickness_mm, self.depth_mm))
        return BoardShape(walls, *sizes)

    def end_walls(self) -> list[Wall]:
        """The walls at the end, exact."""
        return [_wall(n, self.side(n), Quantity(row[0]), Quantity(row[1])) for n, row in enumerate(self.corners)]


def _exact(row: Sequence[float]) -> tuple[Quantity, Quantity, Quantity, Quantity]:
    a, b, c, d = (Quantity(float(x)) for x in row)
    return a, b, c, d


def true_board(
    into_mm: Sequence[float],
    twist_mm: Sequence[float],
    slopes: Sequence[float] | None = None,
    pin_mm: float = 8.0,
    tail_mm: float = 26.0,
    half_mm: float = 7.0,
) -> TrueBoard:
    """Walls reaching `into_mm` into their sockets at the show face at the end, `twist_mm` more at the baseline."""
    count = len(into_mm)
    steps = [half_mm, *(tail_mm if n % 2 == 0 else pin_mm for n in range(count - 1))]
    sign = np.where(np.arange(count) % 2 == 0, 1.0, -1.0)
    end, run = np.cumsum(steps), sign * np.asarray(slopes if slopes is not None else [SLOPE] * count) * DEPTH_MM
    out = sign * np.asarray(into_mm)
    root_out = out + sign * np.asarray(twist_mm)
    corners = np.stack([end - out, end, end + run - root_out, end + run], axis=1)
    return TrueBoard(corners, float(sum(steps) + half_mm))


def random_true_board(rng: np.random.Generator, into_mm: float = 0.2, twist_mm: float = 0.2) -> TrueBoard:
    """Two to five tails with random leans, twists and slopes from 1:8 to 1:5."""
    count = 2 * int(rng.integers(2, 6))
    return true_board(
        rng.uniform(-into_mm, into_mm, count),
        rng.uniform(-twist_mm, twist_mm, count),
        rng.uniform(1 / 8, 1 / 5, count),
        pin_mm=rng.uniform(4.0, 12.0),
        tail_mm=rng.uniform(16.0, 30.0),
    )


@dataclass(frozen=True)
class Errors:
    """Standard uncertainties of what is measured, mm and run over rise; `rng` draws the errors (None: none made)."""

    place_mm: float = 0.02
    shared_mm: float = 0.03
    slope: float = 0.003
    rng: np.random.Generator | None = None
    drawn: dict[Source, float] = field(default_factory=dict)

    def seen(self, value: float, parts: dict[Source, float], view: str, unit: str = "mm") -> Quantity:
        """The value as seen: every source errs once in a view, by as much as it is drawn."""
        error = sum(part * self._error(source, view) for source, part in parts.items())
        return Quantity(value + error, parts, unit)

    def _error(self, source: Source, view: str) -> float:
        if self.rng is None:
            return 0.0
        key = Source(source.cause, source.instance + view)
        return self.drawn.setdefault(key, float(self.rng.normal()))


def end_measurement(board: TrueBoard, errors: Errors | None = None) -> Measurement:
    """What the end shows."""
    errors = errors or Errors()
    walls = [
        _wall(n, board.side(n), *(_end_x(board, errors, n, corner) for corner in (0, 1)))
        for n in range(len(board.corners))
    ]
    width = errors.seen(board.width_mm, {Source("board side", "left"): -0.02, Source("board side", "right"): 0.02}, "e")
    thickness = Quantity(board.thickness_mm, {Source("face edges", "thickness"): 0.02})
    tilt = Quantity(2.0, {}, "deg")
    return Measurement("sawn", 18.0, tilt, CARD, width, thickness, tuple(walls), lambda points: points)


def _end_x(board: TrueBoard, errors: Errors, number: int, corner: int) -> Quantity:
    own = Source("wall edge place", f"{number} {corner}")
    parts = {own: errors.place_mm, Source("board side", "left"): -errors.shared_mm}
    return errors.seen(float(board.corners[number, corner]), parts, "e")


def face_measurement(board: TrueBoard, view: FaceView, errors: Errors | None = None) -> FaceMeasurement:
    """What one face shows."""
    errors = errors or Errors()
    kerfs = tuple(_kerf(board, view, errors, n) for n in range(len(board.corners)))
    width = errors.seen(board.width_mm, {Source("board side", "right"): 0.02}, view)
    depth = Quantity(board.depth_mm, {Source("baseline"): 0.05})
    baseline = Baseline(depth, depth, Quantity(0.0, {}, "deg"), 0.05, 0.2)
    tilt = Quantity(3.0, {}, "deg")
    return FaceMeasurement(view, "sawn", 17.0, tilt, CARD, width, baseline, kerfs, lambda points: points)


def _kerf(board: TrueBoard, view: FaceView, errors: Errors, number: int) -> FaceKerf:
    corner = 0 if view == "show" else 1
    end, root = (float(board.corners[number, at]) for at in (corner, corner + 2))
    side = board.side(number)
    place = {Source("kerf line", str(number)): errors.place_mm, Source("board side", "left"): -errors.shared_mm}
    run = (root - end) / board.depth_mm * (1.0 if side == "left" else -1.0)
    slope = errors.seen(run, {Source("kerf direction", str(number)): errors.slope}, view, "")
    degrees = Quantity(math.degrees(math.atan(slope.value)), {}, "deg")
    stop, past = Quantity(board.depth_mm), Quantity(0.0)
    x = errors.seen(end, place, view)
    return FaceKerf(number // 2, side, x, slope, degrees, stop, past, "at the baseline", 0.6)


def _wall(number: int, side: Side, x_show: Quantity, x_transfer: Quantity) -> Wall:
    out = x_transfer - x_show
    lean = Quantity(math.degrees(math.atan(out.value / THICKNESS_MM)), {}, "deg")
    return Wall(number // 2, side, lean, x_show, x_transfer, out, abs(out.value), 0.6)


def moved_face(face: FaceMeasurement, by_mm: float, *walls: int) -> FaceMeasurement:
    """The face with some of its kerfs (all: none named) moved along x."""
    kerfs = [
        replace(kerf, x_at_end=kerf.x_at_end + by_mm) if not walls or number in walls else kerf
        for number, kerf in enumerate(face.kerfs)
    ]
    return replace(face, kerfs=tuple(kerfs))
