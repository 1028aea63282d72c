"""Truth files: read as they are documented, and told from other JSON."""

from __future__ import annotations

from typing import Any

import pytest

from vision.score.truth import is_truth, truth_from_dict


def truth_dict(**changes: Any) -> dict[str, Any]:
    """The truth of a board of one tail whose left wall leans."""
    walls = [("left", 1.5, 7.0, 7.5), ("right", 0.0, 27.0, 27.0)]
    kerfs = [
        {"tail": 0, "side": side, "fit_lean": lean, "x_show_fit": show, "x_transfer_fit": transfer}
        for side, lean, show, transfer in walls
    ]
    board = {"width": 34.0, "thickness": 19.0, "stage": "sawn", "species": "oak", "depth": 15.0}
    return {"photo": "a.jpg", "board": board, "kerfs": kerfs} | changes


def test_a_truth_is_read_with_its_walls() -> None:
    truth = truth_from_dict(truth_dict())
    assert (truth.photo, truth.stage, truth.width_mm, truth.species, truth.expect) == (
        "a.jpg",
        "sawn",
        34.0,
        "oak",
        None,
    )
    assert [(wall.side, wall.lean_deg, wall.x_mid_mm) for wall in truth.walls] == [
        ("left", 1.5, 7.25),
        ("right", 0, 27),
    ]


def test_a_true_wall_as_measured_has_no_uncertainty() -> None:
    wall = truth_from_dict(truth_dict()).walls[0].as_wall()
    assert (wall.out_of_square.value, wall.out_of_square.u95, wall.lean.unit) == (0.5, 0.0, "deg")


def test_of_a_photo_to_be_refused_no_walls_are_read() -> None:
    truth = truth_from_dict(truth_dict(expect="no card", kerfs=[{"tail": 0}]))
    assert truth.expect == "no card"
    assert truth.walls == ()


@pytest.mark.parametrize("key", ["photo", "board", "kerfs"])
def test_what_is_missing_is_named(key: str) -> None:
    data = truth_dict()
    del data[key]
    assert not is_truth(data)
    with pytest.raises(ValueError, match=f"no '{key}'"):
        truth_from_dict(data)


def test_an_unknown_stage_is_refused() -> None:
    with pytest.raises(ValueError, match="sawn or cleared, got 'planed'"):
        truth_from_dict(truth_dict(board=truth_dict()["board"] | {"stage": "planed"}))


def test_another_shape_of_file_is_refused() -> None:
    with pytest.raises(ValueError, match="not in the format expected"):
        truth_from_dict(truth_dict(kerfs=5))


@pytest.mark.parametrize("value", [None, 3, [], {}, {"photo": "a", "board": {}}, truth_dict(baseline={})])
def test_other_json_is_not_the_truth_of_an_end(value: object) -> None:
    assert not is_truth(value)


def test_the_truth_of_an_end_is_one() -> None:
    assert is_truth(truth_dict())


@pytest.mark.parametrize("value", ["abc", None, [1.0], float("nan"), 10**400])
def test_what_is_no_number_is_named_in_plain_words(value: object) -> None:
    data = truth_dict()
    data["kerfs"][1]["fit_lean"] = value
    with pytest.raises(ValueError, match="the truth file's 'fit_lean' must be a number, got"):
        truth_from_dict(data)


def test_a_wall_is_on_the_left_or_on_the_right() -> None:
    data = truth_dict()
    data["kerfs"][0]["side"] = "top"
    with pytest.raises(ValueError, match="side must be left or right, got 'top'"):
        truth_from_dict(data)
