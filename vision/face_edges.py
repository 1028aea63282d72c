"""The two face edges of the end at the photo's own resolution, and where along them the end's surface reaches."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from calibration.outcome import refuse
from calibration.plane import PlaneMap
from vision.fit import LineFit, fit_line
from vision.strip import Frame, sample_grid, smooth

Floats = NDArray[np.float64]

SEARCH_MM = 1.8
"""How far off the coarse edge may be."""
COLUMN_MM = 0.3
_FINEST_PX_PER_MM = 20.0
_SLOPES = np.tan(np.radians(np.arange(-1.3, 1.301, 0.05)))
_BIN_MM = 0.04
_INLIER_MM = 0.10
_WEAKEST = 0.35
"""Least contrast of an edge point: change of light per mm over the light itself."""
_MOST_UNPARALLEL = np.tan(np.radians(0.4))
"""Slope by which the faces of a planed board, seen past a card a little out of plane, may differ."""
_RIVAL_SHARE = 0.6
"""A parallel edge at least this long, relative to the longest, may be the end's."""


@dataclass(frozen=True)
class EdgePoints:
    """Edge points across one face edge: `x`, `y` (n,) mm, and their polarity (+1: brighter below)."""

    x: Floats
    y: Floats
    polarity: Floats

    def taken(self, chosen: NDArray[np.bool_]) -> EdgePoints:
        """The points where `chosen` (n,) holds."""
        return EdgePoints(self.x[chosen], self.y[chosen], self.polarity[chosen])


@dataclass(frozen=True)
class FaceEdge:
    """One face edge: the fitted line y(x) in its search frame and the points that belong to it."""

    line: LineFit
    x: Floats
    y: Floats


def find_face_edge(
    rgb: NDArray[np.uint8],
    plane: PlaneMap,
    frame: Frame,
    half_mm: float,
    y_mm: float,
    *,
    polarity: int = 0,
    along: FaceEdge | None = None,
) -> FaceEdge:
    """The edge near y = `y_mm` of `frame`, within +-`half_mm` along x; `polarity` 0 accepts either.

    `along` keeps to the columns where the other face edge was seen. Raises CannotMeasure `no_board_end` when no
    straight edge is there.
    """
    points = _edge_points(rgb, plane, frame, half_mm, y_mm)
    if along is not None:
        points = points.taken(np.isin(np.rint(points.x / COLUMN_MM), np.rint(along.x / COLUMN_MM)))
    nadir_y = float(frame.from_plane(plane.nadir_mm[None])[0, 1])
    wanted = (polarity,) if polarity else (1, -1)
    lines = [line for sign in wanted for line in _straight_lines(points, y_mm, sign)]
    if not lines:
        raise refuse("no_board_end")
    if along is not None:
        lines = [line for line in lines if abs(line[2] - along.line.slope) < _MOST_UNPARALLEL] or lines
    longest = max(line[0] for line in lines)
    rivals = [line for line in lines if line[0] >= _RIVAL_SHARE * longest]
    _, offset, slope, sign = max(rivals, key=lambda line: abs(line[1] - nadir_y))
    return _fit(points, offset, slope, sign)


def _edge_points(
    rgb: NDArray[np.uint8], plane: PlaneMap, frame: Frame, half_mm: float, y_mm: float
) -> EdgePoints:
    unit = min(_FINEST_PX_PER_MM, plane.px_per_mm(frame.to_plane(np.array([[0.0, y_mm]]))[0]))
    fine = 3
    x = np.arange(-half_mm, half_mm, COLUMN_MM / fine)
    x = x[: len(x) // fine * fine]
    y = np.arange(y_mm - SEARCH_MM - 0.3, y_mm + SEARCH_MM + 0.3, 1.0 / unit)
    strip, inside = sample_grid(rgb, lambda points: plane.to_image(frame.to_plane(points)), x, y)
    light = strip.mean(axis=2).reshape(len(y), -1, fine).mean(axis=2)
    within = inside.reshape(len(y), -1, fine).all(axis=2)
    smoothed = smooth(np.maximum(light, 0.0), 0.06 * unit, 0)
    slope = np.gradient(smoothed, axis=0) * unit
    contrast = np.abs(slope) / (smooth(smoothed, 0.12 * unit, 0) + 0.01)
    return _local_extremes(np.where(within & (contrast > _WEAKEST), slope, 0.0), x.reshape(-1, fine).mean(axis=1), y)


def _local_extremes(slope: Floats, x: Floats, y: Floats) -> EdgePoints:
    """Extremes of the slope down each column, placed between rows by a parabola."""
    size = np.abs(slope)
    peak = (size[1:-1] >= size[:-2]) & (size[1:-1] > size[2:])
    rows, columns = np.nonzero(peak)
    before, at, after = size[rows, columns], size[rows + 1, columns], size[rows + 2, columns]
    shift = 0.5 * (before - after) / np.minimum(before - 2.0 * at + after, -1e-9)
    place = y[rows + 1] + shift * (y[1] - y[0])
    return EdgePoints(x[columns], place, np.sign(slope[rows + 1, columns]))


def _straight_lines(points: EdgePoints, y_mm: float, sign: int) -> list[tuple[float, float, float, int]]:
    """(length mm, offset mm, slope, polarity) of straight lines through the points, by a fine Hough transform."""
    chosen = points.polarity == sign
    x, y = points.x[chosen], points.y[chosen]
    bins = int(2 * SEARCH_MM / _BIN_MM)
    histogram = np.zeros((len(_SLOPES), bins))
    for index, slope in enumerate(_SLOPES):
        place = np.floor((y - slope * x - y_mm + SEARCH_MM) / _BIN_MM).astype(int)
        place = place[(place >= 0) & (place < bins)]
        histogram[index] = np.bincount(place, minlength=bins)
    wide = histogram.copy()
    wide[:, 1:] += histogram[:, :-1]
    wide[:, :-1] += histogram[:, 1:]
    best = wide.max(axis=0) * COLUMN_MM
    peaks = [i for i in range(1, bins - 1) if best[i] >= best[i - 1] and best[i] > best[i + 1] and best[i] > 8.0]
    offset = y_mm - SEARCH_MM + _BIN_MM * (np.arange(bins) + 0.5)
    return [(float(best[i]), float(offset[i]), float(_SLOPES[wide[:, i].argmax()]), sign) for i in peaks]


def _fit(points: EdgePoints, offset: float, slope: float, sign: int) -> FaceEdge:
    line = None
    for _ in range(4):
        distance = np.abs(points.y - offset - slope * points.x)
        near = (distance < _INLIER_MM) & (points.polarity == sign)
        line = fit_line(points.x[near], points.y[near])
        offset, slope = line.at(0.0), line.slope
    assert line is not None
    return FaceEdge(line, points.x[near], points.y[near])
