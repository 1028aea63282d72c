"""Pins over the depth: as at the end where nothing twists, by closed form where it does, and with honest U."""

import json
from dataclasses import replace

import numpy as np
import pytest

from calibration.quantity import Quantity, Source
from tests.vision.faces import (
    DEPTH_MM,
    Errors,
    end_measurement,
    face_measurement,
    random_true_board,
    true_board,
)
from vision.board.joint_in_depth import predict_in_depth, root_overlaps, taper_at
from vision.board.judge import judge_board
from vision.joint.seating import Limits, predict_seating

IDENTITY = 1e-9
"""Sums of a few double-precision lengths, after a bisection to 1e-12 of the largest overlap."""


def predicted(board, **options):
    return predict_in_depth(board.shape(), board.end_walls(), **options)


def test_with_walls_alike_at_every_depth_the_prediction_is_that_of_the_end_alone():
    rng = np.random.default_rng(1)
    for _ in range(10):
        board = random_true_board(rng, twist_mm=0.0)
        end, errors = end_measurement(board), Errors()
        seen = [face_measurement(board, face, errors) for face in ("show", "transfer")]
        shape = judge_board(end, seen).shape
        # The end's walls as all views have them, every depth taken like the end: slopes must not matter at all.
        walls = shape.end_walls(end.walls)
        depth = Quantity(shape.depth.value)  # exact, so that both draw from the same sources
        straight = replace(shape, walls=tuple(_without_twist(wall) for wall in shape.walls), depth=depth)
        deep = predict_in_depth(straight, end.walls).prediction
        alone = predict_seating(walls, shape.width, shape.thickness, socket_depth_mm=shape.depth.value)
        assert [json.dumps(s.to_dict()) for s in deep.sockets] == [json.dumps(s.to_dict()) for s in alone.sockets]
        assert deep.settle_mm == pytest.approx(alone.settle_mm, abs=IDENTITY)
        assert deep.advice == alone.advice


def _without_twist(wall):
    """The wall with its line at the end carried down the slope of the transfer face."""
    a, b, _, d = wall.corners
    run = d.value - b.value
    return replace(wall, corners=(a, b, a + run, b + run))


def test_slope_alone_changes_nothing_that_the_end_says():
    into = [0.05, -0.1, 0.02, 0.08]
    steep, square = (true_board(into, [0.0] * 4, [slope] * 4) for slope in (1 / 5, 0.0))
    for one, other in zip(predicted(steep).sockets, predicted(square).sockets, strict=True):
        assert one.socket.gap.value == pytest.approx(other.socket.gap.value, abs=IDENTITY)
        assert one.socket.squeeze.value == pytest.approx(other.socket.squeeze.value, abs=IDENTITY)


def test_a_socket_true_at_the_end_and_twisted_shut_below_is_told_by_its_depth():
    # Both walls of the middle socket square at the end, 0.2 mm into it at the show face at the baseline.
    found = predicted(true_board([0.0] * 4, [0.0, 0.2, 0.2, 0.0]))
    socket = found.sockets[1]
    assert [one.depth_mm for one in socket.slices] == pytest.approx([0.0, 4.0, 8.0, 12.0, 16.0])
    assert [one.taper.value for one in socket.slices] == pytest.approx([0.0, -0.1, -0.2, -0.3, -0.4], abs=IDENTITY)
    assert [one.squeeze_mm for one in socket.slices] == pytest.approx([0.0, 0.1, 0.2, 0.3, 0.4], abs=IDENTITY)
    assert socket.socket.squeeze.value == pytest.approx(0.4, abs=IDENTITY)
    assert socket.socket.squeeze_mean.value == pytest.approx(0.1, abs=IDENTITY)  # a quarter: mean of u w
    assert socket.squeezed_at is not None
    assert socket.squeezed_at.depth_mm == pytest.approx(2 / 3 * DEPTH_MM, abs=IDENTITY)
    assert socket.squeezed_at.from_show_mm == pytest.approx(19.0 / 3, abs=IDENTITY)
    assert socket.socket.verdict == "splitting"
    assert found.prediction.advice == "start over"


def test_a_socket_that_opens_below_gaps_there_though_the_end_is_true():
    socket = predicted(true_board([0.0] * 4, [0.0, -0.15, -0.15, 0.0])).sockets[1]
    assert socket.gap_depth_mm == pytest.approx(DEPTH_MM)
    assert socket.socket.gap.value == pytest.approx(0.3, abs=IDENTITY)
    assert socket.socket.verdict == "loose"
    assert socket.squeezed_at is None


def test_a_gap_that_closes_toward_the_baseline_is_widest_at_the_end():
    socket = predicted(true_board([0.0, -0.1, -0.1, 0.0], [0.0, 0.1, 0.1, 0.0])).sockets[1]
    assert socket.gap_depth_mm == 0.0


def test_all_walls_twisted_alike_settle_sideways_by_a_share_of_it():
    # Left walls reach in by 0.2 w u + s, right walls by -(0.2 w u + s): the same surface seen from both sides, so its
    # mean square is least where s is less its mean, 0.2 / 4.
    found = predicted(true_board([0.0] * 4, [0.2, -0.2, 0.2, -0.2]))
    assert found.prediction.settle_mm == pytest.approx(-0.05, abs=1e-10)


