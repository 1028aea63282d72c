"""Several photos of one end made one measurement: who shares what, who disagrees, and what a turned card cancels."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from calibration.outcome import WARNINGS, Kind, refuse
from calibration.quantity import COVERAGE_FACTOR, Quantity, Source, angle_of
from vision.end.report import Measurement, Placement, Wall
from vision.together.agreement import (
    FIRM,
    SIDE,
    THICKNESS,
    WIDTH,
    Difference,
    against_the_rest,
    agreement,
    differences,
    odd_ones_out,
)
from vision.together.combine import Deviation, Stack, combined
from vision.together.sharing import SKEW, TILT, Shot, as_if_alone, as_seen, is_cards_own

SAME_PLACE_MM, SAME_HEADING_DEG = 0.2, 0.1
"""Card and end closer together than this, in x, y and direction, in two photos were not taken apart between them: a
hand does not lay the card back so well, and the camera's place moves a card that is 0.15 mm high by less."""
OTHER_END_MM = 1.0
"""Photos that disagree about a tail's width by more than this do not show one end."""
CANCELLED_SHARE, WORTH_TELLING = 0.6, 0.05
"""What goes with the card counts as cancelled when at most so much of it is left, and is told when it was at least this
share of U."""
DISAGREEMENT = "photos disagree"


@dataclass(frozen=True)
class View:
    """One photo of the end: its name and what was measured on it."""

    name: str
    measurement: Measurement


@dataclass(frozen=True)
class Role:
    """What one photo was to the result. `set_up` counts the times that the card was set up, from 1.

    `deviation` is its chi-square against the others, None for a single photo; `differences` in what it differs.
    """

    name: str
    used: bool
    set_up: int
    placement: Placement
    deviation: Deviation | None = None
    differences: tuple[Difference, ...] = ()

    def to_dict(self) -> dict[str, Any]:
        """The photo's object in the result JSON."""
        place, deviation = self.placement, self.deviation
        data: dict[str, Any] = {
            "file": self.name,
            "used": self.used,
            "set_up": self.set_up,
            "card_side": place.side,
            "card_quarter_turns": place.edge,
            "differs_in": [_difference_dict(each) for each in self.differences],
        }
        if deviation is not None:
            chance = {"chi_square": round(deviation.chi_square, 2), "freedom": deviation.freedom}
            data |= chance | {"probability": round(deviation.probability, 6)}
        return data


def _difference_dict(difference: Difference) -> dict[str, Any]:
    data = {
        "what": difference.what,
        "by_mm": round(difference.by_mm, 4),
        "u95_mm": round(difference.u95_mm, 4),
    }
    return data if difference.wall is None else data | {"wall": difference.wall}


@dataclass(frozen=True)
class Cancelled:
    """An error of the card's own that turning it took out: its expanded part of the walls' out of square, in rms."""

    cause: str
    before_mm: float
    after_mm: float

    def to_dict(self) -> dict[str, Any]:
        """The object in the result JSON."""
        return {"cause": self.cause, "before_mm": round(self.before_mm, 4), "after_mm": round(self.after_mm, 4)}


@dataclass(frozen=True)
class SameEnd:
    """The end from all its photos. `settled` is False when they disagree and nobody can tell which is wrong."""

    measurement: Measurement
    roles: tuple[Role, ...]
    cancelled: tuple[Cancelled, ...]
    settled: bool = True


def numbers_of(measurement: Measurement) -> list[Quantity]:
    """Width, thickness, then every wall's x at the show and at the transfer face, mm."""
    ends = [end for wall in measurement.walls for end in (wall.x_show, wall.x_transfer)]
    return [measurement.width, measurement.thickness, *ends]


def likeness(one: Measurement, other: Measurement) -> float:
    """Probability that two photos of one end differ as much as these do; 0 for ends that are not even alike."""
    if _walls_named(one) != _walls_named(other) or one.stage != other.stage:
        return 0.0
    return agreement(_stack_alone([View("", one), View("", other)]))


def combine_views(views: Sequence[View]) -> SameEnd:
    """The one end that all views show. Raises CannotMeasure `photos_not_one_end`, ValueError without a view."""
    if not views:
        raise ValueError("views must hold at least one photo")
    _check_alike(views)
    stack = _stack_alone(views)
    kept, out = odd_ones_out(stack)
    settled = agreement(stack.only(kept)) >= FIRM
    if not settled:
        _check_one_end([views[row] for row in kept])
    shots = shots_of(views)
    used, used_shots = [views[row] for row in kept], [shots[row] for row in kept]
    seen = [
        [as_seen(number, shot) for number in numbers_of(v.measurement)]
        for v, shot in zip(used, used_shots, strict=True)
    ]
    means = combined([_levels_and_swings(each) for each in seen])
    if not settled:
        means = _widened(means, [_levels_and_swings(each) for each in seen], stack.only(kept))
    numbers = _ends_of(means)
    measurement = _measurement(used, numbers, _new_warnings(out, settled))
    roles = tuple(_role(row, views, shots, stack, kept) for row in range(len(views)))
    return SameEnd(measurement, roles, _cancelled(seen, numbers, [shots[row] for row in kept]), settled)


