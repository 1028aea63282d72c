"""Where light has burnt the end's surface out, so that a saw cut or a wall there could not be seen."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from calibration.outcome import refuse
from vision.end.find_walls import MOST_OF_IT, WIDEST_KERF_MM, EndStrip, RoughWall, Run, stretches
from vision.photo.quality import BURNT_WHITE
from vision.walls.bands import ACROSS_MM

_DEEPEST = 1.0 - MOST_OF_IT
"""Share of the thickness that may be burnt out: a cut still shows dark along as much of it as a cut must."""
_SHORTEST_MM = WIDEST_KERF_MM
"""A burnt stretch as long as this has room for a whole kerf."""


def burnt_stretches(strip: EndStrip, left: float, right: float) -> list[Run]:
    """Stretches (mm) from `left` to `right` that could hide a kerf: all three channels are clipped, that far and deep.

    Bright wood alone is not: its blue stays well below its red, and the card is burnt out before it is.
    """
    first, last = np.searchsorted(strip.x, [left, right])
    if strip.wood is None or last - first < 2:
        return []
    limits = (BURNT_WHITE / strip.wood).astype(np.float32)
    channels = np.moveaxis(strip.light[:, first:last], 2, 0)
    burnt = np.logical_and.reduce([channel >= limit for channel, limit in zip(channels, limits, strict=True)])
    x = strip.x[first:last]
    runs = [(float(x[a]), float(x[b])) for a, b in stretches(burnt.mean(axis=0) > _DEEPEST)]
    return [run for run in runs if run[1] - run[0] >= _SHORTEST_MM]


def hidden_cuts(strip: EndStrip, left: float, right: float, start: float) -> str:
    """A sentence on where from `left` to `right` light could hide a cut, or none; the show face's left end lies at
    `start`. All in mm.
    """
    return _words(burnt_stretches(strip, left, right), start, "the left end of the show face")


def check_walls_in_sight(strip: EndStrip, walls: Sequence[RoughWall]) -> None:
    """Raises CannotMeasure `burnt_out` when light lies on a wall of a cleared end, or could hide a whole socket.

    Light amid a tail moves no wall, and hides no socket unless two tails would find room in that one.
    """
    places = [wall.x_mm for wall in walls]
    tails = list(zip(places[::2], places[1::2], strict=True))
    burnt = burnt_stretches(strip, places[0] - ACROSS_MM, places[-1] + ACROSS_MM)
    if bad := [run for run in burnt if not _amid_a_tail(run, tails)]:
        raise refuse("burnt_out", _words(bad, places[0], "the left wall of the first tail"))


def _amid_a_tail(run: Run, tails: list[Run]) -> bool:
    widths = sorted(right - left for left, right in tails)
    for left, right in tails:
        if left + ACROSS_MM < run[0] and run[1] < right - ACROSS_MM:
            narrowest = widths[1] if right - left == widths[0] and len(widths) > 1 else widths[0]
            return len(tails) > 1 and right - left < 2.0 * narrowest
    return False


def _words(burnt: list[Run], first: float, start: str) -> str:
    """Where burnt stretches (mm) are, told from the place `first`, called `start`; empty when there are none."""
    told = " and ".join(f"from {left - first:.0f} to {right - first:.0f} mm" for left, right in burnt)
    return f"Light hides the end {told} from {start}: a cut there could not be seen." if burnt else ""
