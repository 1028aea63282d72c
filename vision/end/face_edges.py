"""The two face edges of the end at the photo's own resolution, and where along them the end's surface reaches."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from calibration.outcome import refuse
from calibration.plane import PlaneMap
from vision.photo.strip import FINEST_PX_PER_MM, Frame, Tone, mean_light, sample_grid, smooth
from vision.walls.fit import LineFit, fit_line

Floats = NDArray[np.float64]
Light = NDArray[np.float32]

SEARCH_MM = 1.8
"""How far off the coarse edge may be."""
COLUMN_MM = 0.3
_SLOPES = np.tan(np.radians(np.arange(-1.3, 1.301, 0.05)))
_BIN_MM = 0.04
_INLIER_MM, _ALONE_MM = 0.10, 0.04
"""How far points may be off their edge, and off one that another edge lies a hair from."""
_MIXED_MM = 0.035
"""Scatter of points about a line from which they may be those of two edges."""
_WEAKEST = 0.35
"""Least contrast of an edge point: change of light per mm over the light itself."""
_LINE_MM, _PAST_EDGE_MM, _FALLS_BACK = 0.9, 0.25, 0.4
"""Widest light line of a mat; how far beside an edge its own blur reaches; how far light falls back beyond a line, as a
share of its rise."""
_MOST_UNPARALLEL = np.tan(np.radians(0.3))
"""Slope by which the faces of a planed board, seen past a card a little out of plane, may differ."""
_UNPARALLEL_SPREAD = np.tan(np.radians(0.12))
_BLURRED_MM = 0.2
"""How far off an edge may be as seen in a colour: files keep colour less sharply than light."""
_FEWEST_POINTS = 30
"""Points, one a column, that tell an edge's direction at least."""
_RIVALS = 6
_RIVAL_SHARE = 0.5
"""A parallel edge at least this long, relative to the longest, may be the end's."""
_MOST_SHARED = 0.3
"""Share of columns that two edges of one board at two depths, tails and floors, may have in common by chance."""
_ABOUT_SHARE = 0.8
"""Share of an edge's columns beyond the ends of another one that makes it what lies about the board."""


class EdgePoints(NamedTuple):
    """Edge points across one face edge: `x`, `y` (n,) mm, and their polarity (+1: brighter below).

    They were looked for within +-`reach_mm` of the coarse edge.
    """

    x: Floats
    y: Floats
    polarity: Floats
    reach_mm: float

    def taken(self, chosen: NDArray[np.bool_]) -> EdgePoints:
        """The points where `chosen` (n,) holds."""
        return EdgePoints(self.x[chosen], self.y[chosen], self.polarity[chosen], self.reach_mm)


class _HoughLine(NamedTuple):
    """A line y = offset + slope x, its length (mm) and its points' polarity."""

    length: float
    offset: float
    slope: float
    polarity: int


class FaceEdge(NamedTuple):
    """One face edge: the fitted line y(x) in its search frame and the points that belong to it."""

    line: LineFit
    x: Floats
    y: Floats

    def between(self, left: float, right: float) -> FaceEdge:
        """The edge by its points from `left` to `right` mm alone; as it is where hardly any lie there."""
        within = (self.x > left) & (self.x < right)
        if within.sum() < _FEWEST_POINTS:
            return self
        return FaceEdge(fit_line(self.x[within], self.y[within]), self.x[within], self.y[within])


def find_face_edges(
    rgb: NDArray[np.uint8],
    plane: PlaneMap,
    frame: Frame,
    half_mm: float,
    y_mm: float,
    *,
    inner_mm: float | None = None,
    polarity: int = 0,
    along: FaceEdge | None = None,
    reach_mm: float = SEARCH_MM,
    tone: Tone = mean_light,
    about: LineFit | None = None,
    ruled: bool = False,
) -> list[FaceEdge]:
    """The edge within `reach_mm` of y = `y_mm` of `frame`, +-`half_mm` along x; `polarity` 0 accepts either.

    Of several good edges it is the end's own, as told by `inner_mm`, a place inside the surface; without one it is the
    best. After it comes the best where that one runs in another direction: one of the two is no edge of the board's.
    `along` keeps to the columns where the other face edge was seen, and to its direction, `about` to a line as another
    tone of the light shows it; light lines are no edges on a bench that is `ruled`. Raises CannotMeasure `no_board_end`
    when no straight edge is there.
    """
    if half_mm < COLUMN_MM:
        raise refuse("no_board_end")
    points = _edge_points(rgb, plane, frame, half_mm, y_mm, reach_mm, tone, ruled)
    if along is not None:
        points = points.taken(np.isin(np.rint(points.x / COLUMN_MM), np.rint(along.x / COLUMN_MM)))
    if about is not None:
        points = points.taken(np.abs(about.residuals(points.x, points.y)) < _BLURRED_MM)
    edges = straight_edges(points, y_mm, (polarity,) if polarity else (1, -1), along)
    if not edges:
        raise refuse("no_board_end")
    worth, best = max(edges, key=lambda edge: edge[0])
    chosen = best
    if inner_mm is not None:
        rivals = [edge for each, edge in edges if each >= _RIVAL_SHARE * worth]
        chosen = _end_edge(_of_the_board(rivals), inner_mm, float(frame.from_plane(plane.nadir_mm[None])[0, 1]))
    apart = abs(chosen.line.slope - best.line.slope) > _MOST_UNPARALLEL
    found = [chosen, best] if apart else [chosen]
    return [FaceEdge(fit_line(edge.x, edge.y), edge.x, edge.y) for edge in found]


