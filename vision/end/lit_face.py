"""The arris of a face that light falls on: the edge's profile then rises in two steps, and the arris is the inner one.

Below the card the camera sees a little of the face itself. It lies in the card's shadow, but for what the light reaches
just below the arris; where that is nearly as light as the end, the steepest rise of light is the shadow's border. The
other face is hidden from the camera, so its edge shows how far a plain edge reaches in this photo.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from calibration.plane import PlaneMap
from vision.end.face_edges import COLUMN_MM, FaceEdge
from vision.photo.strip import Frame, Light, mean_light, sample_grid
from vision.walls.fit import fit_line

Floats = NDArray[np.float64]

_BLOCK_MM = 5.0
_FEWEST_COLUMNS, _FEWEST_BLOCKS = 6, 4
_OUTSIDE_MM, _INSIDE_MM, _PLATEAU_MM = 0.5, 0.8, 0.45
"""How far to either side of an edge its profile is looked at, and from where inside it counts as the wood's."""
_NEARLY_ALL = 0.85
"""Share of the wood's light that is reached only at the arris, however bright the face below it."""
_DARKEST = 0.5
"""Light outside an edge, relative to the wood's, from which its rise is no measure of anything."""
_SECOND_STEP_MM = 0.05
"""So much farther in than at the other face is a second step: on 75 plain ends of 79 it was 0.045 at most."""


def at_arris(rgb: NDArray[np.uint8], plane: PlaneMap, frame: Frame, near: FaceEdge, far: FaceEdge) -> FaceEdge:
    """The `near` edge, moved inward to the arris where light falls on its face; else as it is.

    Both edges are told in `frame`, the wood below the one and above the other.
    """
    lit, plain = _reached(rgb, plane, frame, near, 1.0), _reached(rgb, plane, frame, far, -1.0)
    if min(len(lit), len(plain)) < _FEWEST_BLOCKS or np.median(lit[:, 1]) - np.median(plain[:, 1]) < _SECOND_STEP_MM:
        return near
    own, usual = (fit_line(places[:, 0], places[:, 1]) for places in (lit, plain))
    inner = near.y + np.array([max(0.0, own.at(x) - usual.at(x)) for x in near.x])
    return FaceEdge(fit_line(near.x, inner), near.x, inner)


def _reached(rgb: NDArray[np.uint8], plane: PlaneMap, frame: Frame, edge: FaceEdge, inward: float) -> Floats:
    """Places along the edge, and how far inside it nearly all of the wood's light is reached, mm, (n, 2)."""
    along = frame.moved(0.0, edge.line.at(0.0), math.atan(edge.line.slope))
    unit = 2.0 * plane.px_per_mm(along.to_plane(np.array([[float(edge.x.mean()), 0.0]]))[0])
    columns = np.unique(np.rint(edge.x / COLUMN_MM)) * COLUMN_MM
    depth = np.arange(-_OUTSIDE_MM, _INSIDE_MM, 1.0 / unit)
    light, _ = sample_grid(rgb, lambda points: plane.to_image(along.to_plane(points)), columns, inward * depth)
    light = mean_light(light)
    block = np.floor(columns / _BLOCK_MM)
    found = []
    for each in np.unique(block):
        chosen = block == each
        place = _place(light[:, chosen].mean(axis=1), depth) if chosen.sum() >= _FEWEST_COLUMNS else None
        if place is not None:
            found.append((float(columns[chosen].mean()), place))
    return np.array(found).reshape(-1, 2)


def _place(profile: Light, depth: Floats) -> float | None:
    """The depth (mm) at which the light of the `profile` is nearly all of the wood's; None where it does not rise."""
    wood = float(profile[depth > _PLATEAU_MM].mean())
    start = int(profile[depth < 0.0].argmin())
    dark = float(profile[start])
    level = dark + _NEARLY_ALL * (wood - dark)
    crossed = np.flatnonzero((profile[start:-1] < level) & (profile[start + 1 :] >= level))
    if dark > _DARKEST * wood or not len(crossed):
        return None
    at = start + int(crossed[0])
    part = (level - profile[at]) / (profile[at + 1] - profile[at])
    return float(depth[at] + part * (depth[at + 1] - depth[at]))
