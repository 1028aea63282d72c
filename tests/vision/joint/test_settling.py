"""Settling: closed forms first, then brute force, then what must not change."""

import numpy as np
import pytest

from vision.joint.settling import gap_and_squeeze, mean_overlap, settle, wall_signs, wall_squeeze

IDENTITY = 1e-12
"""Closed forms in double precision on numbers near one."""


def energy(show: np.ndarray, shift: float, heights: int = 4001) -> float:
    """Elastic energy by brute force: the squared overlaps summed over a fine grid of heights (midpoint rule)."""
    u = (np.arange(heights) + 0.5) / heights
    overlap = show[:, None] * u + (wall_signs(len(show)) * shift)[:, None]
    return float(np.mean(np.maximum(overlap, 0.0) ** 2, axis=1).sum())


def test_a_wall_that_reaches_in_at_the_show_face_overlaps_by_half_of_it_on_average():
    assert mean_overlap(np.array([0.2]), np.array([0.0]))[0] == pytest.approx(0.1, abs=IDENTITY)


def test_a_square_wall_overlaps_by_the_shift_alone():
    assert mean_overlap(np.array([0.0, 0.0]), np.array([0.3, -0.3])) == pytest.approx([0.3, 0.0], abs=IDENTITY)


def test_mean_overlap_agrees_with_numerical_integration():
    rng = np.random.default_rng(1)
    show, push = rng.normal(size=(2, 200))
    u = (np.arange(20000) + 0.5) / 20000
    brute = np.maximum(show[:, None] * u + push[:, None], 0.0).mean(axis=1)
    # The midpoint rule errs by at most slope^2-free h/8 at the kink: 4 / 20000^2 / 8, far below this.
    assert mean_overlap(show, push) == pytest.approx(brute, abs=1e-7)


def test_no_overlap_means_no_shift():
    assert settle(np.array([-0.1, 0.0, -0.3, -0.2])) == 0.0


def test_one_tail_tight_on_its_left_moves_its_pin_away_to_the_closed_form_balance():
    # Left wall: overlap d u + s, right wall: -s. The forces balance where (d + s)^2 / (2 d) = -s with s = -d r:
    # (1 - r)^2 = 2 r, so r = 2 - sqrt(3).
    assert settle(np.array([0.1, 0.0])) == pytest.approx(-0.1 * (2.0 - np.sqrt(3.0)), abs=1e-11)


def test_walls_that_all_lean_the_same_way_share_it_equally():
    # Left wall d u + s; right wall -d u - s: only one of the two is positive at a time, so they balance at s = -d / 2.
    show = np.array([0.1, -0.1, 0.1, -0.1])
    assert settle(show) == pytest.approx(-0.05, abs=1e-11)


def test_the_settled_shift_has_the_least_energy_of_a_fine_grid():
    rng = np.random.default_rng(2)
    for _ in range(20):
        show = rng.uniform(-0.3, 0.3, 2 * int(rng.integers(1, 6)))
        shift = float(settle(show))
        grid = np.linspace(-0.4, 0.4, 1601)
        best = grid[np.argmin([energy(show, s, 401) for s in grid])]
        # The grid's step is 0.0005; the midpoint rule moves its minimum by less than another step.
        assert shift == pytest.approx(best, abs=0.001)


def test_no_small_step_from_the_settled_shift_lowers_the_energy():
    rng = np.random.default_rng(3)
    for _ in range(20):
        show = rng.uniform(-0.3, 0.3, 8)
        shift = float(settle(show))
        here = energy(show, shift)
        # 1e-9 of slack: the midpoint rule's error at 4001 heights, relative to energies near 0.01.
        assert all(here <= energy(show, shift + step) + 1e-9 for step in (-0.01, -0.002, 0.002, 0.01))


def test_many_boards_settle_at_once_as_they_do_one_by_one():
    show = np.random.default_rng(4).uniform(-0.2, 0.2, (6, 50))
    one_by_one = [float(settle(column)) for column in show.T]
    assert settle(show) == pytest.approx(one_by_one, abs=IDENTITY)


def test_gap_less_squeeze_at_the_show_face_is_the_taper_whatever_the_shift():
    show = np.array([0.02, -0.12, -0.05, 0.04])
    for shift in (-0.01, 0.0, 0.02):
        gap, squeeze = gap_and_squeeze(show, shift)
        # Middle socket: walls -0.12 and -0.05 stay open at the show face for these shifts; its taper is 0.17.
        assert gap[1] == pytest.approx(0.17, abs=IDENTITY)
        assert squeeze[1] == pytest.approx(abs(shift), abs=IDENTITY)


def test_a_shifted_pin_between_square_walls_is_squeezed_on_one_side_and_gaps_on_the_other():
    gap, squeeze = gap_and_squeeze(np.zeros(4), 0.03)
    assert gap == pytest.approx([0.0, 0.03, 0.03], abs=IDENTITY)
    assert squeeze == pytest.approx([0.03, 0.03, 0.0], abs=IDENTITY)


def test_nothing_presses_on_the_free_side_of_a_half_pin():
    gap, squeeze = gap_and_squeeze(np.array([0.05, -0.05]), 0.0)
    assert gap == pytest.approx([0.0, 0.05], abs=IDENTITY)
    assert squeeze == pytest.approx([0.05, 0.0], abs=IDENTITY)


def test_wall_squeeze_is_the_larger_of_its_two_faces():
    assert wall_squeeze(np.array([0.05, -0.2, -0.2, 0.0]), 0.03) == pytest.approx([0.08, 0.0, 0.03, 0.0], abs=IDENTITY)
