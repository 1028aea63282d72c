"""What a drill board shows: its cuts in the order cut, each with its lean, straightness, kerf and spacing."""

from __future__ import annotations

from dataclasses import dataclass

from calibration.quantity import Quantity
from vision.drill.plan import Intent, Keep
from vision.end.report import Measurement


@dataclass(frozen=True)
class DrillCut:
    """One cut. `number` counts from the left and `turn` in the order cut, both from 1.

    `lean` (deg), `x_show`, `x_transfer` and `out_of_square` (mm) are those of the edge of the wood that is kept or, for
    `keep` both, of the kerf's middle; signs as for a wall. `deviation` is the lean less the intended one;
    `left_lean_deg` and `right_lean_deg` are those of the kerf's two edges. `squareness_zone_mm` is the width of the
    zone in the intended direction that holds the edge, `straightness_mm` that of the zone along its own line; `bow_mm`
    is how far its middle stands to the right of its ends. `spacing` (mm, at mid thickness) is the distance from the cut
    made before, None for the first. `flags` are keys of `outcome.FLAGS`.
    """

    number: int
    turn: int
    intent: Intent
    keep: Keep
    lean: Quantity
    deviation: Quantity
    x_show: Quantity
    x_transfer: Quantity
    out_of_square: Quantity
    left_lean_deg: float
    right_lean_deg: float
    kerf: Quantity
    squareness_zone_mm: float
    straightness_mm: float
    bow_mm: float
    spacing: Quantity | None = None
    flags: tuple[str, ...] = ()

    @property
    def x_mid_mm(self) -> float:
        """Where the cut is half-way through the board."""
        return (self.x_show.value + self.x_transfer.value) / 2.0


@dataclass(frozen=True)
class DrillMeasurement:
    """The cuts in the order cut, and the end that they stand in: a measurement without walls."""

    end: Measurement
    cuts: tuple[DrillCut, ...]
