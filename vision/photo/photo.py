"""A decoded photo: its pixels the right way up, and what its own data say about the lens."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from calibration.camera.setting import CameraSetting, sensor_size


@dataclass(frozen=True)
class Lens:
    """What a photo says took it. `focal_px` (pixels of the upright photo) and its standard uncertainty, or None.

    `focal_mm` is the lens's true focal length, `film_mm` its equivalent on 35 mm film, None when not told; `zoom` the
    digital zoom ratio. `cut` tells that the photo has a shape that no camera stores: part of it is gone.
    """

    make: str = ""
    model: str = ""
    lens: str = ""
    focal_px: float | None = None
    focal_u_px: float | None = None
    focal_mm: float | None = None
    film_mm: float | None = None
    zoom: float = 1.0
    cut: bool = False


@dataclass(frozen=True, eq=False)
class Photo:
    """An upright sRGB photo: `rgb` is (height, width, 3) uint8 and read-only.

    `orientation` is the EXIF orientation (1 to 8) that was undone to get there. `lens` is what the file's own data
    say; `name` is for messages only. `coarse_colour` tells that the file keeps one sample of colour to several pixels.
    """

    rgb: NDArray[np.uint8]
    lens: Lens = Lens()
    name: str = ""
    orientation: int = 1
    coarse_colour: bool = False

    @property
    def width_px(self) -> int:
        """Columns of the upright photo."""
        return int(self.rgb.shape[1])

    @property
    def height_px(self) -> int:
        """Rows of the upright photo."""
        return int(self.rgb.shape[0])

    @property
    def setting(self) -> CameraSetting:
        """Camera, lens, zoom and stored size, by which a camera profile is chosen."""
        lens, stored_px = self.lens, sensor_size((self.width_px, self.height_px), self.orientation)
        return CameraSetting(lens.make, lens.model, lens.lens, lens.focal_mm, lens.film_mm, lens.zoom, stored_px)
