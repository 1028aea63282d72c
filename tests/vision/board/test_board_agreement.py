"""Do the views agree: honest views mostly do, a false one is named, odd walls are left open, and what that costs."""

from dataclasses import replace

import numpy as np
import pytest

from calibration.quantity import COVERAGE_FACTOR
from tests.vision.faces import Errors, end_measurement, face_measurement, moved_face, random_true_board, true_board
from vision.board.agreement import compare_views
from vision.board.judge import judge_board
from vision.board.views import counted_from_other_side, join_views, taken_for_the_other
from vision.together.agreement import FIRM

BOARD = true_board([0.05, -0.1, 0.02, 0.08, 0.0, -0.03, 0.04, 0.01], [0.1, 0.0, -0.15, 0.05, 0.0, 0.0, 0.1, 0.0])
FACES = ("show", "transfer")


def views(*faces, end=None, board=BOARD):
    return join_views(end or end_measurement(board), list(faces) or [face_measurement(board, face) for face in FACES])


def stretched(face, by):
    """The face with all places so many times as far from the left side."""
    kerfs = tuple(replace(k, x_at_end=replace(k.x_at_end, value=k.x_at_end.value * by)) for k in face.kerfs)
    return replace(face, kerfs=kerfs, width=replace(face.width, value=face.width.value * by))


def test_exact_views_agree_in_every_number():
    found = compare_views(views())
    assert found.agree
    assert [(one.first, one.second) for one in found.comparisons] == [
        ("end", "show"),
        ("end", "transfer"),
        ("show", "transfer"),
    ]
    assert all(one.probability == 1.0 and not one.odd for one in found.comparisons)
    assert [one.scatter.freedom for one in found.comparisons] == [9, 9, 1]
    assert found.birge_ratio == 1.0


def test_honest_views_are_hardly_ever_doubted_and_chi_square_is_what_it_should_be():
    rng = np.random.default_rng(1)
    doubted, odd, chi, freedom = 0, 0, 0.0, 0
    for _ in range(150):
        board, errors = random_true_board(rng), Errors(rng=rng, drawn={})
        seen = [face_measurement(board, face, errors) for face in FACES]
        found = compare_views(views(*seen, end=end_measurement(board, errors)))
        doubted += not found.agree
        odd += any(one.odd for one in found.comparisons)
        chi += sum(one.scatter.chi_square for one in found.comparisons[:2])
        freedom += sum(one.scatter.freedom for one in found.comparisons[:2])
    # Firmly at odds by chance once in ten thousand comparisons; odd walls once in a hundred, of 450 comparisons.
    assert doubted == 0
    assert odd <= 450 * 0.01 + 3 * np.sqrt(450 * 0.01)
    # Nothing is drawn for the two allowances (0.01 mm of 0.03, and the side's), so chi-square is a little small.
    assert 0.7 < chi / freedom < 1.1


@pytest.mark.parametrize("false", FACES)
def test_a_face_that_alone_contradicts_the_end_is_doubted(false):
    faces = [face_measurement(BOARD, face) for face in FACES]
    faces = [stretched(face, 1.01) if face.view == false else face for face in faces]
    found = compare_views(views(*faces))
    assert found.doubt == false
    bad = next(one for one in found.comparisons if one.contradicts)
    assert {bad.first, bad.second} == {"end", false}


def test_a_false_scale_is_told_as_one_and_by_how_much_over_the_width():
    faces = [stretched(face_measurement(BOARD, "show"), 1.01), face_measurement(BOARD, "transfer")]
    told = {one.what: one for one in compare_views(views(*faces)).comparisons[0].differences}
    assert next(iter(told)) == "scale"
    # The end is the smaller by a hundredth of the width; its own numbers, weighed, stand in for the true places.
    assert told["scale"].by_mm == pytest.approx(-0.01 * BOARD.width_mm, abs=told["scale"].u95_mm)


