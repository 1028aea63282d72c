"""The pictures of a check: result drawn, photo for a screen, thumbnail; encoded for any browser."""

from __future__ import annotations

from io import BytesIO

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from service.domain.check import Pictures
from service.use_cases.ports import PhotoStore
from vision.photo.photo import Photo

Pixels = NDArray[np.uint8]
SCREEN_PX, THUMBNAIL_PX = 3000, 480
"""Longest sides. A kerf of 0.6 mm is 10 pixels in a photo for the screen: enough to look at it closely."""
QUALITY = 88


def store_pictures(photo: Photo, overlay: Pixels | None, photos: PhotoStore) -> Pictures:
    """All pictures of one photo in the store; `overlay` is the drawn result, None when there is none."""
    shown = photo.rgb if overlay is None else overlay
    return Pictures(
        "" if overlay is None else _stored(overlay, SCREEN_PX, photos),
        _stored(photo.rgb, SCREEN_PX, photos),
        _stored(shown, THUMBNAIL_PX, photos),
    )


def _stored(pixels: Pixels, longest_px: int, photos: PhotoStore) -> str:
    image, file = Image.fromarray(pixels), BytesIO()
    image.thumbnail((longest_px, longest_px), Image.Resampling.LANCZOS, reducing_gap=2.0)
    image.save(file, "JPEG", quality=QUALITY, progressive=True)
    return photos.put(file.getvalue(), "JPEG").name
