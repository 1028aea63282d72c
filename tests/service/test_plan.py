"""`tailproof plan` and `tailproof check --plan` as people use them."""

from __future__ import annotations

import argparse
import json
import re
from pathlib import Path

import jsonschema
import pytest

from service.answers.table import WIDTH
from service.cli import main
from service.commands.plan_options import slope
from service.errors import UsageError
from service.kept.plan_store import PlanStore, plan_named
from service.lengths import length_mm
from tests.vision.answer.test_result import SCHEMA

Capture = pytest.CaptureFixture[str]

DRAWER = ("--width", "90.5", "--thickness", "17.5", "--tails", "3", "--half-pin", "6.4", "--pin", "1.8")
MADE = ("--width", "90", "--thickness", "19", "--tails", "3", "--half-pin", "7", "--pin", "8", "--slope", "1:8")
"""The layout of the board that the tests' measuring core has seen."""


def plan(folder: Path, *arguments: str) -> int:
    return main(["plan", "--data", str(folder), *arguments])


def check(folder: Path, photo: Path, *arguments: str) -> int:
    return main(["check", str(photo), "--data", str(folder), *arguments])


def test_a_plan_is_shown_with_every_line_the_step_and_what_an_error_of_it_does(tmp_path: Path, capsys: Capture) -> None:
    assert plan(tmp_path, *DRAWER, "--slope", "1:6") == 0
    out = capsys.readouterr().out
    assert ["tail 2 right", "57.60", "54.68"] in [re.split(r"  +", line) for line in out.splitlines()]
    words = " ".join(out.split())
    assert words.startswith("Plan: 3 tails, board 90.5 mm by 17.5 mm, slope 1:6 (9.5°), baseline 17.5 mm deep.")
    assert "Divider step: 26.50 mm, from the line of either half pin" in words
    assert "3 steps must end one pin (1.80 mm) past the other half pin's line" in words
    assert "the width of every pin, 0.30 mm wrong (3 times)" in words
    assert max(map(len, out.splitlines())) <= WIDTH
    assert not PlanStore(tmp_path).list()


def test_inches_are_told_to_the_thousandth_and_to_the_nearest_fraction(tmp_path: Path, capsys: Capture) -> None:
    assert plan(tmp_path, *DRAWER, "--units", "inch") == 0
    out = capsys.readouterr().out
    assert "board 3 9/16 in by 11/16 in" in out
    row = next(line for line in out.splitlines() if line.startswith("tail 1 right"))
    assert re.split(r"  +", row) == ["tail 1 right", "1.224 (1 7/32)", "1.110 (1 1/8)"]
    assert "Divider step: 1.043 (1 1/32) in" in out


def test_a_plan_is_kept_shown_again_listed_and_forgotten(tmp_path: Path, capsys: Capture) -> None:
    assert plan(tmp_path, *DRAWER, "--name", "drawer") == 0
    first = capsys.readouterr().out
    assert f"Kept in {tmp_path / 'plans.json'}: tailproof check --plan drawer PHOTO" in first
    assert plan(tmp_path, "--name", "drawer") == 0
    assert first.startswith(capsys.readouterr().out.rstrip())
    assert plan(tmp_path, "--list") == 0
    assert capsys.readouterr().out.startswith("Plan 'drawer': 3 tails, board 90.5 mm by 17.5 mm")
    assert plan(tmp_path, "--forget", "drawer") == 0
    assert plan(tmp_path, "--forget", "drawer") == 2
    assert plan(tmp_path, "--list") == 0
    assert "No plan is kept in" in capsys.readouterr().out


@pytest.mark.parametrize(("suffix", "start"), [("pdf", b"%PDF"), ("png", b"\x89PNG"), ("svg", b"<?xml")])
def test_a_plan_is_drawn_and_drawn_again_over_itself(tmp_path: Path, suffix: str, start: bytes) -> None:
    path = tmp_path / f"drawer.{suffix}"
    for _ in range(2):
        assert plan(tmp_path, *DRAWER, "-o", str(path)) == 0
        assert path.read_bytes().startswith(start)


