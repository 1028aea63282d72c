"""Scores against truths made for the purpose: every number known beforehand."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import pytest

from calibration.outcome import Refusal, refuse
from calibration.quantity import Quantity, Source
from tests.vision.boards import THICKNESS_MM
from tests.vision.photos import TIGHT_AND_LOOSE, measurement, report
from vision.answer.result import Report
from vision.end.report import Measurement, Wall
from vision.joint.seating import predict_seating
from vision.score.claims import Claim
from vision.score.scoring import common_offset, expected_reason, match_walls, score_photo, true_tapers_mm
from vision.score.tally import tally
from vision.score.truth import TrueWall, Truth


def truth_of(measured: Measurement, expect: str | None = None) -> Truth:
    """The truth that makes a measurement perfect."""
    walls = tuple(
        TrueWall(wall.tail, wall.side, wall.lean.value, wall.x_show.value, wall.x_transfer.value)
        for wall in measured.walls
    )
    width_mm, thickness_mm = measured.width.value, measured.thickness.value
    return Truth("board.jpg", measured.stage, width_mm, thickness_mm, "maple", walls, expect)


def with_walls(made: Report, change: Callable[[Wall], Wall | None]) -> Report:
    walls = tuple(changed for wall in made.measurement.walls if (changed := change(wall)) is not None)
    return replace(made, measurement=replace(made.measurement, walls=walls))


def shifted(wall: Wall, mm: float) -> Wall:
    return replace(wall, x_show=wall.x_show + mm, x_transfer=wall.x_transfer + mm)


def test_a_perfect_measurement_scores_perfectly() -> None:
    made = report()
    score = score_photo(truth_of(made.measurement), made)
    assert (score.true_walls, score.found, score.missed, score.false) == (6, 6, 0, 0)
    assert score.stage_right
    assert all(claim.error == pytest.approx(0.0, abs=1e-12) and claim.inside for claim in score.claims)  # identity
    assert {socket.judgement for socket in score.sockets} == {"firm right"}


def test_claims_are_made_for_every_wall_socket_and_size() -> None:
    made = report()
    whats = [claim.what for claim in score_photo(truth_of(made.measurement), made).claims]
    counts = {what: whats.count(what) for what in set(whats)}
    assert counts == {"width": 1, "thickness": 1, "lean": 6, "x_show": 6, "taper": 4}


def test_errors_are_measured_less_true() -> None:
    made = report()
    truth = truth_of(made.measurement)
    wider = replace(truth, width_mm=truth.width_mm - 0.25)
    (claim,) = [claim for claim in score_photo(wider, made).claims if claim.what == "width"]
    assert claim.error == pytest.approx(0.25, abs=1e-12)  # identity
    assert not claim.inside


def test_a_wall_far_from_its_place_is_missed_and_false() -> None:
    made = report()
    moved = with_walls(made, lambda wall: shifted(wall, 1.2) if wall == made.measurement.walls[2] else wall)
    score = score_photo(truth_of(made.measurement), moved)
    assert (score.found, score.missed, score.false) == (5, 1, 1)
    assert len(score.sockets) == 3  # the socket it bounds is not judged


def test_a_wall_within_a_millimetre_is_found() -> None:
    made = report()
    near = with_walls(made, lambda wall: shifted(wall, 0.9))
    assert score_photo(truth_of(made.measurement), near).found == 6


def test_a_missing_wall_is_missed() -> None:
    made = report()
    fewer = with_walls(made, lambda wall: wall if wall.tail < 2 else None)
    score = score_photo(truth_of(made.measurement), fewer)
    assert (score.found, score.missed, score.false) == (4, 2, 0)


def test_a_wall_of_the_wrong_name_is_no_match() -> None:
    made = measurement()
    renamed = [replace(wall, tail=wall.tail + 1) for wall in made.walls]
    assert match_walls(renamed, truth_of(made).walls) == []


def test_a_cleared_board_may_be_shifted_as_a_whole_and_says_by_how_much() -> None:
    made = report()
    cleared = replace(made, measurement=replace(made.measurement, stage="cleared"))
    moved = with_walls(cleared, lambda wall: shifted(wall, 1.4))
    score = score_photo(truth_of(cleared.measurement), moved)
    assert score.found == 6
    assert score.offset_mm == pytest.approx(1.4)
    assert all(claim.error == pytest.approx(1.4) for claim in score.claims if claim.what == "x_show")


def test_a_sawn_board_may_not() -> None:
    made = report()
    assert score_photo(truth_of(made.measurement), with_walls(made, lambda wall: shifted(wall, 1.4))).found == 0


def test_an_offset_beyond_reason_is_not_taken_out() -> None:
    made = measurement()
    assert common_offset([shifted(wall, 20.0) for wall in made.walls], truth_of(made).walls) == 0.0
    assert common_offset([], truth_of(made).walls) == 0.0


def test_the_stage_is_judged() -> None:
    made = report()
    assert score_photo(replace(truth_of(made.measurement), stage="cleared"), made).stage_right is False


def test_true_tapers_are_the_widths_at_show_less_those_at_transfer() -> None:
    """Walls reaching into their sockets by these amounts at the show face make them that much narrower there."""
    tapers = true_tapers_mm(truth_of(measurement()).walls)
    assert tapers == pytest.approx([0.0, -0.6, 0.6, 0.0], abs=1e-12)  # identity


def test_a_firm_seats_on_a_socket_that_fails_is_unsafe_and_wrong() -> None:
    square = report((0.0,) * 6)
    assert {socket.verdict for socket in square.prediction.sockets} == {"seats"}
    score = score_photo(truth_of(measurement(TIGHT_AND_LOOSE)), square)
    assert [socket.judgement for socket in score.sockets] == ["firm right", "firm wrong", "firm wrong", "firm right"]
    assert [socket.unsafe for socket in score.sockets] == [False, True, True, False]
    assert [socket.unsafe_by_taper for socket in score.sockets] == [False, True, True, False]


def test_a_firm_failure_of_a_good_socket_is_wrong_but_not_unsafe() -> None:
    score = score_photo(truth_of(measurement((0.0,) * 6)), report())
    assert [socket.judgement for socket in score.sockets] == ["firm right", "firm wrong", "firm wrong", "firm right"]
    assert not any(socket.unsafe or socket.unsafe_by_taper for socket in score.sockets)


def test_too_close_to_call_is_undecided() -> None:
    vague = report((0.0,) * 6, u_mm=0.2)
    score = score_photo(truth_of(measurement((0.0,) * 6)), vague)
    assert {socket.judgement for socket in score.sockets} == {"undecided"}


def test_a_refused_photo_has_all_its_walls_missed() -> None:
    refusal = refuse("no_card").refusal
    score = score_photo(truth_of(measurement()), refusal)
    assert (score.found, score.missed, score.refusal) == (0, 6, "no_card")
    assert not score.refused_rightly


@pytest.mark.parametrize(
    ("expect", "reason"),
    [
        ("out of focus", "out_of_focus"),
        ("camera too oblique", "too_oblique"),
        ("no board end beside the card", "no_board_end"),
        ("no card", "no_card"),
        ("kerfs do not pair: one saw cut is missing", "kerfs_do_not_pair"),
        ("something else", None),
    ],
)
def test_the_expected_reason_is_found_in_the_words(expect: str, reason: str | None) -> None:
    assert expected_reason(expect) == reason


def test_a_photo_to_be_refused_is_judged_by_that_alone() -> None:
    made = report()
    truth = truth_of(made.measurement, expect="no card")
    assert not score_photo(truth, made).refused_rightly
    refused = score_photo(truth, Refusal("too_dark", "", ""))
    assert refused.refused_rightly
    assert not refused.reason_right
    assert score_photo(truth, Refusal("no_card", "", "")).reason_right


def test_the_limit_of_the_claim_is_u() -> None:
    assert Claim("lean", -0.1, 0.1).inside
    assert not Claim("lean", 0.11, 0.1).inside


def leaning_by(made: Report, degrees: list[float], u95_deg: float) -> Report:
    """The report with those errors added to the leans, and U as given."""
    errors = iter(degrees)
    source = {Source("wall edge"): u95_deg / 2}
    return with_walls(made, lambda wall: replace(wall, lean=Quantity(wall.lean.value + next(errors), source, "deg")))


def test_a_tally_gives_median_percentile_worst_and_coverage() -> None:
    """Errors 0.01 to 0.06 with U = 0.045: four of six inside; the 95th percentile lies 3/4 between the last two."""
    made = report()
    leaning = leaning_by(made, [0.01, -0.02, 0.03, -0.04, 0.05, -0.06], 0.045)
    total = tally([score_photo(truth_of(made.measurement), leaning)])
    errors = total.errors("lean")
    assert errors is not None
    assert errors == pytest.approx({"count": 6, "median": 0.035, "p95": 0.0575, "worst": 0.06})
    assert total.coverage("lean") == pytest.approx(4 / 6)
    assert total.coverage("lean", "taper") == pytest.approx(8 / 10)


def test_a_tally_parts_photos_to_measure_from_those_to_refuse() -> None:
    made = report()
    truth = truth_of(made.measurement)
    refusal = refuse("too_dark").refusal
    scores = [score_photo(truth, made), score_photo(truth, refusal), score_photo(replace(truth, expect="x"), refusal)]
    total = tally(scores).to_dict()
    assert total["photos"] == 2
    assert total["walls"] == {"true": 12, "found": 6, "missed": 6, "false": 0}
    assert total["stage"] == {"told": 1, "right": 1}
    assert total["refused"] == [{"photo": "board.jpg", "reason": "too_dark"}]
    assert [each["refused"] for each in total["to_refuse"]] == [True]


def test_an_empty_tally_has_no_errors_to_tell() -> None:
    total = tally([])
    assert total.errors("lean") is None
    assert total.coverage("lean") is None
    assert total.largest_offset_mm() == 0.0


def test_the_truth_is_judged_by_its_settled_fit_as_the_model_says() -> None:
    """A socket's truth is the model's own gap and squeeze of the exact walls: 0.6 mm too tight, 0.6 mm loose."""
    made = measurement()
    exact = predict_seating(made.walls, made.width, Quantity(THICKNESS_MM), species="maple")
    assert exact.sockets[1].squeeze.value > 0.3
    assert exact.sockets[2].gap.value > 0.3
    assert math.isclose(exact.settle_mm, 0.0, abs_tol=1e-6)
