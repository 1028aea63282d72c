"""Measured ends of any layout, made from the widths of their parts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import accumulate

import numpy as np

from calibration.quantity import Quantity, Source
from tests.vision.boards import THICKNESS_MM
from tests.vision.photos import measurement
from vision.end.report import Measurement, Wall


def end_of(
    widths_mm: Sequence[float], u_mm: float = 0.0, kerf_mm: float | None = 0.6, out_mm: Sequence[float] = ()
) -> Measurement:
    """The end whose half pin, tail, pin, tail, ..., half pin are `widths_mm` wide, from the left, at the show face.

    Every wall has the standard uncertainty `u_mm` of its own; `out_mm` is how far each moves right to the other face.
    """
    places = list(accumulate(widths_mm))
    outs = out_mm or [0.0] * (len(places) - 1)
    walls = [
        _wall(number, x, out, u_mm, kerf_mm) for number, (x, out) in enumerate(zip(places[:-1], outs, strict=True))
    ]
    width = Quantity(places[-1], {Source("board edge"): u_mm} if u_mm else {})
    return replace(measurement(), walls=tuple(walls), width=width, thickness=Quantity(THICKNESS_MM))


def shaken(widths_mm: Sequence[float], u_mm: float, rng: np.random.Generator) -> Measurement:
    """The same end as it would be measured: every wall, and the board's edge, off by its uncertainty."""
    places = np.array(list(accumulate(widths_mm))) + u_mm * rng.standard_normal(len(widths_mm))
    return end_of(np.diff(places, prepend=0.0).tolist(), u_mm)


def _wall(number: int, x_mm: float, out_mm: float, u_mm: float, kerf_mm: float | None) -> Wall:
    x_show = Quantity(x_mm, {Source("wall edge", f"{number}"): u_mm} if u_mm else {})
    side = "left" if number % 2 == 0 else "right"
    zero = Quantity(0.0, {}, "deg")
    return Wall(number // 2, side, zero, x_show, x_show + out_mm, Quantity(out_mm), abs(out_mm), kerf_mm)
