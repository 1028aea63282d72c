"""Many boards as columns of numbers, taken out of their values once, so that every statistic is linear and quick."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import chain
from operator import attrgetter

import numpy as np
from numpy.typing import NDArray

from service.practice.entries import COVERAGE, PracticeBoard, in_order

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]
Booleans = NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class WallColumns:
    """Every wall of the boards: (walls,) arrays. `board` is the index of its board; `u` are standard uncertainties."""

    board: Integers
    left: Booleans
    position: Floats
    lean_deg: Floats
    lean_u_deg: Floats
    out_mm: Floats
    out_u_mm: Floats


@dataclass(frozen=True, eq=False)
class SocketColumns:
    """Every socket of the boards: (sockets,) arrays."""

    board: Integers
    taper_mm: Floats
    taper_u_mm: Floats


@dataclass(frozen=True, eq=False)
class Columns:
    """The `boards` in the order of their dates, and their walls and sockets."""

    boards: tuple[PracticeBoard, ...]
    dates: tuple[dt.date, ...]
    identities: tuple[str, ...]
    walls: WallColumns
    sockets: SocketColumns

    @property
    def count(self) -> int:
        """How many boards."""
        return len(self.boards)

    def mean_per_board(self, values: Floats, chosen: Booleans | None = None) -> Floats:
        """Mean over each board's (chosen) walls; nan for a board with none of them."""
        return _means(self.walls.board, values, self.count, chosen)

    def mean_per_board_of_sockets(self, values: Floats) -> Floats:
        """Mean over each board's sockets; nan for a board with none."""
        return _means(self.sockets.board, values, self.count, None)


def columns_of(boards: Sequence[PracticeBoard]) -> Columns:
    """The boards' columns, the boards put in order of date."""
    ordered = tuple(in_order(boards))
    dates, identities = tuple(board.date for board in ordered), tuple(board.identity for board in ordered)
    return Columns(ordered, dates, identities, _walls(ordered), _sockets(ordered))


def _walls(boards: Sequence[PracticeBoard]) -> WallColumns:
    walls = [wall for board in boards for wall in board.walls]
    position, lean, lean_u95, out, out_u95 = _numbers(
        walls, "position", "lean_deg", "lean_u95_deg", "out_of_square_mm", "out_of_square_u95_mm"
    )
    return WallColumns(
        board=np.repeat(np.arange(len(boards)), [len(board.walls) for board in boards]),
        left=np.fromiter((wall.side == "left" for wall in walls), bool, len(walls)),
        position=position,
        lean_deg=lean,
        lean_u_deg=lean_u95 / COVERAGE,
        out_mm=out,
        out_u_mm=out_u95 / COVERAGE,
    )


def _sockets(boards: Sequence[PracticeBoard]) -> SocketColumns:
    sockets = [socket for board in boards for socket in board.sockets]
    taper, taper_u95 = _numbers(sockets, "taper_mm", "taper_u95_mm")
    owners = np.repeat(np.arange(len(boards)), [len(board.sockets) for board in boards])
    return SocketColumns(owners, taper, taper_u95 / COVERAGE)


def _numbers(things: Sequence[object], *names: str) -> Floats:
    """(names, things) attributes, without a Python loop over each."""
    flat = chain.from_iterable(map(attrgetter(*names), things))
    return np.fromiter(flat, float, len(things) * len(names)).reshape(-1, len(names)).T


def _means(owner: Integers, values: Floats, count: int, chosen: Booleans | None) -> Floats:
    weights = values if chosen is None else np.where(chosen, values, 0.0)
    total = np.bincount(owner, weights, minlength=count)
    number = np.bincount(owner, None if chosen is None else chosen.astype(float), minlength=count).astype(float)
    return np.divide(total, number, out=np.full(count, np.nan), where=number > 0)
