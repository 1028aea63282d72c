"""The card's paper on a face: how far it reaches beyond the squares, so that its own edges pass for nothing else.

A printed card has at least 3 mm of white around its squares; where it was cut off, only the photo tells.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from calibration.card import Card
from calibration.plane import PlaneMap
from vision.photo.strip import Frame, log_light, mean_light, sample_grid, smooth

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

USUAL_MM, WIDEST_MM = 4.5, 20.0
"""White around the squares: what is taken for granted, and how far its end is looked for."""
_UNIT = 4.0
"""Samples per mm."""
_NEAR_MM = (0.5, 1.5)
"""Where the paper's own light is looked at, from the squares outward."""
_STEP = 0.12
"""Change of light that ends the paper, in natural logarithms: more than shade makes across a margin."""
_MOST, _SPARE_MM = 0.8, 0.8
"""Share of a side along which paper ends before it is taken to end; what is added for blur and its thickness."""


@dataclass(frozen=True)
class Paper:
    """The paper around the squares of a card: how far it reaches beyond its left, top, right and bottom side, mm."""

    plane: PlaneMap
    card: Card
    margins: tuple[float, float, float, float]

    @classmethod
    def seen(cls, rgb: NDArray[np.uint8], plane: PlaneMap, card: Card) -> Paper:
        """The paper as a photo shows it; never less than `USUAL_MM`, which is also taken where no end shows."""
        w, h = card.width_mm, card.height_mm
        corners = np.array([[0.0, h], [0.0, 0.0], [w, 0.0], [w, h]])
        sides = [_margin(rgb, plane, corners[i], corners[(i + 1) % 4]) for i in range(4)]
        return cls(plane, card, (sides[0], sides[1], sides[2], sides[3]))

    def clear(self, frame: Frame, x: Floats, y: Floats) -> Bools:
        """Which places (rows, columns) of a grid in `frame` lie clear of the card and its paper."""
        of_card = self.plane.card.nominal_points
        origin, right, down = of_card(frame.to_plane(np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]])))
        left_top, right_bottom = self.margins[:2], self.margins[2:]
        over = np.ones((len(y), len(x)), bool)
        for axis, size in enumerate((self.card.width_mm, self.card.height_mm)):
            place = origin[axis] + (right - origin)[axis] * x + ((down - origin)[axis] * y)[:, None]
            over &= (place > -left_top[axis]) & (place < size + right_bottom[axis])
        return ~over


def _margin(rgb: NDArray[np.uint8], plane: PlaneMap, start: Floats, end: Floats) -> float:
    """How far the paper reaches beyond the side from `start` to `end` (card mm), the card to the right of the way."""
    length = float(np.hypot(*(end - start)))
    along = (end - start) / length
    frame = Frame(start, along, np.array([along[1], -along[0]]))
    x, y = np.arange(2.0, length - 2.0, 1.0), np.arange(_NEAR_MM[0], WIDEST_MM, 1.0 / _UNIT)
    light, inside = sample_grid(rgb, lambda points: plane.card_to_image(frame.to_plane(points)), x, y)
    logarithm = smooth(log_light(mean_light(light)), 0.25 * _UNIT, 0)
    paper = np.median(logarithm[y < _NEAR_MM[1]], axis=0)
    ended = (np.abs(logarithm - paper) > _STEP) | ~inside
    first = np.where(ended.any(axis=0), y[ended.argmax(axis=0)], np.inf)
    end_mm = float(np.quantile(first, _MOST, method="lower"))
    return max(USUAL_MM, end_mm + _SPARE_MM) if np.isfinite(end_mm) else USUAL_MM
