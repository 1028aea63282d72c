"""What the pins will do: gap, squeeze, verdict and advice for the sockets of one tail board.

The pins are scribed at the transfer face; `settling` says how they then meet the walls, `splitting` what a squeeze
does to the wood, `decision` when a limit is firmly met or missed. Uncertainty is propagated by draws (JCGM 101,
`settled_fit`) through the labelled sources of every wall, so that what the walls share cancels where it should.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal, NamedTuple

import numpy as np
from numpy.random import default_rng

from calibration.quantity import Quantity
from vision.end.report import Wall, narrowing
from vision.joint.decision import Decision, Estimate, decide
from vision.joint.settled_fit import SettledFit, settle_walls
from vision.joint.settling import Floats
from vision.joint.species import Group, Species, find_species, worst_of_all
from vision.joint.splitting import Tail, crush_ratio, split_range

Kind = Literal["half", "full"]
Verdict = Literal["seats", "loose", "splitting", "too close to call"]
Advice = Literal["transfer", "pare", "start over", "photograph again"]

SEED = 101
"""Seed of the draws when no generator is given, so that one photo always gets one answer."""


@dataclass(frozen=True)
class Limits:
    """What a class or a person accepts, in mm. The defaults are common practice; no published source was found."""

    gap_mm: float = 0.10
    squeeze_softwood_mm: float = 0.15
    squeeze_hardwood_mm: float = 0.08
    half_pin_factor: float = 0.5
    paring_allowed: bool = False

    def __post_init__(self) -> None:
        for name in ("gap_mm", "squeeze_softwood_mm", "squeeze_hardwood_mm", "half_pin_factor"):
            if not getattr(self, name) > 0.0:
                raise ValueError(f"{name} must be greater than zero, got {getattr(self, name)}")

    def squeeze_mm(self, group: Group, kind: Kind) -> float:
        """The squeeze (mm) that a pin of this `kind` takes without harm in a wood of this `group`."""
        full = self.squeeze_softwood_mm if group == "softwood" else self.squeeze_hardwood_mm
        return full * (self.half_pin_factor if kind == "half" else 1.0)


@dataclass(frozen=True)
class Socket:
    """One socket and what its pin will do there.

    `index` counts from the left; socket i lies between tails i - 1 and i. Gap and squeeze are totals over the
    socket's walls, after the boards have settled and, for comparison, without settling; `squeeze_mean` is the mean over
    the walls' area, the others are the worst anywhere. Widths are those at the end. `crush_ratio` takes the pin as
    confined; `split_index` is the upper end of `split_range`, free-sided. `too_loose` and `too_tight` are firm.
    """

    index: int
    kind: Kind
    width_show: Quantity
    width_transfer: Quantity
    taper: Quantity
    gap: Estimate
    squeeze: Estimate
    squeeze_mean: Estimate
    gap_unsettled: Estimate
    squeeze_unsettled: Estimate
    gap_limit_mm: float
    squeeze_limit_mm: float
    crush_ratio: float
    split_range: tuple[float, float]
    verdict: Verdict
    too_loose: bool
    too_tight: bool

    @property
    def split_index(self) -> float:
        """Energy release rate over the lowest published fracture energy: the cautious end of `split_range`."""
        return self.split_range[1]

    @property
    def gap_possible_mm(self) -> tuple[float, float]:
        """The least and the widest gap (mm) left open, with and without settling."""
        return _either(self.gap, self.gap_unsettled)

    @property
    def squeeze_possible_mm(self) -> tuple[float, float]:
        """The least and the most squeeze (mm) left open, with and without settling."""
        return _either(self.squeeze, self.squeeze_unsettled)

    def to_dict(self) -> dict[str, Any]:
        """The socket's object in the result JSON; lengths to 0.1 micrometre."""
        return {
            "kind": self.kind,
            "width_show_mm": round(self.width_show.value, 4),
            "width_transfer_mm": round(self.width_transfer.value, 4),
            "taper_mm": round(self.taper.value, 4),
            "taper_u95_mm": round(self.taper.u95, 4),
            "gap_mm": round(self.gap.value, 4),
            "squeeze_mm": round(self.squeeze.value, 4),
            "crush_ratio": round(self.crush_ratio, 3),
            "split_index": round(self.split_index, 3),
            "verdict": self.verdict,
            "gap_interval_mm": [round(self.gap.low, 4), round(self.gap.high, 4)],
            "squeeze_interval_mm": [round(self.squeeze.low, 4), round(self.squeeze.high, 4)],
            "gap_unsettled_mm": round(self.gap_unsettled.value, 4),
            "squeeze_unsettled_mm": round(self.squeeze_unsettled.value, 4),
            "gap_limit_mm": round(self.gap_limit_mm, 4),
            "squeeze_limit_mm": round(self.squeeze_limit_mm, 4),
            "split_range": [round(self.split_range[0], 3), round(self.split_range[1], 3)],
        }


