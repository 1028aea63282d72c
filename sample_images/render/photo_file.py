"""Writes the photo as a phone would: JPEG or HEIC with EXIF, stored turned when the phone was held turned."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pillow_heif
from numpy.typing import NDArray
from PIL import Image as Pillow
from PIL import TiffImagePlugin

from .camera import Camera
from .params import Params

MAKE, MODEL = "Invented", "Render 1"
ORIENTATION, MAKE_TAG, MODEL_TAG, EXIF_IFD = 0x0112, 0x010F, 0x0110, 0x8769
FOCAL, FOCAL_35, TAKEN = 0x920A, 0xA405, 0x9003
TURNS_TO_STORED = {1: 0, 3: 2, 6: 1, 8: 3}
"""Quarter turns counter-clockwise that make the stored picture of an upright one, by EXIF orientation."""
CROP_FACTOR = 5.6


def write(upright: NDArray[np.uint8], scene: Params, camera: Camera, stem: Path) -> Path:
    """The file beside `stem`, with its suffix; its orientation flag turns it upright again."""
    how = scene.develop
    pillow_heif.register_heif_opener()
    if how.container == "heic":
        path = stem.with_suffix(".heic")
        Pillow.fromarray(upright).save(path, quality=how.quality, exif=_exif(camera, 1).tobytes())
        return path
    path = stem.with_suffix(".jpg")
    stored = Pillow.fromarray(np.ascontiguousarray(np.rot90(upright, TURNS_TO_STORED[how.orientation])))
    stored = stored.convert("L") if how.mono else stored
    stored.save(path, quality=how.quality, subsampling=2, exif=_exif(camera, how.orientation))
    return path


def stored_orientation(scene: Params) -> int:
    """The EXIF orientation that the file carries."""
    return 1 if scene.develop.container == "heic" else scene.develop.orientation


def _exif(camera: Camera, orientation: int) -> Pillow.Exif:
    exif = Pillow.Exif()
    exif[MAKE_TAG], exif[MODEL_TAG], exif[ORIENTATION] = MAKE, MODEL, orientation
    detail = exif.get_ifd(EXIF_IFD)
    detail[FOCAL] = TiffImagePlugin.IFDRational(round(camera.f35 / CROP_FACTOR * 100), 100)
    detail[FOCAL_35] = round(camera.f35)
    detail[TAKEN] = "2026:02:14 10:00:00"
    return exif
