"""The baseline across a face: a dark line, fitted between the cuts.

A gauge, a knife or a pencil leaves a slim dark line, straight and nearly parallel to the end's edge. It is found as the
level valley of light that runs along most of the width; then its place is measured in every short piece of the width
with the picture of a dark strip seen through the photo's edge profile, and a line is put through the places.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from calibration.outcome import refuse
from vision.end.find_walls import EndStrip
from vision.photo.edge_profile import EdgeProfile
from vision.photo.strip import Frame, Light, ToImage, sample_points, shear_rows, smooth
from vision.walls.fit import LineFit, fit_line

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

NEAREST_MM, FARTHEST_MM = 5.0, 38.0
"""Depths between which a baseline is looked for."""
_TURNS = np.tan(np.radians(np.arange(-2.0, 2.01, 0.2)))
_VALLEY_MM = 0.35
_DEEPEST = 0.15
"""A valley deeper than this counts no more: a line is slim and pale, a shadow or a kerf is not."""
_FAINTEST = 0.012
_WHITE, _RED, _GREEN = (1.0 / 3.0, 1.0 / 3.0, 1.0 / 3.0), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0)
_MUCH_BETTER = 1.5
"""How much deeper the valley is in red or in green alone where that counts instead."""
_NEAR_STOPS_MM = 2.0
"""How far the baseline lies from where the cuts stop, one standard deviation."""
_PIECE_MM = 0.5
_REACH_MM = 1.1
_WIDTHS_MM = (0.05, 0.1, 0.15, 0.2, 0.3, 0.4, 0.55)
_ASIDE_MM, _BORDER = 0.5, 0.3
"""Where the two sides of the line are looked at, and how unlike they may be: past a border lies no wood."""
_ROUNDS = 4
_MOST_OFF_MM = 0.5
_FEWEST_PIECES, _STRAGGLING_MM = 12, 0.15
"""Pieces that a line needs, and scatter of their places from which they are no line."""
_CALM = 7
PLACE_U_MM = 0.012
"""What the model of a dark strip leaves in the line's place, one standard deviation."""


@dataclass(frozen=True)
class BaselineFit:
    """The baseline y(x) in the face's frame; `width_mm` of the line, `straightness_mm` of its places.

    `pieces` (n,) are the middles of the pieces of the width that it was seen in, mm.
    """

    line: LineFit
    width_mm: float
    straightness_mm: float
    pieces: Floats


class RoughLine(NamedTuple):
    """The baseline y = `level` + `slope` x (mm) before it is measured, and the `channels` (3,) in which it is dark."""

    level: float
    slope: float
    channels: tuple[float, float, float] = _WHITE

    def at(self, x: float) -> float:
        """y at x, mm."""
        return self.level + self.slope * x


def find_baseline(strip: EndStrip, seen: Bools, wood: Bools, stops_mm: Floats) -> RoughLine:
    """The baseline, roughly, in white light, or in red or green alone where it shows much better: graphite or red ink
    on dark red wood.

    `strip` is the face relative to its wood, `seen` (rows, columns) where it is not hidden, `wood` (rows, columns)
    where the face is whole; `stops_mm` (n,) is where cuts seem to stop, empty when nobody knows.
    Raises CannotMeasure `no_baseline`.
    """
    rows = _Rows.of(strip, seen & wood, stops_mm)
    in_white, *in_one = (_best_valley(rows, strip, channels) for channels in (_WHITE, _RED, _GREEN))
    in_one = [found for found in in_one if found[0] > _MUCH_BETTER * in_white[0]]
    score, line = max(in_one, default=in_white, key=lambda found: found[0])
    if score < _FAINTEST:
        raise refuse("no_baseline")
    return line


