"""Straight lines: exact points, outliers, and uncertainty that knows of roughness alike along the edge."""

from __future__ import annotations

import numpy as np
import pytest

from vision.walls.fit import fit_line

T = np.linspace(-5.0, 11.0, 81)
"""Not even about zero, so that the middle counts."""


@pytest.mark.parametrize("robust", [True, False])
def test_points_on_a_line_give_the_line(robust: bool) -> None:
    fit = fit_line(T, 3.0 - 0.02 * T, robust=robust)
    assert fit.slope == pytest.approx(-0.02, rel=1e-12)
    assert fit.at(5.0) == pytest.approx(2.9, rel=1e-12)
    assert fit.scatter < 1e-12
    np.testing.assert_allclose(fit.residuals(T, 3.0 - 0.02 * T), 0.0, atol=1e-12)


def test_without_robustness_it_is_ordinary_least_squares() -> None:
    rng = np.random.default_rng(51)
    values = 1.0 + 0.3 * T + rng.normal(size=len(T))
    (slope, level), covariance = np.polyfit(T, values, 1, cov=True)
    fit = fit_line(T, values, robust=False)
    # The same normal equations: rounding only.
    assert (fit.slope, fit.at(0.0)) == pytest.approx((slope, level), rel=1e-9)
    assert (fit.slope_u, fit.u_at(0.0)) == pytest.approx(tuple(np.sqrt(np.diag(covariance))), rel=1e-9)


def test_a_nick_does_not_turn_the_line() -> None:
    rng = np.random.default_rng(52)
    values = 0.01 * T + 0.01 * rng.normal(size=len(T))
    nicked = values.copy()
    nicked[70:76] += 0.5
    clean, robust, plain = fit_line(T, values), fit_line(T, nicked), fit_line(T, nicked, robust=False)
    # Six of 81 points at two Huber limits each: less than a tenth of what least squares lets them do.
    assert abs(robust.slope - clean.slope) < 0.1 * abs(plain.slope - clean.slope)


def test_stated_uncertainty_matches_the_scatter_of_slopes_for_white_noise() -> None:
    rng = np.random.default_rng(53)
    fits = [fit_line(T, 0.01 * rng.normal(size=len(T))) for _ in range(300)]
    ratio = np.std([fit.slope for fit in fits]) / np.mean([fit.slope_u for fit in fits])
    # Sampling of 300 is 4 % a standard deviation; Huber's weights and chance autocorrelation state a little too much.
    assert 0.75 < ratio < 1.12


def test_roughness_alike_along_the_edge_is_worth_fewer_points() -> None:
    rng = np.random.default_rng(54)
    kernel = np.exp(-0.5 * (np.arange(-12, 13) / 4.0) ** 2)
    rough = [np.convolve(rng.normal(size=len(T) + 24), kernel / np.linalg.norm(kernel), "valid") for _ in range(200)]
    fits = [fit_line(T, 0.01 * edge) for edge in rough]
    # Alike over +-4 points: sum of the correlations is sqrt(4 pi) 4 = 14 points, so about 6 of 81 are independent.
    assert np.median([fit.independent for fit in fits]) < 20.0
    ratio = np.std([fit.slope for fit in fits]) / np.mean([fit.slope_u for fit in fits])
    # A short series shows less than all of its own correlation; counting pixels would make this 3.7.
    assert 0.7 < ratio < 1.8


def test_order_of_the_points_does_not_matter() -> None:
    rng = np.random.default_rng(55)
    values, order = rng.normal(size=len(T)), rng.permutation(len(T))
    one, other = fit_line(T, values), fit_line(T[order], values[order])
    assert (one.slope, one.slope_u) == pytest.approx((other.slope, other.slope_u), rel=1e-9)


def test_level_and_slope_are_uncorrelated_about_the_middle() -> None:
    fit = fit_line(T + 30.0, np.cos(T))
    assert fit.u_at(fit.middle) == fit.level_u
    assert fit.u_at(fit.middle + 10.0) == pytest.approx(np.hypot(fit.level_u, 10.0 * fit.slope_u), rel=1e-12)


@pytest.mark.parametrize("t", [np.array([0.0, 1.0]), np.array([2.0, 2.0, 2.0])])
def test_too_few_places_are_a_callers_mistake(t: np.ndarray) -> None:
    with pytest.raises(ValueError, match="at least 3 points at different places"):
        fit_line(t, np.zeros(len(t)))
