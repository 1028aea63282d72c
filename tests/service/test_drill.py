"""`tailproof drill` as people meet it: answer, JSON, picture, refusals and mistakes."""

from __future__ import annotations

import json
from dataclasses import replace
from importlib import resources
from pathlib import Path

import jsonschema
import pytest
from PIL import Image

from service.cli import build_parser, main
from tests.scenes import Scene, rendered
from tests.vision.answer.test_result import SCHEMA
from tests.vision.photos import encoded
from vision.drill.plan import DrillPlan, Intent

DRILL_SCHEMA = json.loads(resources.files("vision").joinpath("drill/result.schema.json").read_text(encoding="utf-8"))
SCENE = Scene(drill=True, leans_deg=(0.9, 0.6, 0.8, 0.7, 0.9, 0.8), places_mm=(8.0, 20.0, 33.0, 45.0, 58.0, 72.0))

Capture = pytest.CaptureFixture[str]


@pytest.fixture(scope="module")
def photo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("drill") / "board.png"
    path.write_bytes(encoded(rendered(SCENE).photo.rgb, "PNG"))
    return path


@pytest.fixture(autouse=True)
def _no_kept_things(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("TAILPROOF_DATA", str(tmp_path / "data"))


def run(*arguments: str | Path) -> int:
    return main(["drill", *map(str, arguments)])


def complaint(capsys: Capture, *arguments: str | Path) -> str:
    """What a mistake in the command is answered with; checks its status and that stdout stays empty."""
    try:
        status: object = run(*arguments)
    except SystemExit as error:
        status = error.code
    captured = capsys.readouterr()
    assert (status, captured.out) == (2, "")
    return captured.err


def test_cuts_that_were_hardly_meant_to_be_square_are_asked_about_before_any_number(
    tmp_path: Path, capsys: Capture
) -> None:
    steep = tmp_path / "steep.png"
    leans = (7.0, -7.1, 6.9, -7.0, 7.1, -6.9)
    steep.write_bytes(encoded(rendered(replace(SCENE, leans_deg=leans)).photo.rgb, "PNG"))
    assert run(steep) == 0
    answer = capsys.readouterr().out
    assert answer.index("tell it: --intended") < answer.index("Board ")


def test_the_answer_begins_with_what_to_work_on(photo: Path, capsys: Capture) -> None:
    assert run(photo) == 0
    answer = capsys.readouterr().out
    assert answer.startswith("Work on your lean: on the way to the transfer face your cuts go 0.")
    assert "too far to the right on average" in answer.replace("\n", " ")
    assert len([line for line in answer.splitlines() if line.endswith("both")]) == 6
    assert max(map(len, answer.splitlines())) <= 80
    assert "Saws and chisels cut hands" in answer


def test_inches_are_for_people_who_asked_for_them(photo: Path, capsys: Capture) -> None:
    assert run(photo, "--units", "inch") == 0
    answer = capsys.readouterr().out
    assert " in over the thickness" in answer.replace("\n", " ")
    assert "spacing in" in answer
    assert "mm over" not in answer.replace("\n", " ")


def test_json_follows_its_schema_and_tells_what_was_told(photo: Path, capsys: Capture) -> None:
    assert run(photo, "--json", "--order", "2,1,3,4,6,5", "--intended", "left,right", "--keep", "right,left") == 0
    result = json.loads(capsys.readouterr().out)
    jsonschema.validate(result, DRILL_SCHEMA)
    cuts = result["drill"]["cuts"]
    assert [cut["number"] for cut in cuts] == [2, 1, 3, 4, 6, 5]
    assert [cut["side"] for cut in cuts] == ["left", "right"] * 3
    assert [cut["keep"] for cut in cuts] == ["right", "left"] * 3
    assert result["drill"]["right_less_left_deg"] is not None


def test_a_single_cut_is_valid_json_with_nulls(tmp_path: Path, capsys: Capture) -> None:
    path = tmp_path / "one.png"
    path.write_bytes(encoded(rendered(replace(SCENE, leans_deg=(0.4,), places_mm=(30.0,))).photo.rgb, "PNG"))
    assert run(path, "--json") == 0
    result = json.loads(capsys.readouterr().out)
    jsonschema.validate(result, DRILL_SCHEMA)
    assert result["drill"]["work_on"] == "more cuts"
    assert result["drill"]["mean_lean_deg"] is None


def test_the_overlay_is_written(photo: Path, tmp_path: Path) -> None:
    target = tmp_path / "drawn.jpg"
    assert run(photo, "--overlay", target) == 0
    with Image.open(target) as drawn:
        assert drawn.width == 1600


def test_the_photo_itself_is_never_overwritten(photo: Path, capsys: Capture) -> None:
    assert "would be overwritten" in complaint(capsys, photo, "--overlay", photo)


def test_a_photo_without_a_card_is_refused_in_words_and_as_json(tmp_path: Path, capsys: Capture) -> None:
    path = tmp_path / "cardless.png"
    path.write_bytes(encoded(rendered(SCENE).photo.rgb[1050:].copy(), "PNG"))
    assert run(path) == 3
    assert "No card was found" in capsys.readouterr().out
    assert run(path, "--json") == 3
    refused = json.loads(capsys.readouterr().out)
    jsonschema.validate(refused, SCHEMA)
    assert refused["refusal"]["reason"] == "no_card"


def test_a_file_that_is_not_there_is_refused(tmp_path: Path, capsys: Capture) -> None:
    assert run(tmp_path / "nothing.jpg") == 3
    assert "could not be read" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("option", "words"),
    [
        ("--order=1,2,3", "the order must name each of the 6 cuts"),
        ("--intended=1,2,3", "3 intended leans were told, but the photo shows 6 cuts"),
        ("--keep=left,left,left", "3 sides to keep were told"),
        ("--order=sideways", "must be left-to-right, right-to-left"),
        ("--intended=steep", "must be left, right or degrees up to 15"),
        ("--keep=middle", "must be left, right or both"),
    ],
)
def test_a_mistake_in_what_is_told_is_named(photo: Path, capsys: Capture, option: str, words: str) -> None:
    assert words in complaint(capsys, photo, option)


