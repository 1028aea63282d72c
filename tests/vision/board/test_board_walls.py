"""Walls as surfaces: closed forms of the fit, its claim of uncertainty, and what an unseen face leaves open."""

import math
from dataclasses import replace

import numpy as np
import pytest

from calibration.outcome import CannotMeasure
from calibration.quantity import Quantity, Source, combine
from tests.vision.boards import THICKNESS_MM
from tests.vision.faces import DEPTH_MM, Errors, end_measurement, face_measurement, random_true_board, true_board
from vision.board.views import MEET_U_MM, SIDES_SQUARE_U_MM, join_views, labelled
from vision.board.walls import TWIST_U, fit_walls
from vision.together.adjustment import adjusted

IDENTITY = 1e-9
"""Sums of lengths near 100 mm in double precision, after a solve with condition numbers near 1e5."""

TWISTED = true_board([0.05, -0.1, 0.02, 0.08], [0.1, 0.0, -0.15, 0.05])


def fitted(board, *faces, errors=None):
    views = join_views(end_measurement(board, errors), [face_measurement(board, face, errors) for face in faces])
    return fit_walls(views)


def corners(shape):
    return np.array([[corner.value for corner in wall.corners] for wall in shape.walls])


def test_two_observations_of_one_number_make_their_weighted_mean():
    seen = [Quantity(1.0, {Source("a"): 0.1}), Quantity(2.0, {Source("b"): 0.2})]
    (found,) = adjusted(np.ones((2, 1)), seen)
    # Weights 1/0.1^2 and 1/0.2^2, so 4 to 1; the rounding of 1e-4 mm enters at its square over theirs, 1e-6.
    assert found.value == pytest.approx(1.2, abs=1e-5)
    assert found.u == pytest.approx(math.sqrt(1 / (100 + 25)), rel=1e-5)


def test_an_error_that_all_observations_share_is_not_averaged_away():
    shared = Source("print scale")
    seen = [Quantity(1.0, {Source(name): 0.1, shared: 0.3}) for name in "abcd"]
    (found,) = adjusted(np.ones((4, 1)), seen)
    assert found.parts[shared] == pytest.approx(0.3, abs=IDENTITY)
    assert found.u == pytest.approx(math.hypot(0.3, 0.05), rel=1e-5)


def test_adjusting_is_least_squares_where_all_errors_are_alike():
    rng = np.random.default_rng(1)
    design, values = rng.normal(size=(9, 3)), rng.normal(size=9)
    seen = [Quantity(float(value), {Source("own", str(n)): 0.2}) for n, value in enumerate(values)]
    expected = np.linalg.lstsq(design, values, rcond=None)[0]
    assert [one.value for one in adjusted(design, seen)] == pytest.approx(list(expected), abs=IDENTITY)


def test_too_few_observations_are_the_callers_mistake():
    with pytest.raises(ValueError, match="do not determine"):
        adjusted(np.array([[1.0, 1.0]]), [Quantity(1.0)])
    with pytest.raises(ValueError, match="one unit"):
        adjusted(np.eye(2), [Quantity(1.0), Quantity(1.0, {}, "deg")])


def test_exact_views_give_the_surfaces_back():
    assert corners(fitted(TWISTED, "show", "transfer")) == pytest.approx(TWISTED.corners, abs=IDENTITY)


def test_a_surface_is_told_anywhere_by_lean_slope_and_twist():
    wall = TWISTED.shape().walls[0]
    x0, lean, slope, twist = 7.0 - 0.05, 0.05 / THICKNESS_MM, 1 / 7 - 0.1 / DEPTH_MM, 0.1 / THICKNESS_MM / DEPTH_MM
    # Left wall: it reaches out of the tail, to -x, at the show face, by 0.05 at the end and 0.15 at the bottom.
    for y, z in ((0.0, 0.0), (3.0, 5.0), (19.0, 16.0), (10.0, 2.0)):
        expected = x0 + lean * y + slope * z + twist * y * z
        assert wall.x_at(y, z).value == pytest.approx(expected, abs=IDENTITY)
    assert wall.overlap_at(DEPTH_MM).value == pytest.approx(0.15, abs=IDENTITY)
    assert wall.lean_at(0.0).value == pytest.approx(math.degrees(math.atan(lean)), abs=IDENTITY)
    assert wall.twist.value == pytest.approx(math.degrees(math.atan(0.1 / THICKNESS_MM)), abs=IDENTITY)
    assert wall.slope_at(THICKNESS_MM).value == pytest.approx(1 / 7, abs=IDENTITY)


def test_the_slope_of_a_right_wall_counts_toward_its_tail_as_well():
    assert TWISTED.shape().walls[1].slope_at(THICKNESS_MM).value == pytest.approx(1 / 7, abs=IDENTITY)


def test_with_one_face_the_other_is_presumed_to_run_alike_within_its_allowance():
    board = true_board([0.05, -0.1, 0.02, 0.08], [0.0] * 4)
    shape = fitted(board, "show")
    assert corners(shape) == pytest.approx(board.corners, abs=IDENTITY)
    run = shape.walls[0].slope_at(THICKNESS_MM) - shape.walls[0].slope_at(0.0)
    # Nothing but the allowance is said of the difference, so its uncertainty is that allowance.
    assert run.u == pytest.approx(TWIST_U, rel=1e-3)  # 1e-4 mm of rounding beside 0.16 mm, squared, and no more
    assert run.budget()[0][0] == "unseen face"


