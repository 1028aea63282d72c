"""Write a drawing as a PNG with grey edges, so that lines between pixels keep their place."""

from __future__ import annotations

import io
import math

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

from calibration.sheet.drawing import Area, Drawing, Text
from calibration.units import MM_PER_INCH

SAMPLES_PER_PIXEL = 8
"""Along each axis: an edge is drawn within 1/16 pixel of its place, 0.005 mm at 300 dots per inch."""

_ANCHORS = {"start": "ls", "middle": "ms", "end": "rs"}


def write_png(drawing: Drawing, dpi: int) -> bytes:
    """The drawing as a grey PNG of `dpi` dots per inch, which it states for printing."""
    px_per_mm = dpi / MM_PER_INCH
    size = (round(drawing.width_mm * px_per_mm), round(drawing.height_mm * px_per_mm))
    image = Image.new("L", size, 255)
    for shape in drawing.shapes:
        if isinstance(shape, Text):
            _draw_text(image, shape, px_per_mm)
        else:
            _draw_area(image, shape, px_per_mm)
    file = io.BytesIO()
    image.save(file, "PNG", dpi=(dpi, dpi))
    return file.getvalue()


def _draw_area(image: Image.Image, area: Area, px_per_mm: float) -> None:
    loops = [px_per_mm * np.array(loop) for loop in area.loops]
    left, top, right, bottom = _pixel_box(np.concatenate(loops))
    share = np.zeros((bottom - top, right - left), dtype=np.float32)
    for loop in loops:
        x0, y0, x1, y1 = _pixel_box(loop)
        share[y0 - top : y1 - top, x0 - left : x1 - left] += _signed_coverage(loop - (x0, y0), x1 - x0, y1 - y0)
    mask = Image.fromarray(np.round(255 * np.abs(share)).astype(np.uint8))
    image.paste(round(255 * area.grey), (left, top), mask)


def _pixel_box(points: NDArray[np.float64]) -> tuple[int, int, int, int]:
    """Left, top, right and bottom of the whole pixels that hold the points."""
    left, top = np.floor(points.min(axis=0)).astype(int).tolist()
    right, bottom = np.ceil(points.max(axis=0)).astype(int).tolist()
    return left, top, right, bottom


def _signed_coverage(loop: NDArray[np.float64], width: int, height: int) -> NDArray[np.float32]:
    """Share of each pixel inside the loop, (height, width), from a grid of samples; negative when it runs leftward."""
    n = SAMPLES_PER_PIXEL
    x = (np.arange(width * n) + 0.5) / n
    y = ((np.arange(height * n) + 0.5) / n)[:, np.newaxis]
    following = np.roll(loop, -1, axis=0)
    inside = np.zeros((height * n, width * n), dtype=bool)
    for (x0, y0), (x1, y1) in zip(loop, following, strict=True):
        if y0 != y1:
            spanned = (y0 <= y) != (y1 <= y)
            inside ^= spanned & (x < x0 + (y - y0) * (x1 - x0) / (y1 - y0))
    turn = np.sign(np.sum(loop[:, 0] * following[:, 1] - loop[:, 1] * following[:, 0]))
    return turn * inside.reshape(height, n, width, n).mean(axis=(1, 3), dtype=np.float32)


def _draw_text(image: Image.Image, text: Text, px_per_mm: float) -> None:
    font = ImageFont.load_default(text.size_mm * px_per_mm)
    weight = round(text.size_mm * px_per_mm / 40) if text.bold else 0
    reach = math.ceil(font.getlength(text.words) + 2 * text.size_mm * px_per_mm)
    mask = Image.new("L", (2 * reach, 2 * reach) if text.upward else (2 * reach, reach), 0)
    x, y = text.at[0] * px_per_mm, text.at[1] * px_per_mm
    ImageDraw.Draw(mask).text(
        (reach + x % 1, mask.height // 2 + y % 1), text.words, 255, font, _ANCHORS[text.anchor], stroke_width=weight
    )
    if text.upward:
        mask = mask.transpose(Image.Transpose.ROTATE_90)
    corner = (math.floor(x) - mask.width // 2, math.floor(y) - mask.height // 2)
    image.paste(round(255 * text.grey), corner, mask)
