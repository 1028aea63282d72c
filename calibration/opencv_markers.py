"""The bit patterns of the card's markers, read from OpenCV's own dictionary."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from calibration.card import DICTIONARY_NAME, MARKER_CELLS, Card


def marker_cells(card: Card) -> NDArray[np.bool_]:
    """Dark cells of every marker, (n, 7, 7) bool in the order of `card.marker_ids`, black border included."""
    from cv2 import aruco

    dictionary = aruco.getPredefinedDictionary(getattr(aruco, DICTIONARY_NAME))
    images = [aruco.generateImageMarker(dictionary, marker_id, MARKER_CELLS) for marker_id in card.marker_ids]
    return np.array(images) == 0
