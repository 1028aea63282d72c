"""The line through a rough edge seen with errors, and its uncertainty."""

from __future__ import annotations

import numpy as np
import pytest

from vision.walls.rough_line import ROUGH_LENGTH_MM, ROUGH_MM, fit_rough_line

ALONG = np.linspace(-8.0, 8.0, 80)


def roughness(rng: np.random.Generator) -> np.ndarray:
    covariance = ROUGH_MM**2 * np.exp(-np.abs(ALONG[:, None] - ALONG) / ROUGH_LENGTH_MM)
    return np.asarray(np.linalg.cholesky(covariance) @ rng.normal(size=len(ALONG)))


def test_sharp_points_give_the_ordinary_least_squares_line() -> None:
    edge = 3.0 + 0.02 * ALONG + roughness(np.random.default_rng(1))
    line = fit_rough_line(ALONG, edge, np.full(len(ALONG), 1e-5))
    slope, level = np.polyfit(ALONG, edge, 1)
    # Identical in the limit of no errors; 1e-5 mm errors over 16 mm leave about 1e-7.
    assert line.slope == pytest.approx(slope, abs=1e-6)
    assert line.at(0.0) == pytest.approx(level, abs=1e-6)


def test_the_stated_uncertainty_is_the_realised_one_over_many_edges() -> None:
    rng = np.random.default_rng(2)
    sigma = np.where(ALONG > 4.0, 0.06, 0.01)
    errors, stated = [], []
    for _ in range(300):
        edge = 0.01 * ALONG + roughness(rng)
        line = fit_rough_line(ALONG, edge + sigma * rng.normal(size=len(ALONG)), sigma)
        errors.append(line.slope - np.polyfit(ALONG, edge, 1)[0])
        stated.append(line.slope_u)
    # 300 edges give a standard deviation to 4 %; outlier weights cost a little more.
    assert np.std(errors) / np.mean(stated) == pytest.approx(1.0, abs=0.15)


def test_a_few_points_far_off_do_not_turn_the_line() -> None:
    edge = 0.01 * ALONG + roughness(np.random.default_rng(3))
    sigma = np.full(len(ALONG), 0.008)
    clean = fit_rough_line(ALONG, edge, sigma)
    dusty = edge.copy()
    dusty[:4] += 0.25
    # Unweighted, these four would turn the slope by 0.004; leaving them out costs no more than a few standard errors.
    assert abs(fit_rough_line(ALONG, dusty, sigma).slope - clean.slope) < 0.0006


def test_too_few_points_are_refused() -> None:
    with pytest.raises(ValueError, match="at least 4 points"):
        fit_rough_line(ALONG[:3], ALONG[:3], np.ones(3))


def test_a_torn_end_helps_to_see_the_line_but_is_no_part_of_it() -> None:
    rng = np.random.default_rng(4)
    counts = np.abs(ALONG) < 0.8 * np.abs(ALONG).max()
    edge = 0.01 * ALONG + roughness(rng)
    edge[~counts & (ALONG > 0.0)] -= 0.15
    sharp = fit_rough_line(ALONG, edge, np.full(len(ALONG), 1e-4), counts)
    # Seen sharply, the part that counts is its own witness; errors of 1e-4 mm leave less than 1e-5.
    assert sharp.slope == pytest.approx(np.polyfit(ALONG[counts], edge[counts], 1)[0], abs=1e-5)
    blurred = np.where(counts, 0.2, 0.01)
    whole = fit_rough_line(ALONG, 0.01 * ALONG, blurred, counts)
    alone = fit_rough_line(ALONG[counts], 0.01 * ALONG[counts], blurred[counts])
    # Hardly seen, it is steadied by its ends, which are off by a twelfth of a millimetre at most.
    assert whole.slope_u < 0.8 * alone.slope_u
