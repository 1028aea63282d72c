"""Strokes, shapes and text on a picture: edged in the opposite shade, to show on pale and on dark wood alike."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

import cv2
import numpy as np
from numpy.typing import NDArray

from vision.answer.palette import INK, PAPER, Colour, Look, Shape, text_colour

if TYPE_CHECKING:
    from PIL import ImageFont

Floats = NDArray[np.float64]
Pixels = NDArray[np.uint8]

_SHIFT = 4
"""Fractional bits of the coordinates that OpenCV draws with."""

_OUTLINES: dict[Shape, Floats] = {
    "diamond": np.array([[0.0, -1.2], [1.2, 0.0], [0.0, 1.2], [-1.2, 0.0]]),
    "triangle": np.array([[-1.2, -0.9], [1.2, -0.9], [0.0, 1.3]]),
    "square": np.array([[-0.9, -0.9], [0.9, -0.9], [0.9, 0.9], [-0.9, 0.9]]),
    "circle": np.array([[np.cos(a), np.sin(a)] for a in np.linspace(0.0, 2.0 * np.pi, 48, endpoint=False)]),
}


@dataclass(frozen=True)
class Stroke:
    """A line's colour, its width in pixels, its dash (drawn, skipped) in line widths, and its edge in pixels."""

    colour: Colour
    width_px: float
    dash: tuple[float, float] | tuple[()] = ()
    edge_px: float = 1.5


def draw_line(canvas: Pixels, start: Floats, end: Floats, stroke: Stroke) -> None:
    """A line between two pixel points, with its edge."""
    pieces = _dashes(np.asarray(start, float), np.asarray(end, float), stroke)
    edge = (text_colour(stroke.colour), stroke.width_px + 2.0 * stroke.edge_px)
    for colour, width in (edge, (stroke.colour, stroke.width_px)):
        for a, b in pieces:
            cv2.line(canvas, _fixed(a), _fixed(b), colour, max(1, round(width)), cv2.LINE_AA, _SHIFT)


def fill(canvas: Pixels, corners: Floats, colour: Colour, opacity: float) -> None:
    """A polygon (n, 2) laid over the picture with that opacity."""
    low = np.clip(np.floor(corners.min(axis=0)).astype(int) - 1, 0, None)
    high = np.ceil(corners.max(axis=0)).astype(int) + 2
    part = canvas[low[1] : high[1], low[0] : high[0]]
    if part.size == 0:
        return
    layer = part.copy()
    cv2.fillPoly(layer, [_fixed_array(corners - low)], colour, cv2.LINE_AA, _SHIFT)
    cv2.addWeighted(layer, opacity, part, 1.0 - opacity, 0.0, dst=part)


def draw_marker(canvas: Pixels, centre: Floats, radius_px: float, look: Look) -> None:
    """A verdict's shape in its colour, edged in ink on paper."""
    outline = _OUTLINES[look.shape]
    for growth, colour in ((1.32, PAPER), (1.18, INK), (1.0, look.colour)):
        points = _fixed_array(np.asarray(centre) + outline * radius_px * growth)
        cv2.fillPoly(canvas, [points], colour, cv2.LINE_AA, _SHIFT)


def draw_ring(canvas: Pixels, centre: Floats, radius_px: float, stroke: Stroke) -> None:
    """A ring round a pixel point, with its edge."""
    outline = _fixed_array(np.asarray(centre, float) + _OUTLINES["circle"] * radius_px)
    edge = (text_colour(stroke.colour), stroke.width_px + 2.0 * stroke.edge_px)
    for colour, width in (edge, (stroke.colour, stroke.width_px)):
        cv2.polylines(canvas, [outline], True, colour, max(1, round(width)), cv2.LINE_AA, _SHIFT)


def write(canvas: Pixels, texts: Sequence[Text]) -> None:
    """Set all `texts` on the canvas (one copy to Pillow and back)."""
    from PIL import Image, ImageDraw

    image = Image.fromarray(canvas)
    pen = ImageDraw.Draw(image)
    for text in texts:
        pen.text(
            text.at,
            text.words,
            font=font(text.size_px),
            fill=text.colour,
            anchor=text.anchor,
            stroke_width=text.edge_px,
            stroke_fill=text_colour(text.colour),
        )
    canvas[:] = np.asarray(image)


@dataclass(frozen=True)
class Text:
    """Words at a pixel point. `anchor` as Pillow's: first letter l, m, r across; second a (top), m, s (baseline).

    `edge_px` draws an outline in the opposite shade, for words on a photo.
    """

    words: str
    at: tuple[float, float]
    size_px: int
    colour: Colour = INK
    anchor: str = "la"
    edge_px: int = 0


def marker_sign(centre: Floats, radius_px: float, look: Look) -> Text:
    """The verdict's sign, to be set in the middle of its marker."""
    lift = -0.15 * radius_px if look.shape == "triangle" else 0.0
    at = (float(centre[0]), float(centre[1]) + lift)
    return Text(look.sign, at, round(1.35 * radius_px), text_colour(look.colour), "mm")


def wrapped(words: str, size_px: int, width_px: float) -> list[str]:
    """`words` broken into lines that fit in that width; a longer single word stands alone."""
    lines = [""]
    for word in words.split():
        longer = f"{lines[-1]} {word}".strip()
        if lines[-1] and text_width(longer, size_px) > width_px:
            lines.append(word)
        else:
            lines[-1] = longer
    return lines


@cache
def font(size_px: int) -> ImageFont.FreeTypeFont | ImageFont.ImageFont:
    """The font that comes with Pillow, at that size: no font has to be installed."""
    from PIL import ImageFont

    return ImageFont.load_default(size_px)


def text_width(words: str, size_px: int) -> float:
    """How wide `words` will be set, pixels."""
    return float(font(size_px).getlength(words))


def fitting_size(words: str, size_px: int, width_px: float) -> int:
    """The largest size up to `size_px` at which `words` fit in that width."""
    return min(size_px, int(size_px * width_px / max(text_width(words, size_px), 1.0)))


def _dashes(start: Floats, end: Floats, stroke: Stroke) -> list[tuple[Floats, Floats]]:
    length = float(np.hypot(*(end - start)))
    if not stroke.dash or length == 0.0:
        return [(start, end)]
    drawn, skipped = (part * stroke.width_px for part in stroke.dash)
    begins = np.arange(0.0, length, drawn + skipped)
    along = (end - start) / length
    return [(start + along * b, start + along * min(b + drawn, length)) for b in begins]


def _fixed(point: Floats) -> tuple[int, int]:
    x, y = np.rint(point * (1 << _SHIFT)).astype(int)
    return int(x), int(y)


def _fixed_array(points: Floats) -> NDArray[np.int32]:
    return np.rint(points * (1 << _SHIFT)).astype(np.int32).reshape(-1, 1, 2)
