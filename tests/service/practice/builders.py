"""Boards of invented people, sawn and measured by chance from a seed, with what they are made of known."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from dataclasses import asdict, dataclass

import numpy as np

from service.domain.board import Board
from service.domain.check import Answer, Check, StoredPhoto
from service.domain.measures import Measures, measures_of
from service.practice.entries import Chances, Fit, PracticeBoard, PracticeSocket, PracticeWall, Verdict
from service.practice.from_result import chance_above

START = dt.date(2026, 3, 2)
HALF_95 = 1.959964


@dataclass(frozen=True)
class Sawyer:
    """How someone saws: mean lean of left and right walls, how much walls and boards scatter, deg, and how the photos
    measure: `u_deg` per photo, all walls alike, of which `common_deg` is the same in every photo."""

    left_deg: float = 0.0
    right_deg: float = 0.0
    walls_deg: float = 0.2
    boards_deg: float = 0.1
    u_deg: float = 0.05
    common_deg: float = 0.0
    fan_deg: float = 0.0
    tails: int = 3
    thickness_mm: float = 19.0
    width_mm: float = 90.0


def board(
    leans_deg: Sequence[float],
    *,
    number: int = 0,
    person: str = "student 1",
    lean_u95_deg: float = 0.1,
    thickness_mm: float = 19.0,
    width_mm: float = 90.0,
    gap_limit_mm: float = 0.10,
    squeeze_limit_mm: float = 0.08,
    **words: str,
) -> PracticeBoard:
    """The board with these leans (left, right, left, ...), a board every other day, its sockets worked out simply."""
    walls = tuple(_wall(i, lean, len(leans_deg), lean_u95_deg, thickness_mm) for i, lean in enumerate(leans_deg))
    outs = [0.0, *(wall.out_of_square_mm for wall in walls), 0.0]
    tapers = [left - right for left, right in zip(outs[0::2], outs[1::2], strict=True)]
    u95_mm = walls[0].out_of_square_u95_mm
    return PracticeBoard(
        identity=f"{person} board {number}",
        date=START + dt.timedelta(days=2 * number),
        person=person,
        walls=walls,
        sockets=tuple(
            _socket(i in (0, len(tapers) - 1), taper, u95_mm, gap_limit_mm, squeeze_limit_mm)
            for i, taper in enumerate(tapers)
        ),
        width_mm=width_mm,
        thickness_mm=thickness_mm,
        **words,
    )


def boards_of(
    sawyer: Sawyer, count: int, rng: np.random.Generator, *, first: int = 0, person: str = "student 1", **words: str
) -> list[PracticeBoard]:
    """So many boards of one sawyer, numbered from `first`."""
    return [
        board(
            _leans(sawyer, rng),
            number=first + index,
            person=person,
            lean_u95_deg=2.0 * math.hypot(sawyer.u_deg, sawyer.common_deg),
            thickness_mm=sawyer.thickness_mm,
            width_mm=sawyer.width_mm,
            **words,
        )
        for index in range(count)
    ]


def _leans(sawyer: Sawyer, rng: np.random.Generator) -> list[float]:
    sides = np.tile([sawyer.left_deg, sawyer.right_deg], sawyer.tails)
    fan = sawyer.fan_deg * np.linspace(-1.0, 1.0, len(sides))
    shared = rng.normal(0.0, sawyer.boards_deg) + rng.normal(0.0, sawyer.u_deg) + sawyer.common_deg
    return list(sides + fan + rng.normal(0.0, sawyer.walls_deg, len(sides)) + shared)


def _wall(index: int, lean_deg: float, walls: int, lean_u95_deg: float, thickness_mm: float) -> PracticeWall:
    return PracticeWall(
        tail=index // 2,
        side="left" if index % 2 == 0 else "right",
        position=(index + 1) / (walls + 1),
        lean_deg=lean_deg,
        lean_u95_deg=lean_u95_deg,
        out_of_square_mm=thickness_mm * math.tan(math.radians(lean_deg)),
        out_of_square_u95_mm=thickness_mm * math.radians(lean_u95_deg),
    )


def _socket(half: bool, taper_mm: float, u95_mm: float, gap_limit_mm: float, squeeze_mm: float) -> PracticeSocket:
    """A socket whose taper is all gap or all squeeze, as if boards did not settle."""
    limit_mm = squeeze_mm / 2.0 if half else squeeze_mm
    gap, squeeze = max(taper_mm, 0.0), max(-taper_mm, 0.0)
    splitting = chance_above(squeeze, (squeeze - u95_mm, squeeze + u95_mm), limit_mm)
    loose = chance_above(gap, (gap - u95_mm, gap + u95_mm), gap_limit_mm) * (1.0 - splitting)
    return PracticeSocket(
        kind="half" if half else "full",
        taper_mm=taper_mm,
        taper_u95_mm=u95_mm,
        gap_mm=gap,
        squeeze_mm=squeeze,
        verdict=_verdict(loose, splitting),
        gap_limit_mm=gap_limit_mm,
        squeeze_limit_mm=limit_mm,
        chances=Chances(1.0 - loose - splitting, loose, splitting),
    )


def _verdict(loose: float, splitting: float) -> Verdict:
    if max(loose, splitting) > 0.975:
        return "loose" if loose > splitting else "splitting"
    return "seats" if max(loose, splitting) < 0.025 else "too close to call"


def kept(board: PracticeBoard) -> Measures:
    """The numbers that the service keeps of such a board."""
    begun = dt.datetime.combine(board.date, dt.time(9), dt.UTC)
    size = {"width_mm": board.width_mm, "thickness_mm": board.thickness_mm}
    lists = {"walls": [asdict(wall) for wall in board.walls], "sockets": [asdict(each) for each in board.sockets]}
    result = {"schema": 1, "ok": True, "stage": board.stage, "advice": board.advice or "start over", "board": size}
    photo, answer = StoredPhoto("", "JPEG"), Answer(result | lists, {})
    check = Check("check", board.identity, board.person, photo, "", begun, state="measured", answer=answer)
    found = measures_of(Board(board.identity, board.person, "", begun), [check])
    assert found is not None
    return found


def driven(boards: Sequence[PracticeBoard], rng: np.random.Generator) -> list[list[Fit | None]]:
    """Fits drawn by the chances themselves, so that the predictions are right by construction."""
    kinds: tuple[Fit, ...] = ("seated", "loose", "split")
    return [[kinds[rng.choice(3, p=_probabilities(socket))] for socket in each.sockets] for each in boards]


def _probabilities(socket: PracticeSocket) -> list[float]:
    assert socket.chances is not None
    return [socket.chances.seats, socket.chances.loose, socket.chances.splitting]
