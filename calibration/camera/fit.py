"""A camera from photos of the card: bad photos put aside and named, the rest solved together.

The card's own aspect and skew come out as well, for the camera's pixels are square; its size does not.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from calibration.camera.bundle import ASPECT, Beliefs, Bundle, View, adjust
from calibration.camera.model import DECENTRING, first_pose, rotation_matrix
from calibration.lens_prior import FOCUS_U, STABILISER_SHARE
from calibration.robust import robust_sigma

Floats = NDArray[np.float64]

FEWEST_CORNERS = 12
FEWEST_VIEWS = 4
"""Views below which the lens and the card's shape cannot be told apart, however well each is seen."""

_BELIEVED = {"k1": 0.2, "k2": 0.2, "principal": 0.02, "aspect": 0.01, "skew": 0.01}
"""Standard deviations of what is solved for, far wider than phones and printers need; `principal` as a share of the
long side. They only keep a poor set of photos from running away."""
_DECENTRING_SIGMA = 0.02
_WANTED_CHI2 = 23.0
"""Chi-square of two degrees of freedom that normal errors exceed once in 100 000: corners are not quite normal."""
_WANTED_PX = 0.3
"""Decentring that moves no corner of the picture by more than this is left out."""
_BAD_TIMES, _BAD_PX = 3.0, 0.25
"""A view whose corners scatter this many times more than most views', and by this much, is put aside."""
_SAME_TURN, _SAME_SHIFT = np.radians(3.0), 0.04
"""Views that differ by less in direction, and in place or distance as a share of the distance, are one view twice."""


@dataclass(frozen=True)
class Dropped:
    """A photo that was put aside, and why, as a sentence."""

    name: str
    why: str


class TooFewViewsError(ValueError):
    """Fewer than `FEWEST_VIEWS` views can be used; `dropped` says why of the others."""

    def __init__(self, kept: int, dropped: list[Dropped]) -> None:
        super().__init__(f"views must hold at least {FEWEST_VIEWS} that can be used, got {kept}")
        self.dropped = tuple(dropped)


@dataclass(frozen=True, eq=False)
class CameraFit:
    """The camera: `lens` (5,) as in `LensPrior`, `decentring` (2,), the card's `shape` (2,): log aspect, skew (rad).

    `covariance` (7, 7) is that of lens and shape. `views` and `poses` (v, 6) are those that were used, `sigma_px` is
    their corners' standard deviation in one coordinate.
    """

    size_px: tuple[int, int]
    lens: Floats
    decentring: Floats
    shape: Floats
    covariance: Floats
    sigma_px: float
    views: tuple[View, ...]
    poses: Floats
    dropped: tuple[Dropped, ...]

    @property
    def focal_px(self) -> float:
        """Focal length in pixels."""
        return float(np.exp(self.lens[0]))

    @property
    def focal_u(self) -> float:
        """Relative standard uncertainty of the focal length, at the distances of these photos."""
        return float(np.sqrt(self.covariance[0, 0]))

    @property
    def tilts_deg(self) -> Floats:
        """How far the card leaned in each view, (v, 2): sideways and up and down in the sensor's picture, degrees."""
        normals = np.array([rotation_matrix(pose[:3])[:, 2] for pose in self.poses])
        return np.degrees(np.arctan2(normals[:, :2], normals[:, 2:]))


def fit_camera(
    views: list[View], size_px: tuple[int, int], *, focal_px: float, focal_u: float, moving: bool = True
) -> CameraFit:
    """The camera from views in the stored picture's pixels; `focal_px`, `focal_u` (relative) are a first idea.

    `moving` False takes focus and stabiliser as fixed. Raises TooFewViewsError.
    """
    kept, dropped = _distinct(views, (np.array(size_px) - 1.0) / 2.0, focal_px)
    beliefs = _beliefs(size_px, focal_px, focal_u, moving)
    while True:
        if len(kept) < FEWEST_VIEWS:
            raise TooFewViewsError(len(kept), dropped)
        bundle = adjust(kept, beliefs, size_px)
        worst = _worst(bundle)
        if worst is None:
            break
        dropped.append(Dropped(kept.pop(worst).name, "its corners do not fit the other photos: is the card flat?"))
    return _result(kept, dropped, size_px, _decentred(kept, beliefs, bundle, size_px))


