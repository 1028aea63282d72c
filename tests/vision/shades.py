"""How light a colour looks, by scikit-image."""

from __future__ import annotations

import numpy as np
from skimage.color import rgb2lab, rgb2xyz

Colour = tuple[int, int, int]


def lightness(colour: Colour) -> float:
    """CIE 1976 L* of an sRGB colour, 0 to 100."""
    return float(rgb2lab(np.array(colour) / 255.0)[0])


def luminance(colour: Colour) -> float:
    """Relative luminance of an sRGB colour, 0 to 1 (WCAG 2.2)."""
    return float(rgb2xyz(np.array(colour) / 255.0)[1])
