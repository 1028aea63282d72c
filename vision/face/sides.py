"""The board's long edges on a face, followed from the end inward and extended to the corners."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from calibration.outcome import CannotMeasure, refuse
from calibration.plane import PlaneMap
from vision.end.find_walls import EndStrip
from vision.face.clear_edge import find_clear_edge
from vision.face.steps import steps_to_the_right
from vision.photo.strip import Frame, Light, blue_light, log_light, mean_light, sample_grid, smooth
from vision.walls.fit import LineFit

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

SIDE_U_MM = 0.03
"""Standard uncertainty of a long edge's place, wear included."""
_UNSEEN_U_MM = 0.6
_SQUARE_U = np.radians(0.15)
"""How square to the end a board's long edges are, one standard deviation (common practice, no source)."""
_HALF_PIN_MM = (1.5, 18.0)
"""Narrowest and widest half pin at the baseline."""
_LONGEST_MM = 30.0
_SHORT_REACH_MM, _FEWEST_ROWS, _FAINTEST = 1.2, 4, 0.3
"""For short pieces: how far off the rough place may be, rows, and the least step in natural logarithms per mm."""
_CLEAR_MM, _SHOULDER_MM = 0.5, 12.0
_BESIDE_MM, _FOOT_MM = (0.25, 1.0), (0.7, 3.0)
"""Where beside the baseline, and how far beyond the wall, a shoulder shows."""
_STEP_SHARE, _UPRIGHT_WORTH_MM = 0.12, 12.0
"""Share of the usual step across the baseline that shows a shoulder, and the length that an upright end is worth."""
_CLEAR_STEP, _FAINT_END, _GRAIN_SHARE = 0.06, 0.2, 0.98
"""Upright step of light, over that of nearly all grain, from which an end is sure; the share of it that shows none."""
_AT_STOP_MM, _STOP_SHARE = 0.5, 0.5
"""How near the stop of the level step an upright end is its, and how much of the clearest one it has to be."""
_SCALE_MM, _UNSEEN_SIDE_U_MM = 0.4, 3.0
"""Length of shoulder that makes a place e times as likely; uncertainty of a side that does not show."""
_AT_END_MM, _AT_END, _PLAIN_SIDE = 1.2, 0.1, 0.15
"""How near the end of the end's edge a side is, the step of light that this counts for, and a step that is plain."""


@dataclass(frozen=True)
class LongEdge:
    """A long edge: its place x (mm) at the end, y = 0, and the standard uncertainty of that."""

    x: float
    u: float


def long_edge(
    rgb: NDArray[np.uint8], plane: PlaneMap, frame: Frame, x: float, inner_x: float, between: tuple[float, float]
) -> LongEdge:
    """The long edge near `x`, seen at the depths `between`; `inner_x` lies within the face."""
    middle, half = (between[0] + between[1]) / 2.0, (between[1] - between[0]) / 2.0
    upright = frame.moved(x, middle, np.pi / 2.0)
    try:
        edge, _ = find_clear_edge(rgb, plane, upright, half, inner_mm=float(np.sign(x - inner_x)) * 1.5)
    except CannotMeasure:
        return _short_edge(rgb, plane, frame, x, between)
    return _extended(edge.line, x, middle)


def _short_edge(
    rgb: NDArray[np.uint8], plane: PlaneMap, frame: Frame, x: float, between: tuple[float, float]
) -> LongEdge:
    """A long edge of which only a short piece can be seen: the steepest step of its light, taken as square."""
    unit = plane.px_per_mm(frame.to_plane(np.array([[x, between[0]]]))[0])
    across, down = x + np.arange(-_SHORT_REACH_MM, _SHORT_REACH_MM, 1.0 / unit), np.arange(*between, 1.0 / unit)
    if len(down) < _FEWEST_ROWS:
        return LongEdge(x, _UNSEEN_U_MM)
    light, _ = sample_grid(rgb, lambda points: plane.to_image(frame.to_plane(points)), across, down)
    logarithm = log_light(mean_light(light)).mean(axis=0)
    step = np.abs(np.gradient(smooth(logarithm[None].astype(np.float32), 0.06 * unit, 1)[0])) * unit
    best = int(step[1:-1].argmax()) + 1
    if step[best] < _FAINTEST:
        return LongEdge(x, _UNSEEN_U_MM)
    before, at, after = step[best - 1 : best + 2]
    shift = 0.5 * (before - after) / min(before - 2.0 * at + after, -1e-9)
    u = float(np.hypot(2.0 * SIDE_U_MM, _SQUARE_U * (between[0] + between[1]) / 2.0))
    return LongEdge(float(across[best] + np.clip(shift, -1.0, 1.0) / unit), u)


