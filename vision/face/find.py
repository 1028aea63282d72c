"""Where the end's edge lies on a photographed face, from far off to sub-pixel.

The card lies on the face, or beside the board in the face's plane, its bottom edge toward the end. The end's edge is a
long level edge from which saw cuts or sides of tails run inward, at a slope, and which none of them crosses: that is
what baseline, paper, shadow and bench are not.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass, replace
from functools import partial

import cv2
import numpy as np
from numpy.typing import NDArray

from calibration.outcome import CannotMeasure
from calibration.plane import PlaneMap
from vision.end.find_walls import Run
from vision.face.clear_edge import find_clear_edge
from vision.face.paper import Paper
from vision.face.runs import find_runs
from vision.photo.strip import (
    Frame,
    Light,
    ToImage,
    Tone,
    blueness,
    log_light,
    mean_light,
    sample_grid,
    shear_columns,
    shear_rows,
    smooth,
)
from vision.walls.fit import LineFit

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

STEEPEST_SLOPE = 0.36
"""Steepest slope of a tail's side looked for, a little over 1:3."""
_UNIT, _SPARE = 4.0, 1.5
"""Samples per mm of the coarse strips, and how much finer the shrunk photo is that they are sampled from."""
_SIDEWAYS_MM, _BELOW_MM, _ABOVE_MM = 150.0, 70.0, 75.0
"""How far from the middle of the card's bottom edge the end's edge is looked for."""
_TURNS = np.radians(np.arange(-9.0, 9.01, 0.5))
_SLOPES = np.linspace(-STEEPEST_SLOPE, STEEPEST_SLOPE, 25)
_INSIDE_MM, _OUTSIDE_MM = (0.6, 6.2), (-2.4, -0.5)
"""Depths at which a cut shows, and at which it does not."""
_STRIP_MM = (-3.0, 6.6)
_LEVEL_SLOPE, _UPRIGHT_SLOPE, _CROSSING_SLOPE = 0.5, 0.6, 0.25
"""Contrast of an edge that counts, in natural logarithms of light per mm; and of one that goes on beyond the end."""
_SHORTEST_EDGE_MM = 12.0
_LINE_MM = 1.0
"""Widest drawn line: an edge this far from one of the opposite kind may be a line's."""
_CANDIDATES, _CLOSER_LOOKS = 40, 4
_LEAST_SHARE, _APART_MM = 0.6, 1.0
_RIVAL_SHARE = 0.5
"""How much less likely a level edge may be than the likeliest one and be looked at when that makes no face."""
_LEAST_EVIDENCE = 1.8
"""A tail has two sides."""
_SAME_LINE_MM = 30.0
"""How far to either side two lines that are one do not part by more than they are uncertain."""
_BEYOND_CUTS_MM, _COARSE_MM = 5.0, 0.9
"""How far beyond the cuts seen from afar the edge is fitted, and how far off it may be as seen from there."""
_SAME_ROW_MM = 0.6


@dataclass(frozen=True)
class FoundEdge:
    """The end's edge: `frame` has its origin on it, x along it and y into the face; `line` is its fit about y = 0.

    `runs` are the stretches along x where it was seen, `uprights` (n,) the places from which upright edges run inward.
    Seen with the end at the bottom, x runs from right to left.
    """

    frame: Frame
    line: LineFit
    runs: list[Run]
    uprights: Floats


@dataclass(frozen=True)
class _Candidate:
    """A level edge of that length as a `view` shows it, and the evidence of upright edges between two places there."""

    view: _CoarseView
    frame: Frame
    length_mm: float
    evidence: float
    left: float
    right: float

    @property
    def worth(self) -> float:
        """How likely it is the end's edge, beside others."""
        return self.evidence * self.length_mm


def likely_edges(rgb: NDArray[np.uint8], paper: Paper) -> Iterator[FoundEdge]:
    """What may be the end's edge on the face that the card lies on or beside, the likeliest first."""
    plane, card = paper.plane, paper.card
    foot = plane.card.true_points(np.array([[card.width_mm / 2.0, card.height_mm]]))[0]
    base = Frame.turned(foot, np.pi)
    in_light = _CoarseView.of(rgb, paper)
    views = (in_light, replace(in_light, tone=blueness))
    candidates = [_judged(view, frame, length) for view in views for frame, length in _level_edges(view, base)]
    likely = sorted((c for c in candidates if c.evidence > _LEAST_EVIDENCE), key=lambda c: -c.worth)
    found: list[Frame] = []
    for candidate in _apart(likely)[:_CLOSER_LOOKS]:
        with suppress(CannotMeasure):
            edge = _closer(rgb, candidate)
            if not any(_one_line(edge.frame, frame) for frame in found):
                found.append(edge.frame)
                yield edge