def test_what_is_not_told_is_square_cuts_from_left_to_right_by_both_edges() -> None:
    options = build_parser().parse_args(["drill", "board.jpg"])
    assert DrillPlan(options.order, options.intended, options.keep) == DrillPlan()
    alternating = build_parser().parse_args(["drill", "board.jpg", "--intended=-7,7"])
    assert alternating.intended == (Intent(-7.0, "left"), Intent(7.0, "right"))


def test_drill_boards_are_scored_with_the_rest_of_a_folder(tmp_path: Path, capsys: Capture) -> None:
    truth = rendered(SCENE)
    rows = zip(truth.lean_deg.tolist(), truth.x_show.tolist(), truth.x_transfer.tolist(), strict=True)
    cuts = [{"lean": a, "x_show": b, "x_transfer": c, "kerf": SCENE.kerf_mm} for a, b, c in rows]
    (tmp_path / "board.png").write_bytes(encoded(truth.photo.rgb, "PNG"))
    (tmp_path / "board.json").write_text(json.dumps({"photo": "board.png", "board": {}, "cuts": cuts}))
    assert main(["score", str(tmp_path)]) == 0
    assert "Cuts found         6 of 6, 0 missed, 0 false" in capsys.readouterr().out
    assert main(["score", str(tmp_path), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["drills"]["errors"]["lean"]["inside_u95"] >= 5 / 6


def test_a_broken_drill_truth_is_a_mistake_that_is_named(tmp_path: Path, capsys: Capture) -> None:
    (tmp_path / "board.json").write_text(json.dumps({"photo": "board.png", "board": {}, "cuts": [{}]}))
    assert main(["score", str(tmp_path)]) == 2
    assert "board.json: the truth file has no 'lean'" in capsys.readouterr().err
