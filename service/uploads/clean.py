"""An upload made fit to be stored: told by its content, limited before it is decoded, and stripped."""

from __future__ import annotations

import io
import warnings

from PIL import Image

from calibration.outcome import CannotMeasure, refuse
from service.uploads.clean_heif import clean_heif
from service.uploads.clean_jpeg import clean_jpeg
from service.uploads.clean_png import clean_png
from service.uploads.clean_webp import clean_webp
from service.uploads.kept_exif import kept_exif
from vision.photo.decode import DAMAGED, decode, inspect

CLEANERS = {"JPEG": clean_jpeg, "PNG": clean_png, "WEBP": clean_webp, "HEIF": clean_heif}


def clean_upload(data: bytes) -> tuple[bytes, str]:
    """The photo without what is private, its pixels as they were, and its kind.

    A TIFF, which no phone sends, becomes a PNG. Raises CannotMeasure: too large, too small, not an image.
    """
    kind = inspect(data)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        try:
            return (_as_png(data), "PNG") if kind == "TIFF" else (CLEANERS[kind](data, _exif_of(data, kind)), kind)
        except CannotMeasure:
            raise
        except Exception as error:  # a stranger's bytes can be wrong in any way they like
            raise refuse("not_an_image", DAMAGED) from error


def _exif_of(data: bytes, kind: str) -> bytes:
    if kind == "HEIF":
        import pillow_heif

        pillow_heif.register_heif_opener()
    with Image.open(io.BytesIO(data), formats=[kind]) as image:
        return kept_exif(image)


def _as_png(data: bytes) -> bytes:
    """The decoded pixels, upright, as a PNG."""
    file = io.BytesIO()
    Image.fromarray(decode(data).rgb).save(file, "PNG", compress_level=3)
    return file.getvalue()