def shared_columns(one: FaceEdge, other: FaceEdge) -> float:
    """Share of the shorter edge's columns in which the longer one is seen as well."""
    columns, others = (np.unique(np.rint(edge.x / COLUMN_MM)) for edge in (one, other))
    return len(np.intersect1d(columns, others)) / min(len(columns), len(others))


def _of_the_board(rivals: list[FaceEdge]) -> list[FaceEdge]:
    """Those that do not lie about another one, as the line of a mat does that goes on to either side of the board."""
    own = [edge for edge in rivals if not any(_lies_about(edge, other) for other in rivals)]
    return own or rivals


def _lies_about(one: FaceEdge, other: FaceEdge) -> bool:
    first, last = np.quantile(other.x, (0.05, 0.95))
    beyond = (one.x < first) | (one.x > last)
    return float(beyond.mean()) > _ABOUT_SHARE


def _end_edge(rivals: list[FaceEdge], inner_mm: float, nadir_y: float) -> FaceEdge:
    """The end's own among parallel edges.

    Two edges in the same columns are the end's and that of something beyond it: the inner one is the end's. Two edges
    in different columns are one edge of the board at two depths, tails' ends and sockets' floors: what lies deeper is
    drawn toward `nadir_y`, the place below the camera, so the one farther from it is the end's.
    """
    first, *others = sorted(rivals, key=lambda edge: abs(edge.line.level - inner_mm))
    for other in others:
        higher = abs(other.line.level - nadir_y) > abs(first.line.level - nadir_y)
        if higher and shared_columns(first, other) < _MOST_SHARED:
            first = other
    return first


def straight_edges(
    points: EdgePoints, y_mm: float, signs: tuple[int, ...], along: FaceEdge | None
) -> list[tuple[float, FaceEdge]]:
    """The longest straight edges of these polarities about y = `y_mm`, with what each is worth.

    That is its length beyond chance (mm), less for a straggling one and one hardly parallel to the face `along`.
    """
    chance = _chance_length(points)
    lines = [line for sign in signs for line in _straight_lines(points, y_mm, sign)]
    shares = [1.0 if along is None else _parallel_share(line, along) for line in lines]
    expected = [share * line.length - chance for share, line in zip(shares, lines, strict=True)]
    order = np.argsort(expected)[::-1][:_RIVALS]
    fitted = [_fitted(points, lines[i], shares[i], chance) for i in order if expected[i] > 0.0]
    return [found for found in fitted if found is not None and found[0] > 0.0]


def _fitted(points: EdgePoints, line: _HoughLine, share: float, chance: float) -> tuple[float, FaceEdge] | None:
    """A line's worth and its edge; of two edges a hair apart the better one, if it is worth more than both as one.

    None where the points leave the line as it settles.
    """
    edge = _fit(points, line, _INLIER_MM)
    if edge is None:
        return None
    worth = (share * line.length - chance) * straightness(edge)
    if edge.line.scatter > _MIXED_MM:
        alone = _fit(points, line, _ALONE_MM)
        if alone is None:
            return worth, edge
        length = share * COLUMN_MM * len(alone.x) - chance * _ALONE_MM / _INLIER_MM
        if (alone_worth := length * straightness(alone, _ALONE_MM)) > worth:
            return alone_worth, alone
    return worth, edge


def straightness(edge: FaceEdge, within_mm: float = _INLIER_MM) -> float:
    """1 for points on a line, 0 for points strewn evenly over what counts as being on it, +-`within_mm`."""
    return max(0.0, 1.0 - edge.line.scatter * float(np.sqrt(3.0)) / within_mm)


def _parallel_share(line: _HoughLine, along: FaceEdge) -> float:
    """How likely an edge of this direction is parallel to the other face, 1 at best."""
    unparallel = line.slope - along.line.slope
    if abs(unparallel) > _MOST_UNPARALLEL:
        return 0.0
    return float(np.exp(-0.5 * (unparallel / _UNPARALLEL_SPREAD) ** 2))


def _chance_length(points: EdgePoints) -> float:
    """Length (mm) of line that points strewn at random would seem to make."""
    per_line = len(points.x) / 2.0 * 3.0 * _BIN_MM / (2.0 * points.reach_mm)
    return float(COLUMN_MM * (per_line + np.sqrt(per_line)))


