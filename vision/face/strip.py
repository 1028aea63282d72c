"""The straightened face below the end's edge, and what else is known of it before its cuts are measured."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from calibration.card import Card
from calibration.plane import PlaneMap
from vision.end.find_walls import EndStrip, Run
from vision.face.find import FoundEdge, frame_to_image, likely_edges
from vision.face.paper import Paper
from vision.photo.edge_profile import EdgeProfile
from vision.photo.strip import FINEST_PX_PER_MM, ToImage, sample_grid

_BESIDE_MM, _NEAREST_MM, _DEEPEST_MM = 20.0, 0.4, 45.0
"""How far the strip goes beyond the edge's runs, and from which depth to which."""
_TAIL_MM = 45.0
"""How far a tail whose end's edge was not seen may reach beyond those that were, with its socket."""
_WOOD_MM, _WOOD_PERCENTILE = 5.0, 60.0
"""Depth to which, and percentile at which, light is the bare wood's: cuts and lines are darker."""


@dataclass(frozen=True)
class FaceStrip:
    """The face in the frame of its `edge`: `strip` is its light relative to the wood, on square samples.

    `seen` (rows, columns) tells where neither card nor border hides it; `profile` is the photo's edge profile in mm,
    `unit` its px per mm at the end.
    """

    rgb: NDArray[np.uint8]
    plane: PlaneMap
    profile: EdgeProfile
    unit: float
    edge: FoundEdge
    strip: EndStrip
    seen: NDArray[np.bool_]

    @property
    def to_image(self) -> ToImage:
        """Pixels (n, 2) of mm (n, 2) in the edge's frame."""
        return frame_to_image(self.plane, self.edge.frame)


def straightened(rgb: NDArray[np.uint8], plane: PlaneMap, card: Card, profile: EdgeProfile) -> Iterator[FaceStrip]:
    """The face that the card lies on or beside, from every edge that may be its end's, the likeliest first.

    `profile` is in px.
    """
    paper = Paper.seen(rgb, plane, card)
    for edge in likely_edges(rgb, paper):
        yield _straight(rgb, paper, profile, edge)


def _straight(rgb: NDArray[np.uint8], paper: Paper, profile: EdgeProfile, edge: FoundEdge) -> FaceStrip:
    plane, (first, last) = paper.plane, _reach(edge)
    unit = plane.px_per_mm(edge.frame.origin)
    fine = min(FINEST_PX_PER_MM, unit)
    x = np.arange(first - _BESIDE_MM, last + _BESIDE_MM, 1.0 / fine)
    y = np.arange(_NEAREST_MM, _DEEPEST_MM, 1.0 / fine)
    light, inside = sample_grid(rgb, frame_to_image(plane, edge.frame), x, y)
    within = np.any([(x > left) & (x < right) for left, right in edge.runs], axis=0)
    wood = np.percentile(light[y < _WOOD_MM][:, within].reshape(-1, 3), _WOOD_PERCENTILE, axis=0)
    strip = EndStrip((light / np.maximum(wood, 1e-4)).astype(np.float32), x, y)
    seen = inside & paper.clear(edge.frame, x, y)
    return FaceStrip(rgb, plane, profile.scaled(1.0 / unit), unit, edge, strip, seen)


def _reach(edge: FoundEdge) -> Run:
    """From where to where tails may stand: where the edge was seen, and where sides of others do not far from it."""
    first, last = edge.runs[0][0], edge.runs[-1][1]
    near = edge.uprights[(edge.uprights > first - _TAIL_MM) & (edge.uprights < last + _TAIL_MM)]
    return float(min([first, *near])), float(max([last, *near]))
