"""`check --layout` and `tailproof rules` as people use them."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import pytest

from service.answers.table import WIDTH
from service.cli import main
from tests.scenes import Scene, rendered
from tests.vision.answer.test_result import SCHEMA
from tests.vision.photos import encoded
from vision.layout.rules import DEFAULT_RULES, rules_from_dict

Capture = pytest.CaptureFixture[str]

OWN = {
    "format": 1,
    "rules": [
        {"id": "slim_pins", "on": False},
        {
            "id": "half_pins",
            "words": "In this class: half pins {least_times} times a pin.",
            "limits": {"least_times": 1.2},
        },
    ],
}


@pytest.fixture(autouse=True)
def known_answers(request: pytest.FixtureRequest) -> None:
    """The measuring core of known answers, but for the test that paints its own photos."""
    if "painted" not in request.fixturenames:
        request.getfixturevalue("core")


@pytest.fixture
def painted(tmp_path: Path) -> list[str]:
    """Two photos of one end with two tails, the card turned end for end in the second."""
    names = []
    for number, scene in enumerate((Scene(), Scene(card_edge=2, aim_mm=(60.0, 7.0), seed=12))):
        path = tmp_path / f"{number}.png"
        path.write_bytes(encoded(rendered(scene).photo.rgb, "PNG"))
        names.append(str(path))
    return names


def rules(folder: Path, *arguments: str) -> int:
    return main(["rules", "--data", str(folder), *arguments])


def layout(folder: Path, photo: Path, capsys: Capture, *arguments: str) -> dict:
    assert main(["check", str(photo), "--data", str(folder), "--layout", "--json", *arguments]) == 0
    value = json.loads(capsys.readouterr().out)
    jsonschema.validate(value, SCHEMA)
    return dict(value["layout"])


@pytest.fixture
def own(tmp_path: Path) -> Path:
    """A teacher's own rules in a file."""
    path = tmp_path / "own.json"
    path.write_text(json.dumps(OWN), encoding="utf-8")
    return path


def test_remarks_stand_with_their_rules_as_opinions(folder: Path, tmp_path: Path, capsys: Capture) -> None:
    """The core's board has half pins of 7 mm and pins of 8 mm."""
    photo = str(folder / "good-1.jpg")
    assert main(["check", photo, "--data", str(tmp_path), "--layout", "--species", "cherry"]) == 0
    out = capsys.readouterr().out
    assert "Layout: opinions of the trade, not failures." in out
    assert "- The left half pin is" in out
    assert "  Rule: A half pin is held on one side only" in out
    assert "An estimate: in black cherry that bears about" in out
    assert "3 (this board)" in out
    assert max(map(len, out.splitlines())) <= WIDTH


def test_opinions_change_neither_the_advice_nor_the_exit_status(folder: Path, tmp_path: Path, capsys: Capture) -> None:
    answers = []
    for more in ((), ("--layout",)):
        assert main(["check", str(folder / "good-1.jpg"), "--data", str(tmp_path), "--json", *more]) == 0
        answers.append(json.loads(capsys.readouterr().out))
    plain, reviewed = answers
    assert {key: value for key, value in reviewed.items() if key != "layout"} == plain


def test_the_json_has_remarks_section_glue_and_trade_off_by_the_schema(
    folder: Path, tmp_path: Path, capsys: Capture
) -> None:
    found = layout(tmp_path, folder / "good-1.jpg", capsys)
    assert {"half_pins", "slim_pins"} <= {remark["rule"] for remark in found["remarks"]}
    assert found["slope"]["source"] == "taken"
    assert found["depth_mm"] == pytest.approx(19.0)
    assert [option["tails"] for option in found["trade_off"]][:2] == [2, 3]


def test_the_baseline_that_was_told_and_the_slope_of_a_plan_count(
    folder: Path, tmp_path: Path, capsys: Capture
) -> None:
    made = ("--width", "90", "--thickness", "19", "--tails", "3", "--half-pin", "7", "--pin", "8", "--slope", "1:8")
    main(["plan", *made, "--depth", "15", "--name", "box", "--data", str(tmp_path)])
    capsys.readouterr()
    planned = layout(tmp_path, folder / "good-1.jpg", capsys, "--plan", "box")
    assert (planned["depth_mm"], planned["slope"]) == (15.0, {"run_over_rise": 0.125, "source": "plan"})
    told = layout(tmp_path, folder / "good-1.jpg", capsys, "--plan", "box", "--baseline-depth", "12")
    assert told["depth_mm"] == 12.0
    # 60 mm of tails (the walls lean, but evenly), less six times 12 mm / 8, of 90 mm
    assert told["section"]["share"] == pytest.approx((60.0 - 6 * 12.0 / 8) / 90.0, abs=1e-4)


