"""All measurements of a board as rows of one table: a row for every wall and every pin of every measured photo."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from service.domain.board import Board
from service.domain.check import Check
from service.domain.fit import Fit

OF_BOARD = ["board", "name", "created", "species", "thickness_mm", "saw", "plan", "assignment", "notes"]
OF_CHECK = ["check", "sent_at", "stage", "advice"]
WHICH = ["what", "number", "side"]
OF_WALL = ["lean_deg", "lean_u95_deg", "x_show_mm", "x_transfer_mm", "x_u95_mm", "out_of_square_mm", "kerf_mm"]
OF_SOCKET = ["width_show_mm", "width_transfer_mm", "taper_mm", "taper_u95_mm", "gap_mm", "squeeze_mm"]
LIMITS = ["gap_limit_mm", "squeeze_limit_mm"]
ABOUT_SOCKET = ["crush_ratio", "split_index", "verdict"]
SAID = ["fitted", "fit_note", "corrected"]
COLUMNS = [*OF_BOARD, *OF_CHECK, *WHICH, *OF_WALL, *OF_SOCKET, *LIMITS, *ABOUT_SOCKET, *SAID]
"""Names of the columns; tails and sockets are counted from 1, as in every sentence for people.

`corrected` tells of a photo whose walls somebody corrected."""

FORMULA_SIGNS = ("=", "+", "-", "@", "\t", "\r")
"""A spreadsheet takes a text that begins like that for a formula."""


def table_rows(board: Board, checks: Sequence[Check], fits: Sequence[Fit]) -> list[list[str]]:
    """The rows of one board, in the order of `COLUMNS`."""
    fitted = {fit.socket: fit.outcome for fit in fits}
    rows: list[list[str]] = []
    for check in checks:
        if check.advice and check.answer:
            result = check.answer.result
            common = _of_board(board) | _of_check(check, result)
            rows += [_row(common | _of_wall(wall)) for wall in result["walls"]]
            rows += [_row(common | _of_socket(index, s, fitted)) for index, s in enumerate(result["sockets"])]
    return rows


def _of_board(board: Board) -> dict[str, Any]:
    details = board.details
    named = {"board": board.id, "name": harmless(board.name), "created": board.created.isoformat()}
    kept = {"species": harmless(details.species), "saw": harmless(details.saw), "plan": harmless(details.plan)}
    kept |= {"notes": harmless(details.notes), "assignment": harmless(board.assignment_title)}
    kept |= {"fit_note": harmless(board.fit_note)}
    return named | kept | {"thickness_mm": details.thickness_mm}


def _of_check(check: Check, result: Mapping[str, Any]) -> dict[str, Any]:
    stage = {"stage": result["stage"], "advice": result["advice"]}
    corrected = {"corrected": "by hand" if check.corrected else None}
    return {"check": check.id, "sent_at": check.sent_at.isoformat()} | stage | corrected


def _of_wall(wall: Mapping[str, Any]) -> dict[str, Any]:
    return {"what": "wall", "number": wall["tail"] + 1, "side": wall["side"]} | {name: wall[name] for name in OF_WALL}


def _of_socket(index: int, socket: Mapping[str, Any], fitted: Mapping[int, str]) -> dict[str, Any]:
    numbers = {name: socket[name] for name in (*OF_SOCKET, *ABOUT_SOCKET)}
    numbers |= {name: socket.get(name) for name in LIMITS}  # older results do not tell them
    return {"what": "pin", "number": index + 1, "side": socket["kind"], "fitted": fitted.get(index)} | numbers


def _row(values: Mapping[str, Any]) -> list[str]:
    return ["" if values.get(name) is None else str(values[name]) for name in COLUMNS]


def harmless(text: str) -> str:
    """A text that no spreadsheet takes for a formula."""
    return f"'{text}" if text.startswith(FORMULA_SIGNS) else text
