"""From fits to quantities: what each error does to the end's numbers, and a Monte Carlo of the plane's covariance."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from calibration.plane import Floats
from calibration.prints.shape import UNCHECKED_SCALE_U
from calibration.quantity import Quantity, Source
from tests.scenes import Scene
from tests.vision.ends import located, made_wall, solved
from vision.end.sides import Side
from vision.end.uncertainty import EndPoints, EndQuantities, end_quantities, moves_of
from vision.lie.card_lie import ACROSS, CARD_HEIGHT_U_MM, CARD_TILT_U

SCENE = Scene()
CAUSES = {"card corners", "lens", "print scale", "print skew"}
PLACES = [7.0, 23.0, 33.0, 49.0, 59.0, 75.0]
LEFT, RIGHT = Side(0.0, 0.02), Side(82.0, 0.03)
WALLS = [made_wall(index, place, 0.004 * (index - 2)) for index, place in enumerate(PLACES)]


def shape() -> EndPoints:
    return EndPoints.of(located(SCENE), WALLS, LEFT, RIGHT)


def quantities() -> EndQuantities:
    return end_quantities(solved(SCENE)[1], located(SCENE), WALLS, LEFT, RIGHT)


def change(source: Source) -> Floats:
    """What one standard uncertainty of `source` does to width, thickness and the walls' ends."""
    one = shape()
    move = moves_of(solved(SCENE)[1], one.frame)[source]
    return one.numbers(move(one.points)) - one.numbers(one.points)


def test_the_numbers_are_the_ends_own() -> None:
    end, numbers = located(SCENE), quantities()
    assert numbers.width.value == pytest.approx(82.0, abs=1e-9)
    assert numbers.thickness.value == pytest.approx(end.thickness, abs=1e-9)
    for wall, show, transfer in zip(WALLS, numbers.x_show, numbers.x_transfer, strict=True):
        half = end.thickness / 2.0
        assert (show.value, transfer.value) == pytest.approx((wall.line.at(-half), wall.line.at(half)), abs=1e-9)


@pytest.mark.parametrize("axis", ["x", "y"])
def test_a_print_scale_off_in_one_axis_is_half_an_error_of_size(axis: str) -> None:
    width, thickness, *ends = change(Source("print scale", axis))
    # Pixels are square: the photo tells the ratio of the scales, and the two beliefs about the size are averaged. What
    # the photo leaves open of the ratio is a hundredth of the allowance.
    half = UNCHECKED_SCALE_U / 2.0
    assert width == pytest.approx(82.0 * half, rel=0.02)
    assert thickness == pytest.approx(located(SCENE).thickness * half, rel=0.02)
    assert ends[0] == pytest.approx(PLACES[0] * half, rel=0.02)


def test_a_card_above_the_end_changes_scale_but_no_angle() -> None:
    ends = change(Source("card height", ""))
    plane = solved(SCENE)[1]
    # Central projection between parallel planes is a similarity, by height over distance.
    assert ends[0] == pytest.approx(-82.0 * CARD_HEIGHT_U_MM / plane.distance_mm, rel=1e-6)
    swing = ends[3::2] - ends[2::2]
    out_of_square = np.array([0.004 * (index - 2) * located(SCENE).thickness for index in range(6)])
    np.testing.assert_allclose(swing, -out_of_square * CARD_HEIGHT_U_MM / plane.distance_mm, atol=1e-9)


def test_card_tilt_across_the_thickness_fans_the_walls_out() -> None:
    ends = change(Source("card tilt", "across the thickness"))
    swing = ends[3::2] - ends[2::2]
    slope, level = np.polyfit(PLACES, swing, 1)
    # A fan grows evenly with the distance from the point below the camera; leans of the walls bend it a little.
    assert np.abs(swing - slope * np.array(PLACES) - level).max() < 0.02 * np.ptp(swing)
    assert abs(slope) * 82.0 > 1e-3


