"""A profile as the lens of another photo: turned with it, and with the allowances of focus and stabiliser."""

from __future__ import annotations

import numpy as np
import pytest

from calibration.camera.model import distort
from calibration.camera.profile import CameraProfile
from calibration.camera.setting import CameraSetting, turn_matrix
from calibration.lens_prior import FOCUS_U, STABILISER_SHARE

SIZE = (4032, 3024)
U = np.array([0.002, 0.001, 0.004, 5.0, 6.0])
PROFILE = CameraProfile(
    "test",
    CameraSetting("Maker", "Phone 9", size_px=SIZE),
    np.array([np.log(5500.0), 0.03, -0.01, 20.0, -8.0]),
    np.diag(U**2) + 1e-6 * np.outer(U, U),
    np.array([0.002, -0.001]),
)


def test_focus_and_stabiliser_have_their_allowances() -> None:
    prior = PROFILE.prior(SIZE, 1)
    np.testing.assert_array_equal(prior.mean, PROFILE.lens)
    added = np.diag(prior.covariance - PROFILE.covariance)
    stabiliser = (STABILISER_SHARE * 4032.0) ** 2
    np.testing.assert_allclose(added, [FOCUS_U**2, 0.0, 0.0, stabiliser, stabiliser], rtol=1e-9, atol=1e-15)


def test_the_principal_point_turns_with_the_photo() -> None:
    """Held upright (orientation 6): what lay right of the middle lies below it, what lay above, right of it."""
    prior = PROFILE.prior(SIZE, 6)
    np.testing.assert_allclose(prior.mean[3:], [8.0, 20.0])
    sigma = np.sqrt(np.diag(prior.covariance))[3:]
    assert sigma[0] > sigma[1]  # the 6 px of the stored y now lie along x
    assert prior.focal_px == pytest.approx(5500.0, rel=1e-12)


@pytest.mark.parametrize("orientation", range(1, 9))
def test_distortion_turns_with_the_photo(orientation: int) -> None:
    points = np.random.default_rng(3).uniform(-0.3, 0.3, (10, 2))
    turn = turn_matrix(orientation)
    prior = PROFILE.prior(SIZE, orientation)
    stored = np.concatenate([PROFILE.lens, PROFILE.decentring, [0.0]])
    upright = np.concatenate([prior.mean, prior.decentring, [0.0]])
    # Turning and distorting are done in either order: an identity.
    np.testing.assert_allclose(distort(points @ turn.T, upright), distort(points, stored) @ turn.T, atol=1e-15)


def test_a_photo_turned_before_it_was_stored_leaves_open_to_which_side() -> None:
    prior = PROFILE.prior((3024, 4032), 1)
    np.testing.assert_array_equal(prior.mean[3:], 0.0)
    for side in (6, 8):
        offset = turn_matrix(side) @ PROFILE.lens[3:]
        # Both possible places lie within the covariance: at most one and a bit standard deviations out.
        assert offset @ np.linalg.solve(prior.covariance[3:, 3:], offset) < 2.0


def test_another_size_is_refused() -> None:
    with pytest.raises(ValueError, match=r"stored_px must be \(4032, 3024\), got \(4032, 2268\)"):
        PROFILE.prior((4032, 2268), 1)


def test_a_covariance_that_is_none_is_refused() -> None:
    with pytest.raises(ValueError, match="covariance must be positive definite"):
        CameraProfile("x", PROFILE.setting, PROFILE.lens, -PROFILE.covariance)
