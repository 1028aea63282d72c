"""A print check without a rule: the card's aspect and skew as the camera's square pixels saw them; not its size."""

from __future__ import annotations

import numpy as np

from calibration.camera.bundle import card_matrix
from calibration.camera.fit import CameraFit
from calibration.prints.shape import UNCHECKED_SCALE_U, PrintShape

COMMON_SCALE_U = UNCHECKED_SCALE_U / np.sqrt(2.0)
"""Relative standard uncertainty of the mean of both scales of an unchecked print, whose two scales are independent."""


def print_seen(fit: CameraFit, name: str) -> PrintShape:
    """The shape of the card in the photos behind `fit`: its mean scale is that of an unchecked print."""
    log_aspect, skew_rad = fit.shape.tolist()
    matrix = card_matrix(log_aspect, skew_rad)
    x_scale, y_scale = float(matrix[0, 0]), float(np.linalg.norm(matrix[:, 1]))
    slope = np.array([[x_scale, -x_scale / 2.0, 0.0], [y_scale, y_scale / 2.0, 0.0], [0.0, 0.0, 1.0]])
    known = np.zeros((3, 3))
    known[0, 0] = COMMON_SCALE_U**2
    known[1:, 1:] = fit.covariance[5:, 5:]
    return PrintShape(x_scale, y_scale, skew_rad, slope @ known @ slope.T, name)
