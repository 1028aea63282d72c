"""Sample photos against the layouts they were sawn to, which their truths tell."""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path
from typing import NamedTuple

import numpy as np
import pytest

from service.measuring.reading import load_photo
from vision.end.check import measure_end
from vision.layout.plan import Plan
from vision.layout.plan_check import LineCheck, check_plan
from vision.layout.shape import shape_of
from vision.score.truth import TrueWall, truth_from_dict

FOLDER = Path(__file__).parents[2] / "sample_images"
SAWN = ("maple-sawn-red-pen", "pine-sawn-pencil", "maple-sawn-knife")
LAYOUT_MM = 0.005
"""The truths' nominal places are those of an even layout to the micrometre, give or take their rounding."""


class Line(NamedTuple):
    """A line as checked and as it truly was sawn, and its true wall's place in the plan."""

    checked: LineCheck
    truth: TrueWall


@cache
def lines_of(stem: str) -> tuple[Plan, list[float], list[Line]]:
    data = json.loads((FOLDER / f"{stem}.json").read_text(encoding="utf-8"))
    nominal = [float(kerf["nominal"]) for kerf in data["kerfs"]]
    board, tails = data["board"], len(nominal) // 2
    half, pin = nominal[0], nominal[2] - nominal[1]
    plan = Plan(board["width"], board["thickness"], tails, half, pin, board["slope"], board["depth"], stem)
    check = check_plan(measure_end(load_photo(FOLDER / f"{stem}.jpg"), stage="sawn"), plan)
    return plan, nominal, [Line(*pair) for pair in zip(check.lines, truth_from_dict(data).walls, strict=True)]


def kerf_of(stem: str) -> float:
    """The width of the saw's cut, mm."""
    data = json.loads((FOLDER / f"{stem}.json").read_text(encoding="utf-8"))
    return float(data["kerfs"][0]["kerf"])


@pytest.mark.parametrize("stem", SAWN)
def test_the_step_lays_out_the_lines_that_the_renderer_drew(stem: str) -> None:
    plan, nominal, _ = lines_of(stem)
    assert [line.x_end_mm for line in plan.lines] == pytest.approx(nominal, abs=LAYOUT_MM)


def test_true_offsets_lie_inside_the_stated_uncertainty() -> None:
    """Of 32 offsets 95 % are expected inside U; were they independent, five outside would have a chance below 2 %."""
    misses = []
    for stem in SAWN:
        for line in lines_of(stem)[2]:
            x = line.checked.line.x_end_mm
            for off, true_x in (
                (line.checked.off_show, line.truth.x_show_mm),
                (line.checked.off_transfer, line.truth.x_transfer_mm),
            ):
                misses.append(abs(off.value - (true_x - x)) / off.u95)
    assert len(misses) == 32
    assert np.sum(np.array(misses) > 1.0) <= 4


def test_a_saw_is_firmly_put_on_that_side_of_the_line_where_it_truly_went() -> None:
    """One of these lines was sawn on the wrong side. The pine's left side hardly shows against a bench of its colour:
    its six lines are too close to call. Of the other ten, most must be told.
    """
    sides = []
    for stem in SAWN:
        for line in lines_of(stem)[2]:
            off = line.truth.x_mid_mm - line.checked.line.x_end_mm
            into_waste = off if line.truth.side == "right" else -off
            true_side = "waste" if into_waste + 0.5 * kerf_of(stem) > 0.0 else "tail"
            sides += [line.checked.kerf_side] if line.checked.kerf_side != "too close to call" else []
            assert line.checked.kerf_side in (true_side, "too close to call")
    assert sides.count("tail") == 1
    # Half of the other lines at least, though an unchecked print leaves places on a wide board open.
    assert sides.count("waste") >= 6


@pytest.mark.parametrize("stem", SAWN)
def test_tails_and_pins_are_as_wide_as_they_truly_are(stem: str) -> None:
    """Two walls of one photo share most errors of its places; one width in twenty may lie outside U, none far out."""
    data = json.loads((FOLDER / f"{stem}.json").read_text(encoding="utf-8"))
    true_widths = np.diff([wall.x_mid_mm for wall in truth_from_dict(data).walls])
    shape = shape_of(measure_end(load_photo(FOLDER / f"{stem}.jpg"), stage="sawn"))
    for widths, true in ((shape.tails, true_widths[0::2]), (shape.pins, true_widths[1::2])):
        for width, true_mm in zip(widths, true, strict=True):
            assert width.value == pytest.approx(true_mm, abs=1.5 * width.u95)
