"""Whether what seems a cleared board's far face goes on between the tails, as a bench's or a jaw's edge does."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from calibration.plane import PlaneMap
from vision.end.find_walls import Run
from vision.photo.strip import Frame, log_light, mean_light, sample_grid

Floats = NDArray[np.float64]

_BESIDE_MM = (0.15, 0.6)
"""How far to either side of the edge its light is looked at."""
_INSET_MM, _COLUMN_MM = 0.7, 0.15
"""What is left out at the ends of tails and sockets, and how far apart the places are at which it is looked."""
_LEAST_MM = 3.0
"""What tails and sockets must show of the edge at least."""
_LEAST_STEP, _GRAIN, _ALIKE_SHARE, _MOSTLY = 0.06, 0.05, 0.3, 0.7
"""Step of light across an edge that can be followed; how much other it may be and be the same, by the grain and as a
share of it; and along how much of the sockets. Of 45 cleared boards one had 0.92, all others less than 0.2."""


def steps_between(rgb: NDArray[np.uint8], plane: PlaneMap, frame: Frame, tails: list[Run], y_mm: float) -> bool:
    """Whether the light of `rgb` (rows, columns, 3) steps across y = `y_mm` of `frame` between the `tails` as on them.

    A board's face ends with each tail: what is seen between them lies deeper, and nearer to the point below the camera.
    """
    sockets = [(before[1], after[0]) for before, after in pairwise(tails)]
    on, off = (_steps(rgb, plane, frame, _places(runs), y_mm) for runs in (tails, sockets))
    if min(len(on), len(off)) * _COLUMN_MM < _LEAST_MM:
        return False
    usual = float(np.median(on))
    alike = np.abs(off - usual) < _GRAIN + _ALIKE_SHARE * abs(usual)
    return abs(usual) > _LEAST_STEP and float(alike.mean()) > _MOSTLY


def _places(runs: list[Run]) -> Floats:
    places = [np.arange(left + _INSET_MM, right - _INSET_MM, _COLUMN_MM) for left, right in runs]
    return np.concatenate(places) if places else np.zeros(0)


def _steps(rgb: NDArray[np.uint8], plane: PlaneMap, frame: Frame, x: Floats, y_mm: float) -> Floats:
    """How much the light rises across the edge at places x (n,), in natural logarithms."""
    if not len(x):
        return x
    beside = np.arange(*_BESIDE_MM, 0.05)
    sampled = (
        sample_grid(rgb, lambda points: plane.to_image(frame.to_plane(points)), x, y_mm + way * beside)[0]
        for way in (-1.0, 1.0)
    )
    before, after = (log_light(mean_light(light).mean(axis=0)) for light in sampled)
    return np.asarray(after - before, float)
