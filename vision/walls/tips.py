"""Whether wood beyond an outermost wall is the tail's own or a half pin's shoulder, told where the wall meets a face.

A tail goes on to the face. A shoulder lies as deep as the joint, so that the camera sees it stop short of one face or
of both; past its end lies what lies beyond its side, too.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from vision.walls.bands import ARRIS_MM, WallBands
from vision.walls.parts import EDGE, INK, LINE, LINE_SLOPE, LINE_WIDTH, SHOULDER, SLOPE
from vision.walls.shared import Overhead

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

_SURELY_PAST, _SURELY_BEFORE = 0.75, 1.35
"""Shares of the foreseen distance of the shoulder's end from the face: nearer to the face it is hardly seen, farther
off surely, for the joint is about as deep as the board is thick (common practice, no source)."""
_BEFORE_MM = 1.5
"""How far from there on the strip is looked at as it is before its end."""
_FEWEST_ROWS, _FEWEST_COLUMNS = 2, 2
_BLURRED_MM, _BEYOND_MM = 0.1, 0.5
"""What is left out beside a border, and how far past the shoulder's end it is looked at what lies there."""
_UNEVEN = 0.04
"""How much the light of one piece of wood differs from place to place, as a share of it."""
_MOST = 80.0
"""The most that the tips say for or against a shoulder."""


class Tip(NamedTuple):
    """Light (walls, 3, columns) next to a face, `past` the end of a shoulder and `before` it, and where along (mm)."""

    past: Floats
    past_at: float
    before: Floats
    before_at: float


def tips_of(bands: WallBands, overhead: Overhead) -> tuple[Tip, ...]:
    """The tips of all walls at the faces where a shoulder would be seen to stop short of them."""
    half = float(bands.along[-1]) + ARRIS_MM
    tips = []
    for face in (-1.0, 1.0):
        short = overhead.short_of(face, half)
        from_face = half - face * bands.along
        past = from_face < _SURELY_PAST * short
        before = (from_face > _SURELY_BEFORE * short) & (from_face < _SURELY_BEFORE * short + _BEFORE_MM)
        if past.sum() >= _FEWEST_ROWS and before.any():
            tips.append(Tip(*_middle(bands, past), *_middle(bands, before)))
    return tuple(tips)


def _middle(bands: WallBands, rows: Bools) -> tuple[Floats, float]:
    """Median light (walls, 3, columns) of some rows, and where they are."""
    return np.median(bands.light[:, rows], axis=1).astype(float), float(bands.along[rows].mean())


def for_a_shoulder(tips: tuple[Tip, ...], wall: int, columns: Floats, explained: Floats) -> float:
    """How much the tips of a `wall` speak for the shoulder of what it is `explained` by (12,), or against it.

    In units of minus twice the log likelihood; `columns` (n,) are the places of the band's columns that are seen, mm.
    """
    said = sum(_said(tip, wall, columns, explained) for tip in tips)
    return float(np.clip(said, -_MOST, _MOST))


def _said(tip: Tip, wall: int, columns: Floats, explained: Floats) -> float:
    """Of one tip: is the strip between wall and shoulder's end as before, or as what lies beyond?"""
    past, before = tip.past[wall, :, : len(columns)], tip.before[wall, :, : len(columns)]
    tail, strip, beyond = _parts(columns, explained, tip.past_at)
    tail_before, strip_before, _ = _parts(columns, explained, tip.before_at)
    if min(part.sum() for part in (tail, strip, beyond, tail_before, strip_before)) < _FEWEST_COLUMNS:
        return 0.0
    seen, lit = _light(past, strip), _light(past, tail) / np.maximum(_light(before, tail_before), _UNEVEN)
    as_tail = seen - lit * _light(before, strip_before)
    as_beyond = seen - _light(past, beyond)
    return float((as_tail**2 - as_beyond**2).mean()) / _UNEVEN**2


def _parts(columns: Floats, explained: Floats, along: float) -> tuple[Bools, Bools, Bools]:
    """Which columns show the bare tail, the strip before the shoulder's end and what lies beyond, at `along` mm."""
    edge = explained[EDGE] + explained[SLOPE] * along
    end = explained[SHOULDER] + explained[LINE_SLOPE] * along
    bare = edge
    if explained[INK].any():
        bare = min(edge, explained[LINE] + explained[LINE_SLOPE] * along - explained[LINE_WIDTH] / 2.0)
    strip = (columns > edge + _BLURRED_MM) & (columns < end - _BLURRED_MM)
    beyond = (columns > end + _BLURRED_MM) & (columns < end + _BEYOND_MM)
    return columns < bare - _BLURRED_MM, strip, beyond


def _light(light: Floats, part: Bools) -> Floats:
    """Median light (3,) of some columns."""
    return np.asarray(np.median(light[:, part], axis=1))
