"""Edges of a face as what they show best: the photo's light or, where a bench is as bright as the wood, its colour."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from calibration.outcome import CannotMeasure, refuse
from calibration.plane import PlaneMap
from vision.end.face_edges import SEARCH_MM, FaceEdge, find_face_edges
from vision.photo.strip import Frame, Tone, blueness, mean_light
from vision.walls.fit import LineFit

_CLEARER = 1.3
"""How many times as much of an edge must show in colour for it to be taken from there."""
_SHARP_SHARE = 0.5
"""How much of an edge that shows in colour must show in light, there, for its place: files keep colour less sharply."""


def find_clear_edge(
    rgb: NDArray[np.uint8],
    plane: PlaneMap,
    frame: Frame,
    half_mm: float,
    *,
    inner_mm: float,
    reach_mm: float = SEARCH_MM,
) -> tuple[FaceEdge, Tone]:
    """The edge near y = 0 of `frame`, as `find_face_edges` finds it, and as what it shows best.

    Raises CannotMeasure `no_board_end` when no straight edge is there.
    """

    def seen(tone: Tone, about: LineFit | None = None) -> FaceEdge | None:
        try:
            return find_face_edges(
                rgb, plane, frame, half_mm, 0.0, inner_mm=inner_mm, reach_mm=reach_mm, tone=tone, about=about
            )[0]
        except CannotMeasure:
            return None

    in_light, in_colour = seen(mean_light), seen(blueness)
    if in_colour is None or (in_light is not None and len(in_colour.x) < _CLEARER * len(in_light.x)):
        if in_light is None:
            raise refuse("no_board_end")
        return in_light, mean_light
    sharper = seen(mean_light, in_colour.line)
    if sharper is None or len(sharper.x) < _SHARP_SHARE * len(in_colour.x):
        return in_colour, blueness
    return sharper, blueness
