"""What a card that does not lie in the plane of the end leaves in the result: `python -m tests.benchmark_tilt`.

Boards by chance (see `tests.vision.lies`) lie tilted or too high against the card by a given amount, and else as a
careful set-up leaves them. Each row compares the errors of the numbers as they are seen with those corrected for the
lie that the photo shows, and says how often the truth lies within the stated U of the corrected ones.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from calibration.outcome import CannotMeasure
from calibration.prints.known import NOTHING_KNOWN, Known, told_size
from calibration.quantity import Quantity
from tests.vision.lies import (
    Board,
    Fits,
    leans_of,
    photograph,
    some_board,
    some_view,
    tapers_of,
    true_leans,
    true_tapers,
)
from vision.end.uncertainty import EndQuantities
from vision.lie.card_lie import CARD_HEIGHT_U_MM, CARD_TILT_U, CardLie
from vision.lie.in_plane import check_in_plane

Floats = NDArray[np.float64]

BOARDS = 300
SIDE_RAD = float(np.radians(0.08))
"""How surely a photo tells which way a side runs, one standard deviation, as on the sample photos."""
LEAST_INSIDE = 0.90
"""Least share inside U, of a set-up as careful as the instructions ask for: the same as for photos."""


@dataclass(frozen=True)
class Row:
    """One case: 95th percentiles of errors seen and corrected, and shares inside U, of boards not refused."""

    case: str
    refused: float
    lean_deg: tuple[float, float]
    taper_mm: tuple[float, float]
    width_mm: tuple[float, float]
    inside: tuple[float, float, float]


@dataclass(frozen=True)
class Errors:
    """Errors and U (n, 2) of leans, tapers and widths."""

    lean: Floats
    taper: Floats
    width: Floats

    @classmethod
    def of(cls, numbers: EndQuantities, board: Board) -> Errors:
        """The errors of one board's numbers."""
        return cls(
            _errors(leans_of(numbers), true_leans(board)),
            _errors(tapers_of(numbers), true_tapers(board)),
            _errors([numbers.width], np.array([board.width_mm])),
        )

    @classmethod
    def together(cls, each: list[Errors]) -> Errors:
        """Those of many boards in one."""
        return cls(*(np.vstack([getattr(one, name) for one in each]) for name in ("lean", "taper", "width")))


def _errors(found: list[Quantity], truth: Floats) -> Floats:
    return np.array([[one.value - true, one.u95] for one, true in zip(found, truth.tolist(), strict=True)])


@dataclass(frozen=True)
class Case:
    """What is set wrong (mm, tangents; None: as a careful set-up leaves it), and whether the board's sizes are told.

    With the waste `cleared` the directions of the board's sides are not seen.
    """

    name: str
    height_mm: float | None = None
    along: float | None = None
    across: float | None = None
    told: bool = False
    cleared: bool = False

    def disturbed(self, lie: CardLie) -> CardLie:
        """A careful lie with what is set wrong."""
        wrong = {"height_mm": self.height_mm, "along": self.along, "across": self.across}
        return replace(lie, **{name: value for name, value in wrong.items() if value is not None})


def cases() -> Iterator[Case]:
    """Tilts about both axes and heights, one after the other."""
    yield Case("as instructed")
    for tilt in (0.5, 1.0, 2.0, 3.0):
        slope = float(np.tan(np.radians(tilt)))
        yield Case(f"{tilt} deg along the width", along=slope)
        yield Case(f"{tilt} deg across", across=slope)
        yield Case(f"{tilt} deg across, cleared", across=slope, cleared=True)
    for height in (-3.0, -1.0, 1.0, 3.0):
        yield Case(f"{height:+.0f} mm", height_mm=height)
        yield Case(f"{height:+.0f} mm, sizes told", height_mm=height, told=True)


def row(case: Case, boards: int = BOARDS) -> Row:
    """Simulate one case."""
    rng = np.random.default_rng([3, boards])
    seen, corrected, refused = [], [], 0
    for _ in range(boards):
        board, view, lie = some_board(rng), some_view(rng), case.disturbed(_careful(rng))
        photo = photograph(board, lie, view, Fits(side_rad=None if case.cleared else SIDE_RAD), rng)
        found = photo.found(_told(board, rng) if case.told else NOTHING_KNOWN)
        try:
            check_in_plane(found, leans_of(found.numbers))
        except CannotMeasure:
            refused += 1
            continue
        seen.append(Errors.of(photo.numbers, board))
        corrected.append(Errors.of(found.numbers, board))
    return _row(case.name, refused / boards, Errors.together(seen), Errors.together(corrected))


def _careful(rng: np.random.Generator) -> CardLie:
    return CardLie(*rng.normal(0.0, [CARD_HEIGHT_U_MM, CARD_TILT_U, CARD_TILT_U]).tolist())


def _told(board: Board, rng: np.random.Generator) -> Known:
    """Both sizes as a caliper gives them."""
    width, thickness = told_size("width", board.width_mm), told_size("thickness", board.thickness_mm)
    off = rng.normal(0.0, [width.u, thickness.u])
    return Known(width=width + float(off[0]), thickness=thickness + float(off[1]))


def _row(case: str, refused: float, seen: Errors, corrected: Errors) -> Row:
    def largest(name: str) -> tuple[float, float]:
        one, other = (float(np.percentile(np.abs(getattr(e, name)[:, 0]), 95)) for e in (seen, corrected))
        return one, other

    def inside(name: str) -> float:
        error, u95 = getattr(corrected, name).T
        return float(np.mean(np.abs(error) <= u95))

    shares = (inside("lean"), inside("taper"), inside("width"))
    return Row(case, refused, largest("lean"), largest("taper"), largest("width"), shares)


def table_text(rows: list[Row]) -> str:
    """The rows as a table."""
    groups = "".join(f"{name:>19}" for name in ("lean deg, 95 %", "taper mm, 95 %", "width mm, 95 %", "inside U, of"))
    names = 3 * f"{'seen':>9}{'corrected':>10}" + "    lean taper width"
    return "\n".join([f"{'':33}{groups}", f"{'':25}{'refused':>8}{names}", *(_line(each) for each in rows)])


def _line(each: Row) -> str:
    pairs = "".join(f"{one:9.3f}{other:10.3f}" for one, other in (each.lean_deg, each.taper_mm, each.width_mm))
    shares = " ".join(f"{share:5.0%}" for share in each.inside)
    return f"{each.case:25}{each.refused:8.0%}{pairs}   {shares}"


def main() -> int:
    """Simulate, print, and return 0 when a careful set-up's truths lie inside U often enough, else 1."""
    rows = [row(case) for case in cases()]
    print(table_text(rows))
    return 0 if min(rows[0].inside) >= LEAST_INSIDE else 1


if __name__ == "__main__":
    sys.exit(main())
