"""One photo of a face, measured: card, end's edge, cuts, baseline, and every number with its uncertainty."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from calibration.card import Card
from calibration.outcome import CannotMeasure, refuse
from calibration.prints.known import NOTHING_KNOWN, Known
from calibration.quantity import Quantity, angle_of
from vision.end.report import Side, Stage, narrowing, other_side
from vision.face.bands import Slanted
from vision.face.baseline import BaselineFit, RoughLine, fit_baseline, light_across, pieces_between
from vision.face.baseline_kind import BaselineKind, chances, look_of_line, named
from vision.face.cuts import RoughKerf
from vision.face.kerf_stops import KerfPath, Stop, find_stop
from vision.face.numbers import FaceQuantities, face_quantities, face_to_image
from vision.face.report import PAST_LIMIT_MM, Baseline, FaceKerf, FaceMeasurement, FaceView, StopVerdict
from vision.face.rough import RoughFace, rough_face
from vision.face.shape import FaceParts, FaceWall
from vision.face.sides import LongEdge, long_edge, side_beyond, visible_depths
from vision.face.strip import FaceStrip, straightened
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
_DOUBTFUL_ASIDE_MM = 0.15
"""How far a kerf's dark may lie from where its wall has it: drawn lines are narrower than twice that."""
_BELOW_EDGE_MM = 0.5
"""From where below the end's edge, or below the baseline, the board's sides are looked at: clear of its blur."""
_CLEAR_OF_CUT_MM, _CLEAR_OF_SIDE_MM = 0.6, 0.8
"""How far from a cut and from a side the wood is taken for bare."""


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
    rough, parts = _seen(photo, good, stage)
    face, shape = rough.face, parts.shape(view)
    numbers = face_quantities(good.plane, shape)
    return FaceMeasurement(
        view,
        rough.stage,
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


def _seen(photo: Photo, good: GoodPhoto, stage: Stage | None) -> tuple[RoughFace, FaceParts]:
    """The face from the likeliest of its level edges that makes one, roughly and measured; else why the first does not.

    One that makes a face and cannot be measured is the end all the same: others would lie within its tails.
    Raises CannotMeasure with one of `outcome.REFUSALS`.
    """
    refused = refuse("no_face")
    for number, face in enumerate(straightened(photo.rgb, good.plane, good.card, good.profile)):
        try:
            rough = rough_face(face, stage)
        except CannotMeasure as error:
            refused = error if number == 0 else refused
            continue
        return rough, _measured(rough)
    raise refused


def _measured(rough: RoughFace) -> FaceParts:
    """Baseline, walls, stops and sides in the strip's frame."""
    face, kerfs, sawn = rough.face, rough.kerfs, rough.stage == "sawn"
    baseline = _baseline(face, kerfs, rough.baseline)
    walls, slanted = _walls(face, kerfs, baseline)
    lines = [slanted.line_of(wall) for wall in walls]
    stops = [_stop(face, wall, line, slanted, baseline) for wall, line in zip(walls, lines, strict=True)]
    finished = [
        FaceWall(wall.wall.tail, wall.wall.side, _doubted(line, stop), stop, kerf_mm(wall))
        for wall, line, stop in zip(walls, lines, stops, strict=True)
    ]
    sides = _sides(face, sawn, lines, slanted.depth_mm, baseline)
    return FaceParts(face.edge.frame, slanted.depth_mm, finished, sides, baseline)


def _baseline(face: FaceStrip, kerfs: list[RoughKerf], rough: RoughLine) -> BaselineFit:
    """The baseline measured between the cuts; with the waste out, on the tails."""
    borders = [kerf.x_mm + kerf.slope * rough.at(kerf.x_mm) for kerf in kerfs]
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
        first, rough = _BELOW_EDGE_MM, LongEdge(x, 0.0)
        if not sawn:
            first += baseline.line.at(x)
            rough = side_beyond(face.strip, face.seen, line.at(depth_mm / 2.0), outward, first)
        between = visible_depths(face.seen, face.strip, rough.x, first)
        edge = long_edge(face.rgb, face.plane, face.edge.frame, rough.x, inner, between)
        edges.append(LongEdge(edge.x, float(np.hypot(edge.u, rough.u))))
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
