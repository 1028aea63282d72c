"""Whether a photo is good enough to measure from: sharp, neither dark nor burnt out, taken from above."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from calibration.card import Card
from calibration.outcome import CannotMeasure, refuse
from calibration.plane import PlaneMap
from calibration.prints.shape import USUAL_SKEW_DEG, USUAL_STRETCH, PrintShape
from calibration.robust import robust_sigma
from vision.photo.edge_profile import EdgeProfile
from vision.photo.strip import srgb_to_linear

Floats = NDArray[np.float64]

DARKEST_WHITE = 0.06
"""Linear light of the card's white below which grain and noise cannot be told apart."""
BURNT_WHITE, BURNT_BLACK = 0.985, 0.12
"""Linear light of the card's white and black that together mean an over-exposed photo."""
_SHARPEST_SHARE = 0.38
"""Share of a four-pixel rise, at quarter size, that a sharp edge makes within one pixel; a straight ramp makes 0.25."""
BLUR_MM, SOFT_MM = 0.6, 0.36
BLUR_PX, SOFT_PX = 8.0, 5.0
"""10-90 % rise of the card's edges, on the card and in the picture, at which a photo is refused or called soft."""
UNEVEN_PX, UNEVEN_MM, FLAT_MM = 0.12, 0.010, 0.005
"""Scatter of the card's corners about their plane: more than sharp photos leave of noise, in pixels; what a bulge of
0.1 mm makes 40 mm from the middle at 40 cm; and what is not worth a remark."""
BENT_MM = 0.020
"""Scatter that is refused: from there on a smooth bulge makes leans wrong by more than their uncertainty."""
_SURPRISING = 3.0
"""Standard deviations by which neighbours' residuals may agree by chance."""
_NEIGHBOURS = 1.1
"""Corners nearer to each other than this many squares are neighbours."""
_CALMED = 3.0
MOST_STRETCH, MOST_SKEW_DEG = 3.0 * USUAL_STRETCH, 3.0 * USUAL_SKEW_DEG
"""Beyond three times what printers do, it is the picture that is out of shape, or a print to be measured first."""
STEEPEST_DEG, SLANTED_DEG = 35.0, 20.0
"""Camera tilt that is refused, and that is remarked on."""


def check_exposure(rgb: NDArray[np.uint8], plane: PlaneMap, card: Card) -> None:
    """Raises CannotMeasure `too_dark` or `burnt_out` by the light of the card's own black and white."""
    white = float(white_light(rgb, plane, card).mean())
    black = float(_level(rgb, plane, card, card.black_squares, 0.5).mean())
    if white < DARKEST_WHITE:
        raise refuse("too_dark")
    if white > BURNT_WHITE and black > BURNT_BLACK:
        raise refuse("burnt_out")


def white_light(rgb: NDArray[np.uint8], plane: PlaneMap, card: Card) -> Floats:
    """Linear light (3,) of the card's white."""
    return _level(rgb, plane, card, card.marker_squares, 0.075)


def _level(
    rgb: NDArray[np.uint8], plane: PlaneMap, card: Card, squares: tuple[tuple[int, int], ...], inset: float
) -> Floats:
    """Median linear light (3,) of spots `inset` squares inside the left side of the given squares."""
    spots = np.array([[(x + inset) * card.square_mm, (y + 0.5) * card.square_mm] for x, y in squares])
    pixels = np.rint(plane.card_to_image(spots)).astype(int)
    height, width = rgb.shape[:2]
    seen = ((pixels >= 0) & (pixels < [width, height])).all(axis=1)
    values = rgb[pixels[seen, 1], pixels[seen, 0]] / 255.0
    return np.asarray(np.median(srgb_to_linear(values), axis=0)) if seen.any() else np.full(3, 0.5)


def check_view(plane: PlaneMap) -> None:
    """Raises CannotMeasure `too_oblique`."""
    if plane.tilt_deg > STEEPEST_DEG:
        raise refuse("too_oblique", f"It is tilted by about {plane.tilt_deg:.0f} degrees.")


