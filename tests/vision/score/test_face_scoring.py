"""Truths of faces, and the score against them."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from calibration.outcome import refuse
from tests.face_scenes import FaceScene
from tests.vision.face.test_measure_face import measured
from vision.face.result import FaceReport
from vision.score.face_scoring import face_scores_dict, score_face
from vision.score.face_truth import FaceTruth, face_truth_from_dict, is_face_truth
from vision.score.truth import is_truth

FACE = FaceScene()


def truth_dict(face: FaceScene = FACE) -> dict[str, Any]:
    """The truth file of a painted face."""
    kerfs = [
        {"tail": i // 2, "side": ("left", "right")[i % 2], "x_at_end": x, "slope_deg": 8.0, "stop_depth": stop}
        | {"past_baseline": past}
        for i, (x, stop, past) in enumerate(zip(face.x_at_end_mm, face.stops_mm().tolist(), face.past_mm, strict=True))
    ]
    board = {"width": face.width_mm, "stage": "sawn"}
    baseline = {"depth_at_left": 15.0, "depth_at_right": 15.2147, "out_of_square_deg": 0.15}
    return {"photo": "face.jpg", "view": "show", "board": board, "baseline": baseline, "kerfs": kerfs}


def truth() -> FaceTruth:
    return face_truth_from_dict(truth_dict())


def report() -> FaceReport:
    return FaceReport("face.jpg", measured(FACE))


def test_a_faces_truth_is_no_ends_truth() -> None:
    assert is_face_truth(truth_dict())
    assert not is_truth(truth_dict())
    assert not is_face_truth({"photo": "x", "board": {}, "kerfs": []})
    assert not is_face_truth([])


@pytest.mark.parametrize("key", ["board", "baseline", "kerfs", "view"])
def test_a_truth_that_lacks_something_says_what(key: str) -> None:
    data = truth_dict()
    del data[key]
    with pytest.raises(ValueError, match=key):
        face_truth_from_dict(data)


def test_a_truth_in_another_format_is_refused() -> None:
    with pytest.raises(ValueError, match="view must be show or transfer"):
        face_truth_from_dict(truth_dict() | {"view": "end"})
    with pytest.raises(ValueError, match="not in the format"):
        face_truth_from_dict(truth_dict() | {"kerfs": [None]})


def test_a_good_measurement_finds_all_cuts_and_is_judged_right() -> None:
    score = score_face(truth(), report())
    assert (score.true_kerfs, score.found, score.false, score.stage_right) == (6, 6, 0, True)
    assert score.verdicts.count("firm right") >= 5
    assert "firm wrong" not in score.verdicts
    assert {claim.what for claim in score.claims} == {"width", "baseline", "slope", "stop", "past", "x_at_end"}


@pytest.mark.parametrize(("told", "judged"), [("knife or gauge", "firm right"), ("pencil", "firm wrong"), (None, None)])
def test_the_baselines_kind_is_judged_where_the_truth_tells_it(told: str | None, judged: str | None) -> None:
    data = truth_dict()
    data["baseline"] |= {} if told is None else {"kind": told}
    score = score_face(face_truth_from_dict(data), report())
    assert score.baseline_kind == judged
    counted = face_scores_dict([score])["baseline_kinds"]
    assert counted == {name: int(name == judged) for name in ("firm right", "undecided", "firm wrong")}


def test_a_kind_that_was_left_open_counts_as_undecided() -> None:
    measurement = report().measurement
    vague = replace(measurement, baseline=replace(measurement.baseline, kind="line"))
    known = replace(truth(), baseline_kind="pencil")
    assert score_face(known, FaceReport("face.jpg", vague)).baseline_kind == "undecided"


def test_a_cut_elsewhere_is_missed_and_false() -> None:
    kerfs = list(truth().kerfs)
    kerfs[0] = replace(kerfs[0], x_at_end_mm=kerfs[0].x_at_end_mm + 2.0)
    score = score_face(replace(truth(), kerfs=tuple(kerfs)), report())
    assert (score.found, score.false) == (5, 1)


def test_a_wrong_verdict_is_firm_and_wrong() -> None:
    kerfs = tuple(replace(kerf, past_baseline_mm=0.0) for kerf in truth().kerfs)
    score = score_face(replace(truth(), kerfs=kerfs), report())
    assert score.verdicts.count("firm wrong") == 3  # two past the baseline, one short of it


def test_stops_of_a_cleared_board_are_not_judged() -> None:
    score = score_face(replace(truth(), stage="cleared"), report())
    assert score.verdicts == ()
    assert {"stop", "past"}.isdisjoint(claim.what for claim in score.claims)


def test_a_refused_photo_misses_all_its_cuts() -> None:
    score = score_face(truth(), refuse("no_face").refusal)
    value = face_scores_dict([score])
    assert value["kerfs"] == {"true": 6, "found": 0, "missed": 6, "false": 0}
    assert value["refused"] == [{"photo": "face.jpg", "reason": "no_face"}]
    assert value["errors"]["slope"] is None


def test_many_scores_are_put_together() -> None:
    value = face_scores_dict([score_face(truth(), report())] * 2)
    assert value["photos"] == 2
    assert value["errors"]["stop"]["count"] == 12
    assert value["errors"]["stop"]["median"] <= value["errors"]["stop"]["worst"]
    assert 0.0 <= value["inside_u95"]["slope, stop and past"] <= 1.0
