"""The stage: whether the waste is in, by the runs of the end's surface and the saw cuts through it."""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from calibration.outcome import refuse
from vision.end.find_walls import SAME_SAW, Cut, Run, log_widths
from vision.end.report import Stage

_WIDEST_BROKEN_MM = 2.2
"""A gap in the surface narrower than this may be a kerf with broken edges."""
_TO_KERF_MM = 0.75
"""How far a kerf may be from the end of a gap in the surface that it makes, alone or with another one."""
_FEWEST_CUTS = 2
"""Cuts seen through the surface itself without which gaps are sockets, whatever lies at their ends."""


def stage_of(runs: list[Run], kerfs: list[Cut]) -> Stage:
    """`cleared` when the surface falls apart into tails; `sawn` when more cuts run through it than it has sockets."""
    sockets, through = _sockets_and_cuts(runs, kerfs)
    return "cleared" if sockets and through <= sockets else "sawn"


def check_told_stage(told: Stage | None, runs: list[Run], kerfs: list[Cut]) -> None:
    """Raises CannotMeasure `stage_contradicted` when the surface firmly shows the other stage than was `told`.

    Where both show, the photo leaves it open and the told stage holds.
    """
    sockets, through = _sockets_and_cuts(runs, kerfs)
    if told == "cleared" and through >= max(_FEWEST_CUTS, 2 * sockets):
        raise refuse("stage_contradicted", f"It was told as cleared, but {through} saw cuts run through it.")
    if told == "sawn" and sockets and through < _FEWEST_CUTS:
        raise refuse("stage_contradicted", f"It was told as sawn, but open sockets part it into {len(runs)} tails.")


def _sockets_and_cuts(runs: list[Run], kerfs: list[Cut]) -> tuple[int, int]:
    """How many open sockets part the surface, and how many saw cuts run through it."""
    gaps = [(before[1], after[0]) for before, after in pairwise(runs)]
    sockets = [gap for gap in gaps if not any(_kerf_in_gap(cut, gap) for cut in kerfs)]
    through = [cut for cut in kerfs if any(_in_surface(cut, run) for run in runs)]
    through += [cut for cut in kerfs if any(_kerf_in_gap(cut, gap) for gap in gaps)]
    if sockets and len(through) >= _FEWEST_CUTS and all(_made_by_kerfs(gap, kerfs) for gap in sockets):
        return 0, len(kerfs)
    return len(sockets), len(through)


def _in_surface(cut: Cut, run: Run) -> bool:
    return run[0] + 0.6 < cut.middle < run[1] - 0.6


def _made_by_kerfs(gap: Run, kerfs: list[Cut]) -> bool:
    """Whether a gap in the surface is a kerf, or two alike and the waste between, hatched too darkly to look like wood.

    Dark lines on either side of a socket look like that, too, but not in every socket of a board.
    """
    inside = [cut for cut in kerfs if gap[0] <= cut.middle <= gap[1]]
    if len(inside) not in (1, 2) or np.ptp(log_widths(inside)) > SAME_SAW:
        return False
    return inside[0].left - gap[0] < _TO_KERF_MM and gap[1] - inside[-1].right < _TO_KERF_MM


def _kerf_in_gap(cut: Cut, gap: Run) -> bool:
    """Whether a narrow gap in the surface is a kerf with broken edges: a dark mark much narrower than the gap."""
    width = gap[1] - gap[0]
    return gap[0] <= cut.middle <= gap[1] and cut.width < 0.6 * width and width < _WIDEST_BROKEN_MM
