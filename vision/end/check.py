"""One photo of an end, measured: card, plane, end, walls, and every number with its uncertainty."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial

import numpy as np
from numpy.typing import NDArray

from calibration.card import Card
from calibration.plane import PlaneMap
from calibration.prints.known import NOTHING_KNOWN, Known
from calibration.quantity import COVERAGE_FACTOR, angle_of
from vision.end.end_focus import check_end_in_focus
from vision.end.found_end import FoundEnd
from vision.end.locate import Located, locate
from vision.end.pairing import check_across, pin_doubts
from vision.end.report import CardSide, Corrections, Measurement, Placement, Stage, Wall
from vision.end.sides import Side, cleared_sides, doubts, sawn_sides
from vision.end.uncertainty import EndPoints, EndQuantities, end_quantities, print_cost
from vision.lie.card_lie import TiltedView
from vision.lie.find_lie import FoundLie, find_lie
from vision.lie.in_plane import check_in_plane
from vision.photo.card_turn import Facing, quarter_turns
from vision.photo.edge_profile import EdgeProfile
from vision.photo.good_photo import GoodPhoto
from vision.photo.photo import Photo
from vision.photo.strip import ToImage
from vision.walls.bands import cut_bands
from vision.walls.flags import flags_of, kerf_mm
from vision.walls.measure import Cutter, MeasuredWall, Measurer, measure_walls
from vision.walls.placed import Sight, ToldRow, ToldWall, told_row
from vision.walls.shared import Overhead
from vision.walls.tones import coarse

Floats = NDArray[np.float64]


def measure_end(
    photo: Photo,
    *,
    stage: Stage | None = None,
    card_side: CardSide = "show",
    known: Known = NOTHING_KNOWN,
    told: Sequence[ToldWall] = (),
) -> Measurement:
    """Everything measured on the end in `photo`.

    `stage` None lets the photo tell; `card_side` says along which face the card stands; `known` is what was measured
    beforehand; `told` is the row of walls as a person corrected it, empty for the program's own. Raises CannotMeasure
    with one of `outcome.REFUSALS`.
    """
    good = GoodPhoto.of(photo, known)
    plane = good.plane
    place = locate(photo.rgb, plane, good.card, card_side, stage)
    end, found = told_from_show_face(place.end, card_side), place.walls
    scale = px_per_mm(plane, end)
    check_end_in_focus(photo.rgb, plane, end, found.walls, good.profile, scale)
    seen = wall_measurer(photo, plane, end, good.profile)(band_cutter(photo, plane, end), found.walls)
    row = told_row(told, seen, _sight(plane, end, scale, good.profile.blur)) if told else ToldRow(seen, {}, ())
    walls = row.walls
    left, right = _sides(photo, plane, good.card, place, end, walls)
    shape = EndPoints.of(end, walls, left, right)
    lie_of = partial(_lie_of, plane, end, left, right, known)
    lie = lie_of(walls)
    results = tuple(_wall(wall, index, lie.numbers) for index, wall in enumerate(walls))
    warnings = good.warnings(scale, cleared=found.stage == "cleared")
    warnings += check_in_plane(lie, [wall.lean for wall in results])
    if not told:  # walls that a person placed are where they are
        check_across([wall.lean.value for wall in results])
    warnings += found.doubts + pin_doubts([wall.wall for wall in walls])
    warnings += doubts((left, right)) if found.stage == "sawn" else ()
    return Measurement(
        found.stage,
        scale,
        good.tilt,
        good.solved.view,
        lie.numbers.width,
        lie.numbers.thickness,
        results,
        end_to_image(plane, shape, lie),
        warnings,
        print_cost(plane, shape, end_quantities(plane, end, walls, left, right)),
        _placement(photo, shape, place.edge, card_side),
        _corrections(row, seen, lie_of),
        (photo.width_px, photo.height_px),
        px_per_mm_u95(plane, end),
    )


def px_per_mm(plane: PlaneMap, end: FoundEnd) -> float:
    """The picture's scale in the middle of the end."""
    return plane.px_per_mm(_middle(end))


def px_per_mm_u95(plane: PlaneMap, end: FoundEnd) -> float:
    """Expanded uncertainty of that scale."""
    return COVERAGE_FACTOR * plane.px_per_mm_u(_middle(end))


def _middle(end: FoundEnd) -> Floats:
    """The middle of the end (2,) in the plane, mm."""
    middle = np.array([[(end.left + end.right) / 2.0, end.thickness / 2.0]])
    return np.asarray(end.frame.to_plane(middle)[0])