def _stack_alone(views: Sequence[View]) -> Stack:
    shots = [Shot(str(row), card=view.measurement.card.kind) for row, view in enumerate(views)]
    return Stack.of(
        [[as_if_alone(n, shot) for n in numbers_of(v.measurement)] for v, shot in zip(views, shots, strict=True)]
    )


def shots_of(views: Sequence[View]) -> list[Shot]:
    """The owners of every photo's errors, told from how card and end lie in it and what took it."""
    set_ups: list[View] = []
    shots = []
    for row, view in enumerate(views):
        known = next((index for index, other in enumerate(set_ups) if _same_set_up(view, other)), len(set_ups))
        if known == len(set_ups):
            set_ups.append(view)
        place = view.measurement.placement
        card = view.measurement.card
        shots.append(Shot(str(row + 1), str(known + 1), card.kind, place.camera, place.turn, bool(card.profile)))
    return shots


def _same_set_up(one: View, other: View) -> bool:
    a, b = one.measurement.placement, other.measurement.placement
    apart = max(abs(p - q) for p, q in zip(a.middle_mm, b.middle_mm, strict=True))
    alike = (a.edge, a.side, one.measurement.card.kind) == (b.edge, b.side, other.measurement.card.kind)
    return alike and apart < SAME_PLACE_MM and abs(a.heading_deg - b.heading_deg) < SAME_HEADING_DEG


def _walls_named(measurement: Measurement) -> list[tuple[int, str]]:
    return [(wall.tail, wall.side) for wall in measurement.walls]


