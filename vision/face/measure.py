"""One photo of a face, measured: card, end's edge, cuts, baseline, and every number with its uncertainty."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from calibration.card import Card
from calibration.outcome import refuse
from calibration.prints.known import NOTHING_KNOWN, Known
from calibration.quantity import Quantity, angle_of
from vision.end.find_walls import Cut
from vision.end.report import Side, Stage, narrowing, other_side
from vision.end.stage import check_told_stage
from vision.face.bands import Slanted
from vision.face.baseline import BaselineFit, find_baseline, fit_baseline, light_across, pieces_between
from vision.face.baseline_kind import BaselineKind, chances, look_of_line, named
from vision.face.cuts import RoughKerf, find_slanted_cuts, kerfs_of_cuts, stage_on_face
from vision.face.kerf_stops import KerfPath, Stop, find_stop
from vision.face.numbers import FaceQuantities, face_quantities, face_to_image
from vision.face.report import PAST_LIMIT_MM, Baseline, FaceKerf, FaceMeasurement, FaceView, StopVerdict
from vision.face.shape import FaceParts, FaceWall
from vision.face.sides import LongEdge, is_side, long_edge, side_beyond, side_of_sawn, visible_depths
from vision.face.strip import FaceStrip, straighten
from vision.face.tail_sides import kerfs_of_tails, sockets_show
from vision.joint.decision import decide, from_quantity
from vision.photo.good_photo import GoodPhoto
from vision.photo.photo import Photo
from vision.photo.quality import white_light
from vision.walls.fit import LineFit
from vision.walls.flags import kerf_mm
from vision.walls.measure import MeasuredWall, measure_walls
from vision.walls.shared import Overhead

Floats = NDArray[np.float64]

_USUAL_KERF_MM = 0.55
_NOTHING_BELOW_MM = 1e9
"""Depth of the bench below an open socket as far as drawn lines on it matter: none are there."""
_OUTERMOST_MM = 1.0
"""A cut this close to the board's side is the side's own shadow."""
_DOUBTFUL_ASIDE_MM = 0.15
"""How far a kerf's dark may lie from where its wall has it: drawn lines are narrower than twice that."""
_NARROWEST_TAIL_MM = 2.5
"""A tail narrower than this at its root is none."""
_BELOW_EDGE_MM = 0.5
"""From where below the end's edge, or below the baseline, the board's sides are looked at: clear of its blur."""
_CLEAR_OF_CUT_MM, _CLEAR_OF_SIDE_MM, _LINE_BESIDE_MM = 0.6, 0.8, 0.3
"""How far from a cut, from a side, and from a kerf with lines drawn beside it, the wood is taken for bare."""


def measure_face(
    photo: Photo,
    view: FaceView,
    *,
    stage: Stage | None = None,
    known: Known = NOTHING_KNOWN,
    past_limit_mm: float = PAST_LIMIT_MM,
) -> FaceMeasurement:
    """Everything measured on the face in `photo`, the card lying on it or beside it.

    `view` tells which face it is, `stage` None lets the photo tell, `known` is what was measured beforehand. Raises
    CannotMeasure with one of `outcome.REFUSALS`.
    """
    good = GoodPhoto.of(photo, known)
    face = straighten(photo.rgb, good.plane, good.card, good.profile)
    face, found, kerfs = _rough(face, stage)
    parts = _measured(face, kerfs)
    shape = parts.shape(view)
    numbers = face_quantities(good.plane, shape)
    return FaceMeasurement(
        view,
        found,
        face.unit,
        good.tilt,
        good.solved.view,
        numbers.width,
        _baseline_report(numbers, parts.baseline, _kinds(face, parts.baseline, good.card)),
        _kerfs(view, parts.walls, numbers, past_limit_mm),
        face_to_image(good.plane, shape),
        past_limit_mm,
        good.warnings(face.unit),
    )


def stop_verdict(past: Quantity, limit_mm: float) -> StopVerdict:
    """Past the baseline, short of it, or at it, each only by more than U (ISO 14253-1)."""
    beyond, short = decide(from_quantity(past), limit_mm), decide(from_quantity(-past), limit_mm)
    if beyond == "missed":
        return "past the baseline"
    if short == "missed":
        return "stops short"
    return "at the baseline" if beyond == short == "met" else "too close to call"


