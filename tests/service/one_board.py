"""A measuring core for tests of several photos: whatever is photographed is one and the same board, known exactly."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from tests.vision.faces import Errors, end_measurement, face_measurement, true_board
from vision.end.report import Measurement
from vision.face.report import FaceMeasurement, FaceView
from vision.photo.photo import Photo

BOARD = true_board([0.0, 0.0, 0.0, -0.02, 0.0, 0.03], [0.0, 0.25, 0.25, -0.3, -0.3, 0.0])
"""Between tails 1 and 2 twisted shut toward the baseline, between 2 and 3 twisted open."""
FINE = Errors(place_mm=0.004, shared_mm=0.01, slope=0.0005)


def _straight(points: NDArray[np.float64]) -> NDArray[np.float64]:
    """From mm to pixels of a photo of 1200 x 900, x to the right."""
    return np.asarray(points, float) * 9.0 + (120.0, 420.0)


def measure_one_board(monkeypatch: pytest.MonkeyPatch) -> None:
    """Every end and every face that is measured from now on is that of the board."""

    def end(image: Photo, **told: Any) -> Measurement:
        return replace(end_measurement(BOARD, FINE), to_image=_straight)

    def face(image: Photo, view: FaceView, **told: Any) -> FaceMeasurement:
        return replace(face_measurement(BOARD, view, FINE), to_image=_straight)

    monkeypatch.setattr("service.measuring.checking.measure_end", end)
    for module in ("face_check", "board_check"):
        monkeypatch.setattr(f"service.measuring.{module}.measure_face", face)
