"""The focal length in pixels, from the numbers a phone writes into a photo (EXIF 2.32, tags of the Exif IFD).

Pure: takes the two tag tables as mappings, so any reader can feed it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any, NamedTuple

from calibration.units import MM_PER_INCH
from vision.photo.photo import Lens

ORIENTATION, MAKE, MODEL = 0x0112, 0x010F, 0x0110
FOCAL_LENGTH, FOCAL_LENGTH_35MM, LENS_MODEL = 0x920A, 0xA405, 0xA434
PIXEL_X, PIXEL_Y = 0xA002, 0xA003
DIGITAL_ZOOM = 0xA404
FOCAL_PLANE_X, FOCAL_PLANE_UNIT = 0xA20E, 0xA210

FILM_DIAGONAL_MM = math.hypot(36.0, 24.0)
DEFINITION_HALF_WIDTH = 0.04
"""Makers agree on the film's diagonal (CIPA DCG-001) but not all keep to it: on a 4:3 photo the same number read by
the film's width instead is 3.8 % shorter."""
MM_PER_UNIT = {2: MM_PER_INCH, 3: 10.0, 4: 1.0, 5: 0.001}
"""EXIF FocalPlaneResolutionUnit: inch, centimetre, millimetre, micrometre."""
SAME_SHAPE = 0.01
"""How far the aspect ratio may differ from the one the camera wrote before the photo counts as cut."""
USUAL_SHAPES, NARROW_SHAPE = (1.0, 4.0 / 3.0, 3.0 / 2.0, 16.0 / 9.0), 1.95
"""Long side over short side as cameras store pictures, and from where on phones fill their narrow screens (common
practice, no source)."""


class Focal(NamedTuple):
    """A focal length in pixels and its standard uncertainty."""

    px: float
    u_px: float


def orientation(tags: Mapping[int, Any]) -> int:
    """The EXIF orientation, 1 to 8; 1 when absent or nonsense."""
    value = tags.get(ORIENTATION, 1)
    return value if isinstance(value, int) and 1 <= value <= 8 else 1


def lens(tags: Mapping[int, Any], exif: Mapping[int, Any], width_px: int, height_px: int) -> Lens:
    """What the main (`tags`) and `exif` tag tables of a photo of that stored size say about its lens."""
    cut = _cut(exif, width_px, height_px)
    focal = None if cut else _focal(exif, width_px, height_px)
    return Lens(
        _text(tags, MAKE),
        _text(tags, MODEL),
        _text(exif, LENS_MODEL),
        focal_px=focal.px if focal else None,
        focal_u_px=focal.u_px if focal else None,
        focal_mm=_number(exif, FOCAL_LENGTH),
        film_mm=_number(exif, FOCAL_LENGTH_35MM),
        zoom=_number(exif, DIGITAL_ZOOM) or 1.0,
        cut=cut,
    )


def _focal(exif: Mapping[int, Any], width_px: int, height_px: int) -> Focal | None:
    return _from_film(exif, math.hypot(width_px, height_px)) or _from_sensor(exif, max(width_px, height_px))


def _from_film(exif: Mapping[int, Any], diagonal_px: float) -> Focal | None:
    """From the 35 mm equivalent, a whole number of millimetres: rounding and definition make its uncertainty."""
    film_mm = _number(exif, FOCAL_LENGTH_35MM)
    if film_mm is None:
        return None
    px = film_mm * diagonal_px / FILM_DIAGONAL_MM
    return Focal(px, px * math.hypot(0.5 / film_mm, DEFINITION_HALF_WIDTH) / math.sqrt(3.0))


def _from_sensor(exif: Mapping[int, Any], longer_px: int) -> Focal | None:
    """From the true focal length and the sensor's pixels per unit, carried over to the photo's own size.

    By the longer sides: a photo may be stored upright and its data still those of the sensor.
    """
    focal_mm, density = _number(exif, FOCAL_LENGTH), _number(exif, FOCAL_PLANE_X)
    unit_mm, x_px = MM_PER_UNIT.get(exif.get(FOCAL_PLANE_UNIT, 2)), _number(exif, PIXEL_X)
    if focal_mm is None or density is None or unit_mm is None or x_px is None:
        return None
    px = focal_mm * density / unit_mm * longer_px / max(x_px, _number(exif, PIXEL_Y) or 0.0)
    return Focal(px, px * DEFINITION_HALF_WIDTH / math.sqrt(3.0))


def _cut(exif: Mapping[int, Any], width_px: int, height_px: int) -> bool:
    """Whether the photo has another shape than the camera wrote, or one that none does: it was cut out of a larger one.

    Its 35 mm number then no longer describes it, and its middle is not the lens's.
    """
    x_px, y_px = _number(exif, PIXEL_X), _number(exif, PIXEL_Y)
    shape = _shape(width_px, height_px)
    if x_px is not None and y_px is not None and not _alike(shape, _shape(x_px, y_px)):
        return True
    return shape < NARROW_SHAPE and not any(_alike(shape, usual) for usual in USUAL_SHAPES)


def _shape(width: float, height: float) -> float:
    return max(width, height) / min(width, height)


def _alike(one: float, other: float) -> bool:
    return abs(one / other - 1.0) <= SAME_SHAPE


def _number(tags: Mapping[int, Any], tag: int) -> float | None:
    """A positive finite number, or None: phones write 0 and 0/0 for what they do not know."""
    try:
        value = float(tags.get(tag, 0))
    except (TypeError, ValueError, ZeroDivisionError):
        return None
    return value if math.isfinite(value) and value > 0.0 else None


def _text(tags: Mapping[int, Any], tag: int) -> str:
    value = tags.get(tag, "")
    return value.strip(" \0") if isinstance(value, str) else ""
