"""Where a cut stops on a face: the end of the dark along the kerf's own line.

Along the kerf the light is dark, then perhaps that of a drawn line the saw followed, then, past the baseline, wood. The
borders are seen through the photo's edge profile. What lies beside the kerf at the same depth tells how bright bare
wood is there, so that growth rings and the baseline itself do not count.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from vision.photo.edge_profile import EdgeProfile
from vision.photo.strip import ToImage, brightest, sample_points

Floats = NDArray[np.float64]

_BEFORE_MM, _AFTER_MM = 2.8, 3.0
"""How far to either side of the baseline a cut may stop for its end to be measured."""
_STEP_MM = 0.02
_KERF_SHARES = (0.3, 0.75)
"""The part of the kerf looked at, counted from the wall: a drawn line lies on the wall's side of it."""
_BESIDE_MM = (0.35, 0.9)
_ALIKE_MM = 0.12
"""Length along which grain, blur and compression make samples say the same thing."""
_STRIP_MM = 0.25
_TIES = np.array([1e-4, 1e-4, 0.02, 0.02, 0.02, 1e-4])
"""How firmly gradients and the baseline's line, which the wood beside the kerf shows as well, are held near nothing."""
_ASIDE_MM, _CLEAR_MM, _AS_DARK = 0.45, 1.0, 0.03
"""How far off the kerf's dark may be; what is left out at both its ends; how near the darkest counts as dark."""
_WORTH_A_LINE = 8.0
"""What it must explain, as a log likelihood, that a drawn line goes on past the stop and past the baseline."""
_FAR_OFF, _TINY = 0.25, 1e-6
"""Residuals count for no more than the first."""
_LEAST_STEP, _STEP_SHARE = 0.08, 0.2
"""Step of light at the end of a cut, at least: of the wood's light, and of the whole step from kerf to wood."""
MODEL_U_MM = 0.04
"""What dust, a slanting saw and a ragged bottom leave in the place, one standard deviation (common practice, no
source)."""
_UNSEEN_U_MM = 1.0
"""Standard uncertainty of a stop that does not show and is taken to be at the baseline."""


@dataclass(frozen=True)
class KerfPath:
    """A kerf's own line: the wall at `x_mm` where it meets the end's edge, `slope` dx/dy, `waste` the way (+-1) to the
    kerf's other border, `kerf_mm` wide; the baseline crosses it at `baseline_mm`."""

    x_mm: float
    slope: float
    waste: float
    kerf_mm: float
    baseline_mm: float

    def to_image(self, to_image: ToImage) -> ToImage:
        """Pixels of places (n, 2): mm from the wall into the waste, and mm of depth."""

        def place(points: Floats) -> Floats:
            across, y = points.T
            return to_image(np.column_stack([self.x_mm + self.slope * y + self.waste * across, y]))

        return place


@dataclass(frozen=True)
class Stop:
    """The depth y (mm) where a cut stops and its standard uncertainty; `seen` tells whether its end shows at all.

    `aside_mm` is how far into the waste the dark of the kerf lies from where the wall and the kerf's width have it.
    """

    y_mm: float
    u_mm: float
    seen: bool = True
    aside_mm: float = 0.0


def find_stop(
    rgb: NDArray[np.uint8], to_image: ToImage, path: KerfPath, profile: EdgeProfile, unit: float, *, open_socket: bool
) -> Stop:
    """Where the cut along `path` stops; `to_image` maps the face's frame, `profile` is in mm, `unit` px per mm.

    With the waste out (`open_socket`) a cut cannot be seen to stop short of the socket's floor.
    """
    aside_mm = 0.0 if open_socket else _aside(rgb, path.to_image(to_image), path, unit)
    path = replace(path, x_mm=path.x_mm + path.waste * aside_mm)
    y = np.arange(path.baseline_mm - _BEFORE_MM, path.baseline_mm + _AFTER_MM, 1.0 / unit)
    light = _along(rgb, path.to_image(to_image), path.kerf_mm, y, open_socket)
    places = np.arange(y[0] + 0.4, y[-1] - 0.4, _STEP_MM)
    if open_socket:
        places = places[places > path.baseline_mm - 0.6]
    independent = len(y) / max(1.0, _ALIKE_MM * unit)
    misfit = _AlongKerf(y, light, profile, path.baseline_mm, open_socket).misfits(places, independent)
    if not np.isfinite(misfit).any():
        return Stop(path.baseline_mm, _UNSEEN_U_MM, False, aside_mm)
    return Stop(*_minimum(places, misfit, independent), aside_mm=aside_mm)


