"""A tilted end as the camera sees it: closed forms of the fan and of the divergence, and the way back."""

from __future__ import annotations

import numpy as np
import pytest

from tests.vision.lies import Board, Fits, Seen, View, leans_of, photograph, true_leans
from vision.lie.card_lie import CardLie, TiltedView
from vision.photo.strip import Frame

VIEW = View()
WIDTH, THICKNESS = 84.0, 18.0
EXACT = Fits(0.0, 0.0, 1e-9, 1e-9, 0.0, 0.0)
SQUARE = Board(WIDTH, THICKNESS, np.array([8.0, 24.0, 34.0, 50.0, 60.0, 76.0]), np.zeros(6))
ONE_DEGREE = float(np.tan(np.radians(1.0)))
POINTS = np.array([[25.0, 44.0], [60.0, 44.0], [97.0, 50.0], [40.0, 61.0], [90.0, 62.0]])


def seen(lie: CardLie, board: Board = SQUARE) -> Seen:
    return photograph(board, lie, VIEW, EXACT, np.random.default_rng(1))


def nadir() -> np.ndarray:
    """The point below the camera in the end's frame, from the left end of the show edge."""
    return VIEW.frame.from_plane(VIEW.plane.nadir_mm[None])[0] + [WIDTH / 2.0, 0.0]


def test_a_tilt_along_the_width_makes_the_faces_diverge_by_tilt_times_thickness_over_distance() -> None:
    found = seen(CardLie(along=ONE_DEGREE)).end.unparallel
    # First order; the second is the tilt times itself and the picture's half width over the distance, 2 % in all.
    assert found == pytest.approx(ONE_DEGREE * THICKNESS / VIEW.distance_mm, rel=0.02)


def test_a_tilt_across_the_thickness_fans_the_walls_out_by_tilt_times_their_distance_from_the_nadir() -> None:
    leans = np.array([lean.value for lean in leans_of(seen(CardLie(across=ONE_DEGREE)).numbers)])
    expected = ONE_DEGREE * (SQUARE.places_mm - nadir()[0]) / VIEW.distance_mm
    np.testing.assert_allclose(np.radians(leans), expected, atol=0.02 * np.abs(expected).max())


def test_a_tilt_along_the_width_turns_all_walls_alike_against_the_show_face() -> None:
    leans = np.radians([lean.value for lean in leans_of(seen(CardLie(along=ONE_DEGREE)).numbers)])
    # The show edge turns by the tilt times its distance from the nadir over the camera's; second order as above.
    expected = -ONE_DEGREE * nadir()[1] / VIEW.distance_mm
    np.testing.assert_allclose(leans, expected, atol=0.02 * ONE_DEGREE * WIDTH / VIEW.distance_mm)


def test_height_changes_the_scale_by_height_over_distance_and_no_angle() -> None:
    leaning = Board(WIDTH, THICKNESS, SQUARE.places_mm, np.radians([1.0, -2.0, 0.0, 0.5, 1.0, -1.0]))
    numbers = seen(CardLie(3.0), leaning).numbers
    # Exact: central projection between parallel planes is a similarity.
    assert numbers.width.value == pytest.approx(WIDTH / (1.0 - 3.0 / VIEW.distance_mm), rel=1e-9)
    assert [lean.value for lean in leans_of(numbers)] == pytest.approx(true_leans(leaning).tolist(), abs=1e-6)


@pytest.mark.parametrize("lie", [CardLie(2.0), CardLie(-1.0, 0.05, 0.0), CardLie(0.5, -0.03, 0.06)])
def test_seen_and_true_points_undo_one_another(lie: CardLie) -> None:
    view = TiltedView(VIEW.plane, VIEW.frame, lie)
    np.testing.assert_allclose(view.seen_points(view.true_points(POINTS)), POINTS, atol=1e-10)


def test_true_points_have_the_distances_they_have_in_space() -> None:
    lie = CardLie(1.5, 0.05, -0.04)
    board = Board(WIDTH, THICKNESS, SQUARE.places_mm, np.zeros(6))
    corners = np.array([[0.0, 0.0], [WIDTH, 0.0], [0.0, THICKNESS], [WIDTH, THICKNESS]])
    frame = Frame(VIEW.frame.origin, VIEW.frame.right, VIEW.frame.down)
    true = TiltedView(VIEW.plane, frame, lie).true_points(VIEW.seen(corners, lie, board.width_mm))
    between = np.linalg.norm(true[:, None] - true[None], axis=2)
    expected = np.linalg.norm(corners[:, None] - corners[None], axis=2)
    # Worked out in space on one side, by the formulas on the other: an identity.
    np.testing.assert_allclose(between, expected, atol=1e-9)
