"""The edge profile: its shape in closed form, and its widths learned from samples and from a photo's card."""

from __future__ import annotations

import numpy as np
import pytest

from tests.scenes import Scene, rendered
from tests.vision.ends import solved
from vision.photo.card_edges import learn_edge_profile
from vision.photo.edge_profile import EdgeProfile

Z = np.linspace(-10.0, 10.0, 4001)


def test_a_plain_edge_rises_by_the_gaussians_2_563_sigma() -> None:
    # ISO 12233's 10 to 90 % rise of a Gaussian is 2.56310 sigma; the table's step is 0.005 sigma at either end.
    assert EdgeProfile(1.3, 0.0, 1.3).rise == pytest.approx(2.56310 * 1.3, abs=2 * 0.005 * 1.3)


def test_its_transfer_function_halves_where_a_gaussians_does() -> None:
    density = EdgeProfile(1.0, 0.0, 1.0).slope(Z)
    half = 0.18739  # cycles per sigma at which exp(-2 pi^2 s^2 f^2) = 1/2
    response = np.sum(density * np.cos(2.0 * np.pi * half * Z)) * (Z[1] - Z[0])
    assert response == pytest.approx(0.5, abs=1e-4)


@pytest.mark.parametrize("profile", [EdgeProfile(0.7, 0.0, 0.7), EdgeProfile(1.0, 0.5, 1.8)])
def test_every_edge_goes_from_nought_to_one(profile: EdgeProfile) -> None:
    step = profile.step(Z * 2.0)
    assert (step[0], step[-1]) == (0.0, 1.0)
    assert profile.step(np.zeros(1))[0] == pytest.approx(0.5, abs=1e-9)
    # `slope` is its derivative: second differences of a table of 2801 entries.
    np.testing.assert_allclose(np.gradient(profile.step(Z), Z), profile.slope(Z), atol=2e-3)


@pytest.mark.parametrize("profile", [EdgeProfile(0.06, 0.0, 0.06), EdgeProfile(1.0, 0.5, 1.8)])
def test_step_and_slope_together_are_what_they_are_alone(profile: EdgeProfile) -> None:
    places = Z * max(profile.blur, profile.halo)
    step, slope = profile.at(places[:, None])
    # Single precision; the slope is the nearest of a table, half a cell (0.0025 halos) of its steepest change away.
    np.testing.assert_allclose(step.ravel(), profile.step(places), atol=1e-5)
    np.testing.assert_allclose(slope.ravel(), profile.slope(places), atol=0.004 * profile.slope(np.zeros(1))[0])


def test_only_a_sharpened_edge_overshoots() -> None:
    assert np.all(np.diff(EdgeProfile(1.0, 0.0, 1.0).step(Z)) >= 0.0)
    assert EdgeProfile(1.0, 0.5, 1.8).step(Z).max() > 1.03


def test_scaling_stretches_the_profile() -> None:
    profile = EdgeProfile(1.0, 0.4, 1.5)
    np.testing.assert_allclose(profile.scaled(0.25).step(Z * 0.25), profile.step(Z), atol=1e-12)


@pytest.mark.parametrize("truth", [EdgeProfile(0.8, 0.0, 1.2), EdgeProfile(1.1, 0.6, 1.98), EdgeProfile(1.6, 0.3, 2.4)])
def test_samples_give_the_profile_back(truth: EdgeProfile) -> None:
    rng = np.random.default_rng(71)
    distance = rng.uniform(-5.0, 5.0, 6000)
    found = EdgeProfile.from_samples(distance + 0.13, truth.step(distance) + 0.02 * rng.standard_normal(6000))
    # Overshoot and widths trade against each other; the shape is what counts: 100 bins of 60 samples at 2 %, and
    # widths on a grid 7 % apart.
    assert np.abs(found.step(Z) - truth.step(Z)).max() < 0.03
    assert found.rise == pytest.approx(truth.rise, rel=0.08)


def test_too_few_samples_are_a_callers_mistake() -> None:
    with pytest.raises(ValueError, match="at least 50 samples, got 10"):
        EdgeProfile.from_samples(np.zeros(10), np.zeros(10))


SATURATED = "samples reach 5 px from the edge and levels are taken from 3.5 px on: no rise above 6.2 px is ever learned"


@pytest.mark.parametrize(
    "scene",
    [
        Scene(),
        Scene(blur_px=1.6, px_per_mm=13.0),
        Scene(blur_px=3.0),
    ],
)
def test_a_photos_blur_is_learned_from_its_card(scene: Scene) -> None:
    corners, plane = solved(scene)
    profile = learn_edge_profile(rendered(scene).photo.rgb, plane, corners.card)
    assert profile is not None
    # Painting adds a pixel of the finer texture, 0.17 px; the grid of widths is 7 % apart.
    assert profile.rise == pytest.approx(2.563 * np.hypot(scene.blur_px, 0.17), rel=0.08)


def test_no_profile_is_learned_where_no_edges_are() -> None:
    corners, plane = solved(Scene())
    assert learn_edge_profile(np.full((1700, 2400, 3), 128, np.uint8), plane, corners.card) is None