def _apart(likely: list[_Candidate]) -> list[_Candidate]:
    """The candidates that are nearly as likely as the first, each a line of its own."""
    apart: list[_Candidate] = []
    for candidate in likely:
        if candidate.worth > _RIVAL_SHARE * likely[0].worth and not any(
            _one_line(candidate.frame, other.frame) for other in apart
        ):
            apart.append(candidate)
    return apart


def _one_line(one: Frame, other: Frame) -> bool:
    """Whether two frames lie on the same line, as far as is told from afar."""
    ends = other.to_plane(np.array([[-_SAME_LINE_MM, 0.0], [_SAME_LINE_MM, 0.0]]))
    return bool(np.all(np.abs(one.from_plane(ends)[:, 1]) < _COARSE_MM))


def frame_to_image(plane: PlaneMap, frame: Frame) -> ToImage:
    """Pixels (n, 2) of mm (n, 2) in `frame`."""
    return lambda points: plane.to_image(frame.to_plane(points))


@dataclass(frozen=True)
class _CoarseView:
    """The photo shrunk to a little more than the coarse strips need; `corners` (4, 2) are its own, in plane mm,
    `tone` what its light is looked at as."""

    small: NDArray[np.uint8]
    shrink: int
    paper: Paper
    corners: Floats
    tone: Tone = mean_light

    @classmethod
    def of(cls, rgb: NDArray[np.uint8], paper: Paper) -> _CoarseView:
        plane, card = paper.plane, paper.card
        middle = np.array([card.width_mm, card.height_mm]) / 2.0
        shrink = max(1, int(plane.px_per_mm(middle) / (_SPARE * _UNIT)))
        small = cv2.resize(rgb, None, fx=1.0 / shrink, fy=1.0 / shrink, interpolation=cv2.INTER_AREA)
        height, width = rgb.shape[:2]
        corners = np.array([[x, y] for x in (0.0, width - 1.0) for y in (0.0, height - 1.0)])
        return cls(np.asarray(small, np.uint8), shrink, paper, plane.to_plane(corners))

    def gradient(self, frame: Frame, y: Floats, axis: int) -> tuple[Floats, Light]:
        """Places along `frame` (columns,), and the light's gradient along an axis at depths `y`, (rows, columns)."""
        half = self.paper.card.width_mm / 2.0 + _SIDEWAYS_MM
        shown = frame.from_plane(self.corners)[:, 0]
        x = np.arange(max(-half, float(shown.min())), min(half, float(shown.max())), 1.0 / _UNIT)
        full = frame_to_image(self.paper.plane, frame)
        light, inside = sample_grid(self.small, lambda points: (full(points) + 0.5) / self.shrink - 0.5, x, y)
        return x, _gradient(self.tone(light), inside & self.paper.clear(frame, x, y), axis)


def _level_edges(view: _CoarseView, base: Frame) -> list[tuple[Frame, float]]:
    """Frames on straight level edges around the card's bottom edge with their lengths in mm, longest first."""
    y = np.arange(-_BELOW_MM, _ABOVE_MM, 1.0 / _UNIT)
    x, level = view.gradient(base, y, axis=0)
    centre = float(x[0] + x[-1]) / 2.0
    clipped = np.clip(_without_lines(level), -_LEVEL_SLOPE, _LEVEL_SLOPE) / _LEVEL_SLOPE
    support = np.array([np.abs(shear_rows(clipped, float(np.tan(t))).sum(axis=1)) for t in _TURNS]) / _UNIT
    middle = support[:, 1:-1]
    peaks = (middle >= support[:, :-2]) & (middle > support[:, 2:]) & (middle > _SHORTEST_EDGE_MM)
    found = sorted(zip(middle[peaks], *np.nonzero(peaks), strict=True), key=lambda peak: -peak[0])
    kept: list[tuple[float, int, int]] = []
    for length, turn, row in found:
        if all(abs(row - r) > _SAME_ROW_MM * _UNIT or abs(turn - t) > 2 for _, t, r in kept):
            kept.append((float(length), turn, row))
    return [
        (base.moved(centre, float(y[row + 1]), float(_TURNS[turn])), length) for length, turn, row in kept[:_CANDIDATES]
    ]


def _without_lines(gradient: Light) -> Light:
    """A gradient along its rows' axis less the opposite one close by: a drawn line has two sides."""
    reach = round(_LINE_MM * _UNIT)
    away = np.max([-np.sign(gradient) * np.roll(gradient, shift, axis=0) for shift in range(-reach, reach + 1)], axis=0)
    return np.asarray(np.sign(gradient) * np.maximum(np.abs(gradient) - np.maximum(away, 0.0), 0.0), np.float32)