def _check_alike(views: Sequence[View]) -> None:
    first = views[0]
    for view in views[1:]:
        tails = [len(each.measurement.walls) // 2 for each in (first, view)]
        if tails[0] != tails[1]:
            raise refuse("photos_not_one_end", f"{first.name} shows {tails[0]} tails, {view.name} {tails[1]}.")
        stages = [each.measurement.stage for each in (first, view)]
        if stages[0] != stages[1]:
            raise refuse("photos_not_one_end", f"{first.name} shows the end {stages[0]}, {view.name} {stages[1]}.")


def _check_one_end(views: Sequence[View]) -> None:
    """Raises CannotMeasure when the photos disagree so much about a tail that it cannot be one end."""
    widths = np.array([_tail_widths(view.measurement) for view in views])
    tail = int(np.argmax(np.ptp(widths, axis=0)))
    least, most = (int(pick(widths[:, tail])) for pick in (np.argmin, np.argmax))
    if widths[most, tail] - widths[least, tail] > OTHER_END_MM:
        told = [f"{widths[row, tail]:.1f} mm wide in {views[row].name}" for row in (least, most)]
        raise refuse("photos_not_one_end", f"Tail {tail + 1} is {told[0]} and {told[1]}.")


def _tail_widths(measurement: Measurement) -> list[float]:
    middles = [(wall.x_show.value + wall.x_transfer.value) / 2.0 for wall in measurement.walls]
    return [right - left for left, right in zip(middles[0::2], middles[1::2], strict=True)]


def _new_warnings(out: Sequence[int], settled: bool) -> tuple[Kind, ...]:
    names = [*(["photo_left_out"] if out else []), *([] if settled else ["photos_disagree"])]
    return tuple(WARNINGS[name] for name in names)


def _levels_and_swings(numbers: Sequence[Quantity]) -> list[Quantity]:
    """Width, thickness, then every wall's place halfway between the faces and how far it runs off square between them.

    So each has weights of its own: a photo may be good for leans and poor for places.
    """
    walls = zip(numbers[2::2], numbers[3::2], strict=True)
    return [*numbers[:2], *(each for show, other in walls for each in ((show + other).scaled(0.5), other - show))]


def _ends_of(means: Sequence[Quantity]) -> list[Quantity]:
    """The numbers of which `_levels_and_swings` made these."""
    walls = zip(means[2::2], means[3::2], strict=True)
    ends = [level + swing.scaled(way) for level, swing in walls for way in (-0.5, 0.5)]
    return [*means[:2], *ends]


def _widened(means: Sequence[Quantity], seen: Sequence[Sequence[Quantity]], stack: Stack) -> list[Quantity]:
    """The means with what the photos disagree about as one more cause, so that U reaches every photo's own value."""
    widened = list(means)
    for index in np.flatnonzero(_in_dispute(stack)).tolist():
        apart = max(abs(numbers[index].value - means[index].value) for numbers in seen)
        widened[index] = means[index].with_part(Source(DISAGREEMENT, str(index)), apart)
    return widened


def _in_dispute(stack: Stack) -> list[bool]:
    """Which of the levels and swings some photo differs in; all of them when none stands out."""
    found = {(each.what, each.wall) for row in range(len(stack.values)) for each in differences(stack, row)}
    if not found:
        return [True] * stack.values.shape[1]
    side = (SIDE, None) in found
    walls = range((stack.values.shape[1] - 2) // 2)
    flags = [each for wall in walls for each in (side or ("place", wall) in found, ("lean", wall) in found)]
    return [(WIDTH, None) in found, (THICKNESS, None) in found, *flags]


def _measurement(views: Sequence[View], numbers: Sequence[Quantity], extra: tuple[Kind, ...]) -> Measurement:
    """The combined measurement, for the rest that of the photo that shows the end largest."""
    finest = max((view.measurement for view in views), key=lambda each: each.px_per_mm)
    every = [view.measurement.walls for view in views]
    thickness_mm = numbers[1].value
    walls = tuple(
        _wall([walls[index] for walls in every], numbers[2 + 2 * index], numbers[3 + 2 * index], thickness_mm)
        for index in range(len(finest.walls))
    )
    warnings = dict.fromkeys([*extra, *(kind for view in views for kind in view.measurement.warnings)])
    return replace(finest, width=numbers[0], thickness=numbers[1], walls=walls, warnings=tuple(warnings))


def _wall(seen: Sequence[Wall], x_show: Quantity, x_transfer: Quantity, thickness_mm: float) -> Wall:
    kerfs = [wall.kerf_mm for wall in seen if wall.kerf_mm is not None]
    out_of_square = x_transfer - x_show
    return replace(
        seen[0],
        lean=angle_of(out_of_square, thickness_mm),
        x_show=x_show,
        x_transfer=x_transfer,
        out_of_square=out_of_square,
        squareness_zone_mm=float(np.median([wall.squareness_zone_mm for wall in seen])),
        kerf_mm=float(np.mean(kerfs)) if kerfs else None,
        flags=tuple(dict.fromkeys(flag for wall in seen for flag in wall.flags)),
    )


def _role(row: int, views: Sequence[View], shots: Sequence[Shot], stack: Stack, kept: Sequence[int]) -> Role:
    """One photo against the kept others."""
    others = stack.only([row, *(each for each in kept if each != row)])
    alone = len(others.values) < 2
    return Role(
        views[row].name,
        row in kept,
        int(shots[row].set_up),
        views[row].measurement.placement,
        None if alone else against_the_rest(others, 0),
        () if alone else differences(others, 0),
    )


def _cancelled(
    seen: Sequence[Sequence[Quantity]], numbers: Sequence[Quantity], shots: Sequence[Shot]
) -> tuple[Cancelled, ...]:
    """What the card brings along and turning it took out, over all walls; nothing when it was never turned."""
    turned = _turned_causes(shots)
    shot = shots[0]
    before = [_cards_own(each, shot) for each in seen]
    after = _cards_own(numbers, shot)
    total = COVERAGE_FACTOR * _rms([(b - a).u for a, b in zip(numbers[2::2], numbers[3::2], strict=True)])
    found = {cause: _rms([one.get(cause, 0.0) for one in before]) for cause in sorted(turned)}
    return tuple(
        Cancelled(cause, was, after.get(cause, 0.0))
        for cause, was in found.items()
        if after.get(cause, 0.0) < CANCELLED_SHARE * was and was > WORTH_TELLING * total
    )


def _turned_causes(shots: Sequence[Shot]) -> set[str]:
    """Causes whose errors some photos have the other way round: the tilt by any turn, the skew by a quarter."""
    tilt = {TILT} if len({shot.turn % 4 for shot in shots}) > 1 else set()
    return tilt | ({SKEW.cause} if len({shot.turn % 2 for shot in shots}) > 1 else set())


def _cards_own(numbers: Sequence[Quantity], shot: Shot) -> dict[str, float]:
    """By cause, the expanded part of what goes with the card in the walls' out of square (mm), rms over walls."""
    swings = [transfer - show for show, transfer in zip(numbers[2::2], numbers[3::2], strict=True)]
    found: dict[str, list[float]] = {}
    for swing in swings:
        for source, part in swing.parts.items():
            if is_cards_own(source, shot):
                found.setdefault(source.cause, []).append(part)
    return {
        cause: COVERAGE_FACTOR * math.sqrt(sum(p * p for p in parts) / len(swings)) for cause, parts in found.items()
    }


def _rms(values: Sequence[float]) -> float:
    return math.sqrt(sum(value * value for value in values) / len(values))
