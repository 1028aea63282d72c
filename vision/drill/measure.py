"""One photo of a drill board, measured: any number of practice cuts in a scrap's end, no sockets, no pairing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import partial
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from calibration.prints.known import NOTHING_KNOWN, Known
from calibration.quantity import Quantity, angle_of
from vision.drill.cuts import locate_drill
from vision.drill.kerfs import Kerf, measure_kerfs
from vision.drill.plan import DrillPlan, Intent, Keep
from vision.drill.report import DrillCut, DrillMeasurement
from vision.end.check import (
    band_cutter,
    end_to_image,
    px_per_mm,
    px_per_mm_u95,
    squareness_zone_mm,
    told_from_show_face,
    wall_measurer,
)
from vision.end.end_focus import check_end_in_focus
from vision.end.find_walls import Cut, walls_of_kerfs
from vision.end.pairing import MOST_STRAY_DEG
from vision.end.report import CardSide, Measurement
from vision.end.sides import doubts, sawn_sides
from vision.end.uncertainty import EndPoints, EndQuantities, end_quantities, print_cost
from vision.lie.find_lie import find_lie
from vision.lie.in_plane import check_in_plane
from vision.photo.good_photo import GoodPhoto
from vision.photo.photo import Photo
from vision.walls.flags import flags_of
from vision.walls.measure import MeasuredWall

Floats = NDArray[np.float64]

_SQUARE_UP_TO = float(np.tan(np.radians(MOST_STRAY_DEG)))
"""A cut that seems to lean more (tangent) has its lines drawn along it, whatever was told. A line as dark beside it,
from which it strays, makes it seem to lean more than it does."""


def measure_drill(
    photo: Photo,
    plan: DrillPlan = DrillPlan(),  # noqa: B008 - frozen
    *,
    card_side: CardSide = "show",
    known: Known = NOTHING_KNOWN,
) -> DrillMeasurement:
    """Every cut in the end in `photo`, in the order that `plan` tells.

    `card_side` and `known` are those of `measure_end`. Raises CannotMeasure with one of `outcome.REFUSALS`, and
    PlanMismatch when the plan tells of another number of cuts than the photo shows.
    """
    good = GoodPhoto.of(photo, known)
    plane = good.plane
    place = locate_drill(photo.rgb, plane, good.card, card_side)
    end, sequence = told_from_show_face(place.end, card_side), plan.sequence(len(place.cuts))
    scale, meant = px_per_mm(plane, end), _Meant.by(plan, sequence)
    check_end_in_focus(photo.rgb, plane, end, walls_of_kerfs(place.cuts), good.profile, scale)
    measure, cutter = wall_measurer(photo, plane, end, good.profile), band_cutter(photo, plane, end)
    kerfs = measure_kerfs(measure, cutter, place.cuts, meant.guides(place.cuts))
    walls = [kerf.kept(keep) for kerf, keep in zip(kerfs, meant.keeps, strict=True)]
    left, right = sawn_sides(photo.rgb, plane, end)
    numbers_at = partial(end_quantities, plane, end, walls, left, right)
    lie = find_lie(numbers_at, left, known, sawing_may_fan=True)
    cuts = [
        _cut(index, kerf, wall, meant, lie.numbers) for index, (kerf, wall) in enumerate(zip(kerfs, walls, strict=True))
    ]
    shape = EndPoints.of(end, walls, left, right)
    measurement = Measurement(
        "sawn",
        scale,
        good.tilt,
        good.solved.view,
        lie.numbers.width,
        lie.numbers.thickness,
        (),
        end_to_image(plane, shape, lie),
        good.warnings(scale) + check_in_plane(lie, [cut.lean for cut in cuts]) + doubts((left, right)),
        print_cost(plane, shape, numbers_at()),
        px_per_mm_u95=px_per_mm_u95(plane, end),
    )
    return DrillMeasurement(measurement, _in_order(cuts, sequence))


@dataclass(frozen=True)
class _Meant:
    """What was told of the cuts, from left to right."""

    intents: list[Intent]
    keeps: list[Keep]

    @classmethod
    def by(cls, plan: DrillPlan, sequence: Sequence[int]) -> _Meant:
        """What `plan` tells in the order cut, whose positions from the left are `sequence`."""
        count, turns = len(sequence), np.argsort(sequence)
        intents, keeps = plan.intents_of(count), plan.keeps_of(count)
        return cls([intents[turn] for turn in turns], [keeps[turn] for turn in turns])

    def guides(self, cuts: Sequence[Cut]) -> list[float]:
        """The direction (tangent) along which each line was drawn: as told or, of a steep cut, as it runs."""
        told = [float(np.tan(np.radians(intent.lean_deg))) for intent in self.intents]
        pairs = zip(cuts, told, strict=True)
        return [guide if guide or abs(cut.lean) < _SQUARE_UP_TO else cut.lean for cut, guide in pairs]


def _cut(index: int, kerf: Kerf, wall: MeasuredWall, meant: _Meant, numbers: EndQuantities) -> DrillCut:
    """One cut, `index` from the left; its turn and spacing are still to be told."""
    intent, keep = meant.intents[index], meant.keeps[index]
    out_of_square = numbers.x_transfer[index] - numbers.x_show[index]
    lean = angle_of(out_of_square, numbers.thickness.value)
    corrected = lean.value - _degrees(wall.line.slope)
    as_meant = wall.x - np.tan(np.radians(intent.lean_deg)) * wall.y
    return DrillCut(
        index + 1,
        index + 1,
        intent,
        keep,
        lean,
        lean - intent.lean_deg,
        numbers.x_show[index],
        numbers.x_transfer[index],
        out_of_square,
        _degrees(kerf.left.line.slope) + corrected,
        _degrees(kerf.right.line.slope) + corrected,
        kerf.width,
        squareness_zone_mm(replace(wall, x=as_meant)),
        squareness_zone_mm(replace(wall, x=wall.line.residuals(wall.y, wall.x))),
        bow_mm(wall.y, wall.x),
        None,
        tuple(dict.fromkeys(flag for edge in kerf.edges(keep) for flag in flags_of(edge))),
    )


def _degrees(slope: float) -> float:
    return float(np.degrees(np.arctan(slope)))


def bow_mm(y: Floats, x: Floats) -> float:
    """How far the middle of an edge x(y), points (n,), stands to the right of its ends, by a least-squares parabola."""
    half = np.ptp(y) / 2.0
    t = (y - y.mean()) / half
    return float(-np.polyfit(t, x, 2)[0])


def _in_order(cuts: Sequence[DrillCut], sequence: Sequence[int]) -> tuple[DrillCut, ...]:
    """The cuts in the order cut, each with its turn and its distance from the one before."""
    ordered = [replace(cuts[place], turn=turn + 1) for turn, place in enumerate(sequence)]
    spaced = [replace(cut, spacing=_apart(before, cut)) for before, cut in pairwise(ordered)]
    return (*ordered[:1], *spaced)


def _apart(before: DrillCut, cut: DrillCut) -> Quantity:
    """Distance of two cuts at mid thickness (mm): what shifts both alike is not in its uncertainty."""
    step = (cut.x_show + cut.x_transfer).scaled(0.5) - (before.x_show + before.x_transfer).scaled(0.5)
    return step if step.value >= 0.0 else -step
