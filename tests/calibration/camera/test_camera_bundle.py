"""Bundle adjustment on simulated views: exact when nothing is wrong, and as uncertain as it says when something is."""

from __future__ import annotations

import numpy as np
import pytest

from calibration.camera.bundle import ASPECT, Beliefs, View, adjust, card_matrix
from calibration.lens_prior import FOCUS_U, STABILISER_SHARE
from calibration.prints.shape import PrintShape
from tests.calibration.card_views import FOCAL_PX, POINTS, SIGMA_PX, SIZE, card_views, drawn_phone

SOLVED = [0, 1, 2, 3, 4, ASPECT, ASPECT + 1]
SIMULATIONS = 40


def beliefs(*, moving: bool) -> Beliefs:
    mean = np.concatenate([[np.log(FOCAL_PX)], np.zeros(9)])
    sigma = np.array([0.1, 0.2, 0.2, 100.0, 100.0, 0.0, 0.0, 0.0, 0.02, 0.02])
    stabiliser = STABILISER_SHARE * SIZE[0]
    return Beliefs(mean, sigma, float(moving) * np.array([FOCUS_U, stabiliser, stabiliser]))


@pytest.mark.parametrize("moving", [False, True], ids=["lens held still", "focus and stabiliser move"])
def test_errors_are_as_large_as_the_covariance_says(moving: bool) -> None:
    squares = []
    for seed in range(SIMULATIONS):
        rng = np.random.default_rng(1000 + seed)
        phone = drawn_phone(rng)
        found = adjust(card_views(phone, rng, moving=moving), beliefs(moving=moving), SIZE)
        error = (found.shared - np.concatenate([phone.lens, phone.shape]))[SOLVED]
        squares.append(float(error @ np.linalg.solve(found.covariance[np.ix_(SOLVED, SOLVED)], error)))
    # Chi-square of 7 x 40 = 280 degrees of freedom: 280 +- 4 sqrt(560). The corners' sigma is estimated from some 600
    # residuals, to 3 % (6 % of the sum), and Huber's weights cost a few per cent more.
    assert 280.0 - 4.0 * 23.7 < sum(squares) < (280.0 + 4.0 * 23.7) * 1.06


def test_the_corners_standard_deviation_comes_out() -> None:
    rng = np.random.default_rng(7)
    found = adjust(card_views(drawn_phone(rng), rng), beliefs(moving=True), SIZE)
    # Some 600 coordinates know a standard deviation to 3 %, by the median to 5 %: three of those.
    assert found.sigma_px == pytest.approx(SIGMA_PX, rel=0.15)


def test_a_wrong_corner_hardly_moves_the_lens() -> None:
    rng = np.random.default_rng(8)
    views = card_views(drawn_phone(rng), rng)
    clean = adjust(views, beliefs(moving=True), SIZE)
    wrong = views[6].points_px.copy()
    wrong[5] += [30.0, -20.0]
    found = adjust([*views[:6], View(views[6].points_mm, wrong), *views[7:]], beliefs(moving=True), SIZE)
    moved = np.abs(found.shared - clean.shared)[SOLVED] / np.sqrt(np.diag(clean.covariance))[SOLVED]
    # Huber's weight lets one corner in 330 pull like one of three sigma: under one standard deviation of anything.
    assert moved.max() < 1.0


def test_what_is_held_fixed_stays_and_has_no_uncertainty() -> None:
    rng = np.random.default_rng(9)
    found = adjust(card_views(drawn_phone(rng), rng, moving=False), beliefs(moving=False), SIZE)
    np.testing.assert_array_equal(found.shared[5:8], 0.0)
    np.testing.assert_array_equal(found.covariance[5:8], 0.0)
    np.testing.assert_array_equal(found.own[:, 6:], 0.0)


def test_the_cards_shape_is_the_prints() -> None:
    shape = PrintShape(np.exp(-0.002), np.exp(0.002), 0.003)
    np.testing.assert_allclose(POINTS @ card_matrix(0.004, 0.003).T, shape.true_points(POINTS), atol=1e-12)


def test_no_views_are_refused() -> None:
    with pytest.raises(ValueError, match="views must not be empty"):
        adjust([], beliefs(moving=False), SIZE)