def _extended(line: LineFit, x: float, middle: float) -> LongEdge:
    """The edge at y = 0: its direction as seen, as far as it is not surer that boards are cut square."""
    seen_u = np.hypot(line.slope_u, SIDE_U_MM / max(abs(middle), 1.0))
    share = _SQUARE_U**2 / (_SQUARE_U**2 + seen_u**2)
    slope, slope_u = -share * line.slope, float(np.sqrt(share) * seen_u)
    place = x - line.at(0.0) - slope * middle
    return LongEdge(float(place), float(np.sqrt(line.level_u**2 + SIDE_U_MM**2 + (slope_u * middle) ** 2)))


def visible_depths(seen: Bools, strip: EndStrip, x: float, first_mm: float) -> tuple[float, float]:
    """From `first_mm`, how deep the face can be seen around `x` before the card or the picture's border hides it."""
    near = np.abs(strip.x - x) < 1.5
    hidden = ~seen[:, near].all(axis=1) & (strip.y > first_mm)
    last = float(strip.y[int(hidden.argmax())]) if hidden.any() else float(strip.y[-1])
    return first_mm, min(last, first_mm + _LONGEST_MM)


def side_beyond(strip: EndStrip, seen: Bools, wall_x: float, outward: float, baseline_mm: float) -> LongEdge:
    """Where the shoulder beyond the outermost wall of a cleared board ends, roughly.

    `wall_x` is the wall's place at the baseline, `outward` the way (+-1) to the board's side. The shoulder shows as a
    level step of light at the baseline, and it ends at an upright one that is not seen above it. What lies beside it
    may be as light as the wood in places, so that a clear end counts for more than some millimetres without a step.
    Places that are nearly as likely are as uncertain as they lie apart. Raises CannotMeasure `no_baseline` where the
    card hides it.
    """
    lights, beyond, reach = _logarithms(strip), strip.y - baseline_mm, outward * (strip.x - wall_x)
    step = _step_at_baseline(lights, seen, beyond, reach)
    order = np.argsort(reach)
    order = order[(reach[order] > _FOOT_MM[0]) & (reach[order] < _HALF_PIN_MM[1])]
    goes_on = np.cumsum(np.where(step[order] > _STEP_SHARE, 1.0, -1.0) * np.isfinite(step[order])) / strip.unit
    upright = _upright_step(lights, seen, strip, beyond) - _upright_step(lights, seen, strip, -beyond)
    return _likeliest_end(strip.x[order], reach[order] > _HALF_PIN_MM[0], goes_on, upright[order])


def _step_at_baseline(lights: Light, seen: Bools, beyond: Floats, reach: Floats) -> Floats:
    """The step across the baseline in every column, (n,), as a share of that by the wall's foot, NaN where it is
    hidden: in the tone of `lights` that shows it best there. Raises CannotMeasure `no_baseline`."""
    below, above = (_mean_light(lights, seen, side, _BESIDE_MM) for side in (beyond, -beyond))
    level = below - above
    near = (reach > _FOOT_MM[0]) & (reach < _FOOT_MM[1]) & np.isfinite(level[0])
    foot = np.median(level[:, near], axis=1) if near.any() else np.zeros(len(level))
    clearest = int(np.abs(foot).argmax())
    if foot[clearest] == 0.0 or reach.max() <= _HALF_PIN_MM[0]:
        raise refuse("no_baseline", "Beside the outermost wall the card hides it.")
    return np.asarray(level[clearest] / foot[clearest])


