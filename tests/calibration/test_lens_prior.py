"""What is known of a lens beforehand."""

from __future__ import annotations

import numpy as np
import pytest

from calibration.lens_prior import FOCUS_U, STABILISER_SHARE, LensPrior


def test_a_focal_length_alone_leaves_the_rest_as_phones_have_it() -> None:
    prior = LensPrior.from_focal(4000.0, 0.02, (3024, 4032))
    assert prior.focal_px == pytest.approx(4000.0, rel=1e-12)
    # Distortion as phones leave it; a principal point within 0.5 % of the long side.
    expected = [0.02, 0.02, 0.008, 20.16, 20.16]
    np.testing.assert_allclose(np.sqrt(np.diag(prior.covariance)), expected)
    np.testing.assert_array_equal(prior.mean[1:], 0.0)


def test_whitened_departures_weigh_as_the_information_does() -> None:
    rng = np.random.default_rng(1)
    factor = rng.standard_normal((5, 5)) * [[0.01], [0.02], [0.01], [5.0], [7.0]]
    prior = LensPrior(np.zeros(5), factor @ factor.T)
    departure = factor @ rng.standard_normal(5)
    white = prior.whitened(departure)
    # Two ways to one quadratic form; the covariance's condition costs some digits.
    assert white @ white == pytest.approx(departure @ prior.information @ departure, rel=1e-6)


def test_a_principal_point_is_off_the_middle_by_standard_deviations_of_its_own() -> None:
    prior = LensPrior.from_focal(4000.0, 0.02, (3024, 4032))
    away = np.array([np.log(4000.0) + 1.0, 0.5, 0.5, 3.0 * 20.16, -4.0 * 20.16])
    assert prior.off_middle(away) == pytest.approx(5.0, rel=1e-12)
    assert LensPrior(away, prior.covariance).off_middle(away) == 0.0


def test_focus_is_known_within_a_percent_and_a_stabiliser_moves_by_three_thousandths() -> None:
    assert (pytest.approx(0.01 / 3.0**0.5), 0.003) == (FOCUS_U, STABILISER_SHARE)  # rectangular; a standard deviation


def test_a_wrong_shape_or_an_impossible_covariance_is_refused() -> None:
    with pytest.raises(ValueError, match="mean must have 5 entries"):
        LensPrior(np.zeros(4), np.eye(5))
    with pytest.raises(ValueError, match="positive definite"):
        LensPrior(np.zeros(5), np.zeros((5, 5)))
    with pytest.raises(ValueError, match="positive definite"):
        LensPrior(np.zeros(5), np.diag([1.0, 1.0, 1.0, 1.0, -1.0]))