def test_a_half_pins_taper_counts_the_boards_side_as_square_at_every_depth():
    shape = true_board([0.1, 0.0, 0.0, 0.0], [0.1, 0.0, 0.0, 0.0]).shape()
    assert taper_at(shape, 0, 0.0).value == pytest.approx(-0.1, abs=IDENTITY)
    assert taper_at(shape, 0, DEPTH_MM).value == pytest.approx(-0.2, abs=IDENTITY)
    assert taper_at(shape, 2, DEPTH_MM).value == pytest.approx(0.0, abs=IDENTITY)


def test_the_depths_own_uncertainty_enters_where_a_wall_is_twisted():
    shape = true_board([0.0] * 4, [0.0, 0.16, 0.0, 0.0]).shape()
    vague = replace(shape, depth=shape.depth.with_part(Source("baseline"), 0.5))
    # 0.16 mm over 16 mm of depth: 0.01 mm for every mm.
    assert [one.u for one in root_overlaps(vague)] == pytest.approx([0.0, 0.005, 0.0, 0.0], abs=IDENTITY)


def test_the_squeeze_over_the_depth_lies_inside_its_interval_as_often_as_claimed():
    rng = np.random.default_rng(2)
    inside = total = 0
    for _ in range(60):
        board = true_board(rng.uniform(-0.05, 0.2, 4), rng.uniform(-0.1, 0.1, 4))
        truth = predicted(board).sockets
        errors = Errors(place_mm=0.01, slope=0.001, rng=rng, drawn={})
        seen = [face_measurement(board, face, errors) for face in ("show", "transfer")]
        found = judge_board(end_measurement(board, errors), seen).joint.sockets
        for one, other in zip(truth, found, strict=True):
            mean, seen_mean = one.socket.squeeze_mean.value, other.socket.squeeze_mean
            inside += seen_mean.low - IDENTITY <= mean <= seen_mean.high + IDENTITY
            total += 1
    # 180 intervals, three to a board: one standard error is at most sqrt(.05 * .95 / 60) = 2.8 %; the allowances,
    # for which nothing is drawn, make the intervals a little wide.
    assert inside / total >= 0.92


def test_with_one_face_unseen_the_verdict_stays_open_and_says_what_would_settle_it():
    board = true_board([0.0] * 4, [0.0] * 4)
    errors = Errors(place_mm=0.002, shared_mm=0.0, slope=0.0003)
    end, show, transfer = (
        end_measurement(board, errors),
        face_measurement(board, "show", errors),
        face_measurement(board, "transfer", errors),
    )
    both, one = judge_board(end, [show, transfer]), judge_board(end, [show])
    assert both.advice == "transfer"
    assert one.advice == "photograph again"
    assert one.joint.prediction.what_would_settle == ("What would settle it: a photo of the other face.",)


def test_limits_and_wood_reach_the_prediction():
    board = true_board([0.0, 0.05, 0.05, 0.0], [0.0] * 4)
    assert predicted(board, species="pine").prediction.sockets[1].verdict == "seats"
    strict = predicted(board, species="pine", limits=Limits(squeeze_softwood_mm=0.05))
    assert strict.prediction.sockets[1].verdict == "splitting"


def test_a_told_depth_takes_the_place_of_the_seen_one():
    board = true_board([0.0] * 4, [0.0, 0.2, 0.2, 0.0])
    seen = [face_measurement(board, face) for face in ("show", "transfer")]
    report = judge_board(end_measurement(board), seen, depth_mm=8.0)
    assert report.shape.depth == Quantity(8.0)
    assert report.joint.sockets[1].slices[-1].squeeze_mm == pytest.approx(0.2, abs=1e-6)  # half way: half of 0.4


def test_the_assumptions_speak_of_the_depth():
    said = " ".join(predicted(true_board([0.0] * 4, [0.0] * 4)).prediction.assumptions)
    assert "from the end to the baseline" in said
    assert "An end does not show the baseline" not in said


def test_a_tail_that_comes_to_a_point_is_the_callers_mistake():
    board = true_board([0.0] * 4, [0.0] * 4, [1.0] * 4, tail_mm=26.0)
    with pytest.raises(ValueError, match="tail 0 must have a width"):
        predicted(board)


def test_a_mirrored_board_has_mirrored_sockets():
    rng = np.random.default_rng(3)
    board = random_true_board(rng)
    other = replace(board, corners=board.width_mm - board.corners[::-1])
    one, twin = predicted(board), predicted(other)
    assert twin.prediction.settle_mm == pytest.approx(-one.prediction.settle_mm, abs=IDENTITY)
    for a, b in zip(one.sockets, reversed(twin.sockets), strict=True):
        assert a.socket.squeeze_mean.value == pytest.approx(b.socket.squeeze_mean.value, abs=IDENTITY)
        assert [s.gap_mm for s in a.slices] == pytest.approx([s.gap_mm for s in b.slices], abs=IDENTITY)
