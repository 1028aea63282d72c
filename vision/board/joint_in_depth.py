"""What the pins will do over the whole depth of their sockets, from the walls as surfaces.

The tail board's transfer face lies on the pin board's end while the pins are scribed, so a pin gets the outline that
its socket has there: from x_L(T, z) to x_R(T, z) at every depth z. It is sawn square down from that outline, so driven
home it has the same outline at every y across the tail board's thickness T. Wood then overlaps by
x_L(y, z) - x_L(T, z) on the left and x_R(T, z) - x_R(y, z) on the right; negative is a gap. Slopes cancel, twist does
not. The rest is as at the end (`seating`), with one dimension more.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from calibration.quantity import Quantity, combine
from vision.board.walls import BoardShape
from vision.end.report import Wall
from vision.joint.overlap_place import overlap_of, together
from vision.joint.seating import Limits, Prediction, Socket, predict_seating
from vision.joint.settling import gap_and_squeeze, wall_signs

Floats = NDArray[np.float64]

SLICES = 5
"""Depths that a socket is told at, from the end to the baseline, both among them."""


@dataclass(frozen=True)
class Slice:
    """A socket at one depth, once the boards have settled: its taper, gap at the show face and squeeze, in mm."""

    depth_mm: float
    taper: Quantity
    gap_mm: float
    squeeze_mm: float


@dataclass(frozen=True)
class SqueezePlace:
    """The middle of the wood that overlaps: mm from the show face and from the end."""

    from_show_mm: float
    depth_mm: float


@dataclass(frozen=True)
class DeepSocket:
    """A socket over its depth. `socket` holds the worst anywhere; `squeezed_at` is None where nothing overlaps."""

    socket: Socket
    slices: tuple[Slice, ...]
    squeezed_at: SqueezePlace | None

    @property
    def gap_depth_mm(self) -> float:
        """The depth at which the gap at the show face is widest: that of the end or of the baseline."""
        return max(self.slices, key=lambda one: one.gap_mm).depth_mm


@dataclass(frozen=True)
class DeepPrediction:
    """What the pins will do: the prediction for the board and every socket over its depth."""

    prediction: Prediction
    sockets: tuple[DeepSocket, ...]


def predict_in_depth(
    shape: BoardShape,
    seen: Sequence[Wall],
    *,
    species: str | None = None,
    limits: Limits | None = None,
    rng: np.random.Generator | None = None,
) -> DeepPrediction:
    """What the pins scribed from this board will do over the depth of their sockets.

    `seen` are the walls as the end shows them. Raises ValueError as `predict_seating` does, and for a tail without
    width at the baseline.
    """
    _check_tails(shape)
    prediction = predict_seating(
        shape.end_walls(seen),
        shape.width,
        shape.thickness,
        species=species,
        limits=limits,
        socket_depth_mm=shape.depth.value,
        roots=root_overlaps(shape),
        rng=rng,
    )
    profile = _Profile.of(shape, prediction.settle_mm)
    return DeepPrediction(prediction, tuple(_deep(socket, shape, profile) for socket in prediction.sockets))


def root_overlaps(shape: BoardShape) -> list[Quantity]:
    """Each wall's overlap at the show face at the sockets' bottom (mm), what is open about the depth included."""
    depth_error = shape.depth - shape.depth.value
    overlaps = []
    for wall in shape.walls:
        end, root = wall.overlap_at(0.0), wall.overlap_at(wall.depth_mm)
        overlaps.append(root + depth_error.scaled((root.value - end.value) / wall.depth_mm))
    return overlaps


@dataclass(frozen=True)
class _Profile:
    """The settled joint by depth: depths (n,), overlaps at the show face (n, walls), pushes (walls,), all in mm."""

    depths: Floats
    overlaps: Floats
    pushes: Floats
    gaps: Floats
    squeezes: Floats

    @classmethod
    def of(cls, shape: BoardShape, shift_mm: float) -> _Profile:
        depths = np.linspace(0.0, shape.depth.value, SLICES)
        overlaps = np.array([[wall.overlap_at(depth).value for wall in shape.walls] for depth in depths])
        gaps, squeezes = gap_and_squeeze(overlaps.T, shift_mm)
        return cls(depths, overlaps, wall_signs(len(shape.walls)) * shift_mm, gaps.T, squeezes.T)


def _deep(socket: Socket, shape: BoardShape, profile: _Profile) -> DeepSocket:
    index = socket.index
    slices = tuple(
        Slice(float(depth), taper_at(shape, index, float(depth)), float(gaps[index]), float(squeezes[index]))
        for depth, gaps, squeezes in zip(profile.depths, profile.gaps, profile.squeezes, strict=True)
    )
    return DeepSocket(socket, slices, _place(index, shape, profile))


def taper_at(shape: BoardShape, index: int, depth_mm: float) -> Quantity:
    """Width at show less width at transfer face of socket `index` at a depth, mm; the board's sides are square."""
    return combine([(-1.0, shape.walls[wall].overlap_at(depth_mm)) for wall in _bounds(index, len(shape.walls))])


def _place(index: int, shape: BoardShape, profile: _Profile) -> SqueezePlace | None:
    """The middle of the wood that overlaps at the walls of socket `index`."""
    ends, roots = profile.overlaps[0], profile.overlaps[-1]
    walls = _bounds(index, len(shape.walls))
    whole = together(overlap_of(float(ends[k]), float(roots[k]), float(profile.pushes[k])) for k in walls)
    if not whole.mean_mm > 0.0:
        return None
    return SqueezePlace((1.0 - whole.height) * shape.thickness.value, whole.depth * shape.depth.value)


def _bounds(index: int, walls: int) -> list[int]:
    """Indices of the one or two walls of socket `index`."""
    return [wall for wall in (2 * index - 1, 2 * index) if 0 <= wall < walls]


def _check_tails(shape: BoardShape) -> None:
    """Raise ValueError where a tail has come to a point before the baseline."""
    for left, right in zip(shape.walls[0::2], shape.walls[1::2], strict=True):
        if any(b.value <= a.value for a, b in zip(left.corners, right.corners, strict=True)):
            raise ValueError(f"tail {left.tail} must have a width greater than zero from end to baseline")
