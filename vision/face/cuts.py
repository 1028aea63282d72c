"""Where the cuts are on a face with the waste still in, roughly: dark slanted marks.

Marks start at the end's edge and lean by up to 1 in 3. A drawn line beside a cut is slimmer or paler; marks within a
cut's reach belong to it. A growth ring is paler and runs on past the baseline; it is told by its light.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from vision.end.find_walls import MOST_OF_IT, NARROWEST_MARK_MM, Cut, EndStrip, Run, kerfs_of, stretches, wood_around
from vision.end.report import Side, Stage
from vision.end.stage import stage_of
from vision.photo.strip import Light, shear_columns, smooth

Floats = NDArray[np.float64]

NEAR_MM, FAR_MM = 0.7, 6.7
"""Depths between which a cut is looked for: every socket is deeper."""
_DARK = 0.62
"""Light in a cut or a drawn line relative to the wood around it, at most."""
_DARKEST_WOOD = 0.6
"""Light of the darkest wood about a cut, relative to the face's: what is darker is no wood."""
SLOPES = np.linspace(-0.36, 0.36, 49)
"""Slopes of the lines looked along, run over rise, 0.9 degrees apart."""
_BROKEN_MM = 0.8
"""Length of a lit or dusty stretch that does not end a cut."""


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
    """Marks from the end inward that are dark for the wood around them, left to right; places are those at y = 0."""
    rows = (strip.y > NEAR_MM) & (strip.y < FAR_MM)
    light = smooth(strip.brightest[rows], 0.04 * strip.unit, 1)
    light = (light / np.maximum(wood_around(light, strip.unit), _DARKEST_WOOD)).astype(np.float32)
    dark = (light < _DARK).astype(np.float32)
    share = np.array([_share_at_edge(dark, float(slope), strip) for slope in SLOPES])
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


def _share_at_edge(dark: Light, slope: float, strip: EndStrip) -> Floats:
    """Dark share (columns,) along lines of that slope that meet the end's edge at each column."""
    upright = shear_columns(dark, slope).mean(axis=0)
    shift = slope * (NEAR_MM + FAR_MM) / 2.0 * strip.unit
    columns = np.arange(len(upright))
    return np.interp(columns + shift, columns, upright, left=0.0, right=0.0)


def _cut(strip: EndStrip, light: Light, share: Floats, run: tuple[int, int]) -> Cut:
    window = share[:, run[0] : run[1] + 1]
    slope = float(SLOPES[int(np.argmax((window**4).sum(axis=1)))])
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
