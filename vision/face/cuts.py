"""Where the cuts are on a face, roughly: dark slanted marks while the waste is in, the tails' sides once it is out.

Marks start at the end's edge and lean by up to 1 in 3. A drawn line beside a cut is slimmer or paler; marks within a
cut's reach belong to it. A growth ring is paler and runs on past the baseline; it is told by its light.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from vision.end.find_walls import MOST_OF_IT, NARROWEST_MARK_MM, Cut, EndStrip, Run, kerfs_of, stretches
from vision.end.report import SIDES, Side, Stage, narrowing
from vision.end.stage import stage_of
from vision.photo.strip import Light, shear_columns, smooth

Floats = NDArray[np.float64]

NEAR_MM, FAR_MM = 0.7, 6.7
"""Depths between which a cut is looked for: every socket is deeper."""
_DARK = 0.62
"""Light in a cut or a drawn line relative to the wood around it, at most."""
_SLOPES = np.linspace(-0.36, 0.36, 49)
_SIDE_REACH_MM = 1.2
_NARROWEST_SOCKET_MM = 1.2
"""A narrower break in what is seen of the end's edge is no socket."""
_BROKEN_MM = 0.8
"""Length of a lit or dusty stretch that does not end a cut."""
_FAINTEST_STEP = 0.01
"""Step of light, relative to the wood, below which a rough wall stays where the surface ends."""


@dataclass(frozen=True)
class RoughKerf:
    """A wall before it is measured: `x_mm` where it meets the end's edge, its slope dx/dy, and where its cut stops.

    `kerf_mm` and `stop_mm` are None once the waste is gone. Tails count from the left of the frame.
    """

    tail: int
    side: Side
    x_mm: float
    slope: float
    kerf_mm: float | None
    stop_mm: float | None


def find_slanted_cuts(strip: EndStrip) -> list[Cut]:
    """Dark marks from the end inward, left to right; their places are those at y = 0. `strip` is relative to wood."""
    rows = (strip.y > NEAR_MM) & (strip.y < FAR_MM)
    light = smooth(strip.brightest[rows], 0.04 * strip.unit, 1)
    dark = (light < _DARK).astype(np.float32)
    share = np.array([_share_at_edge(dark, float(slope), strip) for slope in _SLOPES])
    best = share.max(axis=0)
    cuts = [_cut(strip, light, share, run) for run in stretches(best >= MOST_OF_IT)]
    return kerfs_of([cut for cut in cuts if cut.width >= NARROWEST_MARK_MM])


def stage_on_face(runs: list[Run], cuts: list[Cut]) -> Stage:
    """Whether the waste is still in, by where the end's edge was seen and by the cuts."""
    return "cleared" if not cuts else stage_of(runs, cuts)


def kerfs_of_cuts(strip: EndStrip, cuts: list[Cut]) -> list[RoughKerf]:
    """Walls beside an even number of cuts, left to right, each followed to where it stops."""
    kerfs = []
    light = strip.brightest
    for index, cut in enumerate(cuts):
        side: Side = "left" if index % 2 == 0 else "right"
        x = cut.right if side == "left" else cut.left
        kerfs.append(RoughKerf(index // 2, side, x, cut.lean, cut.width, _rough_stop(strip, light, cut)))
    return kerfs


def kerfs_of_tails(strip: EndStrip, runs: list[Run], baseline_mm: float) -> list[RoughKerf]:
    """Walls near the ends of the stretches in which the end's edge was seen, along the light's strongest steps."""
    kerfs = []
    for index, run in enumerate(runs):
        for side, x in zip(SIDES, run, strict=True):
            place, slope = _strongest_step(strip, x, -narrowing(side), baseline_mm)
            kerfs.append(RoughKerf(index, side, place, slope, None, None))
    return kerfs


def tails_of(runs: list[Run]) -> list[Run]:
    """The runs with narrow breaks closed: one for every tail of a cleared board."""
    tails = runs[:1]
    for before, after in pairwise(runs):
        if after[0] - before[1] < _NARROWEST_SOCKET_MM:
            tails[-1] = (tails[-1][0], after[1])
        else:
            tails.append(after)
    return tails


def _share_at_edge(dark: Light, slope: float, strip: EndStrip) -> Floats:
    """Dark share (columns,) along lines of that slope that meet the end's edge at each column."""
    upright = shear_columns(dark, slope).mean(axis=0)
    shift = slope * (NEAR_MM + FAR_MM) / 2.0 * strip.unit
    columns = np.arange(len(upright))
    return np.interp(columns + shift, columns, upright, left=0.0, right=0.0)


def _cut(strip: EndStrip, light: Light, share: Floats, run: tuple[int, int]) -> Cut:
    window = share[:, run[0] : run[1] + 1]
    slope = float(_SLOPES[int(np.argmax((window**4).sum(axis=1)))])
    level = _share_at_edge(light, slope, strip)[run[0] : run[1] + 1]
    best = np.nonzero(_share_at_edge((light < _DARK).astype(np.float32), slope, strip) >= MOST_OF_IT)[0]
    near = best[(best >= run[0] - 1) & (best <= run[1] + 1)]
    first, last = (int(near[0]), int(near[-1])) if len(near) else run
    return Cut(float(strip.x[first]), float(strip.x[last]), slope, float(level.min()))


def _rough_stop(strip: EndStrip, light: Light, cut: Cut) -> float:
    """How deep the cut stays dark along its own line (mm); `light` (rows, columns) is the strip's brightest channel."""
    columns = np.clip(np.rint((cut.middle + cut.lean * strip.y - strip.x[0]) * strip.unit).astype(int), 1, None)
    columns = np.minimum(columns, light.shape[1] - 2)
    rows = np.arange(len(strip.y))
    along = np.min([light[rows, columns + shift] for shift in (-1, 0, 1)], axis=0)
    bright = np.convolve(along > (1.0 + min(cut.light, 0.6)) / 2.0, np.ones(3), mode="same") >= 2
    step = float(strip.y[1] - strip.y[0])
    for first, last in stretches(bright):
        if (last - first + 1) * step > _BROKEN_MM and strip.y[first] > FAR_MM - 1.5:
            return float(strip.y[first])
    return float(strip.y[-1])


def _strongest_step(strip: EndStrip, x: float, outward: float, baseline_mm: float) -> tuple[float, float]:
    """Place at the end's edge and slope of the strongest step of light near the corner at `x`."""
    rows = (strip.y > NEAR_MM) & (strip.y < baseline_mm - NEAR_MM)
    light, middle = strip.brightest[rows], float(strip.y[rows].mean())
    gap = max(1, round(0.08 * strip.unit))
    step = np.zeros_like(light)
    step[:, gap:-gap] = np.clip(light[:, : -2 * gap] - light[:, 2 * gap :], -0.3, 0.3)
    strength = np.array([shear_columns(step, float(slope)).mean(axis=0) for slope in _SLOPES]) * outward
    at_edge = strip.x[None, :] - _SLOPES[:, None] * middle
    strength *= (np.abs(at_edge - x) < _SIDE_REACH_MM) * (1.0 - 0.3 * np.abs(at_edge - x) / _SIDE_REACH_MM)
    best = np.unravel_index(int(strength.argmax()), strength.shape)
    if strength[best] < _FAINTEST_STEP:
        return x, 0.0
    return float(at_edge[best]), float(_SLOPES[best[0]])
