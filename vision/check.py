"""One photo of an end, measured: card, plane, end, walls, and every number with its uncertainty."""

from __future__ import annotations

import math
from typing import Literal

import cv2
import numpy as np
from numpy.typing import NDArray

from calibration.card_detect import CardCorners, detect_card
from calibration.outcome import WARNINGS, CannotMeasure, Kind, refuse
from calibration.plane import FOCAL_PRIOR_UNKNOWN, FocalPrior, PlaneMap, robust_sigma, solve_plane
from calibration.quantity import Quantity, Source
from vision.board_sides import Side, cleared_sides, sawn_side
from vision.card_edges import learn_edge_profile
from vision.edge_profile import EdgeProfile
from vision.in_plane import check_in_plane
from vision.locate import FoundEnd, FoundWalls, locate_end, locate_walls
from vision.measure_walls import MeasuredWall, cut_bands, measure_walls
from vision.photo import Photo
from vision.quality import SLANTED_DEG, check_exposure, check_sharpness, check_view, why_no_card
from vision.report import CardView, Measurement, Stage, Wall
from vision.strip import Frame, ToImage
from vision.uncertainty import EndQuantities, end_quantities
from vision.wall_flags import flags_of, kerf_mm

Floats = NDArray[np.float64]

_USUAL_FOCAL_SHARE = 1.0
"""Focal length over the picture's long side when the photo does not tell it: between a wide and a 2x lens."""
_WORST_CORNERS_PX = 1.0
_COARSE_PX_PER_MM = 9.0
_HIDDEN_SHARE = 0.8


def measure_end(
    photo: Photo, *, stage: Stage | None = None, card_side: Literal["show", "transfer"] = "show"
) -> Measurement:
    """Everything measured on the end in `photo`.

    `stage` None lets the photo tell; `card_side` says along which face the card stands. Raises CannotMeasure with one
    of `outcome.REFUSALS`.
    """
    corners, plane, residual_px = _solve_card(photo)
    check_exposure(photo.rgb, plane, corners.card)
    check_view(plane)
    profile, soft = _edge_profile(photo, plane, corners, residual_px)
    end = locate_end(photo.rgb, plane, corners.card, card_side)
    found = locate_walls(end, stage)
    middle = end.frame.to_plane(np.array([[(end.left + end.right) / 2.0, end.thickness / 2.0]]))[0]
    scale = plane.px_per_mm(middle)
    walls = _measure(photo, plane, end, found, profile.scaled(1.0 / scale), scale)
    left, right = _sides(photo, plane, end, found, walls)
    numbers = end_quantities(plane, end, walls, left, right)
    results = tuple(_wall(wall, index, numbers, end) for index, wall in enumerate(walls))
    warnings = _warnings(photo, corners, plane, found, soft, scale) + check_in_plane(plane, end, results)
    return Measurement(
        found.stage,
        scale,
        Quantity(plane.tilt_deg, {Source("card corners and lens"): _tilt_u(plane)}, "deg"),
        CardView(corners.card.kind, len(corners.points_mm), float(np.sqrt(np.mean(residual_px**2)))),
        numbers.width,
        numbers.thickness,
        results,
        _to_image(plane, end.frame, left.x),
        warnings,
    )


def _solve_card(photo: Photo) -> tuple[CardCorners, PlaneMap, Floats]:
    gray = np.asarray(cv2.cvtColor(photo.rgb, cv2.COLOR_RGB2GRAY), np.uint8)
    try:
        corners = detect_card(gray)
    except CannotMeasure as error:
        raise why_no_card(gray, error) from error
    size = (photo.width_px, photo.height_px)
    plane, residual = solve_plane(corners.points_mm, corners.points_px, size_px=size, focal=_focal_prior(photo))
    return corners, plane, residual


def _focal_prior(photo: Photo) -> FocalPrior:
    lens = photo.lens
    if lens.focal_px is not None and lens.focal_u_px is not None:
        return FocalPrior(lens.focal_px, lens.focal_u_px / lens.focal_px)
    return FocalPrior(_USUAL_FOCAL_SHARE * max(photo.width_px, photo.height_px), FOCAL_PRIOR_UNKNOWN)


