"""Whether the end is as sharp as the card, through whose edges it is measured."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from calibration.outcome import refuse
from calibration.plane import PlaneMap
from vision.end.find_walls import RoughWall
from vision.end.found_end import FoundEnd
from vision.photo.edge_profile import EdgeProfile
from vision.photo.strip import mean_light, sample_grid
from vision.walls.bands import INSET_MM, outward

Floats = NDArray[np.float64]

MOST_TIMES_SOFTER = 1.5
"""How much softer than the card's the end's sharpest kind of edge may be. In fifty photos in focus it was 0.7 to 1.15;
with twelve ends blurred by 0.04 to 0.25 mm, 97 % of the numbers lay inside U up to 1.1, 87 % up to 1.5, 82 % up to 2,
72 % beyond."""
_SHARPEST_PX = 1.5
"""Softness of a step that is sharper than the photo's pixels, once these are interpolated."""
_REACH_MM = 1.0
_PIECE_MM = 1.0
"""How far to either side of an edge light is looked at, and the length of it that is averaged: roughness is longer."""
_PAST_CORNER_MM = 1.0
_STEP_PX, _ALONG_PX = 0.5, 2.0
"""How far apart light is looked at across an edge and along it."""
_PLATEAU = 0.05
"""Share of an edge's steepest slope below which its light has come to rest."""
_CLEAR_STEP = 0.35
"""Step over the brighter side's light from which an edge is judged."""
_SHARPER_SHARE = 25.0
"""Percent of the pieces that may be sharper than what counts as the edge's softness: worn and rough ones are softer."""
_FEWEST_PIECES = 6


def check_end_in_focus(
    rgb: NDArray[np.uint8],
    plane: PlaneMap,
    end: FoundEnd,
    walls: Sequence[RoughWall],
    profile: EdgeProfile,
    px_per_mm: float,
) -> None:
    """Raises CannotMeasure `out_of_focus` when face edges and walls alike are much softer than the card's edges, whose
    `profile` is in px.

    One kind of edge that is as sharp is enough: the others may be worn, or hardly show. One that is softer is not.
    """
    across = np.arange(-_REACH_MM, _REACH_MM, _STEP_PX / px_per_mm)
    step = across[1] - across[0]
    card = max(float(softness(profile.scaled(1.0 / px_per_mm).step(across)[None], step)[0]), _SHARPEST_PX / px_per_mm)
    times = []
    for pieces in _edges(rgb, plane, end, walls, across, _ALONG_PX / px_per_mm):
        found = softness(pieces, step)
        found = found[~np.isnan(found)]
        if len(found) >= _FEWEST_PIECES:
            times.append(float(np.percentile(found, _SHARPER_SHARE)) / card)
            if times[-1] <= MOST_TIMES_SOFTER:
                return
    if len(times) > 1:
        softer = f"The card is sharp, but the edges of the end are {min(times):.1f} times as soft"
        raise refuse("out_of_focus", f"{softer}: a portrait mode does that, or an end that is not level with the card.")


def softness(pieces: Floats, step: float) -> Floats:
    """Height over steepest slope (n,), in the unit of `step`, of edges from dark to bright in rows of light (n, k).

    NaN where there is no clear edge.
    """
    slope = np.diff(pieces, axis=1) / step
    rows, columns = np.arange(len(slope)), np.arange(slope.shape[1])
    steepest = slope.argmax(axis=1)
    peak = slope[rows, steepest]
    rest = slope < _PLATEAU * peak[:, None]
    first = np.where(rest & (columns < steepest[:, None]), columns + 1, 0).max(axis=1)
    last = np.where(rest & (columns > steepest[:, None]), columns, len(columns)).min(axis=1)
    bright = pieces[rows, last]
    height = bright - pieces[rows, first]
    clear = (peak > 0.0) & (height > _CLEAR_STEP * bright)
    return np.where(clear, height / np.where(clear, peak, 1.0), np.nan)


def _edges(
    rgb: NDArray[np.uint8], plane: PlaneMap, end: FoundEnd, walls: Sequence[RoughWall], across: Floats, step: float
) -> Iterator[Floats]:
    """Light (pieces, k) across the show face's edge, the transfer face's, and the walls, each when it is asked for.

    It is looked at every `step` mm along them.
    """

    def seen(place: Callable[[Floats], Floats], along: Floats) -> Floats:
        if len(along) < (each := max(1, round(_PIECE_MM / step))):
            return np.empty((0, len(across)))
        strip, _ = sample_grid(rgb, lambda points: plane.to_image(end.frame.to_plane(place(points))), across, along)
        count = len(along) // each
        return np.asarray(mean_light(strip)[: count * each].reshape(count, each, -1).mean(axis=1), np.float64)

    def faces(level: float, inward: float) -> Floats:
        each = [np.arange(a + _PAST_CORNER_MM, b - _PAST_CORNER_MM, step) for a, b in end.runs]
        return np.concatenate([seen(lambda p: np.column_stack([p[:, 1], level + inward * p[:, 0]]), x) for x in each])

    def at(wall: RoughWall) -> Callable[[Floats], Floats]:
        return lambda p: np.column_stack(
            [wall.x_mm + wall.lean * (p[:, 1] - end.thickness / 2.0) - outward(wall) * p[:, 0], p[:, 1]]
        )

    yield faces(0.0, 1.0)
    yield faces(end.thickness, -1.0)
    rows = np.arange(INSET_MM, end.thickness - INSET_MM, step)
    yield np.concatenate([seen(at(wall), rows) for wall in walls])