def test_a_second_view_of_a_corner_makes_it_more_certain_but_not_the_error_both_share():
    errors = Errors(place_mm=0.02, shared_mm=0.0)
    corner = fitted(TWISTED, "show", "transfer", errors=errors).walls[0].corners[0]
    # Two independent views, the face's widened by what keeps lines from meeting.
    face = math.hypot(0.02, MEET_U_MM)
    assert corner.u == pytest.approx(1.0 / math.sqrt(1 / 0.02**2 + 1 / face**2), rel=1e-3)  # rounding, as above


def test_the_print_is_one_error_of_all_views_and_stays():
    end = end_measurement(TWISTED)
    scale = Source("print scale", "x")
    walls = [
        replace(w, x_show=w.x_show.with_part(scale, 0.3), x_transfer=w.x_transfer.with_part(scale, 0.3))
        for w in end.walls
    ]
    faces = [face_measurement(TWISTED, view) for view in ("show", "transfer")]
    faces = [
        replace(face, kerfs=tuple(replace(k, x_at_end=k.x_at_end.with_part(scale, 0.3)) for k in face.kerfs))
        for face in faces
    ]
    corner = fit_walls(join_views(replace(end, walls=tuple(walls)), faces)).walls[1].corners[0]
    assert corner.parts[Source("print scale", "x, short card")] == pytest.approx(0.3, abs=1e-6)


def test_errors_of_a_view_are_its_own_and_the_prints_and_told_sizes_are_shared():
    quantity = Quantity(1.0, {Source("lens", "k1"): 0.1, Source("print skew"): 0.2, Source("told size", "width"): 0.3})
    named = labelled(quantity, "show", "long")
    assert set(named.parts) == {
        Source("lens", "k1, show photo"),
        Source("print skew", "long card"),
        Source("told size", "width, long card"),
    }
    assert named.u == pytest.approx(quantity.u, abs=IDENTITY)


def test_the_transfer_face_carries_what_the_boards_side_is_out_of_square():
    views = join_views(end_measurement(TWISTED), [face_measurement(TWISTED, view) for view in ("show", "transfer")])
    source = Source("board side", "out of square")
    assert all(line.x_at_end.parts[source] == SIDES_SQUARE_U_MM for line in views.faces["transfer"].lines)
    assert not any(source in line.x_at_end.parts for line in views.faces["show"].lines)


def test_the_baselines_depth_is_the_mean_of_its_ends_on_all_faces():
    face = face_measurement(TWISTED, "show")
    baseline = replace(face.baseline, depth_left=Quantity(15.0), depth_right=Quantity(17.0))
    other = face_measurement(TWISTED, "transfer")
    lower = replace(other.baseline, depth_left=Quantity(17.0), depth_right=Quantity(18.0))
    views = join_views(end_measurement(TWISTED), [replace(face, baseline=baseline), replace(other, baseline=lower)])
    assert views.depth.value == pytest.approx(16.75, abs=IDENTITY)


def test_corners_lie_inside_their_uncertainty_as_often_as_claimed():
    rng = np.random.default_rng(2)
    inside = total = 0
    for _ in range(60):
        board = random_true_board(rng)
        shape = fitted(board, "show", "transfer", errors=Errors(rng=rng, drawn={}))
        off = np.abs(corners(shape) - board.corners)
        inside += int((off <= [[corner.u95 for corner in wall.corners] for wall in shape.walls]).sum())
        total += off.size
    # k = 2 holds 95.4 %, and a little more since nothing was drawn for the allowances; 60 boards whose corners
    # share one error each: one standard error is at most sqrt(.046 * .954 / 60) = 2.7 %.
    assert total > 1000
    assert 0.93 <= inside / total <= 0.995


def test_a_face_of_another_board_is_refused():
    other = true_board([0.0] * 6, [0.0] * 6)
    with pytest.raises(CannotMeasure) as caught:
        join_views(end_measurement(TWISTED), [face_measurement(other, "show")])
    assert caught.value.refusal.reason == "views_not_one_board"
    assert "6 walls, the end 4" in caught.value.refusal.message


@pytest.mark.parametrize("faces", [[], ["show", "show"]])
def test_a_board_needs_one_or_two_different_faces(faces):
    with pytest.raises(ValueError, match="one of each face"):
        join_views(end_measurement(TWISTED), [face_measurement(TWISTED, face) for face in faces])


def test_the_walls_of_the_end_take_on_what_all_views_say():
    end = end_measurement(TWISTED)
    walls = fitted(TWISTED, "show", "transfer").end_walls(end.walls)
    for wall, seen in zip(walls, end.walls, strict=True):
        assert wall.out_of_square.value == pytest.approx(combine([(1.0, seen.x_transfer), (-1.0, seen.x_show)]).value)
        assert wall.lean.value == pytest.approx(seen.lean.value, abs=IDENTITY)
        assert wall.x_show.u < seen.x_show.u