def check_sharpness(profile: EdgeProfile | None, px_per_mm: float) -> bool:
    """Whether the photo is a little soft. Raises CannotMeasure `out_of_focus`. `profile` is in px."""
    if profile is None or profile.rise > BLUR_PX or profile.rise / px_per_mm > BLUR_MM:
        raise refuse("out_of_focus")
    return profile.rise > SOFT_PX or profile.rise / px_per_mm > SOFT_MM


def stands_off_its_plane(residual_px: Floats, points_mm: Floats, square_mm: float, px_per_mm: float) -> bool:
    """Whether a card's corners, at `points_mm` (n, 2) with residuals (n, 2), show that it does not lie flat.

    A bulge moves neighbours the same way, noise does not: their products add up to more than chance makes of them. Of
    wrinkles shorter than a square, only the residuals' size tells.
    """
    sigma = robust_sigma(residual_px)
    calm = np.clip(residual_px / max(sigma, 1e-9), -_CALMED, _CALMED)
    apart = np.linalg.norm(points_mm[:, None] - points_mm[None], axis=2)
    one, other = np.nonzero(np.triu(apart < _NEIGHBOURS * square_mm, k=1))
    together = float((calm[one] * calm[other]).sum()) / np.sqrt(max(1, 2 * len(one)))
    large = sigma > UNEVEN_PX and sigma / px_per_mm > UNEVEN_MM
    return bool(large or (together > _SURPRISING and sigma / px_per_mm > FLAT_MM))


def check_flatness(residual_px: Floats, px_per_mm: float) -> None:
    """Raises CannotMeasure `card_bent` when a card's corners, by their residuals (n, 2), are far from one plane."""
    if robust_sigma(residual_px) / px_per_mm > BENT_MM:
        raise refuse("card_bent")


def check_shape(known: PrintShape, seen: PrintShape) -> None:
    """Raises CannotMeasure `card_out_of_shape` when the card is `seen` far from the shape that is `known` of its print.

    The print is to blame, or the picture: it was stretched, or is a photo of a picture. Numbers that take it for the
    print are wrong by as much if it was the picture.
    """
    stretch, skew_rad = known.departure(seen)
    skew_deg = float(np.degrees(skew_rad))
    if abs(stretch) > MOST_STRETCH or abs(skew_deg) > MOST_SKEW_DEG:
        detail = f"Its sides are out of proportion by {abs(stretch):.1%}, its angles by {abs(skew_deg):.1f} degrees."
        raise refuse("card_out_of_shape", detail.replace("%", " %"))


def why_no_card(gray: NDArray[np.uint8], refused: CannotMeasure) -> CannotMeasure:
    """A better reason for a card that was not found, when the photo as a whole is dark, burnt out or blurred."""
    small = cv2.resize(gray, None, fx=0.25, fy=0.25, interpolation=cv2.INTER_AREA)
    light = srgb_to_linear(np.asarray(small, float) / 255.0)
    if np.percentile(light, 99) < DARKEST_WHITE:
        return refuse("too_dark")
    if np.mean(light > BURNT_WHITE) > 0.4:
        return refuse("burnt_out")
    return refuse("out_of_focus") if _detail_lost(np.asarray(small, float)) else refused


def _detail_lost(gray: Floats) -> bool:
    """Whether the steepest edges of a quarter-size picture (height, width) are no steeper than blur leaves them.

    Edges are compared over one step and over four: a sharp edge has done its rise in the first.
    """
    calm = cv2.GaussianBlur(gray, (0, 0), 0.7)
    one = float(np.percentile(np.abs(calm[:, 1:] - calm[:, :-1]), 99.95))
    four = float(np.percentile(np.abs(calm[:, 4:] - calm[:, :-4]), 99.95))
    return one < _SHARPEST_SHARE * four
