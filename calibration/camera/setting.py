"""Which camera took a photo, with which lens, zoom and picture size: what a camera profile holds for."""

from __future__ import annotations

import math
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

SAME_FOCAL = 0.02
"""How far two focal lengths may differ, relatively, and still be one lens: phones write rounded numbers."""
SAME_ZOOM = 0.01

_TURNS = {
    1: ((1, 0), (0, 1)),
    2: ((-1, 0), (0, 1)),
    3: ((-1, 0), (0, -1)),
    4: ((1, 0), (0, -1)),
    5: ((0, 1), (1, 0)),
    6: ((0, -1), (1, 0)),
    7: ((0, -1), (-1, 0)),
    8: ((0, 1), (-1, 0)),
}


@dataclass(frozen=True)
class CameraSetting:
    """A camera as a photo's own data tell it; None for what they do not.

    `focal_mm` is the lens's true focal length, `film_mm` its equivalent on 35 mm film, `zoom` the digital zoom ratio (1
    for none). `size_px` is width and height as the sensor wrote them, before the photo is turned upright. Raises
    ValueError unless all numbers that are told are above zero.
    """

    make: str = ""
    model: str = ""
    lens: str = ""
    focal_mm: float | None = None
    film_mm: float | None = None
    zoom: float = 1.0
    size_px: tuple[int, int] = (1, 1)

    def __post_init__(self) -> None:
        if min(self.size_px) <= 0:
            raise ValueError(f"size_px must be above zero, got {self.size_px}")
        for name in ("focal_mm", "film_mm", "zoom"):
            told = getattr(self, name)
            if told is not None and not 0.0 < told < math.inf:
                raise ValueError(f"{name} must be above zero, got {told}")

    @property
    def told(self) -> bool:
        """Whether the data name the camera at all."""
        return bool(self.model)

    @property
    def words(self) -> str:
        """The camera for people: `Maker Model, 6.8 mm lens, 4032 x 3024 pixels`."""
        camera = self.model if self.model.startswith(self.make) else f"{self.make} {self.model}".strip()
        parts = [camera or "unnamed camera"]
        if self.focal_mm is not None:
            parts.append(f"{self.focal_mm:g} mm lens")
        if self.zoom > 1.0 + SAME_ZOOM:
            parts.append(f"zoomed {self.zoom:g} times")
        return ", ".join([*parts, f"{self.size_px[0]} x {self.size_px[1]} pixels"])

    def difference(self, photo: CameraSetting, against: str = "the profile is for") -> str | None:
        """Why a profile for this setting does not hold for a photo taken with that one; None when it does.

        `against` are the sentence's words before what this setting is.
        """
        checks = (self._other_camera, self._other_lens, self._other_zoom, self._other_size)
        found = next((pair for check in checks if (pair := check(photo)) is not None), None)
        return None if found is None else f"The photo {found[0]}, {against} {found[1]}."

    def to_dict(self) -> dict[str, Any]:
        """As JSON keeps it."""
        return asdict(self) | {"size_px": list(self.size_px)}

    @classmethod
    def from_dict(cls, data: dict[str, Any]) -> CameraSetting:
        """`to_dict` undone. Raises KeyError, TypeError or ValueError when `data` is something else."""
        width, height = data["size_px"]
        return cls(**(data | {"size_px": (int(width), int(height))}))

    def _other_camera(self, photo: CameraSetting) -> tuple[str, str] | None:
        if not photo.told or (photo.make, photo.model) == (self.make, self.model):
            return None
        return f"comes from {photo.words}", self.words

    def _other_lens(self, photo: CameraSetting) -> tuple[str, str] | None:
        if _differ(self.focal_mm, photo.focal_mm, SAME_FOCAL):
            return f"was taken with the {photo.focal_mm:g} mm lens", f"the {self.focal_mm:g} mm lens"
        if self.lens and photo.lens and self.lens != photo.lens:
            return f"was taken with the lens {photo.lens!r}", repr(self.lens)
        return None

    def _other_zoom(self, photo: CameraSetting) -> tuple[str, str] | None:
        if _differ(self.zoom, photo.zoom, SAME_ZOOM):
            return f"was zoomed {photo.zoom:g} times", f"a zoom of {self.zoom:g}"
        if _differ(self.film_mm, photo.film_mm, SAME_FOCAL):
            return f"was zoomed or cropped to the view of a {photo.film_mm:g} mm lens on film", f"{self.film_mm:g} mm"
        return None

    def _other_size(self, photo: CameraSetting) -> tuple[str, str] | None:
        if sorted(self.size_px) == sorted(photo.size_px):
            return None
        (wide, high), (width, height) = self.size_px, photo.size_px
        return f"was made smaller or cropped to {width} x {height} pixels", f"{wide} x {high} pixels"


def turn_matrix(orientation: int) -> Floats:
    """What takes offsets from the middle of the stored picture to the upright one, (2, 2), by EXIF orientation 1 to 8.

    TIFF 6.0, tag 274.
    """
    return np.array(_TURNS[orientation], float)


def sensor_points(points_px: Floats, upright_px: tuple[int, int], orientation: int) -> Floats:
    """Points (n, 2) of the upright picture of that width and height, as they lie in the stored one."""
    turn = turn_matrix(orientation)
    upright = (np.array(upright_px, float) - 1.0) / 2.0
    return np.asarray((points_px - upright) @ turn + np.abs(turn.T @ upright))


def sensor_size(upright_px: tuple[int, int], orientation: int) -> tuple[int, int]:
    """Width and height of the stored picture whose upright one has those."""
    width, height = upright_px
    return (height, width) if orientation >= 5 else (width, height)


def _differ(one: float | None, other: float | None, relative: float) -> bool:
    """Whether two positive numbers differ; what is not told does not."""
    return one is not None and other is not None and abs(math.log(other / one)) > relative
