"""The card in a photo and its plane, with all that is known of lens and print.

A profile that the card contradicts is left out, and so is what a photo says of its lens once part of it was cut away.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from calibration.camera.misfit import contradicts
from calibration.camera.setting import sensor_size
from calibration.card_detect import CardCorners, detect_card
from calibration.lens_prior import CUT_PRINCIPAL_SHARE, FOCAL_PRIOR_UNKNOWN, PRINCIPAL_SHARE, LensPrior
from calibration.outcome import WARNINGS, CannotMeasure, Kind, refuse
from calibration.plane import LENS, PlaneMap, solve_plane
from calibration.prints.known import NOTHING_KNOWN, Known
from vision.end.report import CardView
from vision.photo.photo import Lens, Photo
from vision.photo.quality import stands_off_its_plane, why_no_card

Floats = NDArray[np.float64]

_USUAL_FOCAL_SHARE = 1.1
"""Focal length over the picture's long side when the photo does not tell it: between a wide and a 2x lens."""
_OFF_MIDDLE = 2.0
"""Standard deviations from which on a lens is off the middle of its photo; in 210 whole photos it was by up to 1.8."""

_NOT_OURS = ("no_card", "other_card")
"""Refusals after which the card is looked for in the mirror."""


@dataclass(frozen=True, eq=False)
class SolvedCard:
    """The card's corners, its plane, the corners' residuals (n, 2) in px, and what is doubtful about the lens.

    `profile` is the name of the camera profile that was used, empty for none.
    """

    corners: CardCorners
    plane: PlaneMap
    residual_px: Floats
    profile: str = ""
    warnings: tuple[Kind, ...] = ()

    @property
    def view(self) -> CardView:
        """The card as the report tells of it."""
        rms_px = float(np.sqrt(np.mean(self.residual_px**2)))
        return CardView(self.corners.card.kind, len(self.corners.points_mm), rms_px, self.profile)


def solve_card(photo: Photo, known: Known) -> SolvedCard:
    """The card in the photo. Raises CannotMeasure when there is none to measure from.

    Raises ValueError when `known.lens` is for another picture size.
    """
    corners = find_card(photo)
    if known.lens is None:
        return _by_own_data(corners, photo, known)
    upright_px = (photo.width_px, photo.height_px)
    lens = known.lens.prior(sensor_size(upright_px, photo.orientation), photo.orientation)
    found = replace(_solved(corners, photo, known, lens), profile=known.lens.name)
    solved, seen = (found.plane, found.residual_px), (corners.points_mm, corners.points_px)
    if not contradicts(*seen, solved, size_px=upright_px, lens=lens, card=known.print):
        return found
    plain = _by_own_data(corners, photo, known)
    return replace(plain, warnings=(WARNINGS["camera_profile_misfit"], *plain.warnings))


def find_card(photo: Photo) -> CardCorners:
    """The card's corners in the photo. Raises CannotMeasure with the likeliest reason when they cannot be found."""
    gray = np.asarray(cv2.cvtColor(photo.rgb, cv2.COLOR_RGB2GRAY), np.uint8)
    try:
        return detect_card(gray)
    except CannotMeasure as error:
        if error.refusal.reason in _NOT_OURS and _mirrored(gray):
            raise refuse("photo_mirrored") from error
        raise why_no_card(gray, error) from error


def _mirrored(gray: NDArray[np.uint8]) -> bool:
    """Whether the card is there with left and right swapped: no marker looks like another one in a mirror."""
    try:
        detect_card(np.ascontiguousarray(gray[:, ::-1]))
    except CannotMeasure:
        return False
    return True


def lens_of(photo: Photo) -> LensPrior:
    """What the photo's own data say of its lens."""
    lens, size = photo.lens, (photo.width_px, photo.height_px)
    if not lens.cut and lens.focal_px is not None and lens.focal_u_px is not None:
        return LensPrior.from_focal(lens.focal_px, lens.focal_u_px / lens.focal_px, size)
    principal_share = CUT_PRINCIPAL_SHARE if lens.cut else PRINCIPAL_SHARE
    return LensPrior.from_focal(_USUAL_FOCAL_SHARE * max(size), FOCAL_PRIOR_UNKNOWN, size, principal_share)


def _by_own_data(corners: CardCorners, photo: Photo, known: Known) -> SolvedCard:
    """The card solved with what the photo's own data say of its lens, and with hardly anything if it was cut.

    Where the photo's shape does not tell that, the card does, if it has the lens off the middle. So has a print that is
    not the kept one, but not once nothing is known of the print.
    """
    lens = lens_of(photo)
    found = _solved(corners, photo, known, lens)
    if not photo.lens.cut:
        if _in_middle(found, lens) or _in_middle(_solved(corners, photo, NOTHING_KNOWN, lens), lens):
            return found
        found = _solved(corners, photo, known, lens_of(replace(photo, lens=Lens(cut=True))))
    return replace(found, warnings=(WARNINGS["photo_cut"], *found.warnings))


def _in_middle(found: SolvedCard, lens: LensPrior) -> bool:
    return lens.off_middle(found.plane.theta[LENS]) < _OFF_MIDDLE


def _solved(corners: CardCorners, photo: Photo, known: Known, lens: LensPrior) -> SolvedCard:
    size = (photo.width_px, photo.height_px)
    plane, residual = solve_plane(corners.points_mm, corners.points_px, size_px=size, lens=lens, card=known.print)
    middle = np.array([corners.card.width_mm, corners.card.height_mm]) / 2.0
    uneven = stands_off_its_plane(residual, corners.points_mm, corners.card.square_mm, plane.px_per_mm(middle))
    return SolvedCard(corners, plane, residual, warnings=(WARNINGS["card_not_flat"],) if uneven else ())
