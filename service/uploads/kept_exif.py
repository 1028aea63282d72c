"""Of all that a phone writes into a photo: what the measurement needs. Place, time, names and the rest are left out."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from PIL import Image

from vision.photo import exif

EXIF_IFD = 0x8769
KEPT = (exif.ORIENTATION, exif.MAKE, exif.MODEL)
KEPT_OF_EXIF = (
    exif.FOCAL_LENGTH,
    exif.FOCAL_LENGTH_35MM,
    exif.LENS_MODEL,
    exif.PIXEL_X,
    exif.PIXEL_Y,
    exif.DIGITAL_ZOOM,
    exif.FOCAL_PLANE_X,
    exif.FOCAL_PLANE_UNIT,
)
LONGEST_TEXT = 64
"""A make or model longer than that is no make or model."""


def kept_exif(image: Image.Image) -> bytes:
    """What is kept of the EXIF of an opened image, as `Exif\\0\\0` and a TIFF block; empty when there is nothing."""
    given, kept = image.getexif(), Image.Exif()
    turned = image.info.get("original_orientation")  # a HEIF's reader has turned the picture, and its EXIF with it
    for tag, value in (_chosen(given, KEPT) | ({exif.ORIENTATION: turned} if turned else {})).items():
        kept[tag] = value
    inner = _chosen(given.get_ifd(EXIF_IFD), KEPT_OF_EXIF)
    if inner:
        kept.get_ifd(EXIF_IFD).update(inner)
    return kept.tobytes() if len(kept) or inner else b""


def _chosen(tags: Mapping[int, Any], wanted: tuple[int, ...]) -> dict[int, Any]:
    """The wanted tags whose values are plain numbers or short texts."""
    return {tag: tags[tag] for tag in wanted if tag in tags and _plain(tags[tag])}


def _plain(value: object) -> bool:
    if isinstance(value, str):
        return len(value) <= LONGEST_TEXT
    try:
        float(value)  # type: ignore[arg-type]
    except (TypeError, ValueError, ZeroDivisionError, OverflowError):
        return False
    return True