def _rough(face: FaceStrip, stage: Stage | None) -> tuple[FaceStrip, Stage, list[RoughKerf]]:
    """The face from side to side, stage and rough walls.

    Raises CannotMeasure `no_kerfs_on_face`, `kerfs_do_not_pair`, `no_baseline`.
    """
    runs, cuts = face.edge.runs, _cuts(face)
    seen = _between(cuts, runs[0][0] - _OUTERMOST_MM, runs[-1][1] + _OUTERMOST_MM)
    check_told_stage(stage, runs, seen)
    found = stage or stage_on_face(runs, seen)
    if stage is None and found == "sawn" and sockets_show(face.strip, runs, seen, _rough_baseline(face, [])[0]):
        found = "cleared"
    if found == "cleared":
        return face, found, kerfs_of_tails(face.strip, runs, _rough_baseline(face, [])[0])
    if not seen:
        raise refuse("no_kerfs_on_face")
    face = _from_side_to_side(face, seen)
    cuts = _between(cuts, face.edge.runs[0][0] + _OUTERMOST_MM, face.edge.runs[-1][1] - _OUTERMOST_MM)
    if len(cuts) % 2:
        raise refuse("kerfs_do_not_pair", f"{len(cuts)} were found on this face.")
    return face, found, kerfs_of_cuts(face.strip, cuts)


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


def _rough_baseline(face: FaceStrip, kerfs: list[RoughKerf]) -> tuple[float, float]:
    """The rough baseline y = a + b x, by the wood below the end's edge, the cuts left out, and by where cuts stop."""
    strip = face.strip
    wood = np.any([(strip.x > left + 1.0) & (strip.x < right - 1.0) for left, right in face.edge.runs], axis=0)
    whole = np.tile(wood, (len(strip.y), 1))
    for kerf in kerfs:
        half = (kerf.kerf_mm or 0.0) / 2.0
        middle = kerf.x_mm + kerf.slope * strip.y - narrowing(kerf.side) * half
        whole &= np.abs(strip.x - middle[:, None]) > half + _LINE_BESIDE_MM
    stops = np.array([kerf.stop_mm for kerf in kerfs if kerf.stop_mm is not None])
    y, slope = find_baseline(strip, face.seen, whole, stops)
    return y - slope * float(strip.x.mean()), slope


def _measured(face: FaceStrip, kerfs: list[RoughKerf]) -> FaceParts:
    """Baseline, walls, stops and sides in the strip's frame."""
    sawn = kerfs[0].kerf_mm is not None
    rough = _rough_baseline(face, kerfs if sawn else [])
    _check_tails(kerfs, rough[0] + rough[1] * kerfs[0].x_mm)
    baseline = _baseline(face, kerfs, rough)
    walls, slanted = _walls(face, kerfs, baseline)
    lines = [slanted.line_of(wall) for wall in walls]
    stops = [_stop(face, wall, line, slanted, baseline) for wall, line in zip(walls, lines, strict=True)]
    finished = [
        FaceWall(wall.wall.tail, wall.wall.side, _doubted(line, stop), stop, kerf_mm(wall))
        for wall, line, stop in zip(walls, lines, stops, strict=True)
    ]
    sides = _sides(face, sawn, lines, slanted.depth_mm, baseline)
    return FaceParts(face.edge.frame, slanted.depth_mm, finished, sides, baseline)


def _check_tails(kerfs: list[RoughKerf], depth_mm: float) -> None:
    """Raises CannotMeasure `kerfs_do_not_pair` when walls would meet before the baseline, or cuts touch."""
    for number, (one, other) in enumerate(pairwise(kerfs)):
        least = _NARROWEST_TAIL_MM if number % 2 == 0 else (one.kerf_mm or 0.0) + (other.kerf_mm or 0.0)
        apart = [other.x_mm - one.x_mm + (other.slope - one.slope) * depth for depth in (0.0, depth_mm)]
        if min(apart) <= least:
            raise refuse("kerfs_do_not_pair", "Two of them meet above the baseline.")


def _baseline(face: FaceStrip, kerfs: list[RoughKerf], rough: tuple[float, float]) -> BaselineFit:
    """The baseline measured between the cuts; with the waste out, on the tails."""
    borders = [kerf.x_mm + kerf.slope * (rough[0] + rough[1] * kerf.x_mm) for kerf in kerfs]
    clear = [_CLEAR_OF_CUT_MM + (kerf.kerf_mm or 0.0) for kerf in kerfs]
    first = 0
    if kerfs[0].kerf_mm is not None:
        borders = [face.edge.runs[0][0], *borders, face.edge.runs[-1][1]]
        clear, first = [_CLEAR_OF_SIDE_MM, *clear, _CLEAR_OF_SIDE_MM], 1
    step = 2 - first
    pieces = [
        pieces_between(borders[i] + clear[i], borders[i + 1] - clear[i + 1]) for i in range(0, len(borders) - 1, step)
    ]
    return fit_baseline(
        face.rgb, face.plane.to_image, face.edge.frame, np.concatenate(pieces), rough, face.profile, face.unit
    )