def test_the_fan_of_the_sides_is_that_of_their_directions_and_of_a_tilt_across() -> None:
    plane, end = solved(SCENE)[1], located(SCENE)
    left, right = Side(0.0, 0.02, 0.002, 0.001), Side(82.0, 0.03, 0.007, 0.0015)
    fan = end_quantities(plane, end, WALLS, left, right).fan_of_sides
    assert fan is not None
    assert fan.value == pytest.approx(0.005, abs=1e-6)
    own = Source("board side", "left direction"), Source("board side", "right direction")
    assert [fan.parts[source] for source in own] == [0.001, 0.0015]
    # As `card_lie` has it, the tilt times the width over the distance; seen so, they fan in truth by as much less.
    assert fan.parts[ACROSS] == pytest.approx(-CARD_TILT_U * 82.0 / plane.distance_mm, rel=0.03)
    assert end_quantities(plane, end, WALLS, Side(0.0, 0.02), right).fan_of_sides is None


def test_what_neighbours_share_cancels_in_a_taper() -> None:
    numbers = quantities()
    taper = (numbers.x_show[2] - numbers.x_show[1]) - (numbers.x_transfer[2] - numbers.x_transfer[1])
    causes = dict(taper.budget())
    out_of_square = dict((numbers.x_transfer[2] - numbers.x_show[2]).budget())
    # Exact: the sides and the datum's direction are one source each in both walls.
    assert causes["datum direction"] == pytest.approx(0.0, abs=1e-12)
    assert causes["board side"] == pytest.approx(0.0, abs=1e-12)
    assert causes["print skew"] < 0.02 * out_of_square["print skew"]
    assert out_of_square["datum direction"] > 0.0


def test_every_part_of_a_walls_own_fit_is_its_own() -> None:
    show = quantities().x_show
    assert _own(show[0]).isdisjoint(_own(show[1]))
    assert len(_own(show[0])) == 2


def _own(quantity: Quantity) -> set[Source]:
    return {source for source in quantity.parts if source.cause.startswith("wall edge")}


def test_a_less_certain_direction_widens_the_out_of_square() -> None:
    plane, end = solved(SCENE)[1], located(SCENE)
    loose = [replace(wall, line=replace(wall.line, slope_u=0.005)) for wall in WALLS]
    unsure = end_quantities(plane, end, loose, LEFT, RIGHT)
    for steady, unsteady in zip(_swings(quantities()), _swings(unsure), strict=True):
        added = np.sqrt(unsteady.u**2 - steady.u**2)
        assert added == pytest.approx(end.thickness * np.sqrt(0.005**2 - 0.0005**2), rel=1e-6)


def _swings(numbers: EndQuantities) -> list[Quantity]:
    return [transfer - show for show, transfer in zip(numbers.x_show, numbers.x_transfer, strict=True)]


def test_monte_carlo_over_the_planes_covariance_agrees() -> None:
    plane, one = solved(SCENE)[1], shape()
    rng = np.random.default_rng(81)
    pixels, small = plane.to_image(one.points), 0.1
    draws = rng.multivariate_normal(plane.theta, small**2 * plane.covariance, 500, method="eigh")
    values = np.array([one.numbers(plane.with_theta(theta).to_plane(pixels)) for theta in draws])
    changes = np.array([change(source) for source in moves_of(plane, one.frame) if source.cause in CAUSES])
    for number in (_swing_of, np.asarray):
        drawn = number(values).std(axis=0) / small
        stated = np.sqrt(np.sum(number(changes) ** 2, axis=0))
        # Draws a tenth as wide stay where the map is straight, as JCGM 100 means it. 500 of them know a standard
        # deviation to 3.2 %: four of those below. Moves by one whole standard uncertainty along focal length and
        # distance see the map's bend as well, which may add to the small numbers but takes nothing away.
        assert np.all(stated > 0.87 * drawn)
        assert np.all(stated < 1.15 * drawn + 0.004)


def _swing_of(numbers: Floats) -> Floats:
    """Out of square (n, walls) of numbers (n, 2 + 2 walls)."""
    return np.asarray(numbers[:, 3::2] - numbers[:, 2::2])
