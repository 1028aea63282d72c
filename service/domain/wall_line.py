"""Where a wall's line lies in a photo, as a person says it or as the program found it."""

from __future__ import annotations

import math
from dataclasses import dataclass

from service.domain.mistakes import MistakeError

Pixel = tuple[float, float]

LARGEST_PX = 20_000.0
"""No photo that is taken has more pixels to a side."""
LEAST_ZOOM, MOST_ZOOM = 0.02, 64.0
"""From a photo of 20,000 pixels on a phone's screen to one pixel as large as a thumb's nail."""


@dataclass(frozen=True)
class WallLine:
    """A wall's ends (x, y) at the show and the transfer face, in pixels of the upright photo. Raises MistakeError.

    `zoom` is how many pixels of the screen one of the photo had when a person placed it; None for a line that is the
    program's own.
    """

    show_px: Pixel
    transfer_px: Pixel
    zoom: float | None = None

    def __post_init__(self) -> None:
        if not all(math.isfinite(value) and 0.0 <= value <= LARGEST_PX for value in self.ends):
            raise MistakeError("walls", "The ends of a wall lie in the photo: numbers of pixels from its upper left.")
        if self.zoom is not None and not LEAST_ZOOM <= self.zoom <= MOST_ZOOM:
            raise MistakeError("walls", f"The zoom lies between {LEAST_ZOOM} and {MOST_ZOOM:.0f} screen pixels.")

    @property
    def ends(self) -> tuple[float, float, float, float]:
        """x, y at the show face, then at the transfer face."""
        return (*self.show_px, *self.transfer_px)

    @property
    def placed(self) -> bool:
        """Whether a person placed it."""
        return self.zoom is not None