def _edge_profile(photo: Photo, plane: PlaneMap, corners: CardCorners, residual_px: Floats) -> tuple[EdgeProfile, bool]:
    """The photo's edge profile in px, and whether it is soft. Raises CannotMeasure `out_of_focus`, `other_card`."""
    card = corners.card
    profile = learn_edge_profile(photo.rgb, plane, card)
    soft = check_sharpness(profile, plane.px_per_mm(np.array([card.width_mm, card.height_mm]) / 2.0))
    if robust_sigma(residual_px) > _WORST_CORNERS_PX:
        raise refuse("out_of_focus" if soft else "other_card")
    assert profile is not None
    return profile, soft


def _measure(
    photo: Photo, plane: PlaneMap, end: FoundEnd, found: FoundWalls, profile_mm: EdgeProfile, scale: float
) -> list[MeasuredWall]:
    return measure_walls(
        lambda walls: cut_bands(photo.rgb, plane.to_image, end.frame, end.thickness, scale, walls),
        found.walls,
        profile_mm,
    )


def _sides(
    photo: Photo, plane: PlaneMap, end: FoundEnd, found: FoundWalls, walls: list[MeasuredWall]
) -> tuple[Side, Side]:
    if found.stage == "sawn":
        middle = (end.left + end.right) / 2.0
        left, right = (sawn_side(photo.rgb, plane, end.frame, x, middle, end.thickness) for x in (end.left, end.right))
        return left, right
    places = np.array([wall.line.at(0.0) for wall in walls])
    return cleared_sides(photo.rgb, plane, end.frame, places, end.thickness)


def _wall(wall: MeasuredWall, index: int, numbers: EndQuantities, end: FoundEnd) -> Wall:
    x_show, x_transfer = numbers.x_show[index], numbers.x_transfer[index]
    out_of_square = x_transfer - x_show
    thickness = numbers.thickness.value
    tangent = out_of_square.value / thickness
    per_mm = math.degrees(1.0 / (thickness * (1.0 + tangent**2)))
    lean = Quantity(
        math.degrees(math.atan(tangent)), {source: part * per_mm for source, part in out_of_square.parts.items()}, "deg"
    )
    return Wall(
        wall.wall.tail,
        wall.wall.side,
        lean,
        x_show,
        x_transfer,
        out_of_square,
        _squareness_zone(wall),
        kerf_mm(wall),
        flags_of(wall),
    )


def _squareness_zone(wall: MeasuredWall) -> float:
    """Width (mm) of the zone square to the datum that holds the edge (ISO 1101); lone points are calmed."""
    around = np.pad(wall.x, 1, mode="reflect", reflect_type="odd")
    return float(np.ptp(np.median(np.stack([around[:-2], wall.x, around[2:]]), axis=0)))


def _tilt_u(plane: PlaneMap) -> float:
    """Standard uncertainty (deg) of the camera's tilt, from the covariance of the pose."""
    step = 1e-5
    gradient = np.zeros(len(plane.theta))
    for index in range(3):
        shift = np.zeros(len(plane.theta))
        shift[index] = step
        gradient[index] = (plane.with_theta(plane.theta + shift).tilt_deg - plane.tilt_deg) / step
    return float(np.sqrt(gradient @ plane.covariance @ gradient))


def _to_image(plane: PlaneMap, frame: Frame, left_x: float) -> ToImage:
    shift = np.array([left_x, 0.0])
    return lambda points: plane.to_image(frame.to_plane(np.asarray(points, float) + shift))


def _warnings(
    photo: Photo, corners: CardCorners, plane: PlaneMap, found: FoundWalls, soft: bool, scale: float
) -> tuple[Kind, ...]:
    hidden = len(corners.points_mm) < _HIDDEN_SHARE * len(corners.card.corner_points_mm)
    doubts = {
        "part_of_card_hidden": hidden,
        "other_lens_guess": photo.lens.focal_px is None,
        "slanted": plane.tilt_deg > SLANTED_DEG,
        "soft_photo": soft,
        "coarse_scale": scale < _COARSE_PX_PER_MM,
        "width_from_shoulders": found.stage == "cleared",
    }
    return tuple(WARNINGS[name] for name, doubted in doubts.items() if doubted)
