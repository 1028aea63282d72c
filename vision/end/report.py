"""What was measured on an end: its sizes and its walls, with their uncertainties.

Frames, signs and words follow DEVELOPERS.md: millimetres and degrees in the end frame (x to the right along the show
face, y from the show face, 0, to the transfer face).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from calibration.outcome import Kind
from calibration.quantity import Quantity

Stage = Literal["sawn", "cleared"]
Side = Literal["left", "right"]
SIDES: tuple[Side, Side] = ("left", "right")
CardSide = Literal["show", "transfer"]
"""The face that the card lies along."""
Floats = NDArray[np.float64]


def other_side(side: Side) -> Side:
    """Left for right, right for left."""
    return "right" if side == "left" else "left"


def narrowing(side: Side) -> float:
    """+1 for a left wall, -1 for a right one: the way along x that a wall runs when its tail narrows from the end."""
    return 1.0 if side == "left" else -1.0


@dataclass(frozen=True)
class CardView:
    """The card as seen: its kind, how many chessboard corners were used, and their reprojection error (px, rms).

    `profile` is the name of the camera profile it was seen with, empty for none.
    """

    kind: str
    corners: int
    rms_px: float
    profile: str = ""


@dataclass(frozen=True)
class PrintCost:
    """How much smaller U would be, as a share of it, were the printed card's shape known exactly.

    `name` is the kept print's, empty when the print was not checked; `lean_share` is the largest of the walls' leans.
    """

    name: str = ""
    lean_share: float = 0.0
    width_share: float = 0.0


@dataclass(frozen=True)
class Wall:
    """One sawn side of a tail: its fitted line in the end frame and what qualifies it.

    `lean` (deg) is positive when the wall moves to +x from show to transfer face; `x_show`, `x_transfer` and
    `out_of_square` = T tan(lean) are in mm; `squareness_zone_mm` is the ISO 1101 perpendicularity zone of the edge
    within 1 mm of the faces; `kerf_mm` is None once the waste is gone or where a person placed the line. `flags` are
    keys of `outcome.FLAGS`.
    """

    tail: int
    side: Side
    lean: Quantity
    x_show: Quantity
    x_transfer: Quantity
    out_of_square: Quantity
    squareness_zone_mm: float
    kerf_mm: float | None
    flags: tuple[str, ...] = ()


@dataclass(frozen=True)
class Placement:
    """How card and end lay in one photo, and what took it: what its errors may have in common with another photo's.

    `edge` is the card's edge that faces the board, `turn` the quarter turns from the end's axes to the card's own (see
    `card_turn`), `side` the face it lies along. `middle_mm` (x, y), of the walls, and `heading_deg`, of the show face,
    are told in the card's frame. `camera` names phone, lens and focal length as far as the photo tells them.
    """

    edge: int = 0
    turn: int = 0
    side: CardSide = "show"
    middle_mm: tuple[float, float] = (0.0, 0.0)
    heading_deg: float = 0.0
    camera: str = ""


@dataclass(frozen=True)
class Corrections:
    """What a person changed of the walls that the program found.

    `placed` gives, by the index of every wall whose line was placed by hand, the wall that the program had there, None
    where it had none. `left_out` are walls of the program's that count as none.
    """

    placed: Mapping[int, Wall | None] = field(default_factory=dict)
    left_out: tuple[Wall, ...] = ()

    def __bool__(self) -> bool:
        return bool(self.placed or self.left_out)


@dataclass(frozen=True)
class Measurement:
    """Everything measured on one end. `to_image` maps (n, 2) end-frame mm to (n, 2) pixels of the upright photo.

    `size_px` is that photo's width and height; zeros where it is not told. `px_per_mm` is the scale in the middle of
    the end on the card's plane, `px_per_mm_u95` its expanded uncertainty.
    """

    stage: Stage
    px_per_mm: float
    camera_tilt: Quantity
    card: CardView
    width: Quantity
    thickness: Quantity
    walls: tuple[Wall, ...]
    to_image: Callable[[Floats], Floats]
    warnings: tuple[Kind, ...] = ()
    print_cost: PrintCost = PrintCost()
    placement: Placement = Placement()
    corrections: Corrections = Corrections()
    size_px: tuple[int, int] = (0, 0)
    px_per_mm_u95: float = 0.0
