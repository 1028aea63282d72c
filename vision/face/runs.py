"""Where the end's edge was seen on a face: one stretch from side to side, or one for every tail of a cleared board."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from calibration.outcome import refuse
from vision.end.face_edges import COLUMN_MM, FaceEdge
from vision.end.find_walls import Run
from vision.face.paper import Paper
from vision.photo.strip import Frame, Tone, log_light, sample_grid

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

_SIDE_MM = 70.0
"""How far beyond the cuts seen from afar the edge may go on."""
_BESIDE_MM = (0.15, 0.6)
_FAINTEST_STEP, _STEP_SHARE = 0.06, 0.3
"""Step of the light across the edge that still shows it: in natural logarithms, and as a share of the usual one."""
_OTHER_WOOD = 0.9
"""How unlike the light inside the edge may be where it is the same wood, in shade or sun (natural logarithm)."""
_BREAK_MM, _SHORTEST_RUN_MM, _WIDEST_SOCKET_MM = 1.0, 2.0, 30.0
"""A gap between two stretches of the edge, the shortest of them, and the widest gap that may be a socket."""
_WIDEST_LOST_MM, _AT_MM = 8.0, 1.2
"""The longest stretch in which the edge may be lost to sight, and how near an upright edge stands to a tail's side."""


def find_runs(
    rgb: NDArray[np.uint8], paper: Paper, frame: Frame, edge: FaceEdge, half: float, uprights: Floats, tone: Tone
) -> list[Run]:
    """Stretches of the edge at y = 0 of `frame` about its cuts, which reach from -`half` to `half` mm.

    Where the `edge` was measured, it was seen; elsewhere it goes on where the light steps across it the same way from
    what may be the same wood. `uprights` (n,) are the places from which upright edges run inward. Raises CannotMeasure
    `no_face`.
    """
    runs = _whole(_seen(_beside(rgb, paper, frame, half + _SIDE_MM, tone), edge), uprights)
    if not runs:
        raise refuse("no_face")
    return _about_cuts(runs, half)


class _Beside(NamedTuple):
    """Places (n,) along an edge, and the logarithm of the light inside and outside of it; `seen` where both show."""

    x: Floats
    inside: Floats
    outside: Floats
    seen: Bools


def _beside(rgb: NDArray[np.uint8], paper: Paper, frame: Frame, half: float, tone: Tone) -> _Beside:
    x = np.arange(-half, half, COLUMN_MM)
    y = np.arange(-_BESIDE_MM[1], _BESIDE_MM[1], 0.05)
    light, within = sample_grid(rgb, lambda points: paper.plane.to_image(frame.to_plane(points)), x, y)
    logarithm = log_light(tone(light))
    inside, outside = (logarithm[rows].mean(axis=0) for rows in (y > _BESIDE_MM[0], y < -_BESIDE_MM[0]))
    return _Beside(x, inside, outside, np.asarray((within & paper.clear(frame, x, y)).all(axis=0)))


def _seen(light: _Beside, edge: FaceEdge) -> list[Run]:
    """Stretches of the edge. Raises CannotMeasure `no_face`."""
    measured = np.isin(np.rint(light.x / COLUMN_MM), np.rint(edge.x / COLUMN_MM))
    if not measured.any():
        raise refuse("no_face")
    step = np.where(light.seen, light.inside - light.outside, 0.0)
    usual, wood = float(np.median(step[measured])), float(np.median(light.inside[measured]))
    goes_on = step * np.sign(usual) > max(_FAINTEST_STEP, _STEP_SHARE * abs(usual))
    x = light.x[measured | (goes_on & (np.abs(light.inside - wood) < _OTHER_WOOD))]
    breaks = np.nonzero(np.diff(x) > _BREAK_MM)[0]
    firsts, lasts = np.concatenate([[0], breaks + 1]), np.concatenate([breaks, [len(x) - 1]])
    runs = [(float(x[a]), float(x[b])) for a, b in zip(firsts, lasts, strict=True)]
    return [run for run in runs if run[1] - run[0] > _SHORTEST_RUN_MM]


def _whole(runs: list[Run], uprights: Floats) -> list[Run]:
    """The stretches with breaks closed at which nothing upright stands: there the edge is hard to see, not gone.

    What lies far off without anything upright is no part of it.
    """
    joined: list[Run] = runs[:1]
    for run in runs[1:]:
        last = joined[-1]
        if run[0] - last[1] < _WIDEST_LOST_MM and not _stands(uprights, last[1]) and not _stands(uprights, run[0]):
            joined[-1] = last[0], run[1]
        else:
            joined.append(run)
    while len(joined) > 1 and joined[-1][0] - joined[-2][1] > _WIDEST_LOST_MM and not _bounded(joined[-1], uprights):
        joined.pop()
    while len(joined) > 1 and joined[1][0] - joined[0][1] > _WIDEST_LOST_MM and not _bounded(joined[0], uprights):
        joined.pop(0)
    return joined


def _bounded(run: Run, uprights: Floats) -> bool:
    return _stands(uprights, run[0]) or _stands(uprights, run[1])


def _stands(uprights: Floats, x: float) -> bool:
    return bool(np.any(np.abs(uprights - x) < _AT_MM))


def _about_cuts(runs: list[Run], half: float) -> list[Run]:
    """Of rows of stretches with more than a socket's width between them, the one about the cuts."""
    rows: list[list[Run]] = []
    for run in runs:
        if rows and run[0] - rows[-1][-1][1] < _WIDEST_SOCKET_MM:
            rows[-1].append(run)
        else:
            rows.append([run])
    return max(rows, key=lambda row: sum(max(0.0, min(b, half) - max(a, -half)) for a, b in row))
