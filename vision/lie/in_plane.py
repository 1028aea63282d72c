"""Whether the card lies in the plane of the end well enough to measure from, and what to remark on when it hardly does.

`find_lie` corrects a lie that the photo shows. A tilt that is firmly large is refused all the same: the block or the
board has slipped, and only part of what that does can be seen. Along the width a tilt shows in the faces; across the
thickness, where it does the most harm, in a sawn board's sides, and else hardly at all beside a sawyer's own scatter.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from calibration.outcome import WARNINGS, Kind, refuse
from calibration.quantity import Quantity
from vision.lie.find_lie import LIE_CAUSES, FoundLie

_REFUSED_DEG, _DOUBTED_DEG = 0.75, 0.5
"""Tilt about either axis that is refused and that is remarked on, beyond its uncertainty."""
_MOST_OF_U = 0.5
"""Share of the variance from which on the card's lie dominates U."""


def check_in_plane(found: FoundLie, leans: Sequence[Quantity]) -> tuple[Kind, ...]:
    """Warnings about the card's lie. Raises CannotMeasure `card_not_in_plane` when the evidence is firm."""
    tilts = (found.along, found.across)
    firm = max(abs(tilt.value) - tilt.u95 for tilt in tilts)
    if firm > _REFUSED_DEG:
        raise refuse("card_not_in_plane", f"It seems tilted by about {max(abs(t.value) for t in tilts):.0f} degrees.")
    doubts = {
        "card_tilt_suspected": firm > _DOUBTED_DEG,
        "card_lie_dominates": float(np.median([lie_share(lean) for lean in leans])) > _MOST_OF_U,
        "told_size_doubted": bool(found.doubted),
    }
    return tuple(WARNINGS[name] for name, doubted in doubts.items() if doubted)


def lie_share(quantity: Quantity) -> float:
    """Share of the quantity's variance that comes from how the card lies against the end."""
    total = sum(part**2 for part in quantity.parts.values())
    own = sum(part**2 for source, part in quantity.parts.items() if source.cause in LIE_CAUSES)
    return own / total if total else 0.0
