"""What is known of a board: the truth that lies beside a photo as NAME.json, in the end frame, mm and degrees."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from calibration.quantity import Quantity
from vision.end.report import Side, Stage, Wall
from vision.joint.species import find_species
from vision.score.truth_parts import number, one_of, part, parts, size, text


@dataclass(frozen=True)
class TrueWall:
    """A wall's true line: least squares through its true edge, 1 mm inside each face."""

    tail: int
    side: Side
    lean_deg: float
    x_show_mm: float
    x_transfer_mm: float

    @property
    def x_mid_mm(self) -> float:
        """Where the wall is half-way through the board."""
        return (self.x_show_mm + self.x_transfer_mm) / 2.0

    def as_wall(self) -> Wall:
        """The same wall as if measured without any uncertainty."""
        return Wall(
            self.tail,
            self.side,
            lean=Quantity(self.lean_deg, {}, "deg"),
            x_show=Quantity(self.x_show_mm),
            x_transfer=Quantity(self.x_transfer_mm),
            out_of_square=Quantity(self.x_transfer_mm - self.x_show_mm),
            squareness_zone_mm=abs(self.x_transfer_mm - self.x_show_mm),
            kerf_mm=None,
        )


@dataclass(frozen=True)
class Truth:
    """The true end: stage, width and thickness (mm), species and walls from left to right.

    `expect` is what must be refused, in words, or None for a photo to be measured; of the former no walls are read.
    """

    photo: str
    stage: Stage
    width_mm: float
    thickness_mm: float
    species: str | None
    walls: tuple[TrueWall, ...]
    expect: str | None = None


def truth_from_dict(data: Mapping[str, Any]) -> Truth:
    """The truth in a truth file's JSON object. Raises ValueError, naming what is missing or wrong."""
    photo, board, expect = (
        text(data, "photo"),
        part(data, "board"),
        text(data, "expect") if data.get("expect") else None,
    )
    walls = () if expect else tuple(_wall(kerf) for kerf in parts(data, "kerfs"))
    stage: Stage = one_of(board, "stage", ("sawn", "cleared"))
    measures = size(board, "width"), size(board, "thickness")
    return Truth(photo, stage, *measures, _known_wood(board.get("species")), walls, expect)


def is_truth(data: object) -> bool:
    """Whether a JSON value is the truth of an end, and not of a face or of something else."""
    return isinstance(data, Mapping) and {"photo", "board", "kerfs"} <= data.keys() and "baseline" not in data


def _wall(kerf: Mapping[str, Any]) -> TrueWall:
    numbers = [number(kerf, key) for key in ("fit_lean", "x_show_fit", "x_transfer_fit")]
    return TrueWall(int(number(kerf, "tail")), one_of(kerf, "side", ("left", "right")), *numbers)


def _known_wood(name: object) -> str | None:
    """The wood's name if the species table has it: a truth may name any wood."""
    try:
        return name if isinstance(name, str) and find_species(name) else None
    except ValueError:
        return None
