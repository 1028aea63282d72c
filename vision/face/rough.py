"""A face before it is measured: from which side to which it reaches, its stage, its walls and its baseline, roughly."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from calibration.outcome import refuse
from vision.end.find_walls import Cut, Run
from vision.end.report import Stage, narrowing
from vision.end.stage import check_told_stage
from vision.face.baseline import RoughLine, find_baseline
from vision.face.cuts import RoughKerf, find_slanted_cuts, kerfs_of_cuts, stage_on_face
from vision.face.sides import is_side, side_of_sawn
from vision.face.strip import FaceStrip
from vision.face.tail_sides import Slants, Tails, whole_tails

_OUTERMOST_MM = 1.0
"""A cut this close to the board's side is the side's own shadow."""
_NARROWEST_TAIL_MM = 2.5
"""A tail narrower than this at its root is none."""
_WIDENING = 0.06
"""Slope of tails that grow wider away from the end, as those of no joint do, beyond what a hand strays from square."""
_LINE_BESIDE_MM = 0.3
"""How far from a kerf, with lines drawn beside it, the wood is taken for bare."""


class RoughFace(NamedTuple):
    """The face from side to side, its stage, its walls and the baseline before they are measured."""

    face: FaceStrip
    stage: Stage
    kerfs: list[RoughKerf]
    baseline: RoughLine


def rough_face(face: FaceStrip, stage: Stage | None) -> RoughFace:
    """What shows on a face; `stage` None lets the photo tell.

    Raises CannotMeasure `stage_contradicted`, `no_face`, `no_kerfs_on_face`, `kerfs_do_not_pair`, `no_baseline`.
    """
    face, found, kerfs = _walls(face, stage)
    baseline = _baseline(face, kerfs if found == "sawn" else [])
    _check_tails(kerfs, baseline.at(kerfs[0].x_mm))
    return RoughFace(face, found, kerfs, baseline)


def _walls(face: FaceStrip, stage: Stage | None) -> tuple[FaceStrip, Stage, list[RoughKerf]]:
    runs, cuts = face.edge.runs, _cuts(face)
    seen = _between(cuts, runs[0][0] - _OUTERMOST_MM, runs[-1][1] + _OUTERMOST_MM)
    check_told_stage(stage, runs, seen)
    tails = _tails(face)
    found = stage or _stage(runs, seen, tails)
    if found == "cleared":
        if tails is None:
            raise refuse("no_face")
        return face, found, tails.sides
    if tails and tails.sawn and len(seen) != len(tails.sides) and tails.cuts():
        seen = cuts = tails.cuts()
    if not seen:
        raise refuse("no_kerfs_on_face")
    face = _from_side_to_side(face, seen)
    cuts = _between(cuts, face.edge.runs[0][0] + _OUTERMOST_MM, face.edge.runs[-1][1] - _OUTERMOST_MM)
    if len(cuts) % 2:
        raise refuse("kerfs_do_not_pair", f"{len(cuts)} were found on this face.")
    return face, found, kerfs_of_cuts(face.strip, cuts)


def _tails(face: FaceStrip) -> Tails | None:
    """Whole tails; where lines of a bench beside the board leave none, those where the end's edge was seen."""
    runs = face.edge.runs
    slants = Slants.of(face.strip, _baseline(face, []).level)
    within = runs[0][0] - _OUTERMOST_MM, runs[-1][1] + _OUTERMOST_MM
    return whole_tails(slants) or whole_tails(replace(slants, between=within))


def _stage(runs: list[Run], cuts: list[Cut], tails: Tails | None) -> Stage:
    """By the kerfs beside whole tails, where there are such; else as on the end."""
    if tails is not None and tails.sawn:
        return "sawn"
    found = stage_on_face(runs, cuts)
    return "cleared" if tails is not None and not tails.cut_by(cuts) else found


def _cuts(face: FaceStrip) -> list[Cut]:
    """The cuts on and beside the face, without the dark marks at the ends of its edge that are its sides' shadows."""
    ends = face.edge.runs[0][0], face.edge.runs[-1][1]
    sides = [end for end in ends if is_side(face.strip, face.seen, end)]
    cuts = find_slanted_cuts(face.strip)
    return [cut for cut in cuts if all(abs(cut.middle - side) > _OUTERMOST_MM for side in sides)]


def _between(cuts: list[Cut], first: float, last: float) -> list[Cut]:
    return [cut for cut in cuts if first < cut.middle < last]


def _from_side_to_side(face: FaceStrip, cuts: list[Cut]) -> FaceStrip:
    """A sawn face whose end's edge is taken to reach to the board's sides, wherever it was lost or went on."""
    (first, after), (before, last) = face.edge.runs[0], face.edge.runs[-1]
    left = side_of_sawn(face.strip, face.seen, cuts[0].left, -1.0, first)
    right = side_of_sawn(face.strip, face.seen, cuts[-1].right, 1.0, last)
    runs = [(left, after), *face.edge.runs[1:-1], (before, right)] if len(face.edge.runs) > 1 else [(left, right)]
    return replace(face, edge=replace(face.edge, runs=runs))


def _baseline(face: FaceStrip, kerfs: list[RoughKerf]) -> RoughLine:
    """The rough baseline, by the wood below the end's edge, the cuts left out, and by where cuts stop."""
    strip = face.strip
    wood = np.any([(strip.x > left + 1.0) & (strip.x < right - 1.0) for left, right in face.edge.runs], axis=0)
    whole = np.tile(wood, (len(strip.y), 1))
    for kerf in kerfs:
        half = (kerf.kerf_mm or 0.0) / 2.0
        middle = kerf.x_mm + kerf.slope * strip.y - narrowing(kerf.side) * half
        whole &= np.abs(strip.x - middle[:, None]) > half + _LINE_BESIDE_MM
    stops = np.array([kerf.stop_mm for kerf in kerfs if kerf.stop_mm is not None])
    return find_baseline(strip, face.seen, whole, stops)


def _check_tails(kerfs: list[RoughKerf], depth_mm: float) -> None:
    """Raises CannotMeasure `kerfs_do_not_pair` for tails that no joint has.

    Their walls would meet before the baseline, or cuts touch, or they grow wider away from the end.
    """
    if np.median([narrowing(kerf.side) * kerf.slope for kerf in kerfs]) < -_WIDENING:
        raise refuse("kerfs_do_not_pair", "Between them the wood grows wider away from the end.")
    for number, (one, other) in enumerate(pairwise(kerfs)):
        least = _NARROWEST_TAIL_MM if number % 2 == 0 else (one.kerf_mm or 0.0) + (other.kerf_mm or 0.0)
        apart = [other.x_mm - one.x_mm + (other.slope - one.slope) * depth for depth in (0.0, depth_mm)]
        if min(apart) <= least:
            raise refuse("kerfs_do_not_pair", "Two of them meet above the baseline.")