class _Rows(NamedTuple):
    """Level lines of a strip by slope and row: how much of each is `whole` wood in sight (slopes, rows), and how
    `likely` (rows,) a baseline is there by its depth alone; `seen` (rows, columns) is where such wood is."""

    seen: Bools
    whole: Floats
    likely: Floats

    @classmethod
    def of(cls, strip: EndStrip, seen: Bools, stops_mm: Floats) -> _Rows:
        whole = _along_rows(smooth(seen.astype(np.float32), 1.0, 0), strip.unit)
        likely = np.where((strip.y > NEAREST_MM) & (strip.y < FARTHEST_MM), 1.0, 0.0)
        if len(stops_mm):
            likely *= np.exp(-0.5 * ((strip.y - np.median(stops_mm)) / _NEAR_STOPS_MM) ** 2)
        return cls(seen, whole, likely)


def _along_rows(picture: Light, unit: float) -> Floats:
    """Means of a picture (rows, columns) along lines of all `_TURNS` (slopes, rows), short pieces of them at a time."""
    piece = max(1, round(_PIECE_MM * unit))
    whole = picture[:, : picture.shape[1] // piece * piece]
    pieces = whole.reshape(len(whole), -1, piece).mean(axis=2)
    return np.array([shear_rows(pieces, float(turn) * piece).mean(axis=1) for turn in _TURNS])


def _best_valley(rows: _Rows, strip: EndStrip, channels: tuple[float, float, float]) -> tuple[float, RoughLine]:
    """How deep the level valley is that is likeliest the baseline in these channels, and where it runs."""
    depth = _along_rows(_valley(strip, rows.seen, channels), strip.unit)
    score = depth / np.maximum(rows.whole, 0.35 * rows.whole.max()) * rows.likely
    turn, row = np.unravel_index(int(score.argmax()), score.shape)
    slope = float(_TURNS[turn])
    return float(score[turn, row]), RoughLine(float(strip.y[row]) - slope * float(strip.x.mean()), slope, channels)


def _valley(strip: EndStrip, seen: Bools, channels: tuple[float, float, float]) -> Light:
    """How much darker each place is than those a little above and below it, at most `_DEEPEST`; 0 where not seen."""
    light = smooth(smooth(strip.light @ np.array(channels, np.float32), 0.06 * strip.unit, 0), 0.3 * strip.unit, 1)
    aside = max(1, round(_VALLEY_MM * strip.unit))
    above, below = np.roll(light, aside, axis=0), np.roll(light, -aside, axis=0)
    whole = seen & np.roll(seen, aside, axis=0) & np.roll(seen, -aside, axis=0)
    valley = np.minimum(above, below) - light
    return np.where(whole, np.clip(valley, -_DEEPEST, _DEEPEST), 0.0).astype(np.float32)


def fit_baseline(
    rgb: NDArray[np.uint8],
    to_image: ToImage,
    frame: Frame,
    pieces: Floats,
    rough: RoughLine,
    profile: EdgeProfile,
    unit: float,
) -> BaselineFit:
    """The baseline through short pieces of the width, centred at `pieces` (n,) mm, near `rough`.

    `profile` is in mm, `unit` px per mm. Raises CannotMeasure `no_baseline`.
    """
    if len(pieces) < _FEWEST_PIECES:
        raise refuse("no_baseline")
    y, light = _pieces(rgb, to_image, frame, pieces, rough, unit)
    fits = [_places(y, light, width, profile) for width in _WIDTHS_MM]
    best = int(np.argmin([misfit for _, _, misfit in fits]))
    offset, height, _ = fits[best]
    good = (np.abs(offset) < _MOST_OFF_MM) & (height > 0.25 * np.median(height))
    if good.sum() < max(_FEWEST_PIECES, 0.3 * len(pieces)) or np.median(height) < _FAINTEST:
        raise refuse("no_baseline")
    x, places = pieces[good], (rough.level + rough.slope * pieces + offset)[good]
    line = fit_line(x, places)
    if line.scatter > _STRAGGLING_MM or _step_across(y, light[good]) > _BORDER:
        raise refuse("no_baseline")
    return BaselineFit(line, _WIDTHS_MM[best], _zone(line.residuals(x, places)), x)


def pieces_between(left: float, right: float) -> Floats:
    """Centres (n,) of the short pieces of a stretch."""
    return np.arange(left + _PIECE_MM / 2.0, right - _PIECE_MM / 2.0, _PIECE_MM)


def _pieces(
    rgb: NDArray[np.uint8], to_image: ToImage, frame: Frame, pieces: Floats, rough: RoughLine, unit: float
) -> tuple[Floats, Floats]:
    """The rows' places about the rough line, and light (pieces, rows) relative to the wood around it."""
    y, light = light_across(rgb, to_image, frame, pieces, (rough.level, rough.slope), unit)
    mean = light @ np.array(rough.channels)
    return y, np.asarray(mean / np.maximum(np.median(mean, axis=1, keepdims=True), 1e-4), float)


def light_across(
    rgb: NDArray[np.uint8], to_image: ToImage, frame: Frame, pieces: Floats, line: tuple[float, float], unit: float
) -> tuple[Floats, Floats]:
    """Places (rows,) across the line y = a + b x, mm, and the light (pieces, rows, 3) there in short pieces of it."""
    y = np.arange(-_REACH_MM, _REACH_MM, 1.0 / unit)
    across = np.linspace(-0.4, 0.4, 5) * _PIECE_MM
    x = (pieces[:, None] + across).ravel()
    points = np.stack([np.tile(x, len(y)), np.repeat(y, len(x)) + line[0] + line[1] * np.tile(x, len(y))], axis=-1)
    light, _ = sample_points(rgb, to_image(frame.to_plane(points)).reshape(len(y), len(x), 2))
    mean = light.reshape(len(y), len(pieces), len(across), 3).mean(axis=2)
    return y, np.asarray(mean.swapaxes(0, 1), float)


def _places(y: Floats, light: Floats, width: float, profile: EdgeProfile) -> tuple[Floats, Floats, float]:
    """Offset (n,) and depth (n,) of a dark strip of that width in each piece, and what is left unexplained."""
    offset = np.zeros(len(light))
    for _ in range(_ROUNDS):
        design = _design(y, offset, width, profile)
        amounts = np.linalg.solve(
            np.swapaxes(design, 1, 2) @ design + 1e-9 * np.eye(4), np.einsum("nyk,ny->nk", design, light)[..., None]
        )[..., 0]
        height = np.maximum(-amounts[:, 2], 0.02)
        offset = np.clip(offset + np.clip(amounts[:, 3] / height, -0.2, 0.2), -2 * _MOST_OFF_MM, 2 * _MOST_OFF_MM)
    residual = light - np.einsum("nyk,nk->ny", design, amounts)
    return offset, -amounts[:, 2], float(np.median(np.abs(residual)))


def _step_across(y: Floats, light: Floats) -> float:
    """How differently lit the two sides of the line are, as a natural logarithm: wood goes on past a baseline."""
    before, after = (light[:, side].mean(axis=1) for side in (y < -_ASIDE_MM, y > _ASIDE_MM))
    return float(abs(np.median(np.log(np.maximum(after, 1e-4) / np.maximum(before, 1e-4)))))


def _design(y: Floats, offset: Floats, width: float, profile: EdgeProfile) -> Floats:
    """Level, gradient, strip, and the strip's change with its place: (pieces, rows, 4)."""
    z = y[None, :] - offset[:, None]
    strip = profile.step(z + width / 2.0) - profile.step(z - width / 2.0)
    change = profile.slope(z + width / 2.0) - profile.slope(z - width / 2.0)
    return np.stack([np.ones_like(z), np.broadcast_to(y, z.shape), strip, change], axis=-1)


def _zone(residuals: Floats) -> float:
    """Width of the zone that holds the line's places, lone ones calmed by running medians."""
    if len(residuals) < _CALM:
        return float(np.ptp(residuals))
    windows = np.lib.stride_tricks.sliding_window_view(residuals, _CALM)
    return float(np.ptp(np.median(windows, axis=1)))
