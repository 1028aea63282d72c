"""How each verdict looks: a word, a colour, a shape and a line, so that none has to be told by its colour alone.

The colours step evenly in lightness (CIE L* near 30, 60, 80 and 96), so they stay apart for every kind of colour
vision, on a grey print and in the sun; blue, amber and wine red are also the hues that colour blindness confuses least.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Colour = tuple[int, int, int]
Shape = Literal["circle", "diamond", "triangle", "square"]

INK: Colour = (24, 24, 27)
PAPER: Colour = (250, 249, 245)
MUTED: Colour = (96, 96, 102)
BLUE: Colour = (58, 153, 197)
AMBER: Colour = (245, 194, 66)
WINE: Colour = (126, 18, 60)
WHITE: Colour = (244, 244, 244)


@dataclass(frozen=True)
class Look:
    """One verdict's look: `sign` stands in its shape; `dash` is the (drawn, skipped) length of its lines in line
    widths, () unbroken."""

    word: str
    colour: Colour
    shape: Shape
    sign: str
    dash: tuple[float, float] | tuple[()]


LOOKS: dict[str, Look] = {
    "seats": Look("seats", BLUE, "circle", "ok", ()),
    "loose": Look("loose", AMBER, "diamond", "<>", (5.0, 2.5)),
    "splitting": Look("splitting", WINE, "triangle", "!", ()),
    "too close to call": Look("too close to call", WHITE, "square", "?", (1.2, 1.8)),
}


def look_of(verdict: str) -> Look:
    """The look of a socket's verdict. Raises KeyError for a word that is not one."""
    return LOOKS[verdict]


def text_colour(colour: Colour) -> Colour:
    """Ink or paper: whichever reads better on `colour` (WCAG 2 relative luminance against its 0.179 break-even)."""
    return INK if _luminance(colour) > 0.179 else PAPER


def _luminance(colour: Colour) -> float:
    channels = (value / 255.0 for value in colour)
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue
