"""The printed card as it came out of the printer: its true size over its nominal one, and its right angle.

Printers stretch a page differently along and across the paper's path, and some feed it askew, so that the card's
squares become parallelograms. Three numbers hold that; they come from the print check, or from what printers usually
do.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

PARAMETERS = 3
"""x scale, y scale and skew, in this order in every covariance."""

USUAL_STRETCH, USUAL_SKEW_DEG = 0.01, 0.2
"""The most by which printers stretch one side of a print more than the other (relative), and by which they turn its
right angle: that makes the diagonals of the sheet's square differ by 0.5 mm, as a glance at a rule would show (common
practice, no source)."""
UNCHECKED_SCALE_U = USUAL_STRETCH / 2.0 / np.sqrt(3.0)
"""Relative standard uncertainty of an unchecked print's scale, in x and in y: each within half of what the two differ
by; rectangular (JCGM 100:2008, 4.3.7)."""
UNCHECKED_SKEW_U = np.radians(USUAL_SKEW_DEG) / np.sqrt(3.0)
"""Standard uncertainty (rad) of an unchecked print's right angle, rectangular as well."""


_EXACT_U = 1e-9
"""Even an exact print's scale is taken to be this uncertain, so that its covariance has a factor."""

_LEAST_TOLD = 0.1
"""Share of the variance of a direction that a photo must have taken away to count as telling of it."""


def _unchecked() -> Floats:
    return np.diag([UNCHECKED_SCALE_U**2, UNCHECKED_SCALE_U**2, UNCHECKED_SKEW_U**2])


@dataclass(frozen=True, eq=False)
class PrintShape:
    """True over nominal length along the printed card's x and y, and the departure of its right angle.

    The printed y axis (down) makes the angle pi / 2 - `skew_rad` with the printed x axis (right): a positive skew
    carries the card's lower side to the right. `covariance` (3, 3) is that of (`x_scale`, `y_scale`, `skew_rad`).
    `name` is the kept print's, empty for one that was not checked. Raises ValueError unless both scales are above zero,
    the skew is below a right angle and the covariance is 3 by 3 and of numbers that can be one.
    """

    x_scale: float = 1.0
    y_scale: float = 1.0
    skew_rad: float = 0.0
    covariance: Floats = field(default_factory=_unchecked)
    name: str = ""

    def __post_init__(self) -> None:
        if not (self.x_scale > 0.0 and self.y_scale > 0.0):
            raise ValueError(f"x_scale and y_scale must be above zero, got {self.x_scale} and {self.y_scale}")
        if not abs(self.skew_rad) < np.pi / 2.0:
            raise ValueError(f"skew_rad must be below a right angle, got {self.skew_rad}")
        if np.shape(self.covariance) != (PARAMETERS, PARAMETERS):
            raise ValueError(f"covariance must be 3 by 3, got {np.shape(self.covariance)}")
        if not (np.isfinite(self.covariance).all() and np.linalg.eigvalsh(self.covariance).min() > -(_EXACT_U**2) / 2):
            raise ValueError("covariance must have no negative variance in any direction")

    @property
    def matrix(self) -> Floats:
        """What takes nominal to true points: columns are the printed unit vectors x and y, (2, 2)."""
        across, along = np.sin(self.skew_rad), np.cos(self.skew_rad)
        return np.array([[self.x_scale, self.y_scale * across], [0.0, self.y_scale * along]])

    @property
    def steps(self) -> Floats:
        """Independent steps (3, 3), one a row, of (`x_scale`, `y_scale`, `skew_rad`): the Cholesky factor's columns.

        The first moves all three as an error of the x scale would, the second leaves that, the third the skew alone.
        """
        return np.asarray(np.linalg.cholesky(self.covariance + _EXACT_U**2 * np.eye(PARAMETERS)).T)

    def solved(self, counts: Floats, covariance: Floats) -> PrintShape:
        """The shape `counts` (3,) of its `steps` away, with the `covariance` (3, 3) of those counts."""
        steps = self.steps
        x_scale, y_scale, skew_rad = (np.array([self.x_scale, self.y_scale, self.skew_rad]) + counts @ steps).tolist()
        return PrintShape(x_scale, y_scale, skew_rad, steps.T @ covariance @ steps, self.name)

    def stretch(self, points_mm: Floats) -> Floats:
        """What each of the `steps` does to the true places of nominal points (n, 2): (3, n, 2) mm, to first order."""
        across, along = np.sin(self.skew_rad), np.cos(self.skew_rad)
        by_x = np.array([[1.0, 0.0], [0.0, 0.0]])
        by_y = np.array([[0.0, across], [0.0, along]])
        by_skew = self.y_scale * np.array([[0.0, along], [0.0, -across]])
        slopes = np.tensordot(self.steps, np.array([by_x, by_y, by_skew]), axes=1)
        return np.asarray(np.asarray(points_mm, float) @ slopes.transpose(0, 2, 1))

    def surprise(self, solved: PrintShape) -> float:
        """How far the shape that a photo `solved` from this lies from it, in standard deviations.

        Only what the photo tells of the shape counts: in other directions it can but hand back what it was told.
        """
        inverse = np.linalg.inv(self.steps.T)
        difference = np.subtract(
            [solved.x_scale, solved.y_scale, solved.skew_rad], [self.x_scale, self.y_scale, self.skew_rad]
        )
        told, axes = np.linalg.eigh(np.eye(PARAMETERS) - inverse @ solved.covariance @ inverse.T)
        counts = np.abs(axes.T @ inverse @ difference)
        return float(np.max(counts / np.sqrt(np.maximum(told, _LEAST_TOLD)), where=told > _LEAST_TOLD, initial=0.0))

    def departure(self, solved: PrintShape) -> tuple[float, float]:
        """By how much the ratio of the x to the y scale (relative) and the skew (rad) of `solved` differ from these."""
        ratio = (solved.x_scale / solved.y_scale) / (self.x_scale / self.y_scale)
        return ratio - 1.0, solved.skew_rad - self.skew_rad

    def true_points(self, points_mm: Floats) -> Floats:
        """Where the card's nominal points (n, 2) really lie in its plane, mm; the origin and the x axis stay."""
        return np.asarray(points_mm, float) @ self.matrix.T

    def nominal_points(self, points_mm: Floats) -> Floats:
        """The card's nominal points (n, 2) that lie at these true points (n, 2), mm: `true_points` undone."""
        return np.asarray(points_mm, float) @ np.linalg.inv(self.matrix).T


UNCHECKED = PrintShape()
"""A print nobody has measured: taken as true to size, with the allowances above."""
EXACT = PrintShape(covariance=np.zeros((PARAMETERS, PARAMETERS)))
"""A card that is what it should be: no print, but the yardstick of tests and calculations."""
