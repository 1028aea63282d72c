"""Find the card in a photo and its corners to a few hundredths of a pixel.

The markers are found on a reduced picture, which is enough to name them; the chessboard corners are then refined on the
full one. Corner positions follow OpenCV: integer = pixel centre.
"""

from __future__ import annotations

from typing import NamedTuple

import cv2
import numpy as np
from numpy.typing import NDArray

from calibration.card import CARDS, DICTIONARY_NAME, Card, card_by_marker_id
from calibration.outcome import refuse

Floats = NDArray[np.float64]

FEWEST_CORNERS = 8
SMALLEST_SPAN = 0.35
"""Share of the card's length that the corners must span."""
SMALLEST_PX_PER_MM = 4.5
_ONE_PLACE_MM = 2.0
"""Markers of our card lie within this of their places on it, however curled or dusty it is."""
_FEWEST_TO_TELL = 4
"""Markers of which a card of another layout shows at least so many that they can contradict ours."""
_FEWEST_TWICE = 2
"""Markers seen twice that tell of a second card: a single one may be misread."""
_MARKER_SEARCH_PX = 1700
_ONE_WINDOW_PX = 23
"""Window of the one threshold that shows all markers of a clear photo; OpenCV's usual three take twice the time."""
_OTHER_DESIGNS = ("DICT_4X4_1000", "DICT_6X6_1000", "DICT_7X7_1000", "DICT_ARUCO_ORIGINAL", "DICT_APRILTAG_36h11")


class CardCorners(NamedTuple):
    """Corners seen of one card: `points_mm` (n, 2) in the card frame and `points_px` (n, 2) in the photo."""

    card: Card
    points_mm: Floats
    points_px: Floats


def detect_card(gray: NDArray[np.uint8]) -> CardCorners:
    """The card in a grey photo (height, width).

    Raises CannotMeasure: `no_card`, `other_card`, `two_cards`, `too_few_corners`, `card_too_small`.
    """
    found, names = _find_markers(gray)
    card = _card_of(names)
    if card is None:
        raise refuse("other_card" if len(names) or _other_design(gray) else "no_card")
    ours = np.isin(names, np.array(card.marker_ids))
    markers = [corners for corners, keep in zip(found, ours, strict=True) if keep]
    if _twice(markers, names[ours]):
        raise refuse("two_cards")
    corners, ids, _, _ = cv2.aruco.CharucoDetector(opencv_board(card)).detectBoard(
        gray, markerCorners=markers, markerIds=names[ours].reshape(-1, 1).astype(np.int32)
    )
    if (ids is None or len(ids) < FEWEST_CORNERS) and _laid_out_otherwise(card, markers, names[ours]):
        raise refuse("other_card")
    if ids is None or len(ids) < FEWEST_CORNERS:
        raise refuse(
            "too_few_corners", f"{0 if ids is None else len(ids)} of {len(card.corner_points_mm)} corners show."
        )
    points_mm = card.corner_points_mm[ids.ravel()]
    points_px = corners.reshape(-1, 2).astype(float)
    _check_spread(card, points_mm, points_px)
    return CardCorners(card, points_mm, points_px)


def opencv_board(card: Card) -> cv2.aruco.CharucoBoard:
    """OpenCV's own description of a card."""
    dictionary = cv2.aruco.getPredefinedDictionary(getattr(cv2.aruco, DICTIONARY_NAME))
    size, ids = (card.squares_x, card.squares_y), np.array(card.marker_ids)
    return cv2.aruco.CharucoBoard(size, card.square_mm, card.marker_mm, dictionary, ids)


def _reduced(gray: NDArray[np.uint8]) -> tuple[NDArray[np.uint8], int]:
    shrink = max(1, round(max(gray.shape) / _MARKER_SEARCH_PX))
    if shrink == 1:
        return gray, 1
    small = cv2.resize(gray, None, fx=1.0 / shrink, fy=1.0 / shrink, interpolation=cv2.INTER_AREA)
    return np.asarray(small, np.uint8), shrink