def _edge_points(
    rgb: NDArray[np.uint8],
    plane: PlaneMap,
    frame: Frame,
    half_mm: float,
    y_mm: float,
    reach_mm: float,
    tone: Tone,
    ruled: bool,
) -> EdgePoints:
    unit = min(FINEST_PX_PER_MM, plane.px_per_mm(frame.to_plane(np.array([[0.0, y_mm]]))[0]))
    fine = 3
    x = np.arange(-half_mm, half_mm, COLUMN_MM / fine)
    x = x[: len(x) // fine * fine]
    y = np.arange(y_mm - reach_mm - 0.3, y_mm + reach_mm + 0.3, 1.0 / unit)
    strip, inside = sample_grid(rgb, lambda points: plane.to_image(frame.to_plane(points)), x, y)
    light = mean_light(tone(strip).reshape(len(y), -1, fine))
    within = inside.reshape(len(y), -1, fine).all(axis=2)
    smoothed = smooth(np.maximum(light, 0.0), 0.06 * unit, 0)
    slope = np.gradient(smoothed, axis=0) * unit
    contrast = np.abs(slope) / (smooth(smoothed, 0.12 * unit, 0) + 0.01)
    sure = np.where(within & (contrast > _WEAKEST), slope, 0.0)
    if ruled:
        sure[_of_light_lines(smoothed, slope, unit)] = 0.0
    return _local_extremes(sure, x.reshape(-1, fine).mean(axis=1), y, reach_mm)


def _of_light_lines(light: Light, slope: Light, unit: float) -> NDArray[np.bool_]:
    """Where light rises only to fall again within a line's width, as on the lines of a mat: no surface begins there.

    `light` and its `slope` (rows, columns) down a strip of `unit` rows per mm.
    """
    falls_again = np.zeros(light.shape, bool)
    past, reach = max(1, round(_PAST_EDGE_MM * unit)), round(_LINE_MM * unit)
    for way in (1, -1):
        beyond = np.stack([_moved(light, way * rows) for rows in range(past, reach + 1)])
        dark, peak, least = _moved(light, -way * past), beyond.max(axis=0), beyond.min(axis=0)
        falls_again |= (slope * way > 0.0) & (least < dark + _FALLS_BACK * (peak - dark))
    return falls_again


def _moved(light: Light, rows: int) -> Light:
    """The light so many rows below each place; beyond the strip's end, that of its last row."""
    return light[np.clip(np.arange(len(light)) + rows, 0, len(light) - 1)]


def _local_extremes(slope: Floats, x: Floats, y: Floats, reach_mm: float) -> EdgePoints:
    """Extremes of the slope down each column, placed between rows by a parabola."""
    size = np.abs(slope)
    peak = (size[1:-1] >= size[:-2]) & (size[1:-1] > size[2:])
    rows, columns = np.nonzero(peak)
    before, at, after = size[rows, columns], size[rows + 1, columns], size[rows + 2, columns]
    shift = 0.5 * (before - after) / np.minimum(before - 2.0 * at + after, -1e-9)
    place = y[rows + 1] + shift * (y[1] - y[0])
    return EdgePoints(x[columns], place, np.sign(slope[rows + 1, columns]), reach_mm)


def _straight_lines(points: EdgePoints, y_mm: float, sign: int) -> list[_HoughLine]:
    """Straight lines through the points of one polarity, by a fine Hough transform."""
    chosen = points.polarity == sign
    x, y = points.x[chosen], points.y[chosen]
    bins = int(2 * points.reach_mm / _BIN_MM)
    histogram = np.zeros((len(_SLOPES), bins))
    for index, slope in enumerate(_SLOPES):
        place = np.floor((y - slope * x - y_mm + points.reach_mm) / _BIN_MM).astype(int)
        place = place[(place >= 0) & (place < bins)]
        histogram[index] = np.bincount(place, minlength=bins)
    wide = histogram.copy()
    wide[:, 1:] += histogram[:, :-1]
    wide[:, :-1] += histogram[:, 1:]
    best = wide.max(axis=0) * COLUMN_MM
    peaks = [i for i in range(1, bins - 1) if best[i] >= best[i - 1] and best[i] > best[i + 1] and best[i] > 8.0]
    offset = y_mm - points.reach_mm + _BIN_MM * (np.arange(bins) + 0.5)
    return [_HoughLine(float(best[i]), float(offset[i]), float(_SLOPES[wide[:, i].argmax()]), sign) for i in peaks]


def _fit(points: EdgePoints, start: _HoughLine, within_mm: float) -> FaceEdge | None:
    """The line through the points `within_mm` of a Hough line, taken again about the fit until they settle.

    None where hardly any are left.
    """
    offset, slope = start.offset, start.slope
    for _ in range(3):
        near = (np.abs(points.y - offset - slope * points.x) < within_mm) & (points.polarity == start.polarity)
        if near.sum() < _FEWEST_POINTS / 3:
            return None
        line = fit_line(points.x[near], points.y[near], robust=False)
        offset, slope = line.at(0.0), line.slope
    return FaceEdge(line, points.x[near], points.y[near])
