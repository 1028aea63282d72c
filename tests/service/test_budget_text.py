"""Budgets on the terminal and in the JSON: aligned, within 80 columns, asked for by name."""

from __future__ import annotations

import json
import math
import re
from pathlib import Path

import jsonschema
import pytest

from service.answers.budget_text import budgets_text
from service.cli import main
from tests.vision.answer.test_result import SCHEMA
from tests.vision.photos import report
from vision.answer.budget import find_budgets

Capture = pytest.CaptureFixture[str]


def text(what: str | None = None, units: str = "mm") -> str:
    one = report()
    budgets = find_budgets(one.measurement, one.prediction, what)
    return budgets_text(budgets, len(one.prediction.sockets), "inch" if units == "inch" else "mm")


@pytest.mark.parametrize("units", ["mm", "inch"])
def test_a_budget_keeps_within_eighty_columns(units: str) -> None:
    assert max(map(len, text(units=units).splitlines())) <= 80


def test_the_total_stands_below_the_causes_and_is_their_sum_by_squares() -> None:
    rows = re.findall(r"^(\S.*?) {2,}([0-9.]+) +(\d+) %$", text("width"), flags=re.MULTILINE)
    *causes, total = [(name, float(value)) for name, value, _ in rows]
    assert total[0] == "together, by squares"
    # Three decimals are shown of each.
    assert total[1] == pytest.approx(math.hypot(*(value for _, value in causes)), abs=0.001)


@pytest.mark.usefixtures("core")
def test_a_budget_asked_for_is_added_to_the_answer(folder: Path, capsys: Capture) -> None:
    assert main(["check", str(folder / "good-1.jpg"), "--budget", "tail 2 right"]) == 0
    out = capsys.readouterr().out
    assert "Uncertainty of off square, right wall of tail 2: " in out
    assert "share of U²" in out


@pytest.mark.usefixtures("core")
def test_unasked_there_is_none(folder: Path, capsys: Capture) -> None:
    assert main(["check", str(folder / "good-1.jpg")]) == 0
    assert "share of U²" not in capsys.readouterr().out


@pytest.mark.usefixtures("core")
def test_json_carries_the_budgets_by_the_schema(folder: Path, capsys: Capture) -> None:
    assert main(["check", str(folder / "good-1.jpg"), "--json", "--budget"]) == 0
    value = json.loads(capsys.readouterr().out)
    jsonschema.validate(value, SCHEMA)
    assert value["budgets"][0]["number"] == "taper"


@pytest.mark.usefixtures("core")
def test_json_without_the_option_is_as_it_was(folder: Path, capsys: Capture) -> None:
    assert main(["check", str(folder / "good-1.jpg"), "--json"]) == 0
    assert "budgets" not in json.loads(capsys.readouterr().out)


@pytest.mark.usefixtures("core")
def test_a_wall_that_the_board_has_not_is_told_with_those_it_has(folder: Path, capsys: Capture) -> None:
    assert main(["check", str(folder / "good-1.jpg"), "--budget", "tail 9 left"]) == 2
    assert "name one of tail 1 left" in capsys.readouterr().err


def test_a_photo_taken_for_a_wall_is_told_where_to_stand(capsys: Capture) -> None:
    with pytest.raises(SystemExit, match="2"):
        main(["check", "--budget", "one.jpg", "two.jpg"])
    assert "after the photos" in capsys.readouterr().err