def _likeliest_end(x: Floats, likely: Bools, goes_on: Floats, upright: Floats) -> LongEdge:
    """Where a shoulder ends among places `x` (n,) outward, as far as `likely` (n,).

    `goes_on` (n,) is for how many mm more it shows up to there than it does not, `upright` (n,) the upright step.
    """
    ends = np.clip((upright - np.quantile(upright, _GRAIN_SHARE)) / _CLEAR_STEP, 0.0, 1.0)
    stops = np.abs(x - x[int(np.where(likely, goes_on, -np.inf).argmax())]) < _AT_STOP_MM
    if upright[stops].max() > _STOP_SHARE * upright[likely].max():
        ends = np.where(stops, upright / upright[stops].max(), 0.0)
    score = np.where(likely, goes_on + _UPRIGHT_WORTH_MM * ends, -np.inf)
    best = int(score.argmax())
    belief = np.exp((score - score[best]) / _SCALE_MM)
    u = np.sqrt(np.sum(belief * (x - x[best]) ** 2) / belief.sum())
    return LongEdge(float(x[best]), float(np.hypot(u, _UNSEEN_SIDE_U_MM if ends[best] < _FAINT_END else 0.0)))


def is_side(strip: EndStrip, seen: Bools, x: float) -> bool:
    """Whether a plain upright step of light stands at `x` (mm), as a board's side does and a slanted cut does not."""
    near = np.abs(strip.x - x) < _AT_END_MM
    return bool(near.any() and _upright_step(_logarithms(strip), seen, strip, strip.y)[near].max() > _PLAIN_SIDE)


def side_of_sawn(strip: EndStrip, seen: Bools, cut_x: float, outward: float, run_end: float) -> float:
    """The board's side beyond its outermost cut at `cut_x`, with the waste in: the clearest upright step of light (mm).

    `run_end` is where the end's edge was seen to stop, which counts for the side unless the cut stopped it.
    """
    reach = outward * (strip.x - cut_x)
    likely = (reach > _HALF_PIN_MM[0]) & (reach < _HALF_PIN_MM[1] + 2.0 * _AT_END_MM)
    step = _upright_step(_logarithms(strip), seen, strip, strip.y)
    score = step - np.median(step) + _AT_END * (np.abs(strip.x - run_end) < _AT_END_MM)
    return float(strip.x[int(np.where(likely, score, -np.inf).argmax())]) if likely.any() else run_end


def _logarithms(strip: EndStrip) -> Light:
    """Logarithms of the light as each tone (tones, rows, columns)."""
    return np.stack([log_light(tone(strip.light)) for tone in (mean_light, blue_light)])


def _mean_light(lights: Light, seen: Bools, beyond: Floats, between: tuple[float, float]) -> Floats:
    """Mean of every column over the rows whose `beyond` lies between two depths; NaN where none of them is seen."""
    rows = (beyond > between[0]) & (beyond < between[1])
    shown = seen[rows]
    mean = np.where(shown, lights[:, rows], 0.0).sum(axis=1) / np.maximum(shown.sum(axis=0), 1)
    return np.asarray(np.where(shown.any(axis=0), mean, np.nan))


def _upright_step(lights: Light, seen: Bools, strip: EndStrip, beyond: Floats) -> Floats:
    """The step across an upright edge in every column, over the rows that lie `beyond` the baseline: as the light or
    its blue shows it, whichever is more."""
    rows = (beyond > _CLEAR_MM) & (beyond < _SHOULDER_MM)
    shown = seen[rows]
    steps = np.stack([steps_to_the_right(light[rows], strip.unit) for light in lights])
    return np.asarray(np.abs(np.where(shown, steps, 0.0).sum(axis=1)).max(axis=0) / np.maximum(shown.sum(axis=0), 1))