def _walls(face: FaceStrip, kerfs: list[RoughKerf], baseline: BaselineFit) -> tuple[list[MeasuredWall], Slanted]:
    """The walls measured along bands that end before the baseline."""
    depth = baseline.line.at(float(np.mean([kerf.x_mm for kerf in kerfs])))
    nadir = float(face.edge.frame.from_plane(face.plane.nadir_mm[None])[0, 0])
    slanted = Slanted.of(kerfs, depth, (nadir, face.plane.distance_mm))
    walls = measure_walls(
        lambda walls: slanted.cut(face.rgb, face.plane.to_image, face.edge.frame, face.unit, walls),
        slanted.walls(kerfs),
        face.profile,
        Overhead(nadir, face.plane.distance_mm, _NOTHING_BELOW_MM),
    )
    return walls, slanted


def _stop(face: FaceStrip, wall: MeasuredWall, line: LineFit, slanted: Slanted, baseline: BaselineFit) -> Stop:
    x, kerf = line.at(-slanted.depth_mm / 2.0), kerf_mm(wall)
    crossing = baseline.line.at(x) / (1.0 - baseline.line.slope * line.slope)
    path = KerfPath(x, line.slope, -narrowing(wall.wall.side), kerf or _USUAL_KERF_MM, crossing)
    return find_stop(face.rgb, face.to_image, path, face.profile, face.unit, open_socket=kerf is None)


def _doubted(line: LineFit, stop: Stop) -> LineFit:
    """The wall's line, less sure when the kerf's dark does not lie beside it: one of them is a drawn line."""
    if abs(stop.aside_mm) < _DOUBTFUL_ASIDE_MM:
        return line
    return replace(line, level_u=float(np.hypot(line.level_u, stop.aside_mm)))


def _sides(
    face: FaceStrip, sawn: bool, lines: list[LineFit], depth_mm: float, baseline: BaselineFit
) -> tuple[LongEdge, LongEdge]:
    """The board's long edges left and right of the frame."""
    runs = face.edge.runs
    inner = (runs[0][0] + runs[-1][1]) / 2.0
    edges = []
    for line, outward, x in ((lines[0], -1.0, runs[0][0]), (lines[-1], 1.0, runs[-1][1])):
        first = _BELOW_EDGE_MM
        if not sawn:
            first += baseline.line.at(x)
            x = side_beyond(face.strip, face.seen, line.at(depth_mm / 2.0), outward, first)
        between = visible_depths(face.seen, face.strip, x, first)
        edges.append(long_edge(face.rgb, face.plane, face.edge.frame, x, inner, between))
    return edges[0], edges[1]


def _kinds(face: FaceStrip, fit: BaselineFit, card: Card) -> dict[BaselineKind, float]:
    """The chances of what drew the baseline."""
    line = fit.line.at(0.0), fit.line.slope
    y, light = light_across(face.rgb, face.plane.to_image, face.edge.frame, fit.pieces, line, face.unit)
    return chances(look_of_line(light, y, white_light(face.rgb, face.plane, card), fit.width_mm))


def _baseline_report(numbers: FaceQuantities, fit: BaselineFit, kinds: dict[BaselineKind, float]) -> Baseline:
    at = numbers.depth_left, numbers.depth_right, numbers.out_of_square
    return Baseline(*at, fit.straightness_mm, fit.width_mm, named(kinds), kinds)


def _kerfs(view: FaceView, walls: list[FaceWall], numbers: FaceQuantities, limit_mm: float) -> tuple[FaceKerf, ...]:
    """The kerfs in the order of the end: the transfer face is told from its other side."""
    kerfs = []
    for index, wall in enumerate(walls):
        tail, side = wall.tail, wall.side
        if view == "transfer":
            tail, side = len(walls) // 2 - 1 - tail, other_side(side)
        kerfs.append(_kerf(tail, side, wall, numbers, index, limit_mm))
    return tuple(kerfs if view == "show" else kerfs[::-1])


def _kerf(tail: int, side: Side, wall: FaceWall, numbers: FaceQuantities, index: int, limit_mm: float) -> FaceKerf:
    slope, past = numbers.slope[index], numbers.past_baseline[index]
    verdict: StopVerdict = stop_verdict(past, limit_mm) if wall.stop.seen else "too close to call"
    places = numbers.x_at_end[index], slope, angle_of(slope), numbers.stop_depth[index], past
    return FaceKerf(tail, side, *places, verdict, wall.kerf_mm)
