"""The time that any program of this kind must spend: read the photo and detect the card, with OpenCV alone."""

from __future__ import annotations

import time
from dataclasses import dataclass

import cv2
import numpy as np

from calibration.card import CARDS
from calibration.card_detect import opencv_board
from vision.photo.decode import decode


@dataclass(frozen=True)
class Yardstick:
    """Seconds to decode the photo and to detect the card in it."""

    decode_s: float
    detect_s: float

    @property
    def total_s(self) -> float:
        """Both together: what a check's time is compared with."""
        return self.decode_s + self.detect_s


def measure_yardstick(data: bytes, kind: str = "short") -> Yardstick:
    """Decode the photo in `data` and detect the card of that `kind` in it, timing both. Raises CannotMeasure.

    A kind of file that OpenCV cannot read (HEIC) is read by our own decoder.
    """
    start = time.perf_counter()
    image = cv2.imdecode(np.frombuffer(data, np.uint8), cv2.IMREAD_COLOR)
    picture = decode(data).rgb if image is None else image
    decoded = time.perf_counter()
    cv2.aruco.CharucoDetector(opencv_board(CARDS[kind])).detectBoard(picture)
    return Yardstick(decoded - start, time.perf_counter() - decoded)
