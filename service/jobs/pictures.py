"""The pictures of a check: result drawn, photo for a screen, thumbnail; encoded for any browser."""

from __future__ import annotations

from io import BytesIO

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image

from service.domain.check import Pictures
from service.jobs.bench import Bench
from vision.photo.photo import Photo

Pixels = NDArray[np.uint8]
SCREEN_PX, THUMBNAIL_PX = 3000, 480
"""Longest sides. A kerf of 0.6 mm is 10 pixels in a photo for the screen: enough to look at it closely."""
DRAWING_PX = 2000
"""Width of a drawing of several photos."""
QUALITY = 88


def keep_pictures(photo: Photo, overlay: Pixels | None, bench: Bench) -> Pictures:
    """All pictures of one photo, for its answer; `overlay` is the drawn result, None when there is none."""
    screen = _shrunk(photo.rgb, SCREEN_PX)
    drawn = None if overlay is None else _shrunk(overlay, SCREEN_PX)
    shown = _shrunk(screen if drawn is None else drawn, THUMBNAIL_PX)
    return Pictures("" if drawn is None else _kept(drawn, bench), _kept(screen, bench), _kept(shown, bench))


def keep_drawing(drawing: Pixels, bench: Bench) -> str:
    """The name of a drawing of several photos below one another: no narrower than of one."""
    height, width = drawing.shape[:2]
    return _kept(_shrunk(drawing, round(DRAWING_PX * max(1.0, height / width))), bench)


def _shrunk(pixels: Pixels, longest_px: int) -> Pixels:
    """The picture with its longest side no longer than that, every pixel the mean of what it covers."""
    scale = longest_px / max(pixels.shape[:2])
    if scale >= 1.0:
        return pixels
    size = [max(1, round(side * scale)) for side in pixels.shape[1::-1]]
    return np.asarray(cv2.resize(pixels, size, interpolation=cv2.INTER_AREA), np.uint8)


def _kept(pixels: Pixels, bench: Bench) -> str:
    file = BytesIO()
    Image.fromarray(pixels).save(file, "JPEG", quality=QUALITY, progressive=True)
    return bench.keep(file.getvalue())
