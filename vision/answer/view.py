"""The part of a photo that shows end and card, turned so that the card is at the top: what the overlay draws on."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.end.report import Measurement
from vision.photo.photo import Photo

Floats = NDArray[np.float64]
Pixels = NDArray[np.uint8]

PICTURE_WIDTH_PX = 1600
"""Enough for a phone to zoom in twice, small enough to send."""
MARGIN_MM = 8.0


@dataclass(frozen=True)
class View:
    """A picture (h, w, 3) cut from a photo, and `place`, which maps (n, 2) end-frame mm to its pixels."""

    picture: Pixels
    place: Callable[[Floats], Floats]

    @property
    def width_px(self) -> int:
        """Columns of the picture."""
        return int(self.picture.shape[1])

    @property
    def height_px(self) -> int:
        """Rows of the picture."""
        return int(self.picture.shape[0])


def view_end(photo: Photo, measurement: Measurement, *, card_reach_mm: float) -> View:
    """The end with its card, which reaches `card_reach_mm` out from the show face (negative: the transfer face)."""
    across, deep = measurement.width.value, measurement.thickness.value
    near = -MARGIN_MM - max(card_reach_mm, 0.0)
    far = deep + MARGIN_MM + max(-card_reach_mm, 0.0)
    reach = (-MARGIN_MM, across + MARGIN_MM), (near, far)
    return cut_view(photo, measurement.to_image, *reach, up=np.array([[0.0, deep], [0.0, 0.0]]))


def cut_view(
    photo: Photo,
    to_image: Callable[[Floats], Floats],
    across_mm: tuple[float, float],
    down_mm: tuple[float, float],
    *,
    up: Floats,
) -> View:
    """The part of a photo between two places each way, told in a frame that `to_image` maps to the photo's pixels.

    Turned by whole quarter turns, so that no detail is lost to it, until the way from `up[0]` to `up[1]` (2, 2) points
    upward, as nearly as can be; scaled to `PICTURE_WIDTH_PX`.
    """
    box = np.array([[x, y] for x in across_mm for y in down_mm])
    left, top, right, bottom = _within(photo, np.asarray(to_image(box)))
    piece = photo.rgb[top:bottom, left:right]
    start, end = np.asarray(to_image(up))
    turns = round(np.degrees(np.arctan2(end[1] - start[1], end[0] - start[0])) / 90.0 + 1.0) % 4
    scale = PICTURE_WIDTH_PX / (piece.shape[1] if turns % 2 == 0 else piece.shape[0])

    def place(points_mm: Floats) -> Floats:
        points = np.asarray(to_image(points_mm)) - (left, top)
        return (turn_points(points, turns, piece.shape[1], piece.shape[0]) + 0.5) * scale - 0.5

    return View(_scaled(np.rot90(piece, turns), scale), place)


def turn_points(points: Floats, turns: int, width_px: int, height_px: int) -> Floats:
    """Pixel (x, y) points of a picture of that size after `turns` quarter turns anticlockwise, as `numpy.rot90`."""
    x, y = points[:, 0], points[:, 1]
    last_x, last_y = width_px - 1.0, height_px - 1.0
    turned = ((x, y), (y, last_x - x), (last_x - x, last_y - y), (last_y - y, x))
    return np.column_stack(turned[turns % 4])


def _scaled(picture: Pixels, scale: float) -> Pixels:
    how = cv2.INTER_AREA if scale < 1.0 else cv2.INTER_CUBIC
    size = (PICTURE_WIDTH_PX, round(picture.shape[0] * scale))
    return cv2.resize(np.ascontiguousarray(picture), size, interpolation=how)  # type: ignore[return-value]


def _within(photo: Photo, points: Floats) -> tuple[int, int, int, int]:
    """Left, top, right, bottom pixels around points (n, 2), within the photo."""
    low = np.clip(np.floor(points.min(axis=0)), 0, None).astype(int)
    high = np.minimum(np.ceil(points.max(axis=0)).astype(int) + 1, (photo.width_px, photo.height_px))
    return int(low[0]), int(low[1]), int(high[0]), int(high[1])
