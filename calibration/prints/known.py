"""What is known before a photo is looked at: each part sharpens the result, none is needed."""

from __future__ import annotations

from dataclasses import dataclass

from calibration.camera.profile import CameraProfile
from calibration.prints.shape import UNCHECKED, PrintShape
from calibration.quantity import Quantity, Source

TOLD_SIZE_U_MM = 0.05
"""Standard uncertainty of a board's size that a person tells: a caliper read to 0.05 mm on a board that is planed as
evenly as that (common practice, no source)."""


@dataclass(frozen=True)
class Known:
    """Knowledge from outside the photo: `print`, the shape in which the card came out of the printer; the board's
    `width` and `thickness` at this end (mm), None unless a person measured them; `lens`, the profile of the camera.
    """

    print: PrintShape = UNCHECKED
    width: Quantity | None = None
    thickness: Quantity | None = None
    lens: CameraProfile | None = None


def told_size(what: str, size_mm: float) -> Quantity:
    """A size of the board as a person measured it; `what` tells one from another in a budget.

    Raises ValueError unless `size_mm` is above zero.
    """
    if not size_mm > 0.0:
        raise ValueError(f"size_mm must be above zero, got {size_mm}")
    return Quantity(size_mm, {Source("told size", what): TOLD_SIZE_U_MM})


NOTHING_KNOWN = Known()
"""No print check, no camera profile, no size told."""
