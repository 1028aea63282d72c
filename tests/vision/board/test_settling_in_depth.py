"""Settling over the depth: the end-only case first, closed forms, brute force, then the middle of an overlap."""

import numpy as np
import pytest

from vision.joint.overlap_place import Overlap, overlap_of, together
from vision.joint.settling import (
    gap_and_squeeze,
    mean_over_depth,
    mean_overlap,
    mean_squeeze,
    settle,
    wall_signs,
    wall_squeeze,
)

IDENTITY = 1e-12
"""Closed forms in double precision on numbers near one."""


def grid_overlap(show: float, root: float, push: float, steps: int = 800) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Overlap on a fine grid of heights and depths (midpoint rule), with those heights and depths."""
    middle = (np.arange(steps) + 0.5) / steps
    height, depth = np.meshgrid(middle, middle, indexing="ij")
    return np.maximum((show + (root - show) * depth) * height + push, 0.0), height, depth


def test_a_wall_alike_at_every_depth_overlaps_as_at_the_end():
    show, push = np.random.default_rng(1).normal(size=(2, 500))
    assert np.array_equal(mean_over_depth(show, show, push), mean_overlap(show, push))


def test_joints_alike_at_every_depth_settle_gap_and_squeeze_as_at_the_end():
    show = np.random.default_rng(2).uniform(-0.2, 0.2, (8, 40))
    shift = settle(show)
    assert np.array_equal(settle(show, show), shift)
    for one, other in zip(gap_and_squeeze(show, shift), gap_and_squeeze(show, shift, show), strict=True):
        assert np.array_equal(one, other)
    assert np.array_equal(mean_squeeze(show, shift), mean_squeeze(show, shift, show))
    assert np.array_equal(wall_squeeze(show, shift), wall_squeeze(show, shift, show))


def test_a_wall_twisted_into_its_socket_from_nothing_overlaps_by_a_quarter_of_its_far_corner():
    # The overlap is 0.4 u w: its mean over the square is 0.4 / 4.
    assert mean_over_depth(np.array(0.0), np.array(0.4), np.array(0.0)) == pytest.approx(0.1, abs=IDENTITY)


def test_a_wall_that_leaves_its_socket_and_enters_it_counts_only_where_it_overlaps():
    # Overlap 0.2 (2 w - 1) u for w > 1/2: (0.2 / 2) mean of (2 w - 1)+, which is 1/4.
    assert mean_over_depth(np.array(-0.2), np.array(0.2), np.array(0.0)) == pytest.approx(0.025, abs=IDENTITY)


def test_mean_over_depth_agrees_with_numerical_integration():
    rng = np.random.default_rng(3)
    for show, root, push in rng.uniform(-0.3, 0.3, (200, 3)):
        brute = grid_overlap(show, root, push)[0].mean()
        # Midpoint rule: a bend of at most 0.6 in slope across a cell of 1/800 costs less than 0.6 / 800^2 each way.
        assert mean_over_depth(show, root, push) == pytest.approx(brute, abs=2e-6)


def test_walls_hardly_twisted_join_smoothly_onto_even_ones():
    rng = np.random.default_rng(4)
    show, push = rng.uniform(-0.3, 0.3, (2, 300))
    for twist in (1e-4, 1e-5, 3e-6, 1e-6, 1e-8):
        # The mean moves by at most half of the twist, less a term of its square, far below 1e-9 of rounding.
        middle = mean_overlap(show + twist / 2, push)
        assert mean_over_depth(show, show + twist, push) == pytest.approx(middle, abs=1e-9 + twist**2 * 10)


def test_the_settled_shift_in_depth_has_the_least_energy_of_a_fine_grid():
    rng = np.random.default_rng(5)
    for _ in range(10):
        show, root = rng.uniform(-0.3, 0.3, (2, 6))
        shift = float(settle(show, root))
        shifts = np.linspace(-0.3, 0.3, 601)
        best = shifts[np.argmin([energy(show, root, one) for one in shifts])]
        # The grid's step is 0.001, and the midpoint rule moves its minimum by less than another.
        assert shift == pytest.approx(best, abs=0.002)


def energy(show: np.ndarray, root: np.ndarray, shift: float) -> float:
    """Sum of the squared overlaps over all walls, heights and depths."""
    pushes = wall_signs(len(show)) * shift
    walls = zip(show, root, pushes, strict=True)
    return sum(float(np.mean(grid_overlap(s, r, p, 40)[0] ** 2)) for s, r, p in walls)


def test_gap_and_squeeze_over_the_depth_are_the_worst_of_a_fine_grid():
    rng = np.random.default_rng(6)
    for _ in range(20):
        show, root = rng.uniform(-0.2, 0.2, (2, 4))
        shift = float(settle(show, root))
        depths = np.linspace(0.0, 1.0, 11)
        cases = [gap_and_squeeze(show + (root - show) * depth, shift) for depth in depths]
        gap, squeeze = gap_and_squeeze(show, shift, root)
        # The worst is at one of the two outermost depths, which the grid holds: rounding alone.
        assert gap == pytest.approx(np.max([one for one, _ in cases], axis=0), abs=IDENTITY)
        assert squeeze == pytest.approx(np.max([other for _, other in cases], axis=0), abs=IDENTITY)


def test_no_overlap_at_any_depth_means_no_shift():
    assert settle(np.array([-0.1, 0.0]), np.array([0.0, -0.3])) == 0.0


def test_many_twisted_boards_settle_at_once_as_they_do_one_by_one():
    show, root = np.random.default_rng(7).uniform(-0.2, 0.2, (2, 6, 30))
    one_by_one = [float(settle(a, b)) for a, b in zip(show.T, root.T, strict=True)]
    assert settle(show, root) == pytest.approx(one_by_one, abs=IDENTITY)


def test_the_middle_of_an_even_lean_is_two_thirds_up_and_half_way_down():
    found = overlap_of(0.2, 0.2, 0.0)
    assert (found.mean_mm, found.height, found.depth) == pytest.approx((0.1, 2 / 3, 1 / 2), abs=IDENTITY)


def test_the_middle_of_a_pure_twist_is_two_thirds_up_and_two_thirds_down():
    found = overlap_of(0.0, 0.4, 0.0)
    assert (found.mean_mm, found.height, found.depth) == pytest.approx((0.1, 2 / 3, 2 / 3), abs=IDENTITY)


def test_the_middle_of_an_overlap_agrees_with_numerical_integration():
    rng = np.random.default_rng(8)
    for show, root, push in rng.uniform(-0.3, 0.3, (100, 3)):
        overlap, height, depth = grid_overlap(show, root, push)
        if overlap.mean() < 0.005:
            continue
        found = overlap_of(show, root, push)
        # The midpoint rule errs by up to 2e-6 in the moments, so by 4e-4 of them at the least overlap looked at.
        assert found.mean_mm == pytest.approx(overlap.mean(), abs=2e-6)
        assert found.height == pytest.approx((overlap * height).mean() / overlap.mean(), abs=4e-4)
        assert found.depth == pytest.approx((overlap * depth).mean() / overlap.mean(), abs=4e-4)


def test_the_place_integrates_the_same_mean_as_the_closed_form():
    rng = np.random.default_rng(9)
    for show, root, push in rng.uniform(-0.3, 0.3, (300, 3)):
        # Gauss's rule on the rational part: 1e-6 of an overlap of at most 0.6.
        assert overlap_of(show, root, push).mean_mm == pytest.approx(float(mean_over_depth(show, root, push)), abs=6e-7)


def test_nothing_overlaps_in_the_middle_of_the_wall():
    assert overlap_of(-0.1, -0.2, -0.05) == Overlap(0.0, 0.5, 0.5)


def test_two_walls_together_have_their_middle_in_proportion_to_what_they_overlap():
    both = together([Overlap(0.1, 0.9, 0.2), Overlap(0.3, 0.5, 0.6), Overlap(0.0, 0.5, 0.5)])
    assert (both.mean_mm, both.height, both.depth) == pytest.approx((0.4, 0.6, 0.5), abs=IDENTITY)