class Prediction(NamedTuple):
    """What the pins of one board will do, and the advice.

    `settle` (mm) is the sideways shift of the pin board, positive to +x. `assumptions` are sentences: what the model
    takes for granted and what it cannot know. `what_would_settle` is empty when nothing is too close to call.
    """

    sockets: tuple[Socket, ...]
    settle: Estimate
    advice: Advice
    limits: Limits
    species: Species
    assumptions: tuple[str, ...]
    what_would_settle: tuple[str, ...]

    @property
    def settle_mm(self) -> float:
        """The best estimate of the sideways shift."""
        return self.settle.value


def predict_seating(
    walls: Sequence[Wall],
    width: Quantity,
    thickness: Quantity,
    *,
    species: str | None = None,
    limits: Limits | None = None,
    socket_depth_mm: float | None = None,
    roots: Sequence[Quantity] | None = None,
    rng: np.random.Generator | None = None,
) -> Prediction:
    """What the pins scribed from this tail board will do when the joint is driven home.

    `walls` run from the left edge: left and right wall of tail 0, of tail 1, ... `width` and `thickness` of the board
    in mm. Without `species` the hardwood limit and the worst constants of the table apply; without `socket_depth_mm`
    the sockets are as deep as the board is thick. `roots` tell each wall's overlap (see `wall_overlap`) at that depth;
    without them it is at every depth as at the end. Raises ValueError for walls out of order, a socket or tail without
    width, a wood not in the table, or a size that is not positive.
    """
    depth = thickness.value if socket_depth_mm is None else socket_depth_mm
    _check(walls, thickness, depth)
    limits = limits or Limits()
    wood = worst_of_all() if species is None else find_species(species)
    outlines = _outlines(walls, width)
    overlaps = [wall_overlap(wall) for wall in walls]
    fit = settle_walls(overlaps, rng or default_rng(SEED), roots=roots)
    strain = _Strain(wood, _tails(walls, thickness.value, depth), fit.wall_squeeze_mm)
    sockets = tuple(_socket(index, outline, fit, strain, limits) for index, outline in enumerate(outlines))
    return Prediction(
        sockets,
        fit.shift,
        _advice(sockets, limits),
        limits,
        wood,
        _assumptions(wood, species is not None, socket_depth_mm is not None, roots is not None),
        _what_would_settle(sockets, walls, [overlaps, roots or overlaps], limits),
    )


def wall_overlap(wall: Wall) -> Quantity:
    """How far the wall reaches into its socket at the show face, past its place at the transfer face (mm)."""
    return (wall.x_transfer - wall.x_show).scaled(narrowing(wall.side))


class _Outline(NamedTuple):
    """Widths of one socket at the two faces."""

    show: Quantity
    transfer: Quantity


