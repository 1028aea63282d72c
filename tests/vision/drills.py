"""Made-up drills for the tests: cuts of known leans, with the errors that a photo leaves them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from calibration.quantity import Quantity, Source
from tests.vision.photos import measurement
from vision.drill.plan import SQUARE, Intent
from vision.drill.report import DrillCut, DrillMeasurement

THICKNESS_MM = 18.0
CARD_U_DEG, OWN_U_DEG = 0.04, 0.03
"""Standard uncertainties of a lean as a good photo leaves them: shared by all cuts, and each cut's own."""
CARD = Source("card tilt", "across the thickness")


def made_cut(
    turn: int,
    lean_deg: float,
    *,
    intent: Intent = SQUARE,
    bow_mm: float = 0.0,
    card_u_deg: float = CARD_U_DEG,
    own_u_deg: float = OWN_U_DEG,
) -> DrillCut:
    """A cut at 8 mm from the one before, counted from the left in the order cut."""
    out = THICKNESS_MM * float(np.tan(np.radians(lean_deg)))
    own = Source("wall edge direction", f"tail {turn - 1} left")
    lean = Quantity(lean_deg, {CARD: card_u_deg, own: own_u_deg}, "deg")
    middle, place = 8.0 * turn, {Source("board side", "left"): 0.03}
    return DrillCut(
        turn,
        turn,
        intent,
        "both",
        lean,
        lean - intent.lean_deg,
        Quantity(middle - out / 2.0, place),
        Quantity(middle + out / 2.0, place),
        Quantity(out),
        lean_deg,
        lean_deg,
        Quantity(0.6, {Source("kerf edges", "fits"): 0.01}),
        abs(out),
        0.03,
        bow_mm,
        None if turn == 1 else Quantity(8.0, {Source("wall edge place", "both"): 0.01}),
    )


def made_cuts(
    leans_deg: Sequence[float], *, intents: Sequence[Intent] = (SQUARE,), bow_mm: float = 0.0
) -> list[DrillCut]:
    """Cuts of those leans; intentions take turns, bows scatter by a hundredth of a millimetre."""
    bows = bow_mm + 0.01 * np.cos(2.4 * np.arange(len(leans_deg)))
    rows = enumerate(zip(leans_deg, bows.tolist(), strict=True))
    return [made_cut(i + 1, lean, intent=intents[i % len(intents)], bow_mm=bow) for i, (lean, bow) in rows]


def made_drill(leans_deg: Sequence[float]) -> DrillMeasurement:
    """A drill in the tests' plain photo, which is seen straight from above."""
    end = replace(measurement(), walls=(), thickness=Quantity(THICKNESS_MM))
    return DrillMeasurement(end, tuple(made_cuts(leans_deg)))
