"""How the end lies against the card's plane: height and tilts, and what they do to what the camera sees.

The camera sees a point that lies z above the card's plane as if it lay farther from the point straight below the
camera, the nadir N: at S = N + (P - N) D / (D - z), D the camera's distance. A plane parallel to the card's is seen
larger by z / D and otherwise true. A plane tilted along the width makes parallel faces look as if they met, by
(tilt) T / D over the thickness T; one tilted across it fans the walls out, by (tilt) (x - N) / D at x.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from calibration.plane import PlaneMap
from calibration.quantity import Source
from vision.photo.strip import Frame

Floats = NDArray[np.float64]

CARD_HEIGHT_U_MM = 0.15
CARD_TILT_U = np.radians(0.13)
"""End against card, set up as the instructions say: standard uncertainties of height, in the middle of the show edge,
and of tilt about each axis (common practice, no source)."""

HEIGHT = Source("card height")
ALONG = Source("card tilt", "along the width")
ACROSS = Source("card tilt", "across the thickness")


@dataclass(frozen=True)
class CardLie:
    """Height of the end above the card's plane, toward the camera: `height_mm` + `along` x + `across` y.

    x and y (mm) are those of a frame told beside it; `along` and `across` are tangents.
    """

    height_mm: float = 0.0
    along: float = 0.0
    across: float = 0.0

    def plus(self, other: CardLie) -> CardLie:
        """Both together."""
        return CardLie(self.height_mm + other.height_mm, self.along + other.along, self.across + other.across)

    def in_steps(self) -> dict[Source, float]:
        """How many standard uncertainties of a careful set-up each error is."""
        steps = self.height_mm / CARD_HEIGHT_U_MM, self.along / CARD_TILT_U, self.across / CARD_TILT_U
        return dict(zip(SET_UP, steps, strict=True))


IN_PLANE = CardLie()
"""An end that lies in the card's plane."""
SET_UP = {HEIGHT: CardLie(CARD_HEIGHT_U_MM), ALONG: CardLie(along=CARD_TILT_U), ACROSS: CardLie(across=CARD_TILT_U)}
"""One standard uncertainty of each error of the set-up."""


@dataclass(frozen=True)
class TiltedView:
    """A camera over the card's plane and an end that lies on it as `lie` says in `frame`.

    Points of the end are told in mm of the card's plane: as seen, on the rays through the picture, or true, the end's
    plane being turned down into the card's about the frame's origin.
    """

    plane: PlaneMap
    frame: Frame
    lie: CardLie

    def true_points(self, seen: Floats) -> Floats:
        """Where the points (n, 2) seen in the card's plane really lie on the end, (n, 2) mm."""
        nadir, distance = self.plane.nadir_mm, self.plane.distance_mm
        ray, slope = seen - nadir, self._slope
        height = self.lie.height_mm + (seen - self.frame.origin) @ slope
        height /= 1.0 + ray @ slope / distance
        return self._stretched(nadir + ray * (1.0 - height / distance)[:, None], np.hypot(1.0, np.linalg.norm(slope)))

    def seen_points(self, true: Floats) -> Floats:
        """Where points (n, 2) of the end are seen in the card's plane, (n, 2) mm: `true_points` undone."""
        nadir, distance, slope = self.plane.nadir_mm, self.plane.distance_mm, self._slope
        below = self._stretched(true, 1.0 / np.hypot(1.0, np.linalg.norm(slope)))
        height = self.lie.height_mm + (below - self.frame.origin) @ slope
        return np.asarray(nadir + (below - nadir) / (1.0 - height / distance)[:, None])

    @property
    def _slope(self) -> Floats:
        """Gradient (2,) of the end's height in the card's plane."""
        return self.lie.along * self.frame.right + self.lie.across * self.frame.down

    def _stretched(self, points: Floats, times: float) -> Floats:
        """Points (n, 2) stretched up the slope, as a tilted plane is longer than its plan."""
        slope = self._slope
        uphill = slope / max(float(np.linalg.norm(slope)), np.finfo(float).tiny)
        rise = (points - self.frame.origin) @ uphill
        return np.asarray(points + (times - 1.0) * rise[:, None] * uphill)


def lie_moves(plane: PlaneMap, frame: Frame, lie: CardLie = IN_PLANE) -> dict[Source, Callable[[Floats], Floats]]:
    """For each error of the set-up, where the end's points would be were it one standard uncertainty beyond `lie`."""
    return {source: TiltedView(plane, frame, lie.plus(step)).true_points for source, step in SET_UP.items()}
