"""`tailproof check --view` and the score of faces: what people see, with a measuring core of known answers."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import pytest

from calibration.outcome import refuse
from calibration.prints.known import Known
from service.cli import main
from tests.face_scenes import FaceScene
from tests.vision.answer.test_result import SCHEMA
from tests.vision.face.test_measure_face import face_photo, measured
from tests.vision.photos import encoded
from tests.vision.score.test_face_scoring import truth_dict
from vision.end.report import Stage
from vision.face.report import FaceMeasurement, FaceView
from vision.photo.photo import Photo

Capture = pytest.CaptureFixture[str]


@pytest.fixture
def faces(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    """A folder of photos; the name decides: `good...` is the plain face, `fault...` breaks, others are no face."""

    def measure(
        photo: Photo, view: FaceView, *, stage: Stage | None, known: Known, past_limit_mm: float
    ) -> FaceMeasurement:
        if photo.name.startswith("fault"):
            raise ZeroDivisionError("on purpose")
        if not photo.name.startswith("good"):
            raise refuse("no_face")
        return measured(FaceScene())

    monkeypatch.setattr("service.measuring.face_check.measure_face", measure)
    data = encoded(face_photo(FaceScene()).rgb, "JPEG")
    for name in ("good-1.jpg", "good-2.jpg", "bench.jpg", "fault.jpg"):
        (tmp_path / name).write_bytes(data)
    return tmp_path


def test_a_face_is_answered_within_80_columns(faces: Path, capsys: Capture) -> None:
    assert main(["check", "--view", "show", str(faces / "good-1.jpg"), "--explain"]) == 0
    out = capsys.readouterr().out
    assert out.startswith("Past the baseline: 2 cuts")
    assert "tail 1 right" in out
    assert "1:6." in out
    assert "Baseline 15.0" in out
    assert "shares of the variance" in out
    assert "wear eye protection" in out.replace("\n", " ")
    assert max(map(len, out.splitlines())) <= 80


def test_inches_for_those_who_ask(faces: Path, capsys: Capture) -> None:
    main(["check", "--view", "show", "--units", "inch", str(faces / "good-1.jpg")])
    out = capsys.readouterr().out
    assert "Show face, 3 7/32 in wide" in out
    assert "past line in" in out


def test_several_photos_are_told_apart_and_a_bad_one_does_not_stop_the_rest(faces: Path, capsys: Capture) -> None:
    names = [str(faces / name) for name in ("bench.jpg", "good-1.jpg")]
    assert main(["check", "--view", "show", *names]) == 3
    out = capsys.readouterr().out
    assert "No sawn face of a board was found" in out
    assert "Past the baseline" in out
    assert main(["check", "--view", "show", str(faces / "fault.jpg"), names[1]]) == 1
    assert main(["check", "--view", "show", str(faces / "missing.jpg")]) == 3


def test_json_names_the_file_among_several_and_keeps_the_schema(faces: Path, capsys: Capture) -> None:
    main(["check", "--view", "show", "--json", str(faces / "good-1.jpg"), str(faces / "bench.jpg")])
    values = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    for value in values:
        jsonschema.Draft202012Validator(SCHEMA).validate(value)
    assert [value["ok"] for value in values] == [True, False]
    assert values[0]["file"].endswith("good-1.jpg")


def test_the_overlay_is_written(faces: Path) -> None:
    target = faces / "drawn.png"
    assert main(["check", "--view", "show", "--overlay", str(target), str(faces / "good-1.jpg")]) == 0
    assert target.read_bytes().startswith(b"\x89PNG")


@pytest.mark.parametrize("option", [["--same-end"], ["--layout"], ["--plan", "drawer"]])
def test_what_is_for_ends_only_is_refused_with_a_face(faces: Path, capsys: Capture, option: list[str]) -> None:
    assert main(["check", "--view", "show", str(faces / "good-1.jpg"), *option]) == 2
    assert f"{option[0]} is for photos of the end" in capsys.readouterr().err


def test_the_limit_reaches_the_measurement(faces: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[float] = []

    def measure(*unused: object, past_limit_mm: float, **told: object) -> FaceMeasurement:
        asked.append(past_limit_mm)
        return measured(FaceScene())

    monkeypatch.setattr("service.measuring.face_check.measure_face", measure)
    main(["check", "--view", "show", str(faces / "good-1.jpg")])
    main(["check", "--view", "show", "--past-limit", "0.5", str(faces / "good-1.jpg")])
    assert asked == [0.3, 0.5]


def test_faces_are_scored_beside_no_ends(faces: Path, capsys: Capture) -> None:
    for name in ("good-1", "bench"):
        (faces / f"{name}.json").write_text(json.dumps(truth_dict() | {"photo": f"{name}.jpg"}))
    assert main(["score", str(faces)]) == 0
    out = capsys.readouterr().out
    assert out.startswith("Faces to measure   2\nCuts found         6 of 12, 6 missed, 0 false")
    assert "Refused: bench.jpg (no_face)" in out
    main(["score", "--json", str(faces)])
    assert json.loads(capsys.readouterr().out)["faces"]["kerfs"]["found"] == 6


def test_a_broken_truth_of_a_face_is_a_mistake_of_the_caller(faces: Path, capsys: Capture) -> None:
    (faces / "good-1.json").write_text(json.dumps(truth_dict() | {"view": "end"}))
    assert main(["score", str(faces)]) == 2
    assert "view must be show or transfer" in capsys.readouterr().err
