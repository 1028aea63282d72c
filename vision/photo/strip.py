"""Straightened strips of the photo: linear light, sampled on a rectangular grid of millimetres."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Light = NDArray[np.float32]
ToImage = Callable[[Floats], Floats]

KNOT_MM = 1.0
FINEST_PX_PER_MM = 20.0
"""Strips are sampled no finer than this, however many pixels the photo has to the mm."""
_DIM = 0.02
"""Light below which neither its logarithm nor its colours say much."""


@dataclass(frozen=True)
class Frame:
    """A right-angled frame in the card's plane: origin (2,) in mm, unit vectors `right` and `down` (2,)."""

    origin: Floats
    right: Floats
    down: Floats

    @staticmethod
    def turned(origin: Floats, angle_rad: float) -> Frame:
        """A frame at `origin` whose x axis makes `angle_rad` with the plane's x axis (clockwise as seen, y down)."""
        right = np.array([np.cos(angle_rad), np.sin(angle_rad)])
        return Frame(np.asarray(origin, float), right, np.array([-right[1], right[0]]))

    def to_plane(self, points: Floats) -> Floats:
        """Plane mm (n, 2) of frame mm (n, 2)."""
        return np.asarray(self.origin + points[:, :1] * self.right + points[:, 1:] * self.down)

    def from_plane(self, points: Floats) -> Floats:
        """Frame mm (n, 2) of plane mm (n, 2)."""
        offset = points - self.origin
        return np.column_stack([offset @ self.right, offset @ self.down])

    def moved(self, x_mm: float, y_mm: float, angle_rad: float) -> Frame:
        """This frame with its origin moved to (x, y) of itself and turned by `angle_rad`."""
        origin = self.to_plane(np.array([[x_mm, y_mm]]))[0]
        return Frame.turned(origin, float(np.arctan2(self.right[1], self.right[0])) + angle_rad)


def srgb_to_linear(levels: Floats) -> Floats:
    """Linear light of sRGB levels in 0..1 (IEC 61966-2-1)."""
    return np.where(levels <= 0.04045, levels / 12.92, ((levels + 0.055) / 1.055) ** 2.4)


def linear_to_srgb(light: Light) -> Light:
    """sRGB levels in 0..1 of linear light; the reverse of `srgb_to_linear`, nothing being darker than black."""
    light = np.maximum(light, np.float32(0.0))
    return np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** np.float32(1.0 / 2.4) - 0.055).astype(
        np.float32
    )


_LINEAR = srgb_to_linear(np.arange(256) / 255.0).astype(np.float32)
_COLUMNS_AT_ONCE = 256
"""Columns of a grid that are sampled together: their part of the photo, as light, then stays in the cache."""


def sample_grid(
    rgb: NDArray[np.uint8], to_image: ToImage, x_mm: Floats, y_mm: Floats
) -> tuple[Light, NDArray[np.bool_]]:
    """Linear light (rows, columns, 3) of the photo at the grid of `x_mm` (columns) and `y_mm` (rows).

    `to_image` maps (n, 2) mm to pixels. The second array (rows, columns) tells which samples lie inside the photo;
    the others repeat its border.
    """
    return sample_points(rgb, pixel_grid(to_image, x_mm, y_mm))


def pixel_grid(to_image: ToImage, x_mm: Floats, y_mm: Floats) -> Light:
    """Pixels (rows, columns, 2) of an evenly spaced grid: exact at knots, straight between them.

    Perspective and distortion bend so little that knots KNOT_MM apart keep this within a hundredth of a pixel.
    """
    across, along_x = _knots(x_mm)
    down, along_y = _knots(y_mm)
    knots = np.stack(np.meshgrid(across, down), axis=-1)
    pixels = np.moveaxis(to_image(knots.reshape(-1, 2)).reshape(knots.shape), 2, 0).astype(np.float32)
    return np.moveaxis(along_y @ (pixels @ along_x.T), 0, 2)


def _knots(places: Floats) -> tuple[Floats, Light]:
    """Knots (m,) over evenly spaced `places` (n,), and what share of each makes up every place, (n, m)."""
    count = max(2, int(np.ceil((places[-1] - places[0]) / KNOT_MM)) + 1)
    position = np.linspace(0.0, count - 1.0, len(places))
    first = np.minimum(position.astype(int), count - 2)
    shares = np.zeros((len(places), count), np.float32)
    every = np.arange(len(places))
    shares[every, first + 1] = position - first
    shares[every, first] = 1.0 - (position - first)
    return np.linspace(places[0], places[-1], count), shares


