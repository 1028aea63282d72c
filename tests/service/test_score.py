"""`tailproof score` on a folder made for it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from service.cli import main
from service.measuring.score import find_cases
from tests.vision.photos import measurement
from tests.vision.score.test_truth import truth_dict

pytestmark = pytest.mark.usefixtures("core")

Capture = pytest.CaptureFixture[str]


def true_dict(photo: str, **changes: object) -> dict[str, object]:
    """The truth of the board that the fake core measures."""
    made = measurement()
    kerfs = [
        {
            "tail": wall.tail,
            "side": wall.side,
            "fit_lean": wall.lean.value,
            "x_show_fit": wall.x_show.value,
            "x_transfer_fit": wall.x_transfer.value,
        }
        for wall in made.walls
    ]
    board = {"width": made.width.value, "thickness": made.thickness.value, "stage": "sawn", "species": "maple"}
    return truth_dict(photo=photo, kerfs=kerfs, board=board) | changes


@pytest.fixture
def scored(folder: Path) -> Path:
    """Truths for a good photo, one without a card, one rightly without, in a folder below."""
    truths = {"good-1.jpg": {}, "cardless.jpg": {}, "fault.jpg": {"expect": "no card"}}
    for name, changes in truths.items():
        (folder / name).with_suffix(".json").write_text(json.dumps(true_dict(name, **changes)))
    (folder / "fault.jpg").rename(folder / "refuse.jpg")
    (folder / "fault.json").write_text(json.dumps(true_dict("refuse.jpg", expect="no card")))
    (folder / "settings.json").write_text('{"not": "a truth"}')
    (folder / "broken.json").write_text("{")
    return folder


def test_the_score_is_told_as_json(scored: Path, capsys: Capture) -> None:
    assert main(["score", str(scored), "--json"]) == 0
    captured = capsys.readouterr()
    score = json.loads(captured.out)
    assert score["photos"] == 2
    assert score["walls"] == {"true": 12, "found": 6, "missed": 6, "false": 0}
    assert score["inside_u95"]["lean and taper"] == 1.0
    assert score["refused"] == [{"photo": "cardless.jpg", "reason": "no_card"}]
    assert [(each["refused"], each["reason_right"]) for each in score["to_refuse"]] == [(True, True)]
    assert score["time_ratio"]["median"] > 0
    assert score["peak_memory_mb"] > 50  # the libraries alone take more
    assert "[3/3]" in captured.err


def test_the_score_is_told_to_people(scored: Path, capsys: Capture) -> None:
    assert main(["score", str(scored)]) == 0
    out = capsys.readouterr().out
    assert "Walls found        6 of 12 (50.0 %)" in out
    assert "Refused: cardless.jpg (no_card)" in out
    assert "To be refused      1 of 1 refused, 1 for the expected reason" in out
    assert max(map(len, out.splitlines())) <= 80


def test_a_fault_is_counted_and_ends_with_one(folder: Path, capsys: Capture) -> None:
    (folder / "fault.json").write_text(json.dumps(true_dict("fault.jpg")))
    assert main(["score", str(folder)]) == 1
    captured = capsys.readouterr()
    assert "Faults             1" in captured.out
    assert "Traceback" not in captured.err


def test_only_truths_of_ends_count_as_cases(scored: Path) -> None:
    assert [case.photo.name for case in find_cases(scored)] == ["cardless.jpg", "refuse.jpg", "good-1.jpg"]


@pytest.mark.parametrize("name", ["nowhere", "."])
def test_a_folder_without_truths_is_a_usage_error(folder: Path, name: str, capsys: Capture) -> None:
    assert main(["score", str(folder / name)]) == 2
    assert str(folder / name) in capsys.readouterr().err


def test_a_broken_truth_is_named(folder: Path, capsys: Capture) -> None:
    (folder / "good-1.json").write_text(json.dumps(true_dict("good-1.jpg", board={"width": 3})))
    assert main(["score", str(folder)]) == 2
    assert "good-1.json: the truth file has no" in capsys.readouterr().err


def test_a_photo_that_is_gone_counts_as_refused(folder: Path, capsys: Capture) -> None:
    (folder / "lost.json").write_text(json.dumps(true_dict("lost.jpg")))
    assert main(["score", str(folder), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["refused"] == [{"photo": "lost.jpg", "reason": "unreadable_file"}]
