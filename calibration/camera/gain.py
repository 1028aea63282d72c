"""What a camera profile is worth: the part of U that pose, lens and print leave in a typical end's numbers, with it and
without.

A closed calculation: the card seen without noise from the distance of the profile, a little off square, and the end
below it; the plane's covariance carried over to three walls and the datum.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from calibration.camera.model import image_points, rotation_matrix
from calibration.card import CARDS
from calibration.lens_prior import FOCAL_PRIOR_UNKNOWN, LensPrior
from calibration.plane import PlaneMap, solve_plane
from calibration.prints.shape import UNCHECKED
from calibration.quantity import COVERAGE_FACTOR

Floats = NDArray[np.float64]

EXIF_FOCAL_U = 0.025
"""Relative standard uncertainty of a focal length that the photo's own data tell as 35 mm equivalent of 26 mm (see
`vision.photo.exif`)."""

_CARD = CARDS["short"]
_TILT_DEG, _ROLL_DEG = (5.0, -4.0), 1.0
_AIM_MM = (60.0, 33.0)
_SHOW_MM, _THICKNESS_MM = 45.0, 18.0
_WALLS_MM = (10.0, 55.0, 100.0)
_DATUM_MM = (5.0, 115.0)


@dataclass(frozen=True)
class LensGain:
    """U (95 %) of a lean in degrees and of a wall's place in mm, the worst of three walls, that the card leaves."""

    lean_u95_deg: float
    x_u95_mm: float


def typical_u(lens: LensPrior, size_px: tuple[int, int], distance_mm: float) -> LensGain:
    """What the card's picture leaves open in a typical end with that known of the lens, the print unmeasured."""
    pose = _pose(distance_mm)
    centre = (np.array(size_px, float) - 1.0) / 2.0
    eight = np.concatenate([lens.mean, lens.decentring, [0.0]])
    points_mm = _CARD.corner_points_mm
    pixels = image_points(pose, eight, centre, UNCHECKED.true_points(points_mm))
    plane, _ = solve_plane(points_mm, pixels, size_px=size_px, lens=lens, card=UNCHECKED)
    u95 = numbers_u95(plane)
    return LensGain(float(np.degrees(u95[: len(_WALLS_MM)].max())), float(u95[len(_WALLS_MM) :].max()))


def numbers_u95(plane: PlaneMap) -> Floats:
    """U (95 %) that the plane leaves in `end_numbers` of the same pixels."""
    slopes = _slopes(plane)
    return np.asarray(COVERAGE_FACTOR * np.sqrt(np.einsum("ij,jk,ik->i", slopes, plane.covariance, slopes)))


def without_profile(lens: LensPrior, size_px: tuple[int, int], focal_u: float = FOCAL_PRIOR_UNKNOWN) -> LensPrior:
    """The lens as it would be believed from its focal length alone; the same mean, so that only U differs."""
    plain = LensPrior.from_focal(lens.focal_px, focal_u, size_px)
    return LensPrior(lens.mean, plain.covariance, lens.decentring)


def _pose(distance_mm: float) -> Floats:
    vector = np.radians([*_TILT_DEG, _ROLL_DEG])
    shift = np.array([0.0, 0.0, distance_mm]) - rotation_matrix(vector)[:, :2] @ np.array(_AIM_MM)
    return np.concatenate([vector, shift])


def _slopes(plane: PlaneMap) -> Floats:
    """d(leans (rad), places (mm) of the walls)/d(theta), by central differences: the same pixels measured again."""
    pixels = plane.to_image(end_points())
    columns = []
    for step in np.diag(1e-3 * np.sqrt(np.diag(plane.covariance))):
        ahead, behind = (end_numbers(plane.with_theta(plane.theta + s * step).to_plane(pixels)) for s in (1.0, -1.0))
        columns.append((ahead - behind) / (2.0 * step.max()))
    return np.column_stack(columns)


def end_points() -> Floats:
    """Both ends of the datum, then of every wall, (2 + 2 walls, 2)."""
    datum = [[x, _SHOW_MM] for x in _DATUM_MM]
    return np.array(datum + [[x, y] for x in _WALLS_MM for y in (_SHOW_MM, _SHOW_MM + _THICKNESS_MM)])


def end_numbers(points: Floats) -> Floats:
    """Leans (rad) and places at the show face (mm) of the walls, against the datum."""
    along = (points[1] - points[0]) / np.linalg.norm(points[1] - points[0])
    x = (points[2:] - points[0]) @ along
    y = (points[2:] - points[0]) @ np.array([-along[1], along[0]])
    return np.concatenate([np.arctan2(x[1::2] - x[::2], y[1::2] - y[::2]), x[::2]])