def test_an_end_that_contradicts_both_faces_is_doubted():
    end = end_measurement(BOARD)
    walls = tuple(replace(wall, x_show=wall.x_show + 1.0, x_transfer=wall.x_transfer + 1.0) for wall in end.walls)
    found = compare_views(views(end=replace(end, walls=walls, width=end.width + 1.0)))
    assert found.doubt == "end"
    assert found.comparisons[0].differences[0].what == "left side"
    assert found.comparisons[0].differences[0].by_mm == pytest.approx(1.0, abs=0.01)  # rounding of 1e-4 mm


def test_with_a_single_face_nobody_can_tell_which_photo_is_wrong():
    face = stretched(face_measurement(BOARD, "show"), 1.01)
    assert compare_views(views(face)).doubt == "either"


def test_faces_that_differ_in_width_cannot_both_bear_witness_against_the_end():
    faces = [stretched(face_measurement(BOARD, "show"), 1.02), stretched(face_measurement(BOARD, "transfer"), 0.98)]
    assert compare_views(views(*faces)).doubt == "either"


@pytest.mark.parametrize("given", [FACES, FACES[:1], FACES[1:]])
def test_exchanged_faces_are_found_out(given):
    sawn = BOARD.corners + np.random.default_rng(3).uniform(-0.4, 0.4, (len(BOARD.corners), 1))
    board = replace(BOARD, corners=sawn)  # marked and sawn by hand, so never quite symmetric
    faces = [taken_for_the_other(face_measurement(board, face)) for face in given]
    assert {face.view for face in faces} == {FACES[1 - FACES.index(face)] for face in given}
    assert judge_board(end_measurement(board), faces).exchanged
    honest = judge_board(end_measurement(board), [face_measurement(board, face) for face in given])
    assert honest.agreement.agree
    assert not honest.exchanged


def test_a_face_taken_for_the_other_twice_is_itself():
    face = face_measurement(BOARD, "show")
    again = taken_for_the_other(taken_for_the_other(face))
    assert (again.view, [k.side for k in again.kerfs]) == ("show", [k.side for k in face.kerfs])
    # A width subtracted twice: rounding alone.
    assert [k.x_at_end.value for k in again.kerfs] == pytest.approx([k.x_at_end.value for k in face.kerfs], abs=1e-9)


def test_single_odd_walls_are_named_and_doubt_no_photo():
    faces = [moved_face(face_measurement(BOARD, "show"), 0.4, 3), face_measurement(BOARD, "transfer")]
    found = compare_views(views(*faces))
    assert found.agree
    odd = found.comparisons[0].odd
    assert [(one.what, one.wall) for one in odd] == [("place", 3)]
    # All else is exact, so that Baarda's estimate is the error itself, up to the rounding of 1e-4 mm.
    assert odd[0].by_mm == pytest.approx(-0.4, abs=0.001)
    assert found.walls[3] < FIRM < found.walls[2]


def test_too_many_odd_walls_doubt_the_photo():
    face = face_measurement(BOARD, "show")
    for wall, by in ((0, 0.5), (2, -0.6), (3, 0.4), (5, -0.5), (7, 0.7)):
        face = moved_face(face, by, wall)
    assert compare_views(views(face, face_measurement(BOARD, "transfer"))).doubt == "show"


def test_a_doubted_face_is_left_out_of_the_walls_and_no_advice_but_another_photo_is_given():
    faces = [stretched(face_measurement(BOARD, "show"), 1.01), face_measurement(BOARD, "transfer")]
    report = judge_board(end_measurement(BOARD), faces)
    assert (report.left_out, report.advice) == ("show", "photograph again")
    corners = np.array([[corner.value for corner in wall.corners] for wall in report.shape.walls])
    # The transfer face alone tells slopes now; the true twist of up to 0.15 mm stays unknown, the end is exact.
    assert corners[:, [0, 1, 3]] == pytest.approx(BOARD.corners[:, [0, 1, 3]], abs=1e-6)


def test_an_odd_wall_has_a_u_that_reaches_to_both_places():
    faces = [moved_face(face_measurement(BOARD, "show"), 0.4, 3), face_measurement(BOARD, "transfer")]
    plain, odd = (
        judge_board(end_measurement(BOARD), seen) for seen in ([face_measurement(BOARD, "show"), *faces[1:]], faces)
    )
    corner, before = odd.shape.walls[3].corners[0], plain.shape.walls[3].corners[0]
    true = BOARD.corners[3, 0]
    assert corner.value - corner.u95 < true < true + 0.4 < corner.value + corner.u95
    assert before.u95 < 0.1
    assert corner.budget()[0][0] == "views differ"


