"""Whether photos of the card make a camera profile, and which photos are still missing."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from calibration.camera.fit import CameraFit
from calibration.said import listed

Floats = NDArray[np.float64]
Verdict = Literal["good", "usable", "not usable"]

AREAS = (
    ("top left", "top middle", "top right"),
    ("middle left", "middle", "middle right"),
    ("bottom left", "bottom middle", "bottom right"),
)
"""The ninths of the picture, as the sensor sees it: wider than high."""
_CORNERS_IN_AREA = 4
"""Corners, over all photos, from which an area counts as covered."""


@dataclass(frozen=True)
class Aim:
    """One thing asked of a set of photos: a figure that should reach `good` and must reach `usable`.

    Above zero `better` means that larger is better, below that smaller is. All common practice, no source.
    """

    good: float
    usable: float
    better: int

    def judge(self, figure: float) -> Verdict:
        """The verdict by this figure alone."""
        if self.better * (figure - self.good) >= 0.0:
            return "good"
        return "usable" if self.better * (figure - self.usable) >= 0.0 else "not usable"


PHOTOS = Aim(6, 5, +1)
COVERED = Aim(8, 6, +1)
TILT_DEG = Aim(30.0, 18.0, +1)
"""Range of tilts, from one side to the other."""
SCATTER_SHARE = Aim(7e-5, 2e-4, -1)
"""Corners' standard deviation as a share of the picture's long side: 0.3 and 0.8 pixels of 4000."""
FOCAL_U = Aim(0.005, 0.015, -1)
"""Relative standard uncertainty of the focal length."""


@dataclass(frozen=True)
class Advice:
    """The verdict on a set of photos, and the reasons: what is missing, as sentences; none when all is well."""

    verdict: Verdict
    missing: tuple[str, ...]


def advise(fit: CameraFit) -> Advice:
    """What the photos behind `fit` are good for."""
    findings = [_photos(fit), _coverage(fit), *_tilts(fit), _scatter(fit), _focal(fit)]
    order: tuple[Verdict, ...] = ("good", "usable", "not usable")
    worst = max((verdict for verdict, _ in findings), key=order.index)
    return Advice(worst, tuple(words for verdict, words in findings if verdict != "good"))


def covered_areas(fit: CameraFit) -> NDArray[np.bool_]:
    """Which ninths of the picture hold corners of the card, (3, 3), rows from the top."""
    points = np.concatenate([view.points_px for view in fit.views])
    column, row = np.clip((3.0 * (points + 0.5) / np.array(fit.size_px)).astype(int), 0, 2).T
    counts = np.zeros((3, 3), int)
    np.add.at(counts, (row, column), 1)
    return counts >= _CORNERS_IN_AREA


def _photos(fit: CameraFit) -> tuple[Verdict, str]:
    count = len(fit.views)
    return PHOTOS.judge(count), f"Only {count} photos could be used; take {PHOTOS.good:g} or more."


def _coverage(fit: CameraFit) -> tuple[Verdict, str]:
    covered = covered_areas(fit)
    names = [AREAS[row][column] for row, column in np.argwhere(~covered)]
    words = f"No photo has the card in the {listed(names)} of the picture (the phone held sideways)." if names else ""
    return COVERED.judge(int(covered.sum())), words


def _tilts(fit: CameraFit) -> list[tuple[Verdict, str]]:
    """Tilts sideways and up and down."""
    found = []
    for tilts, way in zip(fit.tilts_deg.T, ("left and right", "up and down"), strict=True):
        low, high = float(tilts.min()), float(tilts.max())
        words = f"The phone was tilted {way} from {low:.0f} to {high:.0f} degrees only; {_tilt_wish(low, high)}."
        found.append((TILT_DEG.judge(high - low), words))
    return found


def _tilt_wish(low: float, high: float) -> str:
    half = TILT_DEG.good / 2.0
    if low > -half and high < half:
        return "take photos at 15 to 25 degrees both ways (the phone held sideways)"
    return "take photos at 15 to 25 degrees the other way as well (the phone held sideways)"


def _scatter(fit: CameraFit) -> tuple[Verdict, str]:
    words = (
        f"The card's corners scatter by {fit.sigma_px:.2f} pixels: glue the card to something flat, hold still and see"
        " that it is sharp."
    )
    return SCATTER_SHARE.judge(fit.sigma_px / max(fit.size_px)), words


def _focal(fit: CameraFit) -> tuple[Verdict, str]:
    words = f"The focal length is known to {100.0 * fit.focal_u:.1f} % only; more photos with larger tilts settle it."
    return FOCAL_U.judge(fit.focal_u), words