def _result(kept: list[View], dropped: list[Dropped], size_px: tuple[int, int], bundle: Bundle) -> CameraFit:
    solved = [0, 1, 2, 3, 4, ASPECT, ASPECT + 1]
    return CameraFit(
        size_px,
        bundle.shared[:5],
        bundle.shared[DECENTRING],
        bundle.shared[ASPECT:],
        bundle.covariance[np.ix_(solved, solved)],
        bundle.sigma_px,
        tuple(kept),
        bundle.own[:, :6],
        tuple(dropped),
    )


def _beliefs(size_px: tuple[int, int], focal_px: float, focal_u: float, moving: bool) -> Beliefs:
    b, long_px = _BELIEVED, max(size_px)
    principal = b["principal"] * long_px
    mean = np.concatenate([[np.log(focal_px)], np.zeros(9)])
    sigma = np.array([focal_u, b["k1"], b["k2"], principal, principal, 0.0, 0.0, 0.0, b["aspect"], b["skew"]])
    stabiliser = STABILISER_SHARE * long_px
    return Beliefs(mean, sigma, float(moving) * np.array([FOCUS_U, stabiliser, stabiliser]))


def _decentred(views: list[View], beliefs: Beliefs, plain: Bundle, size_px: tuple[int, int]) -> Bundle:
    """The solution with decentring terms if the corners want them, else the plain one."""
    sigma = beliefs.sigma.copy()
    sigma[DECENTRING] = _DECENTRING_SIGMA
    fuller = adjust(views, Beliefs(beliefs.mean, sigma, beliefs.moving_sigma), size_px)
    terms, covariance = fuller.shared[DECENTRING], fuller.covariance[DECENTRING, DECENTRING]
    reach = np.hypot(*size_px) / 2.0
    moved_px = 3.0 * float(np.abs(terms).max()) * reach**2 / float(np.exp(fuller.shared[0]))
    wanted = terms @ np.linalg.solve(covariance, terms) > _WANTED_CHI2 and moved_px > _WANTED_PX
    return fuller if wanted else plain


def _worst(bundle: Bundle) -> int | None:
    """Index of the view whose corners scatter most, if that is far more than most views' do."""
    scatter = np.array([robust_sigma(np.linalg.norm(residual, axis=1)) for residual in bundle.residuals])
    worst = int(np.argmax(scatter))
    return worst if scatter[worst] > max(_BAD_TIMES * np.median(scatter), _BAD_PX) else None


def _distinct(views: list[View], centre: Floats, focal_px: float) -> tuple[list[View], list[Dropped]]:
    """Views with corners enough that are not some earlier view over again, and the others with the reason."""
    kept: list[View] = []
    poses: list[Floats] = []
    dropped = []
    for view in views:
        if len(view.points_mm) < FEWEST_CORNERS:
            dropped.append(Dropped(view.name, f"only {len(view.points_mm)} corners of the card show."))
            continue
        pose = first_pose(view.points_mm, view.points_px, centre, focal_px)
        twin = next((k.name for k, other in zip(kept, poses, strict=True) if _alike(pose, other)), None)
        if twin is not None:
            dropped.append(Dropped(view.name, f"the same view again as {twin}."))
            continue
        kept.append(view)
        poses.append(pose)
    return kept, dropped


def _alike(one: Floats, other: Floats) -> bool:
    turn = rotation_matrix(one[:3]).T @ rotation_matrix(other[:3])
    angle = np.arccos(np.clip((np.trace(turn) - 1.0) / 2.0, -1.0, 1.0))
    shift = np.linalg.norm(one[3:] - other[3:]) / np.linalg.norm(one[3:])
    return bool(angle < _SAME_TURN and shift < _SAME_SHIFT)
