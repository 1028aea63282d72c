"""What rival explanations of a wall are held against: where perspective puts a line, what finding out costs."""

from __future__ import annotations

import math

import numpy as np
import pytest

from calibration.plane import LOG_FOCAL, PlaneMap
from calibration.plane import PARAMETERS as PLANE_PARAMETERS
from vision.end.find_walls import RoughWall
from vision.walls.model import Belief, WallPicture
from vision.walls.parts import EDGE, KERF, PARAMETERS, SLOPE
from vision.walls.rivals import Overhead, Rival, agreed

DISTANCE_MM, DEPTH_MM = 280.0, 17.0


def straight_down(x_mm: float) -> PlaneMap:
    """A camera over (x, 0) that looks along the normal of the plane."""
    theta = np.zeros(PLANE_PARAMETERS)
    theta[3], theta[5], theta[LOG_FOCAL] = -x_mm, DISTANCE_MM, math.log(3000.0)
    return PlaneMap(theta, np.zeros(2), np.eye(PLANE_PARAMETERS))


@pytest.mark.parametrize("side", ["left", "right"])
@pytest.mark.parametrize("x_mm", [5.0, 41.0, 70.0])
def test_a_line_on_the_floor_is_seen_where_a_camera_would_see_it(side: str, x_mm: float) -> None:
    camera = straight_down(40.0)
    on_floor = camera.to_plane(camera.to_image(np.array([[x_mm, 3.0]]), height_mm=-DEPTH_MM))[0, 0]
    outward = 1.0 if side == "right" else -1.0
    wall = RoughWall(0, side, x_mm, 0.0, None)
    # A pinhole without distortion: exact.
    assert Overhead(40.0, DISTANCE_MM, DEPTH_MM).shift(wall) == pytest.approx(outward * (on_floor - x_mm), abs=1e-9)


def test_a_parameter_costs_what_the_light_narrows_it_by_and_one_that_is_not_fitted_nothing() -> None:
    sigma = np.full((1, PARAMETERS), 0.5)
    free = np.zeros((1, PARAMETERS), bool)
    free[0, [EDGE, SLOPE]] = True
    hessian = np.zeros((1, PARAMETERS, PARAMETERS))
    hessian[0] = np.diag(np.full(PARAMETERS, 96.0))
    narrowed = Belief(sigma, sigma, free).narrowed(hessian)
    # Normal distributions: from variance 1/4 to 1/(4 + 96), twenty-five times narrower, for each of two.
    assert narrowed == pytest.approx([2.0 * math.log(25.0)])


def test_walls_agree_on_one_kerf_even_where_another_width_explains_one_of_them_better() -> None:
    def rival(kerf: float, cost: float) -> Rival:
        parameters = np.zeros(PARAMETERS)
        parameters[KERF] = kerf
        return Rival(WallPicture(parameters, cost), cost)

    wide, slim = [rival(0.66, 0.0), rival(0.51, 4.0)], [rival(0.505, 0.0), rival(0.66, 30.0)]
    kerfs = [float(picture.parameters[KERF]) for picture in agreed([wide, slim, slim])]
    assert kerfs == [0.51, 0.505, 0.505]
