"""The numbers of a board: the same as the practice log's, worked out in two ways."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest

from service.domain.board import Board
from service.domain.check import Answer, Check, StoredPhoto
from service.domain.measures import Measures, measures_of, out_of_square_u95_mm
from service.practice.columns import columns_of
from service.practice.from_result import from_result
from service.practice.series import METRICS, series_of
from tests.service.house import BEGIN
from tests.vision.photos import report

BOARD = Board("b", "ann", "Box", BEGIN)
EXACT = 1e-12
"""Sums of a dozen numbers in another order."""


@pytest.fixture(scope="module")
def result() -> dict[str, Any]:
    """A result as the program writes it, its leans known the worse the farther right."""
    written: dict[str, Any] = json.loads(json.dumps(report().to_dict()))
    for number, wall in enumerate(written["walls"]):
        wall["lean_u95_deg"] = 0.05 + 0.02 * number
    return written


def check(result: dict[str, Any], number: int = 1, words: dict[str, Any] | None = None) -> Check:
    sent = BEGIN + timedelta(minutes=number)
    answer = Answer(result, words or {})
    return Check(f"c{number}", "b", "ann", StoredPhoto("x", "JPEG"), "", sent, state="measured", answer=answer)


def test_they_are_those_of_the_practice_log(result: dict[str, Any]) -> None:
    found = measures_of(BOARD, [check(result)])
    assert found is not None
    columns = columns_of([from_result(result, identity="b", date=BEGIN.date(), person="ann")])
    named = {
        "lean": (found.lean_deg, found.lean_u_deg),
        "abs_lean": (found.abs_lean_deg, found.lean_u_deg),
        "out_of_square": (found.out_of_square_mm, found.out_of_square_u_mm),
        "taper": (found.taper_mm, found.taper_u_mm),
        "abs_taper": (found.abs_taper_mm, found.taper_u_mm),
        "spread": (found.spread_deg, found.spread_u_deg),
    }
    for name, (value, u) in named.items():
        series = series_of(columns, METRICS[name])
        assert (value, u) == pytest.approx((series.values[0], series.u[0]), rel=EXACT), name


def test_verdicts_sides_and_the_worst_are_counted(result: dict[str, Any]) -> None:
    found = measures_of(BOARD, [check(result)])
    assert found is not None
    verdicts = [socket["verdict"] for socket in result["sockets"]]
    assert found.sockets == len(verdicts) == found.seats + found.failed + found.too_close_to_call
    assert found.failed == sum(verdict in ("loose", "splitting") for verdict in verdicts)
    assert found.left_walls + found.right_walls == found.walls == len(result["walls"])
    firm = sum(abs(wall["lean_deg"]) > wall["lean_u95_deg"] for wall in result["walls"])
    assert found.left_to_left + found.left_to_right + found.right_to_left + found.right_to_right == firm > 0
    for side, lean_deg in (("left", found.left_lean_deg), ("right", found.right_lean_deg)):
        leans = [wall["lean_deg"] for wall in result["walls"] if wall["side"] == side]
        assert lean_deg == pytest.approx(sum(leans) / len(leans), abs=EXACT)
    assert found.worst_out_of_square_mm == max(abs(wall["out_of_square_mm"]) for wall in result["walls"]) > 0.0
    assert found.worst_squeeze_mm == max(socket["squeeze_mm"] for socket in result["sockets"]) > 0.0
    assert found.worst_gap_mm == max(socket["gap_mm"] for socket in result["sockets"])
    assert abs(found.worst_taper_mm or 0.0) == max(abs(socket["taper_mm"]) for socket in result["sockets"])


def test_walls_that_firmly_lean_are_counted_by_side_and_direction(result: dict[str, Any]) -> None:
    leans = {"left": (-0.4, -0.3, -0.05), "right": (0.6, -0.2, 0.1)}
    walls = [
        result["walls"][0] | {"side": side, "lean_deg": lean, "lean_u95_deg": 0.1}
        for side, own in leans.items()
        for lean in own
    ]
    found = measures_of(BOARD, [check(result | {"walls": walls})])
    assert found is not None
    assert (found.left_to_left, found.left_to_right) == (2, 0)
    assert (found.right_to_left, found.right_to_right) == (1, 1)
    assert (found.left_lean_deg, found.right_lean_deg) == pytest.approx((-0.25, 0.5 / 3.0), rel=EXACT)


def test_out_of_square_is_as_unsure_as_the_lean_times_the_thickness_over_the_cosine_squared() -> None:
    # At 60 degrees the cosine squared is a quarter.
    steep = {"lean_deg": 60.0, "lean_u95_deg": 0.5}
    assert out_of_square_u95_mm(steep, 18.0) == pytest.approx(72.0 * math.radians(0.5), rel=EXACT)


def test_only_measured_ends_count_however_new_other_photos_are(result: dict[str, Any]) -> None:
    face = replace(check(result, 3), view="show")
    waiting = replace(check(result, 4), state="waiting", answer=None)
    found = measures_of(BOARD, [check(result, 1), face, waiting])
    assert found is not None
    assert found.check == "c1"
    assert measures_of(BOARD, [check(result | {"walls": result["walls"][:1]})]) is None


def test_a_number_that_is_none_is_a_damaged_result(result: dict[str, Any]) -> None:
    for broken in (float("nan"), float("inf")):
        with pytest.raises(ValueError, match="not finite"):
            measures_of(BOARD, [check(result | {"board": result["board"] | {"width_mm": broken}})])


def test_they_are_of_the_newest_measured_end(result: dict[str, Any]) -> None:
    other = result | {"advice": "transfer"}
    found = measures_of(BOARD, [check(result, 2), check(other, 1)])
    assert found is not None
    assert (found.check, found.advice) == ("c2", result["advice"])


def test_the_limit_is_the_one_that_the_board_was_judged_by(result: dict[str, Any]) -> None:
    told = [socket | {"gap_limit_mm": 0.3} for socket in result["sockets"]]
    assert _limit(check(result | {"sockets": told}, words={"policy": {"gap_mm": 0.2}})) == 0.3
    untold = [{name: value for name, value in socket.items() if name != "gap_limit_mm"} for socket in told]
    assert _limit(check(result | {"sockets": untold}, words={"policy": {"gap_mm": 0.2}})) == 0.2
    assert _limit(check(result | {"sockets": untold})) == 0.10


def _limit(check: Check) -> float:
    found = measures_of(BOARD, [check])
    assert isinstance(found, Measures)
    return found.gap_limit_mm


def test_a_board_without_a_measured_end_has_none(result: dict[str, Any]) -> None:
    assert measures_of(BOARD, []) is None
    assert measures_of(BOARD, [check({"ok": False})]) is None
