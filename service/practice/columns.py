"""Many boards as columns of numbers, taken out of their values once, so that every statistic is linear and quick."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import chain
from operator import attrgetter
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from service.domain.log_numbers import NUMBER, SOCKET_COLUMNS, WALL, Logged
from service.practice.entries import COVERAGE, PracticeBoard, in_order

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]
Booleans = NDArray[np.bool_]


class Named(Protocol):
    """What is said of a board, and its size."""

    @property
    def identity(self) -> str: ...
    @property
    def date(self) -> dt.date: ...
    @property
    def species(self) -> str: ...
    @property
    def saw(self) -> str: ...
    @property
    def width_mm(self) -> float: ...
    @property
    def thickness_mm(self) -> float: ...


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

    def from_board(self, first: int) -> WallColumns:
        """Those of the boards from index `first` on, which counts as 0 then."""
        own = self.board >= first
        numbers = (self.position, self.lean_deg, self.lean_u_deg, self.out_mm, self.out_u_mm)
        return WallColumns(self.board[own] - first, self.left[own], *(column[own] for column in numbers))


@dataclass(frozen=True, eq=False)
class SocketColumns:
    """Every socket of the boards: (sockets,) arrays."""

    board: Integers
    taper_mm: Floats
    taper_u_mm: Floats

    def from_board(self, first: int) -> SocketColumns:
        """As with walls."""
        own = self.board >= first
        return SocketColumns(self.board[own] - first, self.taper_mm[own], self.taper_u_mm[own])


@dataclass(frozen=True, eq=False)
class Columns:
    """The `boards` in the order of their dates, and their walls and sockets."""

    boards: tuple[Named, ...]
    dates: tuple[dt.date, ...]
    identities: tuple[str, ...]
    walls: WallColumns
    sockets: SocketColumns

    @property
    def count(self) -> int:
        """How many boards."""
        return len(self.boards)

    def last(self, most: int) -> Columns:
        """Of the latest boards at most so many."""
        first = max(self.count - most, 0)
        walls, sockets = self.walls.from_board(first), self.sockets.from_board(first)
        return Columns(self.boards[first:], self.dates[first:], self.identities[first:], walls, sockets)

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


def columns_of_log(log: Sequence[Logged]) -> Columns:
    """The same from the kept rows of boards, which are in order of date already."""
    dates, identities = tuple(board.date for board in log), tuple(board.identity for board in log)
    return Columns(tuple(log), dates, identities, _logged_walls(log), _logged_sockets(log))


def _logged_walls(log: Sequence[Logged]) -> WallColumns:
    """As `from_result` has them: out of square = T tan(lean), with the uncertainty that follows from it."""
    board, (_, left, lean, lean_u95, show_mm, transfer_mm, out_mm) = _logged([each.walls for each in log], len(WALL))
    width_mm, thickness_mm = (
        np.fromiter(sizes, float, len(log))[board]
        for sizes in ((each.width_mm for each in log), (each.thickness_mm for each in log))
    )
    lean_u = lean_u95 / COVERAGE
    out_u_mm = thickness_mm / np.cos(np.radians(lean)) ** 2 * np.radians(lean_u)
    position = np.clip((show_mm + transfer_mm) / 2 / width_mm, 0.0, 1.0)
    return WallColumns(board, left == 1.0, position, lean, lean_u, out_mm, out_u_mm)


def _logged_sockets(log: Sequence[Logged]) -> SocketColumns:
    board, columns = _logged([each.sockets for each in log], len(SOCKET_COLUMNS))
    taper, taper_u95 = (columns[SOCKET_COLUMNS.index(name)] for name in ("taper_mm", "taper_u95_mm"))
    return SocketColumns(board, taper, taper_u95 / COVERAGE)


def _logged(packed: Sequence[bytes], width: int) -> tuple[Integers, Floats]:
    """Which board each row belongs to, and (width, rows) numbers."""
    size = width * np.dtype(NUMBER).itemsize
    rows = np.frombuffer(b"".join(packed), NUMBER).reshape(-1, width)
    return np.repeat(np.arange(len(packed)), [len(each) // size for each in packed]), rows.T.astype(float)


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