def _aside(rgb: NDArray[np.uint8], to_image: ToImage, path: KerfPath, unit: float) -> float:
    """How far (mm) the darkest stretch as wide as half the kerf lies from the kerf's middle, by the cut's length.

    A drawn line taken for a part of the kerf, or the other way round, shows here; the stop is looked for in the dark.
    """
    y = np.arange(_CLEAR_MM, path.baseline_mm - _CLEAR_MM, 2.0 / unit)
    shifts = np.arange(-_ASIDE_MM, _ASIDE_MM + 1e-9, 0.5 / unit)
    across = path.kerf_mm / 2.0 + np.arange(-_ASIDE_MM - path.kerf_mm / 4.0, _ASIDE_MM + path.kerf_mm / 4.0, 0.5 / unit)
    points = np.stack([np.tile(across, len(y)), np.repeat(y, len(across))], axis=-1)
    light, _ = sample_points(rgb, to_image(points).reshape(len(y), len(across), 2))
    profile = np.median(brightest(light), axis=0)
    width = len(across) - len(shifts) + 1
    means = np.convolve(profile, np.full(width, 1.0 / width), mode="valid")[: len(shifts)]
    dark = means <= means.min() + _AS_DARK * (float(profile.max()) - float(means.min()))
    return float(shifts[dark].mean())


def _along(rgb: NDArray[np.uint8], to_image: ToImage, kerf_mm: float, y: Floats, open_socket: bool) -> Floats:
    """Light (n,) in the middle of the kerf relative to the wood beside it."""
    inside = np.linspace(_KERF_SHARES[0], _KERF_SHARES[1], 5) * kerf_mm
    beside = np.linspace(*_BESIDE_MM, 5)
    groups = (inside, -beside, kerf_mm + beside)
    kerf, tail, waste = (_mean(rgb, to_image, group, y) for group in groups)
    wood = tail if open_socket else np.sqrt(np.maximum(tail * waste, 1e-8))
    return np.asarray(np.clip(kerf / np.maximum(_calm(wood), 1e-4), 0.0, 1.6))


def _mean(rgb: NDArray[np.uint8], to_image: ToImage, across: Floats, y: Floats) -> Floats:
    points = np.stack([np.tile(across, len(y)), np.repeat(y, len(across))], axis=-1)
    light, _ = sample_points(rgb, to_image(points).reshape(len(y), len(across), 2))
    return np.asarray(light.mean(axis=2).mean(axis=1), float)


def _calm(values: Floats) -> Floats:
    """Running medians of seven, so that a speck beside the kerf does not count."""
    around = np.pad(values, 3, mode="edge")
    return np.asarray(np.median(np.lib.stride_tricks.sliding_window_view(around, 7), axis=1))


class _AlongKerf(NamedTuple):
    """The light (n,) along a kerf at depths `y` (n,), relative to the wood beside it."""

    y: Floats
    light: Floats
    profile: EdgeProfile
    baseline_mm: float
    open_socket: bool

    def misfits(self, stops: Floats, independent: float) -> Floats:
        """What is left unexplained by a cut that stops at each of the `stops`, by `independent` samples.

        A drawn line that it followed ends at the baseline; or past it, where that explains much more: then what seemed
        the cut's end is the line's.
        """
        to_baseline = self._misfits(stops, self.baseline_mm)
        last = float(stops[to_baseline.argmin()])
        if self.open_socket or last < self.baseline_mm + _ALIKE_MM or not np.isfinite(to_baseline).any():
            return to_baseline
        past_it = self._misfits(stops, last)
        gain = independent * np.log(max(float(to_baseline.min()), _TINY) / max(float(past_it.min()), _TINY))
        return past_it if gain > _WORTH_A_LINE else to_baseline

    def _misfits(self, stops: Floats, line_end: float) -> Floats:
        return np.array([self._misfit(float(stop), line_end) for stop in stops])

    def _misfit(self, stop: float, line_end: float) -> float:
        """Infinite when the light does not rise at the stop."""
        y, step = self.y, self.profile.step
        past = step(y - stop)
        baseline = step(y - self.baseline_mm + _STRIP_MM / 2.0) - step(y - self.baseline_mm - _STRIP_MM / 2.0)
        parts = [1.0 - past, past, (1.0 - past) * (y - stop), past * (y - stop), past * baseline]
        if not self.open_socket and stop < line_end - _ALIKE_MM:
            parts.append(past * (1.0 - step(y - line_end)))
        design = np.stack(parts, axis=1)
        tied = design.T @ design + np.diag(_TIES[: len(parts)] * len(y))
        amounts = np.linalg.solve(tied, design.T @ self.light)
        kerf, wood, followed = amounts[0], amounts[1], amounts[5:].sum()
        if wood + followed - kerf < max(_LEAST_STEP, _STEP_SHARE * (wood - kerf)):
            return float("inf")
        return float(np.minimum(np.abs(self.light - design @ amounts), _FAR_OFF).sum())


def _minimum(places: Floats, misfit: Floats, independent: float) -> tuple[float, float]:
    """Mean and standard deviation of the place, by the likelihood of residuals with long (Laplace) tails.

    So many samples are `independent`.
    """
    weight = np.exp(-independent * np.log(np.maximum(misfit, _TINY) / max(float(misfit.min()), _TINY)))
    weight /= weight.sum()
    mean = float(weight @ places)
    return mean, float(np.sqrt(weight @ (places - mean) ** 2 + MODEL_U_MM**2))