def sample_points(rgb: NDArray[np.uint8], pixels: Floats | Light) -> tuple[Light, NDArray[np.bool_]]:
    """Linear light (rows, columns, 3) at pixel positions (rows, columns, 2), and which lie inside the photo."""
    height, width = rgb.shape[:2]
    x, y = pixels[..., 0], pixels[..., 1]
    inside = (x >= 2.0) & (y >= 2.0) & (x < width - 3) & (y < height - 3)
    light = np.empty((*x.shape, 3), np.float32)
    for first in range(0, x.shape[1], _COLUMNS_AT_ONCE):
        block = slice(first, first + _COLUMNS_AT_ONCE)
        light[:, block] = _light_at(rgb, x[:, block], y[:, block])
    return light, inside


def _light_at(rgb: NDArray[np.uint8], x: Floats | Light, y: Floats | Light) -> Light:
    """Linear light (rows, columns, 3) at pixels (x, y); of the photo's border for those outside."""
    height, width = rgb.shape[:2]
    low = np.clip(np.floor([x.min(), y.min()]).astype(int) - 3, 0, [width - 1, height - 1])
    high = np.clip(np.ceil([x.max(), y.max()]).astype(int) + 4, 1, [width, height])
    window = cv2.LUT(rgb[low[1] : high[1], low[0] : high[0]], _LINEAR)
    across, down = (x - low[0]).astype(np.float32), (y - low[1]).astype(np.float32)
    return np.asarray(cv2.remap(window, across, down, cv2.INTER_CUBIC, borderMode=cv2.BORDER_REPLICATE), np.float32)


Tone = Callable[[Light], Light]
"""One light (rows, columns) of the channels of a picture (rows, columns, 3)."""


def mean_light(light: Light) -> Light:
    """Mean (rows, columns) of the channels of `light` (rows, columns, channels).

    As a product: numpy's own mean along so short an axis takes fifty times as long.
    """
    channels = light.shape[2]
    return np.asarray(light @ np.full(channels, 1.0 / channels, np.float32))


def brightest(light: Light) -> Light:
    """Brightest channel (rows, columns) of `light` (rows, columns, 3), where coloured ink hardly shows."""
    red, green, blue = np.moveaxis(light, 2, 0)
    return np.asarray(np.maximum(np.maximum(red, green), blue))


def blue_light(light: Light) -> Light:
    """Blue channel (rows, columns) of `light` (rows, columns, 3): wood has less of it than what else is as bright."""
    return light[..., 2]


def blueness(light: Light) -> Light:
    """How blue beside how red `light` (rows, columns, 3) is, (rows, columns): wood less than most benches as bright.

    A shadow hardly changes it.
    """
    red, blue = np.maximum(light[..., 0], 0.0), np.maximum(light[..., 2], 0.0)
    return np.asarray((blue + _DIM) / (red + _DIM))


def log_light(light: Light) -> Light:
    """Natural logarithm of light of any shape; what is darker than `_DIM` counts as hardly darker."""
    return np.asarray(np.log(np.maximum(light, 0.0) + _DIM))


def light_and_colours(light: Light) -> Iterator[Light]:
    """Brightness of `light` (rows, columns, 3), and two ratios of its colours, in natural logarithms: (rows, columns).

    One after the other, for they are large.
    """
    red, green, blue = np.moveaxis(log_light(light), 2, 0)
    yield (red + green + blue) / 3.0
    yield red - green
    yield blue - green


def smooth(image: Light, sigma: float, axis: int) -> Light:
    """Gaussian smoothing of an image along one axis; `sigma` in samples."""
    half = max(1, int(np.ceil(3.0 * sigma)))
    kernel = np.exp(-0.5 * (np.arange(-half, half + 1) / sigma) ** 2)
    kernel /= kernel.sum()
    one = np.array([1.0])
    row, column = (kernel, one) if axis == 1 else (one, kernel)
    return np.asarray(cv2.sepFilter2D(image, -1, row, column, borderType=cv2.BORDER_REPLICATE), np.float32)


def shear_rows(image: Light, slope: float) -> Light:
    """Image whose columns are shifted so that lines y = slope (x - middle) become level."""
    height, width = image.shape[:2]
    matrix = np.array([[1.0, 0.0, 0.0], [-slope, 1.0, slope * width / 2.0]])
    return np.asarray(cv2.warpAffine(image, matrix, (width, height)), np.float32)


def shear_columns(image: Light, slope: float) -> Light:
    """Image whose rows are shifted so that lines x = slope (y - middle) become upright."""
    height, width = image.shape[:2]
    matrix = np.array([[1.0, -slope, slope * height / 2.0], [0.0, 1.0, 0.0]])
    return np.asarray(cv2.warpAffine(image, matrix, (width, height)), np.float32)
