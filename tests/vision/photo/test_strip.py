"""Strips sampled from a photo: the same light however wide they are, and what lies outside told."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.photo.strip import Frame, pixel_grid, sample_grid, srgb_to_linear

Floats = NDArray[np.float64]

PHOTO = np.random.default_rng(5).integers(0, 256, (90, 1400, 3), dtype=np.uint8)
TURNED = Frame.turned(np.array([20.0, 30.0]), np.radians(1.3))
PX_PER_MM = 10.0


def to_image(points: Floats) -> Floats:
    return PX_PER_MM * TURNED.to_plane(points) / np.array([1.0, 10.0])


def test_a_wide_strip_holds_the_light_of_the_photo_under_each_of_its_samples() -> None:
    x, y = np.linspace(0.0, 110.0, 1100), np.linspace(0.0, 50.0, 30)
    light, inside = sample_grid(PHOTO, to_image, x, y)
    at = to_image(np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)).reshape(30, 1100, 2).astype(np.float32)
    linear = srgb_to_linear(PHOTO / 255.0).astype(np.float32)
    assert inside.all()
    whole = cv2.remap(linear, at[..., 0], at[..., 1], cv2.INTER_CUBIC, borderMode=cv2.BORDER_REPLICATE)
    # OpenCV places samples to 1/32 px; where rounding falls the other way, so much of the steepest step may differ
    assert np.abs(light - whole).max() < 2.0 / 32.0
    assert np.abs(light - whole).mean() < 1e-3


def test_samples_beyond_the_photo_are_told() -> None:
    _, inside = sample_grid(PHOTO, to_image, np.linspace(0.0, 300.0, 600), np.linspace(0.0, 50.0, 10))
    assert inside[:, :200].all()
    assert not inside[:, 300:].any()


def test_a_grid_between_knots_is_straight_to_a_hundredth_of_a_pixel() -> None:
    def bent(points: Floats) -> Floats:
        return 20.0 * points / (1.0 + 4e-4 * points[:, :1])  # perspective of a phone held 20 degrees off square

    x, y = np.linspace(-30.0, 30.0, 700), np.linspace(0.0, 20.0, 150)
    exact = bent(np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)).reshape(150, 700, 2)
    assert np.abs(pixel_grid(bent, x, y) - exact).max() < 0.01