def band_cutter(photo: Photo, plane: PlaneMap, end: FoundEnd) -> Cutter:
    """What cuts bands across walls of this end, at the photo's own scale."""
    return partial(cut_bands, photo.rgb, plane.to_image, end.frame, end.thickness, px_per_mm(plane, end))


def wall_measurer(photo: Photo, plane: PlaneMap, end: FoundEnd, profile: EdgeProfile) -> Measurer:
    """What measures walls of this end from such bands, by the photo's `profile` in px."""
    scale = px_per_mm(plane, end)
    profile_mm = profile.scaled(1.0 / scale)
    return partial(
        measure_walls,
        profile=profile_mm,
        overhead=Overhead.over(plane, end.frame, end.thickness),
        colour=coarse(profile_mm, 1.0 / scale) if photo.coarse_colour else None,
    )


def _sides(
    photo: Photo, plane: PlaneMap, card: Card, place: Located, end: FoundEnd, walls: list[MeasuredWall]
) -> tuple[Side, Side]:
    if place.walls.stage == "sawn":
        return sawn_sides(photo.rgb, plane, end)
    places = np.array([wall.line.at(0.0) for wall in walls])
    return cleared_sides(photo.rgb, plane, Facing.by(plane, card, place.edge), end.frame, places, end.thickness)


def _wall(wall: MeasuredWall, index: int, numbers: EndQuantities) -> Wall:
    x_show, x_transfer = numbers.x_show[index], numbers.x_transfer[index]
    out_of_square = x_transfer - x_show
    return Wall(
        wall.wall.tail,
        wall.wall.side,
        angle_of(out_of_square, numbers.thickness.value),
        x_show,
        x_transfer,
        out_of_square,
        squareness_zone_mm(wall),
        kerf_mm(wall),
        flags_of(wall),
    )


def _lie_of(
    plane: PlaneMap, end: FoundEnd, left: Side, right: Side, known: Known, walls: list[MeasuredWall]
) -> FoundLie:
    """The card's lie, and the numbers corrected for it, if these are the walls."""
    return find_lie(partial(end_quantities, plane, end, walls, left, right), left, known)


def _sight(plane: PlaneMap, end: FoundEnd, px_per_mm: float, blur_px: float) -> Sight:
    """How a person sees this end in its photo."""
    return Sight(lambda px: end.frame.from_plane(plane.to_plane(px)), end.thickness, px_per_mm, blur_px)


def _corrections(
    row: ToldRow, seen: list[MeasuredWall], lie_of: Callable[[list[MeasuredWall]], FoundLie]
) -> Corrections:
    """What a person changed of the walls `seen`, with the numbers that they had."""
    if not row.was and not row.left_out:
        return Corrections()
    numbers = lie_of(seen).numbers
    before = [_wall(wall, index, numbers) for index, wall in enumerate(seen)]
    placed = {index: None if was is None else before[was] for index, was in row.was.items()}
    return Corrections(placed, tuple(before[index] for index in row.left_out))


def squareness_zone_mm(wall: MeasuredWall) -> float:
    """Width (mm) of the zone square to the datum that holds the edge (ISO 1101); lone points are calmed."""
    around = np.pad(wall.x, 1, mode="reflect", reflect_type="odd")
    return float(np.ptp(np.median(np.stack([around[:-2], wall.x, around[2:]]), axis=0)))


def _placement(photo: Photo, shape: EndPoints, edge: int, side: CardSide) -> Placement:
    middle = shape.points[4:].mean(axis=0)
    heading = math.degrees(math.atan2(shape.frame.right[1], shape.frame.right[0]))
    lens = photo.lens
    focal = "" if lens.focal_px is None else f"{lens.focal_px / max(photo.width_px, photo.height_px):.3f}"
    camera = " ".join(filter(None, (lens.make, lens.model, lens.lens, focal)))
    return Placement(edge, quarter_turns(shape.frame), side, (float(middle[0]), float(middle[1])), heading, camera)


def end_to_image(plane: PlaneMap, shape: EndPoints, found: FoundLie) -> ToImage:
    """From the end frame, as the numbers have it, to the photo: past the corrected left side and the card's lie."""
    view = TiltedView(plane, shape.middle_frame, found.lie)
    frame = shape.frame_of(view.true_points(shape.points))
    shift = np.array([found.left_shift_mm, 0.0])
    return lambda points: plane.to_image(view.seen_points(frame.to_plane(np.asarray(points, float) + shift)))


def told_from_show_face(end: FoundEnd, card_side: CardSide) -> FoundEnd:
    """The end with the angle between its faces, found from the card's side, told from the show face."""
    return end if card_side == "show" else replace(end, unparallel=-end.unparallel)
