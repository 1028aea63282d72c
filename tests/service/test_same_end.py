"""`check --same-end` from files to the answer: painted photos of one end, the card on either face."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import pytest

from service.cli import main
from tests.scenes import Scene, rendered
from tests.vision.answer.test_result import SCHEMA
from tests.vision.photos import encoded

Capture = pytest.CaptureFixture[str]

SCENES = {"first.png": Scene(), "turned.png": Scene(card_edge=2, aim_mm=(60.0, 7.0), seed=12)}
OTHER_FACE = Scene(card_side="transfer", seed=13)


@pytest.fixture(scope="module")
def shots(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Photos of one end as files, one of another board, and one that is no photo."""
    folder = tmp_path_factory.mktemp("shots")
    other = Scene(places_mm=(7.0, 23.0, 33.0, 49.0), leans_deg=(0.1, 0.2, 0.3, 0.4), width_mm=56.0, seed=16)
    for name, scene in (SCENES | {"face.png": OTHER_FACE, "other.png": other}).items():
        (folder / name).write_bytes(encoded(rendered(scene).photo.rgb, "PNG"))
    (folder / "notes.txt").write_text("no photo")
    return folder


def run(folder: Path, *arguments: str) -> int:
    return main(["check", "--same-end", *(str(folder / a) if "." in a else a for a in arguments)])


def test_photos_of_one_end_make_one_object_by_the_schema(shots: Path, capsys: Capture) -> None:
    assert run(shots, "first.png", "turned.png", "--json", "--budget") == 0
    value = json.loads(capsys.readouterr().out)
    jsonschema.validate(value, SCHEMA)
    assert [(each["file"], each["used"], each["card_quarter_turns"]) for each in value["photos"]] == [
        ("first.png", True, 0),
        ("turned.png", True, 2),
    ]
    for wall, lean in zip(value["walls"], Scene().leans_deg, strict=True):
        # As for single scenes: half as far again as U, which one in two hundred sets of six exceeds.
        assert wall["lean_deg"] == pytest.approx(lean, abs=1.5 * wall["lean_u95_deg"])


def test_a_card_on_the_other_face_is_recognised_without_being_told(shots: Path, capsys: Capture) -> None:
    assert run(shots, "first.png", "face.png") == 0
    out = capsys.readouterr().out
    assert "face.png: the card laid along the transfer face." in out
    assert "The 2 photos agree and were combined." in out


def test_a_photo_that_cannot_be_measured_is_told_and_the_rest_goes_on(shots: Path, capsys: Capture) -> None:
    assert run(shots, "first.png", "notes.txt", "turned.png") == 3
    out = capsys.readouterr().out
    assert "notes.txt: not measured. The file is not a photo" in " ".join(out.split())
    assert "The 2 photos agree" in out


def test_photos_of_two_boards_are_refused(shots: Path, capsys: Capture) -> None:
    assert run(shots, "first.png", "other.png", "--json") == 3
    value = json.loads(capsys.readouterr().out)
    jsonschema.validate(value, SCHEMA)
    assert value["refusal"]["reason"] == "photos_not_one_end"


def test_where_no_photo_can_be_measured_all_refusals_are_told(tmp_path: Path, capsys: Capture) -> None:
    (tmp_path / "notes.txt").write_text("no photo")
    assert run(tmp_path, "notes.txt", "lost.jpg") == 3
    told = capsys.readouterr().out
    assert "notes.txt\n=========\nThe file is not a photo" in told
    assert "lost.jpg\n========\nThe file could not be read." in told
    assert run(tmp_path, "notes.txt", "lost.jpg", "--json") == 3
    value = json.loads(capsys.readouterr().out)
    jsonschema.validate(value, SCHEMA)
    assert value["refusal"]["message"] == "The file is not a photo this program can open."
    told = [(each["file"], each["refusal"]["reason"]) for each in value["photos"]]
    assert told == [("notes.txt", "not_an_image"), ("lost.jpg", "unreadable_file")]


def test_photos_that_do_not_go_together_hide_no_other_refusal(shots: Path, capsys: Capture) -> None:
    assert run(shots, "first.png", "other.png", "notes.txt") == 3
    assert "notes.txt: not measured. The file is not a photo" in " ".join(capsys.readouterr().out.split())


def test_one_photo_alone_is_a_mistake(shots: Path, capsys: Capture) -> None:
    assert run(shots, "first.png") == 2
    assert "give at least two photos" in capsys.readouterr().err


def test_the_overlay_is_drawn_on_the_largest_photo(shots: Path, tmp_path: Path) -> None:
    drawn = tmp_path / "out.png"
    assert run(shots, "first.png", "turned.png", "--overlay", str(drawn)) == 0
    assert drawn.read_bytes().startswith(b"\x89PNG")


def test_a_copy_is_left_out_and_makes_nothing_surer(shots: Path, tmp_path: Path, capsys: Capture) -> None:
    (tmp_path / "copy.png").write_bytes((shots / "first.png").read_bytes())
    assert main(["check", "--json", str(shots / "first.png")]) == 0
    alone = json.loads(capsys.readouterr().out)
    assert main(["check", "--same-end", "--json", str(shots / "first.png"), str(tmp_path / "copy.png")]) == 3
    value = json.loads(capsys.readouterr().out)
    assert [wall["lean_u95_deg"] for wall in value["walls"]] == [wall["lean_u95_deg"] for wall in alone["walls"]]
    assert value["photos"][1]["refusal"]["reason"] == "photo_given_twice"
    assert "the same as first.png" in value["photos"][1]["refusal"]["message"]
