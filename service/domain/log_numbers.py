"""The walls and pins of a board as bytes, so that charts over thousands of boards need not read their results."""

from __future__ import annotations

import math
import struct
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from service.domain.check import Answer, Check
from service.domain.measures import Measures, gap_limit_of

KINDS = ("full", "half")
VERDICTS = ("seats", "loose", "splitting", "too close to call")
SIDES = ("right", "left")
WALL = ("tail", "left", "lean_deg", "lean_u95_deg", "x_show_mm", "x_transfer_mm", "out_of_square_mm")
SOCKET = ("half", "verdict", "taper_mm", "taper_u95_mm", "gap_mm", "squeeze_mm", "gap_limit_mm", "squeeze_limit_mm")
INTERVALS = ("gap_low_mm", "gap_high_mm", "squeeze_low_mm", "squeeze_high_mm")
"""The columns of a wall's and of a socket's row, the last four of which end the latter; not a number for none."""
SOCKET_COLUMNS = (*SOCKET, *INTERVALS)
NUMBER = "<f8"
"""How each number is written: 64 bits, the lowest byte first, on any machine."""


@dataclass(frozen=True)
class LogNumbers:
    """A board's newest measured end: rows of numbers of `WALL` and of `SOCKET_COLUMNS`, one after the other."""

    board: str
    person: str
    created: datetime
    walls: bytes
    sockets: bytes


@dataclass(frozen=True)
class Logged:
    """A measured board as the log's charts take it: what is said of it, its size, and its packed rows.

    `decision` is that of its newest review; `corrected` tells that its walls were placed by hand.
    """

    identity: str
    name: str
    created: datetime
    species: str
    saw: str
    plan: str
    notes: str
    assignment: str
    stage: str
    advice: str
    width_mm: float
    thickness_mm: float
    walls: bytes
    sockets: bytes
    decision: str = ""
    corrected: bool = False

    @property
    def date(self) -> date:
        """The day it was begun, in UTC."""
        return self.created.date()


def log_numbers_of(measures: Measures, checks: Sequence[Check]) -> LogNumbers:
    """The rows of the check that the board's measures are of. Raises KeyError, TypeError or ValueError for damage."""
    answer = next(check.answer for check in checks if check.id == measures.check)
    assert answer is not None
    walls = [number for wall in answer.result["walls"] for number in _wall(wall)]
    return LogNumbers(measures.board, measures.person, measures.created, _packed(walls), packed_sockets(answer))


def packed_sockets(answer: Answer) -> bytes:
    """The rows of the sockets that an answer foretells. Raises KeyError, TypeError or ValueError for damage."""
    limit_mm = gap_limit_of(answer)
    return _packed([number for socket in answer.result["sockets"] for number in _socket(socket, limit_mm)])


def result_of(logged: Logged) -> dict[str, Any]:
    """As much of the result JSON (schema 1) as the rows hold."""
    size = {"width_mm": logged.width_mm, "thickness_mm": logged.thickness_mm}
    walls = [_wall_of(row) for row in _rows(logged.walls, len(WALL))]
    told = {"schema": 1, "ok": True, "stage": logged.stage, "advice": logged.advice, "board": size}
    return told | {"walls": walls, "sockets": sockets_of(logged)}


def sockets_of(logged: Logged) -> list[dict[str, Any]]:
    """The sockets of the result JSON, from left to right."""
    return [_socket_of(row) for row in _rows(logged.sockets, len(SOCKET_COLUMNS))]


def _wall(wall: Mapping[str, Any]) -> Iterator[float]:
    yield from (float(wall["tail"]), float(SIDES.index(wall["side"])))
    yield from (float(wall[name]) for name in WALL[2:])


def _socket(socket: Mapping[str, Any], gap_limit_mm: float) -> Iterator[float]:
    known = {"gap_limit_mm": gap_limit_mm, **socket}
    yield from (float(KINDS.index(socket["kind"])), float(VERDICTS.index(socket["verdict"])))
    yield from (float(known.get(name, math.nan)) for name in SOCKET[2:])
    for name in ("gap_interval_mm", "squeeze_interval_mm"):
        low, high = socket.get(name, (math.nan, math.nan))
        yield from (float(low), float(high))


def _wall_of(row: Sequence[float]) -> dict[str, Any]:
    named = {"tail": int(row[0]), "side": SIDES[int(row[1])], "flags": []}
    return named | dict(zip(WALL[2:], row[2:], strict=True))


def _socket_of(row: Sequence[float]) -> dict[str, Any]:
    socket: dict[str, Any] = {"kind": KINDS[int(row[0])], "verdict": VERDICTS[int(row[1])]}
    socket |= {name: number for name, number in zip(SOCKET[2:], row[2:], strict=False) if not math.isnan(number)}
    gap, squeeze = list(row[-4:-2]), list(row[-2:])
    pairs = {"gap_interval_mm": gap, "squeeze_interval_mm": squeeze}
    return socket | {name: pair for name, pair in pairs.items() if not math.isnan(pair[0])}


def _packed(numbers: Sequence[float]) -> bytes:
    return struct.pack(f"<{len(numbers)}d", *numbers)


def _rows(packed: bytes, width: int) -> Iterator[tuple[float, ...]]:
    return struct.iter_unpack(f"<{width}d", packed)