def _sides_of_cuts(upright: Light) -> tuple[Light, Light]:
    """How steeply light falls and how steeply it rises to the right, less what is the other side of a light line."""
    falls, rises = np.maximum(-upright, 0.0), np.maximum(upright, 0.0)
    shifts = range(1, round(_LINE_MM * _UNIT) + 1)
    rise_before = np.max([np.roll(rises, shift, axis=1) for shift in shifts], axis=0)
    fall_after = np.max([np.roll(falls, -shift, axis=1) for shift in shifts], axis=0)
    return np.maximum(falls - rise_before, 0.0), np.maximum(rises - fall_after, 0.0)


def _gradient(light: Light, seen: Bools, axis: int) -> Light:
    """Logarithmic gradient per mm along an axis; zero where it would look past what is `seen`."""
    logarithm = log_light(light)
    calm = smooth(smooth(logarithm, 0.16 * _UNIT, axis), 0.45 * _UNIT, 1 - axis)
    gradient = np.gradient(calm, axis=axis) * _UNIT
    near = smooth(seen.astype(np.float32), 0.45 * _UNIT, axis)
    return np.where(smooth(near, 0.45 * _UNIT, 1 - axis) > 0.98, gradient, 0.0).astype(np.float32)


def _judged(view: _CoarseView, frame: Frame, length_mm: float) -> _Candidate:
    """How much speaks for the level edge at y = 0 of `frame` being the end's."""
    places, shares = _uprights(view, frame)
    if not len(places):
        return _Candidate(view, frame, length_mm, 0.0, 0.0, 0.0)
    return _Candidate(view, frame, length_mm, float(shares.sum()), float(places.min()), float(places.max()))


def _uprights(view: _CoarseView, frame: Frame) -> tuple[Floats, Floats]:
    """Places (n,) along a level edge from which upright edges run inward, and how much speaks for each."""
    y = np.arange(*_STRIP_MM, 1.0 / _UNIT)
    x, upright = view.gradient(frame, y, axis=1)
    places, shares = _peaks(_upright_evidence(upright, y))
    return x[places], shares


def _upright_evidence(upright: Light, y: Floats) -> Floats:
    """For light that falls and light that rises to the right, (2, n), and every column at the edge: the best share of
    a slope that shows inside only. A light line is no cut and counts as neither; but an edge that goes on beyond the
    end is none of its sides, even when light falls there where it rose inside: what lies beside a tail may change."""
    share = partial(_share, y=y)
    best = np.zeros((2, upright.shape[1]))
    shift = (y[0] + y[-1]) / 2.0
    sides = _sides_of_cuts(upright)
    for slope in _SLOPES:
        moved = round(slope * shift * _UNIT)
        steps = [shear_columns(side, float(slope)) for side in sides]
        beyond = np.max([share(step > _CROSSING_SLOPE, _OUTSIDE_MM) for step in steps], axis=0)
        for polarity, step in enumerate(steps):
            evidence = share(step > _UPRIGHT_SLOPE, _INSIDE_MM) * (1.0 - beyond)
            best[polarity] = np.maximum(best[polarity], np.roll(evidence, -moved))
    return best


def _share(marks: Bools, between: Run, y: Floats) -> Floats:
    return np.asarray(marks[(y > between[0]) & (y < between[1])].mean(axis=0))


def _peaks(evidence: Floats) -> tuple[NDArray[np.intp], Floats]:
    """Columns and heights of the peaks of either row, no two of a row closer than `_APART_MM`."""
    apart, left = int(_APART_MM * _UNIT), evidence.copy()
    found: list[tuple[int, float]] = []
    for row in left:
        while row.max() >= _LEAST_SHARE:
            peak = int(row.argmax())
            found.append((peak, float(row[peak])))
            row[max(0, peak - apart) : peak + apart + 1] = 0.0
    return np.array([place for place, _ in found], np.intp), np.array([height for _, height in found])


def _closer(rgb: NDArray[np.uint8], candidate: _Candidate) -> FoundEdge:
    """The edge at the photo's own resolution, and where it was seen."""
    view, paper = candidate.view, candidate.view.paper
    middle, half = (candidate.left + candidate.right) / 2.0, (candidate.right - candidate.left) / 2.0
    rough = candidate.frame.moved(middle, 0.0, 0.0)
    edge, tone = find_clear_edge(rgb, paper.plane, rough, half + _BEYOND_CUTS_MM, inner_mm=3.0, reach_mm=_COARSE_MM)
    frame = rough.moved(0.0, edge.line.at(0.0), float(np.arctan(edge.line.slope)))
    uprights = _uprights(view, frame)[0]
    return FoundEdge(frame, edge.line, find_runs(rgb, paper, frame, edge, half, uprights, tone), uprights)
