"""A made-up measurement with walls as a person told them, for tests that do not measure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from tests.vision.photos import HEIGHT_PX, ORIGIN_PX, PX_PER_MM, WIDTH_PX
from vision.end.report import Corrections, Measurement, Wall
from vision.walls.placed import ToldWall


def with_told(found: Measurement, told: Sequence[ToldWall]) -> Measurement:
    """The measurement of `photos.measurement` with those walls in place of its own; all of them must be there."""
    found = replace(found, size_px=(WIDTH_PX, HEIGHT_PX))
    if not told:
        return found
    pairs = list(zip(found.walls, told, strict=True))
    placed = {index: wall for index, (wall, line) in enumerate(pairs) if line.zoom is not None}
    walls = tuple(wall if line.zoom is None else _placed(wall, line) for wall, line in pairs)
    return replace(found, walls=walls, corrections=Corrections(placed))


def _placed(wall: Wall, line: ToldWall) -> Wall:
    """The wall moved, by the photo's one scale, to where its ends were placed."""
    show_mm, transfer_mm = (line.ends_px[:, 0] - ORIGIN_PX[0]) / PX_PER_MM
    out = wall.out_of_square - wall.out_of_square.value + float(transfer_mm - show_mm)
    lean_deg = float(np.degrees(np.arctan2(transfer_mm - show_mm, np.ptp(line.ends_px[:, 1]) / PX_PER_MM)))
    return replace(
        wall,
        lean=wall.lean - wall.lean.value + lean_deg,
        x_show=wall.x_show - wall.x_show.value + float(show_mm),
        x_transfer=wall.x_transfer - wall.x_transfer.value + float(transfer_mm),
        out_of_square=out,
        kerf_mm=None,
        flags=("placed_by_hand",),
    )