class _Strain(NamedTuple):
    """What the squeeze works on: the wood, the tails, and the settled squeeze of each wall (mm)."""

    wood: Species
    tails: list[Tail]
    wall_squeeze_mm: Floats

    def crush(self, index: int, squeeze_mm: float, pin_mm: float) -> float:
        """Crush ratio at socket `index`: each wall brings half of its tail as a spring."""
        tail_mm = sum(0.5 * self.tails[wall // 2].width_mm for wall in _walls_of(index, len(self.wall_squeeze_mm)))
        return crush_ratio(squeeze_mm, pin_mm, tail_mm, self.wood)

    def split(self, index: int, pin_mm: float) -> tuple[float, float]:
        """Split range at the wall of socket `index` that is worst off."""
        return max(
            split_range(float(self.wall_squeeze_mm[wall]), self.tails[wall // 2], pin_mm, self.wood)
            for wall in _walls_of(index, len(self.wall_squeeze_mm))
        )


def _check(walls: Sequence[Wall], thickness: Quantity, depth_mm: float) -> None:
    """Raise ValueError unless the walls run left, right, left, right of tails 0, 1, ... and the sizes are positive."""
    expected = [(number // 2, "left" if number % 2 == 0 else "right") for number in range(len(walls))]
    if len(walls) < 2 or len(walls) % 2 or [(wall.tail, wall.side) for wall in walls] != expected:
        raise ValueError("walls must be the left and the right wall of tail 0, then of tail 1, and so on")
    if not (thickness.value > 0.0 and depth_mm > 0.0):
        raise ValueError(f"thickness and socket depth must be positive, got {thickness.value} and {depth_mm} mm")


def _walls_of(index: int, walls: int) -> list[int]:
    """Indices of the one or two walls that bound socket `index`."""
    return [wall for wall in (2 * index - 1, 2 * index) if 0 <= wall < walls]


def _outlines(walls: Sequence[Wall], width: Quantity) -> list[_Outline]:
    """The sockets from left to right, the board's edges taken square. ValueError if one has no width."""
    edge = Quantity(0.0)
    lefts = [(edge, edge), *((wall.x_show, wall.x_transfer) for wall in walls[1::2])]
    rights = [*((wall.x_show, wall.x_transfer) for wall in walls[0::2]), (width, width)]
    outlines = [_Outline(right[0] - left[0], right[1] - left[1]) for left, right in zip(lefts, rights, strict=True)]
    for index, outline in enumerate(outlines):
        if min(outline.show.value, outline.transfer.value) <= 0.0:
            raise ValueError(f"socket {index} must have a width greater than zero at both faces")
    return outlines


def _tails(walls: Sequence[Wall], thickness_mm: float, depth_mm: float) -> list[Tail]:
    """The tails as cantilevers, as wide as at the transfer face. ValueError if one has no width."""
    pairs = zip(walls[0::2], walls[1::2], strict=True)
    widths = [right.x_transfer.value - left.x_transfer.value for left, right in pairs]
    if min(widths) <= 0.0:
        raise ValueError(f"tail {widths.index(min(widths))} must have a width greater than zero at the transfer face")
    return [Tail(depth_mm, thickness_mm, width) for width in widths]


def _socket(index: int, outline: _Outline, fit: SettledFit, strain: _Strain, limits: Limits) -> Socket:
    kind: Kind = "half" if index in (0, len(fit.gap) - 1) else "full"
    limit = limits.squeeze_mm(strain.wood.group, kind)
    gap = _both_ways(fit.gap[index], fit.gap_unsettled[index], limits.gap_mm)
    squeeze = _both_ways(fit.squeeze[index], fit.squeeze_unsettled[index], limit)
    pin_mm = outline.transfer.value
    return Socket(
        index=index,
        kind=kind,
        width_show=outline.show,
        width_transfer=outline.transfer,
        taper=outline.show - outline.transfer,
        gap=fit.gap[index],
        squeeze=fit.squeeze[index],
        squeeze_mean=fit.squeeze_mean[index],
        gap_unsettled=fit.gap_unsettled[index],
        squeeze_unsettled=fit.squeeze_unsettled[index],
        gap_limit_mm=limits.gap_mm,
        squeeze_limit_mm=limit,
        crush_ratio=strain.crush(index, fit.squeeze[index].value, pin_mm),
        split_range=strain.split(index, pin_mm),
        verdict=_verdict(gap, squeeze),
        too_loose=gap == "missed",
        too_tight=squeeze == "missed",
    )


def _either(settled: Estimate, unsettled: Estimate) -> tuple[float, float]:
    return min(settled.low, unsettled.low), max(settled.high, unsettled.high)


def _both_ways(settled: Estimate, unsettled: Estimate, limit_mm: float) -> Decision:
    """Firm only where the decision is the same with and without settling: how the boards settle is a model."""
    decisions = {decide(settled, limit_mm), decide(unsettled, limit_mm)}
    return decisions.pop() if len(decisions) == 1 else "undecided"


def _verdict(gap: Decision, squeeze: Decision) -> Verdict:
    """The worst firm finding; `seats` only when both limits are firmly met."""
    if squeeze == "missed":
        return "splitting"
    if gap == "missed":
        return "loose"
    return "seats" if gap == squeeze == "met" else "too close to call"


def _advice(sockets: Sequence[Socket], limits: Limits) -> Advice:
    """Paring takes wood away: it cures a tight wall, never a loose one."""
    if any(socket.too_loose for socket in sockets):
        return "start over"
    if any(socket.too_tight for socket in sockets):
        return "pare" if limits.paring_allowed else "start over"
    undecided = any(socket.verdict == "too close to call" for socket in sockets)
    return "photograph again" if undecided else "transfer"


def _assumptions(wood: Species, named: bool, depth_known: bool, in_depth: bool) -> tuple[str, ...]:
    """What the prediction takes for granted and cannot know, as sentences."""
    sentences = [
        "The pins are taken as scribed from the transfer face, square to it and of one width along their length.",
        "Walls are taken as straight between the faces, the board's edges as square; widths are those at the end.",
        "All walls are taken to give way alike, and the boards to settle by one common sideways shift.",
        f"Both boards are taken as clear {wood.name} at 12 % moisture."
        if named
        else "The wood was not named, or is none of those in the table:"
        " the hardwood limit and the worst constants of all its woods stand in.",
    ]
    if in_depth:
        sentences.append(
            "Along both faces walls are taken as straight from the end to the baseline, and straight across in between;"
            " the pin board as thick as the sockets are deep."
        )
    if not depth_known:
        sentences.append("An end does not show the baseline: sockets are taken to be as deep as the board is thick.")
    sentences += [f"A constant of {wood.name} is borrowed ({text})." for text in wood.stand_ins]
    return (
        *sentences,
        "At a half pin the crush ratio is an upper bound: its outer side is free.",
        "The limits for gap and squeeze are common practice; no published source was found.",
        "Nobody can know from a photo the driving force, the glue, short grain, knots or moisture,"
        " or how well the pins will be sawn.",
    )


_CURES = (
    (("unseen face",), "a photo of the other face"),
    (("print",), "a print check: measure the bars on the printed card"),
    (("lens", "camera", "focal"), "a camera profile"),
    (("tilt", "height", "parallel"), "setting card and board end-down together on a flat surface again"),
    (("corner", "card", "plane"), "another photo with the whole card, as large as it fits in, and in even light"),
)
"""Words in a source's cause, and what would make it smaller; anything else asks for a better photo."""
ANOTHER_PHOTO = "another photo of the same end"
_BETTER_PHOTO = f"a sharper photo, closer if all of the card still fits in, or {ANOTHER_PHOTO}"
_OTHER_LIGHT = "a photo with the light from the other side"


def _cure(cause: str, faint: bool) -> str:
    words = cause.lower()
    matches = (cure for keys, cure in _CURES if any(key in words for key in keys))
    return next(matches, _OTHER_LIGHT if faint else _BETTER_PHOTO)


def _what_would_settle(
    sockets: Sequence[Socket], walls: Sequence[Wall], overlaps: Sequence[Sequence[Quantity]], limits: Limits
) -> tuple[str, ...]:
    """One sentence on all that would settle the sockets that are too close to call; `overlaps` by depth and wall."""
    cures: dict[str, None] = {}
    for socket in sockets:
        if socket.verdict == "too close to call":
            cures[_cure_for(socket, walls, overlaps, limits)] = None
    return (f"What would settle it: {'; '.join(cures)}.",) if cures else ()


def _cure_for(socket: Socket, walls: Sequence[Wall], overlaps: Sequence[Sequence[Quantity]], limits: Limits) -> str:
    if _depends_on_settling(socket, limits):
        return "a trial joint in scrap, since no photo shows how the boards will settle sideways"
    bounds = _walls_of(socket.index, len(walls))
    least_sure = max((at_depth[wall] for at_depth in overlaps for wall in bounds), key=lambda overlap: overlap.u)
    causes = least_sure.budget()
    return _cure(causes[0][0] if causes else "", any("faint_edge" in walls[wall].flags for wall in bounds))


def _depends_on_settling(socket: Socket, limits: Limits) -> bool:
    """Whether a limit is firmly met one way and firmly missed the other."""
    pairs = (
        (socket.gap, socket.gap_unsettled, limits.gap_mm),
        (socket.squeeze, socket.squeeze_unsettled, socket.squeeze_limit_mm),
    )
    return any({decide(one, limit), decide(other, limit)} == {"met", "missed"} for one, other, limit in pairs)
