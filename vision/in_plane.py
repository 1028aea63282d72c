"""Whether the card lies in the plane of the end, as far as the end itself can tell.

A card tilted along the width makes the faces look out of parallel; tilted across the thickness, it fans the walls out
with their distance from the point below the camera (central projection between planes that are not parallel).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from calibration.outcome import WARNINGS, Kind, refuse
from calibration.plane import PlaneMap
from vision.locate import FoundEnd
from vision.report import Wall

Floats = NDArray[np.float64]

_REFUSED_DEG, _DOUBTED_DEG = 1.0, 0.5
"""Tilt along the width, from the faces, that is refused and that is remarked on, beyond its uncertainty."""
_REFUSED_FAN_DEG, _DOUBTED_FAN_DEG = 4.0, 2.5
_FAN_T = {2: 9.92, 3: 5.84, 4: 4.60, 5: 4.03, 6: 3.71, 7: 3.50, 8: 3.36}
"""Student's t, two-sided 99 %, by degrees of freedom: how far the walls must fan out beyond their own scatter."""
_FAN_T_MANY = 3.2
_BOARD_UNPARALLEL = np.radians(0.02)
"""How far from parallel the faces of a planed board are, one standard deviation (common practice, no source)."""


def check_in_plane(plane: PlaneMap, end: FoundEnd, walls: tuple[Wall, ...]) -> tuple[Kind, ...]:
    """Warnings about the card's tilt. Raises CannotMeasure `card_not_in_plane` when the evidence is firm."""
    lever = plane.distance_mm / end.thickness
    along = np.degrees(abs(end.unparallel) * lever)
    along_u95 = 2.0 * np.degrees(np.hypot(end.unparallel_u, _BOARD_UNPARALLEL) * lever)
    across, firm = _fan(plane, walls)
    if along - along_u95 > _REFUSED_DEG or (firm and across > _REFUSED_FAN_DEG):
        raise refuse(
            "card_not_in_plane", f"It seems tilted by about {max(along, across if firm else 0.0):.0f} degrees."
        )
    if along - along_u95 > _DOUBTED_DEG or (firm and across > _DOUBTED_FAN_DEG):
        return (WARNINGS["card_tilt_suspected"],)
    return ()


def _fan(plane: PlaneMap, walls: tuple[Wall, ...]) -> tuple[float, bool]:
    """Tilt (deg) that would fan the walls out as they do, and whether that is more than their own scatter."""
    if len(walls) < 4:
        return 0.0, False
    x = np.array([(wall.x_show.value + wall.x_transfer.value) / 2.0 for wall in walls])
    lean = np.array([wall.lean.value for wall in walls])
    centred = x - x.mean()
    slope = float(centred @ lean / (centred @ centred))
    left = lean - lean.mean() - slope * centred
    freedom = len(walls) - 2
    slope_u = float(np.sqrt(left @ left / freedom / (centred @ centred)))
    firm = abs(slope) > _FAN_T.get(freedom, _FAN_T_MANY) * slope_u
    return abs(slope) * plane.distance_mm, firm
