"""A photo that is fit to measure from: card solved, light, view and sharpness good; and what is doubtful of it."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from calibration.card import Card
from calibration.outcome import WARNINGS, Kind, refuse
from calibration.plane import PlaneMap
from calibration.prints.known import Known
from calibration.quantity import Quantity, Source
from calibration.robust import robust_sigma
from vision.photo.card_edges import learn_edge_profile
from vision.photo.edge_profile import EdgeProfile
from vision.photo.photo import Photo
from vision.photo.quality import SLANTED_DEG, check_exposure, check_flatness, check_shape, check_sharpness, check_view
from vision.photo.solve_card import SolvedCard, solve_card

_WORST_CORNERS_PX = 1.0
"""Scatter of the corners about the card's own places: that of a sharp card is a tenth of it."""
_COARSE_PX_PER_MM = 9.0
"""Below this 0.1 degrees across a board 16 mm thick are a quarter of a pixel."""
_HIDDEN_SHARE = 0.8
"""Share of the card's corners below which part of it is hidden: dust and glare take one or two."""
_SURPRISE = 4.0
"""Standard deviations between what is known of the print and what the photo shows of it that are remarked on."""


class GoodPhoto(NamedTuple):
    """A `photo` with its solved card and the `profile` (px) of its sharp edges; `soft` ones still serve.

    `known` is what was measured beforehand.
    """

    photo: Photo
    known: Known
    solved: SolvedCard
    profile: EdgeProfile
    soft: bool

    @classmethod
    def of(cls, photo: Photo, known: Known) -> GoodPhoto:
        """The photo once it is judged. Raises CannotMeasure with what is wrong with it or with its card."""
        solved = solve_card(photo, known)
        check_exposure(photo.rgb, solved.plane, solved.corners.card)
        check_view(solved.plane)
        profile, soft = _edge_profile(photo, solved)
        check_shape(known.print, solved.plane.card)
        return cls(photo, known, solved, profile, soft)

    @property
    def plane(self) -> PlaneMap:
        """The card's plane in the picture."""
        return self.solved.plane

    @property
    def card(self) -> Card:
        """Which card it is."""
        return self.solved.corners.card

    @property
    def tilt(self) -> Quantity:
        """The camera's tilt, deg."""
        return Quantity(self.plane.tilt_deg, {Source("card corners"): _tilt_u(self.plane)}, "deg")

    def warnings(self, px_per_mm: float, *, cleared: bool = False) -> tuple[Kind, ...]:
        """What is doubtful about the photo as a whole, seen at that scale; of a `cleared` end also its width."""
        corners, lens = self.solved.corners, self.photo.lens
        doubts = {
            "part_of_card_hidden": len(corners.points_mm) < _HIDDEN_SHARE * len(self.card.corner_points_mm),
            "other_lens_guess": self.known.lens is None and not lens.cut and lens.focal_px is None,
            "print_doubtful": self.known.print.surprise(self.plane.card) > _SURPRISE,
            "slanted": self.plane.tilt_deg > SLANTED_DEG,
            "soft_photo": self.soft,
            "coarse_scale": px_per_mm < _COARSE_PX_PER_MM,
            "width_from_shoulders": cleared,
        }
        return tuple(WARNINGS[name] for name, doubted in doubts.items() if doubted) + self.solved.warnings


def _edge_profile(photo: Photo, solved: SolvedCard) -> tuple[EdgeProfile, bool]:
    """The photo's edge profile in px, and whether it is soft.

    Raises CannotMeasure `out_of_focus`, `other_card`, `card_bent`.
    """
    card, plane = solved.corners.card, solved.plane
    scale = plane.px_per_mm(np.array([card.width_mm, card.height_mm]) / 2.0)
    profile = learn_edge_profile(photo.rgb, plane, card)
    soft = check_sharpness(profile, scale)
    if robust_sigma(solved.residual_px) > _WORST_CORNERS_PX:
        raise refuse("out_of_focus" if soft else "other_card")
    check_flatness(solved.residual_px, scale)
    assert profile is not None
    return profile, soft


def _tilt_u(plane: PlaneMap) -> float:
    """Standard uncertainty (deg) of the camera's tilt, from the covariance of the pose."""
    step = 1e-5
    gradient = np.zeros(len(plane.theta))
    for index in range(3):
        shift = np.zeros(len(plane.theta))
        shift[index] = step
        gradient[index] = (plane.with_theta(plane.theta + shift).tilt_deg - plane.tilt_deg) / step
    return float(np.sqrt(gradient @ plane.covariance @ gradient))
