"""Cameras that stand where a test needs them."""

from __future__ import annotations

import math

import numpy as np

from calibration.plane import LOG_FOCAL, PARAMETERS, PlaneMap


def straight_down(x_mm: float, y_mm: float, *, distance_mm: float) -> PlaneMap:
    """A camera over (x, y) of the plane that looks along its normal, a pinhole without distortion."""
    theta = np.zeros(PARAMETERS)
    theta[3:6], theta[LOG_FOCAL] = (-x_mm, -y_mm, distance_mm), math.log(3000.0)
    return PlaneMap(theta, np.zeros(2), np.eye(PARAMETERS))
