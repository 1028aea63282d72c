"""A print's shape: closed forms of where the card's points really lie, and what a photo may tell of it."""

from __future__ import annotations

import numpy as np
import pytest

from calibration.prints.shape import EXACT, UNCHECKED, PrintShape

POINTS = np.array([[0.0, 0.0], [120.0, 0.0], [0.0, 40.0], [120.0, 40.0], [37.0, 11.0]])
ODD = PrintShape(1.008, 0.996, np.radians(0.3), np.diag([4e-6, 9e-6, 1e-6]) + 1e-6, "odd")


def test_an_unchecked_print_is_true_within_half_a_percent_and_a_fifth_of_a_degree() -> None:
    # Half-widths of rectangular distributions: variances are their squares over three.
    expected = np.square([0.005, 0.005, np.radians(0.2)]) / 3.0
    np.testing.assert_allclose(UNCHECKED.covariance, np.diag(expected), rtol=1e-12)
    assert (UNCHECKED.x_scale, UNCHECKED.y_scale, UNCHECKED.skew_rad) == (1.0, 1.0, 0.0)


def test_scales_stretch_each_axis_by_its_own() -> None:
    # Identities: exact but for rounding, as all below.
    np.testing.assert_allclose(PrintShape(1.01, 0.98).true_points(POINTS), POINTS * [1.01, 0.98], atol=1e-12)


def test_a_skew_is_what_the_right_angle_lacks() -> None:
    origin, right, down, *_ = PrintShape(1.01, 0.98, np.radians(0.5)).true_points(POINTS)
    cosine = (right - origin) @ (down - origin) / (120.0 * 1.01 * 40.0 * 0.98)
    assert np.degrees(np.arccos(cosine)) == pytest.approx(89.5, abs=1e-9)
    # A positive skew carries the lower side to the right.
    assert down[0] == pytest.approx(40.0 * 0.98 * np.sin(np.radians(0.5)), abs=1e-12)
    assert right[1] == 0.0


def test_nominal_points_undo_true_points() -> None:
    np.testing.assert_allclose(ODD.nominal_points(ODD.true_points(POINTS)), POINTS, atol=1e-12)


def test_steps_are_a_square_root_of_the_covariance_in_the_order_x_y_skew() -> None:
    # The covariance carries a floor of 1e-18 so that an exact print has steps.
    np.testing.assert_allclose(ODD.steps.T @ ODD.steps, ODD.covariance, atol=1e-17)
    assert ODD.steps[1, 0] == ODD.steps[2, 0] == ODD.steps[2, 1] == 0.0
    assert np.abs(EXACT.steps).max() < 1e-8


def test_stretch_is_the_derivative_of_the_true_points() -> None:
    stretch = ODD.stretch(POINTS)
    for index, counts in enumerate(0.1 * np.eye(3)):
        ahead, behind = (ODD.solved(sign * counts, np.eye(3)).true_points(POINTS) for sign in (1.0, -1.0))
        # Central differences of a function whose third derivative is a skew step cubed: 1e-9 of 40 mm.
        np.testing.assert_allclose((ahead - behind) / 0.2, stretch[index], atol=1e-7)


def test_a_solved_shape_has_the_covariance_of_its_counts() -> None:
    solved = ODD.solved(np.array([1.0, 0.0, -2.0]), np.eye(3))
    expected = np.array([1.008, 0.996, np.radians(0.3)]) + ODD.steps[0] - 2.0 * ODD.steps[2]
    np.testing.assert_allclose([solved.x_scale, solved.y_scale, solved.skew_rad], expected, atol=1e-12)
    np.testing.assert_allclose(solved.covariance, ODD.covariance, atol=1e-17)
    assert solved.name == "odd"


def test_surprise_counts_standard_deviations_where_the_photo_tells_something() -> None:
    told = np.diag([1.0, 1.0, 0.19])
    # The photo left 0.19 of the skew's variance: what it may depart by is sqrt(0.81) steps.
    assert UNCHECKED.surprise(UNCHECKED.solved(np.array([0.0, 0.0, 2.7]), told)) == pytest.approx(3.0, abs=1e-6)
    assert UNCHECKED.surprise(UNCHECKED.solved(np.array([9.0, 9.0, 0.0]), told)) == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize(
    ("values", "message"),
    [
        ((0.0, 1.0, 0.0), "x_scale and y_scale must be above zero"),
        ((1.0, -1.0, 0.0), "x_scale and y_scale must be above zero"),
        ((1.0, 1.0, 2.0), "skew_rad must be below a right angle"),
    ],
)
def test_an_impossible_shape_is_a_mistake(values: tuple[float, float, float], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        PrintShape(*values)
    with pytest.raises(ValueError, match="3 by 3"):
        PrintShape(covariance=np.eye(2))
    for wrong in (np.diag([1e-6, -1e-6, 1e-6]), np.full((3, 3), np.nan)):
        with pytest.raises(ValueError, match="no negative variance"):
            PrintShape(covariance=wrong)
