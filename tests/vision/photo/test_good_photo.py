"""What is doubtful of a photo that can be measured from: every limit from both sides, and how sure the tilt is."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from calibration.prints.known import NOTHING_KNOWN
from tests.scenes import Scene, rendered
from vision.photo.good_photo import GoodPhoto

SCENE = Scene(tilt_deg=(9.0, -6.0))
FINE = 12.0
"""Pixels per mm, enough for anything."""


@cache
def good() -> GoodPhoto:
    return GoodPhoto.of(rendered(SCENE).photo, NOTHING_KNOWN)


def reasons(photo: GoodPhoto, px_per_mm: float = FINE, *, cleared: bool = False) -> list[str]:
    return [kind.reason for kind in photo.warnings(px_per_mm, cleared=cleared)]


def with_corners(count: int) -> GoodPhoto:
    """The same photo with so many of the card's 33 corners seen."""
    corners = good().solved.corners
    some = corners._replace(points_mm=corners.points_mm[:count], points_px=corners.points_px[:count])
    return good()._replace(solved=replace(good().solved, corners=some))


def tilted(tilt_deg: float) -> GoodPhoto:
    """The same photo by a camera that is tilted by so much about the picture's x axis."""
    plane = good().plane
    theta = np.concatenate([[np.radians(tilt_deg), 0.0, 0.0], plane.theta[3:]])
    return good()._replace(solved=replace(good().solved, plane=plane.with_theta(theta)))


def test_a_good_photo_has_nothing_doubtful_about_it() -> None:
    assert reasons(good()) == []


@pytest.mark.parametrize(("px_per_mm", "told"), [(9.0, []), (8.99, ["coarse_scale"])])
def test_a_picture_is_coarse_below_nine_pixels_a_millimetre(px_per_mm: float, told: list[str]) -> None:
    assert reasons(good(), px_per_mm) == told


@pytest.mark.parametrize(("count", "told"), [(27, []), (26, ["part_of_card_hidden"])])
def test_part_of_the_card_is_hidden_when_a_fifth_of_its_corners_is(count: int, told: list[str]) -> None:
    assert reasons(with_corners(count)) == told  # four fifths of 33 are 26.4


@pytest.mark.parametrize(("tilt_deg", "told"), [(19.9, []), (20.1, ["slanted"])])
def test_a_view_is_slanted_beyond_twenty_degrees(tilt_deg: float, told: list[str]) -> None:
    assert reasons(tilted(tilt_deg)) == told


def test_a_soft_photo_and_a_cleared_ends_width_are_remarked_on() -> None:
    assert reasons(good()._replace(soft=True)) == ["soft_photo"]
    assert reasons(good(), cleared=True) == ["width_from_shoulders"]


def test_the_tilt_is_as_sure_as_the_pose_is() -> None:
    plane = good().plane
    root = np.linalg.cholesky(plane.covariance)
    draws = np.random.default_rng(17).standard_normal((2000, len(root))) @ root.T
    tilts = [plane.with_theta(plane.theta + draw).tilt_deg for draw in draws]
    assert good().tilt.value == plane.tilt_deg
    # 2000 draws know a standard deviation to 1.6 %: four of those.
    assert good().tilt.u == pytest.approx(np.std(tilts), rel=0.064)
