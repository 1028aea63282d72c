"""What a check found: measured walls, predicted sockets and advice, with their uncertainties.

Frames, signs and words follow DEVELOPERS.md: millimetres and degrees in the end frame (x to the right along the show
face, y from the show face, 0, to the transfer face).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from calibration.outcome import Kind
from calibration.quantity import Quantity

Stage = Literal["sawn", "cleared"]
Side = Literal["left", "right"]
Floats = NDArray[np.float64]


@dataclass(frozen=True)
class CardView:
    """The card as seen: its kind, how many chessboard corners were used, and their reprojection error (px, rms)."""

    kind: str
    corners: int
    rms_px: float


@dataclass(frozen=True)
class Wall:
    """One sawn side of a tail: its fitted line in the end frame and what qualifies it.

    `lean` (deg) is positive when the wall moves to +x from show to transfer face; `x_show`, `x_transfer` and
    `out_of_square` = T tan(lean) are in mm; `squareness_zone_mm` is the ISO 1101 perpendicularity zone of the edge
    within 1 mm of the faces; `kerf_mm` is None once the waste is gone. `flags` are keys of `outcome.FLAGS`.
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
class Measurement:
    """Everything measured on one end. `to_image` maps (n, 2) end-frame mm to (n, 2) pixels of the upright photo."""

    stage: Stage
    px_per_mm: float
    camera_tilt: Quantity
    card: CardView
    width: Quantity
    thickness: Quantity
    walls: tuple[Wall, ...]
    to_image: Callable[[Floats], Floats]
    warnings: tuple[Kind, ...] = ()