def test_a_photo_is_never_drawn_over(tmp_path: Path, folder: Path, capsys: Capture) -> None:
    photo = folder / "good-1.jpg"
    path, before = folder / "other.png", photo.read_bytes()
    path.write_bytes(before)
    assert plan(tmp_path, *DRAWER, "-o", str(path)) == 2
    assert "is a photo and would be overwritten" in capsys.readouterr().err
    assert path.read_bytes() == before


def test_a_drawing_wider_than_the_paper_says_so(tmp_path: Path, capsys: Capture) -> None:
    wide = ("--width", "400", "--thickness", "20", "--tails", "9", "--half-pin", "10", "--pin", "6")
    assert plan(tmp_path, *wide, "-o", str(tmp_path / "wide.svg")) == 0
    assert "on a larger sheet, for it is wider than A4" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ((), "give the sizes of the layout, --width and the others, or the --name of a kept plan."),
        (("--width", "90"), "the layout also needs --thickness, --half-pin, --pin, --tails."),
        (("--name", "shelf"), "no plan is kept as 'shelf'. Kept: none."),
        ((*DRAWER, "--half-pin", "45"), "pins and half pins take 93.6 mm of a board 90.5 mm wide and leave nothing"),
        ((*DRAWER, "--tails", "0"), "a board has from 1 to 60 tails, not 0."),
        ((*DRAWER, "-o", "plan.docx"), "a plan is written as .pdf, .png or .svg, not as 'plan.docx'."),
    ],
)
def test_what_cannot_be_laid_out_is_answered_in_a_sentence(
    arguments: tuple[str, ...], message: str, tmp_path: Path, capsys: Capture
) -> None:
    assert plan(tmp_path, *arguments) == 2
    assert message in capsys.readouterr().err


@pytest.mark.parametrize(("text", "expected"), [("1:6", 1 / 6), (" 1 : 7.5 ", 1 / 7.5), ("9.4623deg", 1 / 6)])
def test_slopes_are_read_as_the_trade_writes_them(text: str, expected: float) -> None:
    assert slope(text) == pytest.approx(expected, abs=1e-6)  # the angle has four decimals


@pytest.mark.parametrize("text", ["1:0", "1:1", "6", "steep", "0deg", "46deg", "1:-6"])
def test_what_is_no_slope_says_so(text: str) -> None:
    with pytest.raises(argparse.ArgumentTypeError, match=r"must be a slope such as 1:6, 1:8 or 9\.5deg"):
        slope(text)


@pytest.mark.parametrize(("text", "inches"), [("3/4in", 0.75), ("3 9/16 in", 3.5625), ('1 1/2"', 1.5)])
def test_fractions_of_an_inch_are_lengths(text: str, inches: float) -> None:
    assert length_mm(text) == pytest.approx(25.4 * inches, abs=1e-12)


@pytest.mark.parametrize("text", ["3/4", "1/0in", "0/4in", "3/4 mm", f"{400 * '9'}/1in"])
def test_a_fraction_without_inches_or_of_nothing_is_none(text: str) -> None:
    with pytest.raises(ValueError, match="must be a length above zero"):
        length_mm(text)


@pytest.mark.parametrize("text", ["not json", "[]", '{"format": 9, "plans": {}}'])
def test_a_damaged_or_newer_file_of_plans_is_told_and_left_as_it_is(text: str, tmp_path: Path, capsys: Capture) -> None:
    path = tmp_path / "plans.json"
    path.write_text(text, encoding="utf-8")
    assert plan(tmp_path, *DRAWER, "--name", "drawer") == 2
    assert str(path) in capsys.readouterr().err
    assert path.read_text(encoding="utf-8") == text


def test_an_unknown_plan_names_the_kept_ones(tmp_path: Path) -> None:
    plan(tmp_path, *DRAWER, "--name", "drawer")
    with pytest.raises(UsageError, match=r"no plan is kept as 'shelf'\. Kept: drawer\."):
        plan_named("shelf", PlanStore(tmp_path))