@pytest.mark.parametrize("given", [FACES, FACES[:1]])
def test_views_that_cannot_be_told_right_from_wrong_leave_u_as_wide_as_they_differ(given):
    faces = [stretched(face_measurement(BOARD, face), by) for face, by in zip(given, (1.02, 0.98), strict=False)]
    report = judge_board(end_measurement(BOARD), faces)
    assert report.agreement.doubt == "either"
    off = np.array([[corner.value for corner in wall.corners] for wall in report.shape.walls]) - BOARD.corners
    u95 = np.array([[corner.u95 for corner in wall.corners] for wall in report.shape.walls])
    # Birge's ratio widens all walls alike, while a false scale grows along the board: up to a quarter more at its end.
    assert (np.abs(off[:, 0]) <= 1.25 * u95[:, 0]).all()
    assert {socket.verdict for socket in report.joint.prediction.sockets} == {"too close to call"}


def test_views_that_scatter_more_than_stated_widen_u_by_birges_ratio():
    rng = np.random.default_rng(2)
    kerfs = face_measurement(BOARD, "show").kerfs
    rough = [replace(kerf, x_at_end=kerf.x_at_end + float(rng.choice([-1, 1])) * 0.04) for kerf in kerfs]
    faces = [replace(face_measurement(BOARD, "show"), kerfs=tuple(rough)), face_measurement(BOARD, "transfer")]
    found = compare_views(views(*faces))
    assert found.agree
    chi, freedom = (sum(getattr(one.scatter, name) for one in found.comparisons) for name in ("chi_square", "freedom"))
    assert found.birge_ratio == pytest.approx(max(1.0, np.sqrt(chi / freedom)))
    wide = views(*faces).widened(2.0)
    assert wide.x_show[0].u == pytest.approx(2.0 * views(*faces).x_show[0].u)
    assert wide.faces["show"].lines[0].run.u == pytest.approx(2.0 * views(*faces).faces["show"].lines[0].run.u)


def test_the_uncertainty_of_a_difference_leaves_out_what_the_views_share():
    one = compare_views(views()).comparisons[0].corners[0]
    # Two independent places of 0.02 mm, two sides of 0.03, and 0.01 for lines that do not meet.
    assert one.u95 == pytest.approx(COVERAGE_FACTOR * np.sqrt(2 * 0.02**2 + 2 * 0.03**2 + 0.01**2), rel=1e-12)


@pytest.mark.parametrize("given", [FACES, FACES[:1], FACES[1:]])
def test_faces_are_read_from_the_side_from_which_they_fit_the_end(given):
    sawn = BOARD.corners + np.random.default_rng(3).uniform(-0.4, 0.4, (len(BOARD.corners), 1))
    board = replace(BOARD, corners=sawn)  # marked and sawn by hand, so never quite symmetric
    faces = [face_measurement(board, face) for face in given]
    plain = judge_board(end_measurement(board), faces)
    turned = judge_board(end_measurement(board), [counted_from_other_side(face) for face in faces])
    assert (plain.turned, turned.turned, turned.exchanged) == (False, True, False)
    assert turned.agreement.agree
    for one, other in zip(plain.shape.walls, turned.shape.walls, strict=True):
        assert [x.value for x in one.corners] == pytest.approx([x.value for x in other.corners], abs=1e-6)


def test_a_face_counted_from_its_other_side_is_the_same_place_in_the_photo():
    face = face_measurement(BOARD, "show")
    other = counted_from_other_side(face)
    kerf, same = face.kerfs[0], other.kerfs[-1]
    assert (same.tail, same.side) == (3, "right")
    places = [seen.to_image(np.array([[one.x_at_end.value, 5.0]])) for seen, one in ((face, kerf), (other, same))]
    np.testing.assert_allclose(places[0], places[1], atol=1e-9)  # rounding
