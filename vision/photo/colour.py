"""Colour to sRGB: profiles, alpha, 16 bit and CMYK. The profile engine is loaded only when a photo needs it."""

from __future__ import annotations

from io import BytesIO
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from PIL import Image

Pixels = NDArray[np.uint8]

BAND_ROWS = 256
"""Rows converted at a time: a whole photo would need three more copies of itself."""
_SIXTEEN_BIT = ("I;16", "I;16B", "I;16L", "I")


def is_srgb(profile: bytes) -> bool:
    """Whether the ICC `profile` calls itself sRGB (in ASCII or UTF-16, ICC.1:2022 textType and mlucType)."""
    return b"srgb" in profile[:16384].replace(b"\0", b"").lower()


def convert_in_place(rgb: Pixels, profile: bytes) -> None:
    """Turn `rgb` (h, w, 3) from the ICC `profile` into sRGB; left as it is when the profile is not for RGB."""
    from PIL import Image

    transform = _transform(profile, "RGB")
    if transform is None:
        return
    for top in range(0, len(rgb), BAND_ROWS):
        band = Image.fromarray(rgb[top : top + BAND_ROWS])
        rgb[top : top + BAND_ROWS] = np.asarray(transform.apply(band))


def rgb_from_image(image: Image.Image, profile: bytes | None) -> Pixels:
    """(h, w, 3) sRGB pixels of a Pillow `image` of any mode, from the ICC `profile` if given."""
    image = _without_alpha(_eight_bit(image))
    transform = _transform(profile, image.mode) if profile else None
    return np.array(transform.apply(image) if transform else image.convert("RGB"))


def _transform(profile: bytes, mode: str) -> Any:
    """A Pillow colour transform to sRGB, or None when `profile` is broken or made for another kind of image."""
    from PIL import ImageCms

    try:
        source = ImageCms.ImageCmsProfile(BytesIO(profile))
        return ImageCms.buildTransform(source, ImageCms.createProfile("sRGB"), mode, "RGB")
    except (ImageCms.PyCMSError, OSError, TypeError, ValueError):
        return None


def _eight_bit(image: Image.Image) -> Image.Image:
    """`image` with 8 bits a channel: 16-bit grey is scaled, where Pillow's own conversion would clip it."""
    from PIL import Image

    if image.mode not in _SIXTEEN_BIT:
        return image
    values = np.asarray(image, dtype=np.float32)
    return Image.fromarray(np.clip(values * (255.0 / 65535.0) + 0.5, 0, 255).astype(np.uint8))


def _without_alpha(image: Image.Image) -> Image.Image:
    """`image` over white where it is transparent; palettes become colours."""
    from PIL import Image

    if image.mode in ("L", "RGB", "CMYK", "LAB", "YCbCr") and "transparency" not in image.info:
        return image
    layers = image.convert("RGBA")
    white = Image.new("RGB", image.size, "white")
    white.paste(layers, mask=layers.getchannel("A"))
    return white