@pytest.mark.usefixtures("core")
class TestChecks:
    """The core's board: its walls are those of MADE at the transfer face, some 0.3 mm off at the show face."""

    def test_the_table_shows_measured_minus_intended_for_every_line(
        self, folder: Path, tmp_path: Path, capsys: Capture
    ) -> None:
        plan(tmp_path, *MADE, "--name", "box")
        capsys.readouterr()
        assert check(tmp_path, folder / "good-1.jpg", "--plan", "box") == 0
        out = capsys.readouterr().out
        assert "Plan 'box': measured minus intended" in out
        rows = [re.split(r"  +", line) for line in out.splitlines()]
        kept = next(row for row in rows if row[0] == "tail 1 left" and row[-1] == "kept to the line")
        assert kept[1:3] == ["7.00", "0.000 ± 0.010"]
        assert any(row[0] == "tail 2 right" and row[-1] == "cut into the tail" for row in rows)
        assert "Layout:" not in out
        assert max(map(len, out.splitlines())) <= WIDTH

    def test_the_json_has_it_with_every_wall_by_the_schema(self, folder: Path, tmp_path: Path, capsys: Capture) -> None:
        plan(tmp_path, *MADE, "--name", "box")
        capsys.readouterr()
        assert check(tmp_path, folder / "good-1.jpg", "--json", "--plan", "box", "--line-limit", "0.2") == 0
        value = json.loads(capsys.readouterr().out)
        jsonschema.validate(value, SCHEMA)
        assert value["plan"]["name"] == "box"
        assert value["plan"]["limit_mm"] == 0.2
        walls = [wall["plan"] for wall in value["walls"]]
        assert [wall["intended_mm"] for wall in walls] == pytest.approx([7.0, 27.0, 35.0, 55.0, 63.0, 83.0])
        assert [wall["off_show_mm"] for wall in walls] == pytest.approx([0.0, 0.3, -0.3, -0.3, 0.3, 0.0])
        courses = ["kept", *["in the waste"] * 2, *["in the tail"] * 2, "kept"]
        assert [wall["course"] for wall in walls] == courses
        assert {wall["kerf_side"] for wall in walls} == {"waste"}

    def test_without_a_plan_nothing_is_added(self, folder: Path, tmp_path: Path, capsys: Capture) -> None:
        assert check(tmp_path, folder / "good-1.jpg", "--json") == 0
        value = json.loads(capsys.readouterr().out)
        assert value.keys().isdisjoint({"plan", "layout"})
        assert "plan" not in value["walls"][0]

    def test_a_plan_of_another_row_of_tails_is_told_and_the_check_goes_on(
        self, folder: Path, tmp_path: Path, capsys: Capture
    ) -> None:
        plan(tmp_path, *MADE, "--tails", "2", "--name", "box")
        for more in ((), ("--json",)):
            capsys.readouterr()
            assert check(tmp_path, folder / "good-1.jpg", "--plan", "box", *more) == 0
        value = json.loads(capsys.readouterr().out)
        jsonschema.validate(value, SCHEMA)
        assert value["plan"]["problem"] == "The plan has 2 tails, this end 3: its lines cannot be compared."

    def test_a_plan_that_is_not_kept_is_a_mistake_before_any_photo(
        self, folder: Path, tmp_path: Path, capsys: Capture
    ) -> None:
        assert check(tmp_path, folder / "good-1.jpg", "--plan", "box") == 2
        captured = capsys.readouterr()
        assert captured.out == ""
        assert "no plan is kept as 'box'. Kept: none." in captured.err

    def test_a_refused_photo_stays_a_refusal(self, folder: Path, tmp_path: Path, capsys: Capture) -> None:
        plan(tmp_path, *MADE, "--name", "box")
        capsys.readouterr()
        assert check(tmp_path, folder / "cardless.jpg", "--plan", "box", "--layout", "--json") == 3
        value = json.loads(capsys.readouterr().out)
        jsonschema.validate(value, SCHEMA)
        assert value.keys() == {"schema", "ok", "refusal"}
