"""The packed walls and pins of a board: nothing is lost on the way, and charts read the same numbers from them."""

from __future__ import annotations

import json
from dataclasses import fields
from datetime import timedelta
from typing import Any

import numpy as np
import pytest

from service.domain.board import Board, Details
from service.domain.check import Answer, Check, StoredPhoto
from service.domain.fit import Fit
from service.domain.log_numbers import Logged, log_numbers_of, result_of
from service.domain.measures import measures_of
from service.practice.columns import Columns, columns_of, columns_of_log
from service.practice.from_log import practice_board
from service.practice.from_result import from_result
from tests.service.house import BEGIN
from tests.vision.photos import report

SAME = 1e-12
"""The same formula on arrays and on numbers: sums in another order."""
FITTED = ("seated", "loose")


@pytest.fixture
def result() -> dict[str, Any]:
    """A result as the program writes it."""
    written: dict[str, Any] = json.loads(json.dumps(report().to_dict()))
    return written


def logged(result: dict[str, Any], number: int = 0, policy: dict[str, Any] | None = None) -> Logged:
    """The board with that result, as the database gives it back."""
    begun = BEGIN + timedelta(days=number)
    board = Board(f"b{number}", "ann", f"Box {number}", begun, Details("cherry", None, "old saw", "3 tails", "slower"))
    answer = Answer(result, {"policy": policy} if policy else {})
    check = Check(f"c{number}", board.id, "ann", StoredPhoto("x", "JPEG"), "", begun, state="measured", answer=answer)
    measures = measures_of(board, [check])
    assert measures is not None
    numbers = log_numbers_of(measures, [check])
    said = (board.details.species, board.details.saw, board.details.plan, board.details.notes, "Corner")
    sizes = (measures.stage, measures.advice, measures.width_mm, measures.thickness_mm)
    return Logged(board.id, board.name, begun, *said, *sizes, numbers.walls, numbers.sockets)


def test_what_the_statistics_need_comes_back_exactly(result: dict[str, Any]) -> None:
    back = result_of(logged(result))
    assert back["board"] == {name: result["board"][name] for name in ("width_mm", "thickness_mm")}
    for kept, wall in zip(back["walls"], result["walls"], strict=True):
        assert kept == {name: wall[name] for name in kept if name != "flags"} | {"flags": []}
    for kept, socket in zip(back["sockets"], result["sockets"], strict=True):
        assert kept == {name: socket[name] for name in kept}
        assert {"gap_interval_mm", "squeeze_interval_mm", "gap_limit_mm", "squeeze_limit_mm"} <= set(kept)


def test_a_board_is_the_one_that_its_result_makes_but_for_its_flags(result: dict[str, Any]) -> None:
    for wall in result["walls"]:
        wall["flags"] = []
    words = {"species": "cherry", "saw": "old saw", "plan": "3 tails", "assignment": "Corner", "notes": "slower"}
    expected = from_result(result, identity="b0", date=BEGIN.date(), person="Ann", name="Box 0", **words)
    assert practice_board(logged(result), "Ann") == expected


def test_an_older_result_has_the_classs_limit_and_no_chances_where_it_tells_none(result: dict[str, Any]) -> None:
    for socket in result["sockets"]:
        del socket["gap_limit_mm"], socket["gap_interval_mm"]
    board = practice_board(logged(result, policy={"gap_mm": 0.2}), "Ann")
    assert {socket.gap_limit_mm for socket in board.sockets} == {0.2}
    assert all(socket.chances is None for socket in board.sockets)


def test_columns_from_packed_rows_are_those_of_the_boards(result: dict[str, Any]) -> None:
    other = json.loads(json.dumps(result))
    for wall in other["walls"]:
        wall["lean_deg"] += 0.3
    log = [logged(result, 0), logged(other, 2)]
    expected = columns_of([practice_board(each, "Ann") for each in log])
    assert_same(columns_of_log(log), expected)
    assert_same(columns_of_log(log).last(1), columns_of([practice_board(log[1], "Ann")]))


def assert_same(found: Columns, expected: Columns) -> None:
    assert (found.dates, found.identities) == (expected.dates, expected.identities)
    for part in ("walls", "sockets"):
        for field in fields(getattr(expected, part)):
            own, other = (getattr(getattr(columns, part), field.name) for columns in (found, expected))
            np.testing.assert_allclose(own, other, rtol=SAME, atol=SAME, err_msg=f"{part}.{field.name}")


def test_no_boards_make_empty_columns() -> None:
    columns = columns_of_log([])
    assert (columns.count, len(columns.walls.lean_deg), columns.last(10).count) == (0, 0, 0)


def test_what_was_said_of_a_pin_that_is_not_there_any_more_is_left_out(result: dict[str, Any]) -> None:
    fits = [Fit(0, "seated", BEGIN), Fit(1, "loose", BEGIN), Fit(40, "split", BEGIN)]
    board = practice_board(logged(result), "Ann", fits)
    assert [socket.fit for socket in board.sockets] == [*FITTED, *[None] * (len(board.sockets) - 2)]


def test_a_damaged_result_is_told(result: dict[str, Any]) -> None:
    result["sockets"][1]["kind"] = "quarter"
    with pytest.raises(ValueError, match="not in tuple"):
        logged(result)
