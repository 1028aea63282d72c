"""`tailproof score` on a folder made for it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from calibration.prints.known import Known
from service.cli import main
from service.measuring.truth_folder import find_cases
from tests.vision.photos import measurement
from tests.vision.score.test_truth import truth_dict
from vision.end.report import Measurement
from vision.photo.photo import Photo

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
    assert [case.photo.name for case in find_cases(scored).ends] == ["cardless.jpg", "refuse.jpg", "good-1.jpg"]


@pytest.mark.parametrize("name", ["nowhere", "."])
def test_a_folder_without_truths_is_a_usage_error(folder: Path, name: str, capsys: Capture) -> None:
    assert main(["score", str(folder / name)]) == 2
    assert str(folder / name) in capsys.readouterr().err


def test_a_broken_truth_is_named(folder: Path, capsys: Capture) -> None:
    (folder / "good-1.json").write_text(json.dumps(true_dict("good-1.jpg", board={"width": 3})))
    assert main(["score", str(folder)]) == 2
    assert "good-1.json: the truth file has no" in capsys.readouterr().err


BROKEN = {
    "cut short": ('{"photo": "good-2.jpg", "boa', "it is damaged: no JSON from line 1 on"),
    "no text": (b"\xff\xfe\x00", "it is damaged: it is not a text in UTF-8"),
    "no object": ("[1, 2]", "it holds no JSON object"),
    "without its parts": ('{"photo": "good-2.jpg"}', "the truth file has no 'board'"),
    "without walls": ('{"photo": "good-2.jpg", "board": {}}', "the truth file has no 'kerfs'"),
    "a word for a number": (
        json.dumps(true_dict("good-2.jpg", board={"width": "abc", "thickness": 3, "stage": "sawn"})),
        "the truth file's 'width' must be a number, got 'abc'",
    ),
    "a board of no width": (
        json.dumps(true_dict("good-2.jpg", board={"width": -3, "thickness": 3, "stage": "sawn"})),
        "the truth file's 'width' must be above zero, got -3",
    ),
    "brackets within brackets": ("[" * 100_000, "it is damaged: nothing in it is a truth"),
    "a photo that is gone": (json.dumps(true_dict("lost.jpg")), "its photo lost.jpg is not there"),
    "a photo to be refused that is gone": (
        json.dumps(true_dict("lost.jpg", expect="unreadable file")),
        "its photo lost.jpg is not there",
    ),
    "a number for a photo": (json.dumps(true_dict("good-2.jpg") | {"photo": 3}), "'photo' must be a text"),
}


@pytest.mark.parametrize(("content", "why"), BROKEN.values(), ids=BROKEN.keys())
def test_a_broken_truth_is_left_out_by_name_and_the_others_are_scored(
    folder: Path, content: str | bytes, why: str, capsys: Capture
) -> None:
    (folder / "good-1.json").write_text(json.dumps(true_dict("good-1.jpg")))
    (folder / "good-2.json").write_bytes(content if isinstance(content, bytes) else content.encode())
    assert main(["score", str(folder), "--json"]) == 3
    score = json.loads(capsys.readouterr().out)
    assert (score["photos"], score["to_refuse"]) == (1, [])
    assert [each["truth"] for each in score["left_out"]] == [str(folder / "good-2.json")]
    assert why in score["left_out"][0]["why"]
    assert main(["score", str(folder)]) == 3
    assert "Left out of the score:" in capsys.readouterr().out


def test_where_all_truths_are_broken_each_is_named(folder: Path, capsys: Capture) -> None:
    (folder / "good-1.json").write_text("{")
    (folder / "good-2.json").write_text('{"photo": "good-2.jpg"}')
    assert main(["score", str(folder)]) == 2
    told = capsys.readouterr().err
    assert "good-1.json: it is damaged" in told
    assert "good-2.json: the truth file has no 'board'" in told


def test_a_kept_result_beside_its_photo_is_no_truth(folder: Path) -> None:
    (folder / "good-1.json").write_text(json.dumps(true_dict("good-1.jpg")))
    (folder / "good-2.json").write_text('{"schema": 1, "photo": "good-2.jpg"}')
    assert find_cases(folder).left_out == []


def test_a_score_uses_the_print_that_a_check_would(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Capture
) -> None:
    (folder / "good-1.json").write_text(json.dumps(true_dict("good-1.jpg")))
    data = ["--data", str(tmp_path / "data")]
    lengths = [f"--{name}={length}" for name, length in {"ab": 100, "ad": 100, "ac": 141.4, "bd": 141.4}.items()]
    assert main(["print-check", *lengths, *data]) == 0
    known: list[Known] = []

    def measure(image: Photo, *, known: Known, seen: list[Known] = known, **_: object) -> Measurement:
        seen.append(known)
        return measurement()

    monkeypatch.setattr("service.measuring.checking.measure_end", measure)
    photo, score = str(folder / "good-1.jpg"), ["score", str(folder)]
    assert [main([*words, *data]) for words in (["check", photo], score)] == [0, 0]
    assert main([*score, *data, "--print", "none"]) == 0
    assert [each.print.name for each in known] == ["default", "default", ""]
    capsys.readouterr()
    assert main([*score, *data, "--camera", "lost"]) == 2
    assert "no camera profile is kept as 'lost'" in capsys.readouterr().err