def test_a_file_of_rules_is_gone_by_and_asks_for_the_review(
    own: Path, folder: Path, tmp_path: Path, capsys: Capture
) -> None:
    found = layout(tmp_path, folder / "good-1.jpg", capsys, "--rules", str(own))
    assert found["rules_off"] == ["slim_pins"]
    opinions = {remark["rule"]: remark["opinion"] for remark in found["remarks"]}
    assert opinions["half_pins"] == "In this class: half pins 1.2 times a pin."
    assert "slim_pins" not in opinions
    assert main(["check", str(folder / "good-1.jpg"), "--data", str(tmp_path), "--rules", str(own)]) == 0
    assert "In this class" in capsys.readouterr().out


def test_a_teachers_rules_are_kept_for_every_check_until_they_are_reset(
    own: Path, folder: Path, tmp_path: Path, capsys: Capture
) -> None:
    assert rules(tmp_path, "--keep", str(own)) == 0
    capsys.readouterr()
    assert layout(tmp_path, folder / "good-1.jpg", capsys)["rules_off"] == ["slim_pins"]
    for more, expected in (((), rules_from_dict(OWN)), (("--default",), DEFAULT_RULES)):
        assert rules(tmp_path, *more) == 0
        assert rules_from_dict(json.loads(capsys.readouterr().out)) == expected
    for said in ("Back to the default rules.\n", "The default rules were in use already.\n"):
        assert rules(tmp_path, "--reset") == 0
        assert capsys.readouterr().out == said
    assert layout(tmp_path, folder / "good-1.jpg", capsys)["rules_off"] == []


def test_printed_rules_can_be_edited_and_read_again(folder: Path, tmp_path: Path, capsys: Capture) -> None:
    printed = tmp_path / "printed.json"
    assert rules(tmp_path) == 0
    text = capsys.readouterr().out
    assert rules(tmp_path, "-o", str(printed)) == 0
    assert capsys.readouterr().out.startswith(f"Wrote {printed}.")
    assert printed.read_text(encoding="utf-8") == text
    assert layout(tmp_path, folder / "good-1.jpg", capsys, "--rules", str(printed)) == layout(
        tmp_path, folder / "good-1.jpg", capsys
    )


def test_rules_are_never_written_over_a_file_that_is_there(own: Path, tmp_path: Path, capsys: Capture) -> None:
    before = own.read_text(encoding="utf-8")
    assert rules(tmp_path, "-o", str(own)) == 2
    assert "exists already and has been left as it is" in capsys.readouterr().err
    assert own.read_text(encoding="utf-8") == before


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("{", "own.json is not a JSON file"),
        ("[]", "own.json cannot be used: these are not rules"),
        ('{"format": 1, "rules": [{"id": "lucky"}]}', "there is no rule 'lucky'"),
        ('{"format": 2, "rules": []}', "own.json is written in format 2, this version of the program reads up to 1."),
    ],
)
def test_rules_that_cannot_be_used_are_a_mistake_before_any_photo(
    text: str, message: str, own: Path, folder: Path, tmp_path: Path, capsys: Capture
) -> None:
    own.write_text(text, encoding="utf-8")
    assert main(["check", str(folder / "good-1.jpg"), "--data", str(tmp_path), "--rules", str(own)]) == 2
    assert rules(tmp_path, "--keep", str(own)) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    assert message in captured.err
    assert not (tmp_path / "rules.json").exists()


def test_a_file_of_rules_that_is_not_there_says_how_to_begin(folder: Path, tmp_path: Path, capsys: Capture) -> None:
    gone = tmp_path / "gone.json"
    assert main(["check", str(folder / "good-1.jpg"), "--data", str(tmp_path), "--rules", str(gone)]) == 2
    assert "there is no file" in (said := capsys.readouterr().err)
    assert "`tailproof rules` prints the rules to begin with" in said


def test_several_photos_of_one_end_are_held_against_the_plan_and_reviewed_once(
    painted: list[str], tmp_path: Path, capsys: Capture
) -> None:
    tails = str(len(Scene().places_mm) // 2)
    sizes = ("--width", str(Scene().width_mm), "--thickness", "19", "--half-pin", "7", "--pin", "8", "--tails", tails)
    assert main(["plan", *sizes, "--slope", "1:8", "--name", "box", "--data", str(tmp_path)]) == 0
    asked = ("--same-end", "--plan", "box", "--layout", "--data", str(tmp_path))
    capsys.readouterr()
    assert main(["check", *painted, *asked, "--json"]) == 0
    value = json.loads(capsys.readouterr().out)
    jsonschema.validate(value, SCHEMA)
    offs = [wall["plan"]["off_show_mm"] + wall["plan"]["intended_mm"] for wall in value["walls"]]
    assert offs == pytest.approx([wall["x_show_mm"] for wall in value["walls"]], abs=2e-4)  # both are rounded
    assert main(["check", *painted, *asked]) == 0
    out = capsys.readouterr().out
    assert out.count("Plan 'box'") == out.count("Layout: opinions") == 1