def _find_markers(gray: NDArray[np.uint8]) -> tuple[list[NDArray[np.float32]], NDArray[np.int_]]:
    """Corners (1, 4, 2) in px of the full photo and ids (n,) of the markers of our dictionary."""
    small, shrink = _reduced(gray)
    corners, ids = _detect(small, DICTIONARY_NAME, window_px=_ONE_WINDOW_PX)
    if not _all_there(ids):
        corners, ids = _detect(small, DICTIONARY_NAME)
    full = [((quad + 0.5) * shrink - 0.5).astype(np.float32) for quad in corners]
    return full, ids


def _detect(
    gray: NDArray[np.uint8], dictionary: str, *, window_px: int | None = None
) -> tuple[list[NDArray[np.float32]], NDArray[np.int_]]:
    """Markers by OpenCV's usual thresholds, or by the one over windows of `window_px`."""
    named, how = cv2.aruco.getPredefinedDictionary(getattr(cv2.aruco, dictionary)), cv2.aruco.DetectorParameters()
    if window_px is not None:
        how.adaptiveThreshWinSizeMin = how.adaptiveThreshWinSizeMax = window_px
    corners, ids, _ = cv2.aruco.ArucoDetector(named, how).detectMarkers(gray)
    found = [np.asarray(quad, np.float32) for quad in corners]
    return found, np.array([], int) if ids is None else ids.ravel().astype(int)


def _all_there(names: NDArray[np.int_]) -> bool:
    """Whether every marker of one of our cards is among them."""
    card = _card_of(names)
    return card is not None and bool(np.isin(np.array(card.marker_ids), names).all())


def _card_of(names: NDArray[np.int_]) -> Card | None:
    """The card that most of the markers belong to; None when no card of ours has at least two of them."""
    votes = {kind: sum(card_by_marker_id(int(name)) is card for name in names) for kind, card in CARDS.items()}
    kind = max(votes, key=lambda key: votes[key])
    return CARDS[kind] if votes[kind] >= 2 else None


def _twice(markers: list[NDArray[np.float32]], names: NDArray[np.int_]) -> bool:
    """Whether several of the markers are seen in two places, farther apart than they are long."""
    quads = np.reshape(markers, (-1, 4, 2))
    middles, sides = quads.mean(axis=1), np.linalg.norm(quads[:, 1] - quads[:, 0], axis=1)
    apart = np.linalg.norm(middles[:, None] - middles, axis=2) > np.maximum(sides[:, None], sides)
    return len(set(names[(apart & (names[:, None] == names)).any(axis=1)])) >= _FEWEST_TWICE


def _laid_out_otherwise(card: Card, markers: list[NDArray[np.float32]], names: NDArray[np.int_]) -> bool:
    """Whether most of the markers lie where they do not on `card`: ids of ours, on a board of other rows and columns.

    Those of our card lie in one plane as they do on it, however many are hidden.
    """
    if len(names) < _FEWEST_TO_TELL:
        return False
    points_px = np.concatenate([quad.reshape(4, 2) for quad in markers]).astype(np.float64)
    points_mm = card.marker_corner_points_mm[names - card.first_id].reshape(-1, 2)
    _, agree = cv2.findHomography(points_px, points_mm, cv2.RANSAC, _ONE_PLACE_MM)
    return 2 * int(agree.sum()) < len(agree)


def _other_design(gray: NDArray[np.uint8]) -> bool:
    """Whether the photo shows several markers of some other well-known design."""
    small, _ = _reduced(gray)
    return any(len(_detect(small, name)[1]) >= 3 for name in _OTHER_DESIGNS)


def _check_spread(card: Card, points_mm: Floats, points_px: Floats) -> None:
    span_mm = float(np.ptp(points_mm[:, 0]))
    if span_mm < SMALLEST_SPAN * card.width_mm or np.ptp(points_mm[:, 1]) == 0.0:
        raise refuse("too_few_corners", f"{len(points_mm)} corners show, all in one part of the card.")
    first, last = points_mm[:, 0].argmin(), points_mm[:, 0].argmax()
    scale = np.linalg.norm(points_px[last] - points_px[first]) / np.linalg.norm(points_mm[last] - points_mm[first])
    if scale < SMALLEST_PX_PER_MM:
        raise refuse("card_too_small", f"A millimetre is {scale:.1f} pixels; it should be 10 or more.")
