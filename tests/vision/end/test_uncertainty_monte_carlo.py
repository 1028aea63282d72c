"""Monte Carlo of the whole chain from points to leans and tapers (JCGM 101:2008), against the stated budgets.

Every input is drawn from its own distribution and every step is carried out in full: pixels through a drawn camera,
heights through the central projection, the frame laid anew through drawn corners, angles by the arctangent.
"""

from __future__ import annotations

from functools import cache

import numpy as np

from calibration.plane import Floats
from calibration.quantity import Quantity
from tests.scenes import Scene
from tests.vision.ends import located, made_wall, solved
from vision.end.sides import Side
from vision.end.uncertainty import EDGE_MODEL_U_MM, EndPoints, EndQuantities, end_quantities
from vision.lie.card_lie import CARD_HEIGHT_U_MM, CARD_TILT_U, CardLie, TiltedView

SCENE = Scene()
DRAWS = 3000
PLACES = [7.0, 23.0, 33.0, 49.0, 59.0, 75.0]
LEFT, RIGHT = Side(0.0, 0.02), Side(82.0, 0.03)
WALLS = [made_wall(index, place, 0.006 * (index - 2)) for index, place in enumerate(PLACES)]

CLOSE = 0.06
"""3000 draws know a standard deviation to 1.3 %: four of those, and a little for what bends within one standard
uncertainty of the focal length."""
CLOSE_PLACE = 0.09
"""Focal length and distance are drawn as normal, 1.5 % each and bound to each other: their ratio, the scale, then bends
by half the square of that, 0.008 mm over the board, beside 0.037 mm in all: by squares 2.5 % more scatter than to first
order, twice at two standard deviations."""


@cache
def drawn() -> Floats:
    """Numbers (draws, 2 + 2 walls) of the end, everything drawn."""
    rng = np.random.default_rng(1012008)
    return np.array([one_draw(rng) for _ in range(DRAWS)])


def one_draw(rng: np.random.Generator) -> Floats:
    plane, end = solved(SCENE)[1], located(SCENE)
    shape = EndPoints.of(end, WALLS, LEFT, RIGHT)
    pixels = plane.to_image(with_fits_drawn(shape, rng))
    camera = plane.with_theta(rng.multivariate_normal(plane.theta, plane.covariance, method="cholesky"))
    lie = CardLie(*rng.normal(0.0, [CARD_HEIGHT_U_MM, CARD_TILT_U, CARD_TILT_U]))
    return shape.numbers(TiltedView(plane, shape.middle_frame, lie).true_points(camera.to_plane(pixels)))


def with_fits_drawn(shape: EndPoints, rng: np.random.Generator) -> Floats:
    """The end's points, each moved as its own fit may be wrong."""
    end = located(SCENE)
    inside = shape.frame.from_plane(shape.points)
    inside[:4, 0] += np.tile(rng.normal(0.0, [LEFT.u, RIGHT.u]), 2)
    inside[2:4, 1] += rng.normal(0.0, end.thickness_u)
    inside[:4] += rng.normal(0.0, end.direction_u) * (inside[:4] - inside[0])[:, ::-1] * [1.0, -1.0]
    for index, wall in enumerate(WALLS):
        place = rng.normal(0.0, np.hypot(wall.line.level_u, EDGE_MODEL_U_MM))
        swing = rng.normal(0.0, wall.line.slope_u)
        rows = inside[4 + 2 * index : 6 + 2 * index]
        rows[:, 0] += place + swing * (np.array([0.0, end.thickness]) - end.thickness / 2.0 - wall.line.middle)
    return shape.frame.to_plane(inside)


def stated() -> EndQuantities:
    return end_quantities(solved(SCENE)[1], located(SCENE), WALLS, LEFT, RIGHT)


def leans_deg(numbers: Floats) -> Floats:
    """Leans (draws, walls) of numbers (draws, 2 + 2 walls)."""
    swing = numbers[:, 3::2] - numbers[:, 2::2]
    return np.asarray(np.degrees(np.arctan2(swing, numbers[:, 1:2])))


def stated_lean_u(out_of_square: Quantity) -> float:
    """Standard uncertainty (deg) of the lean as `vision.end.check` states it."""
    thickness = located(SCENE).thickness
    return float(np.degrees(out_of_square.u / thickness / (1.0 + (out_of_square.value / thickness) ** 2)))


def test_places_of_walls_scatter_as_stated() -> None:
    numbers = stated()
    for quantity, scatter in zip(numbers.x_show, drawn()[:, 2::2].std(axis=0), strict=True):
        assert abs(scatter / quantity.u - 1.0) < CLOSE_PLACE


def test_leans_scatter_as_stated() -> None:
    numbers = stated()
    pairs = zip(numbers.x_show, numbers.x_transfer, leans_deg(drawn()).std(axis=0), strict=True)
    for show, transfer, scatter in pairs:
        assert abs(scatter / stated_lean_u(transfer - show) - 1.0) < CLOSE


def test_tapers_scatter_as_stated_though_walls_share_errors() -> None:
    numbers, values = stated(), drawn()
    shows, transfers = values[:, 2::2], values[:, 3::2]
    for left, right in ((1, 2), (3, 4)):
        taper = (numbers.x_show[right] - numbers.x_show[left]) - (numbers.x_transfer[right] - numbers.x_transfer[left])
        scatter = float(np.std(shows[:, right] - shows[:, left] - transfers[:, right] + transfers[:, left]))
        assert abs(scatter / taper.u - 1.0) < CLOSE


def test_the_stated_interval_holds_95_in_100_leans() -> None:
    numbers = stated()
    truth = np.degrees(np.arctan([0.006 * (index - 2) for index in range(6)]))
    u = [stated_lean_u(transfer - show) for show, transfer in zip(numbers.x_show, numbers.x_transfer, strict=True)]
    inside = np.abs(leans_deg(drawn()) - truth) <= 2.0 * np.array(u)
    # k = 2 holds 95.4 % of a normal distribution; 3000 draws know that to 0.4 %, three of those and what CLOSE allows.
    assert np.all(np.abs(inside.mean(axis=0) - 0.954) < 0.012 + 0.4 * CLOSE)
