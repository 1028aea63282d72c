"""scikit-image as an independent judge: the same plane, the same blurred and sharpened edge, the same line."""

from __future__ import annotations

import numpy as np
from skimage.filters import gaussian, unsharp_mask
from skimage.measure import LineModelND, ransac
from skimage.transform import ProjectiveTransform

from calibration.plane import PARAMETERS, PlaneMap
from vision.photo.edge_profile import EdgeProfile
from vision.walls.fit import fit_line

HOMOGRAPHY_PX = 1e-7
"""Two ways to the same four-parameter-per-row algebra at 1e3 px; the estimate solves a singular system in doubles."""
SAMPLED_STEP = 2e-4
"""A filter of samples 1/40 blur apart against the continuous formula: the kernel ends at 8 sigma and every sample
stands for an interval, which moves the steepest part by at most a few 1e-5; the profile's table adds as much."""
ROUGH_MM = 0.01
"""Roughness of the made edge. Of 60 points 9 are chipped; Huber's weights (limit 2 sigma) and a consensus that drops
the chips then differ by at most about 9/60 of 2 sigma, a third of this."""


def test_a_lens_without_distortion_maps_the_plane_as_a_homography_does() -> None:
    theta = np.array([0.08, -0.11, 0.4, -30.0, -12.0, 350.0, np.log(3100.0), 0.0, 0.0, 0.0, 0.0])
    plane = PlaneMap(theta, np.array([1631.5, 1223.5]), np.zeros((PARAMETERS, PARAMETERS)))
    corners = np.array([[0.0, 0.0], [120.0, 0.0], [120.0, 40.0], [0.0, 55.0]])
    judge = ProjectiveTransform.from_estimate(corners, plane.to_image(corners))
    inside = np.random.default_rng(7).uniform([-20.0, -10.0], [140.0, 80.0], (50, 2))
    np.testing.assert_allclose(plane.to_image(inside), judge(inside), atol=HOMOGRAPHY_PX)


def test_an_edge_without_halo_is_a_step_through_a_gaussian_filter() -> None:
    samples_per_blur = 40
    row = (np.arange(-1000, 1000) >= 0).astype(float)
    judge = gaussian(row, sigma=samples_per_blur, truncate=8.0)
    z = (np.arange(-1000, 1000) + 0.5) / samples_per_blur
    ours = EdgeProfile(blur=1.0, overshoot=0.0, halo=2.0).step(z)
    np.testing.assert_allclose(ours, judge, atol=SAMPLED_STEP)


def test_a_halo_is_what_unsharp_masking_makes() -> None:
    samples_per_blur, radius, amount = 40, 1.5, 0.6
    row = gaussian((np.arange(-1000, 1000) >= 0).astype(float), sigma=samples_per_blur, truncate=8.0)
    judge = unsharp_mask(0.25 + row / 2.0, radius=radius * samples_per_blur, amount=amount)
    z = (np.arange(-1000, 1000) + 0.5) / samples_per_blur
    ours = EdgeProfile(blur=1.0, overshoot=amount, halo=float(np.hypot(1.0, radius))).step(z)
    np.testing.assert_allclose(0.25 + ours / 2.0, judge, atol=SAMPLED_STEP)


def test_chips_on_one_side_do_not_pull_the_robust_line() -> None:
    rng = np.random.default_rng(3)
    y = np.linspace(-8.0, 8.0, 60)
    x = 0.2 + 0.01 * y + rng.normal(0.0, ROUGH_MM, len(y))
    x[rng.choice(len(y), 9, replace=False)] += 0.3
    judge, kept = ransac(np.column_stack([y, x]), LineModelND, 2, 3.0 * ROUGH_MM, max_trials=500, rng=3)
    assert kept.sum() >= 50
    ours = fit_line(y, x)
    np.testing.assert_allclose([ours.at(-8.0), ours.at(8.0)], judge.predict_y([-8.0, 8.0]), atol=ROUGH_MM)
