"""From the photo to an end and its rough walls: beyond which edge of the card it lies, and at which stage it is."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import replace
from itertools import pairwise
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from calibration.card import Card
from calibration.outcome import CannotMeasure, Kind, refuse
from calibration.plane import PlaneMap
from vision.end.burnt import check_walls_in_sight
from vision.end.find_end import RULED, USUAL, WIDE, Search
from vision.end.find_walls import PALE, Cut, EndStrip, RoughWall, find_cuts, kerfs_of, walls_of_kerfs, walls_of_tails
from vision.end.found_end import NARROWEST_HALF_PIN_MM, FoundEnd, locate_end
from vision.end.pairing import made_even, mark_doubts, narrow_sockets, no_room, odd_one_out, places_words
from vision.end.report import CardSide, Stage
from vision.end.stage import check_told_stage, stage_of
from vision.photo.card_turn import BOTTOM, UNUSUAL, Facing

_FAR_APART_MM = 30.0
"""A gap wider than this is no socket."""
_NOTHING_THERE = ("no_board_end", "no_kerfs")
"""Refusals after which another edge of the card is looked beyond."""
_ROOM_MM = 30.0
"""What a picture that shows an end shows beyond the card's squares at least: margin, gap and a board of 20 mm."""


class FoundWalls(NamedTuple):
    """What the surface says of the sawing: the stage and the rough walls."""

    stage: Stage
    walls: list[RoughWall]
    doubts: tuple[Kind, ...] = ()


class Located(NamedTuple):
    """The end, its rough walls, and the edge of the card that it lies beyond (quarter turns, see `card_turn`)."""

    end: FoundEnd
    walls: FoundWalls
    edge: int

    @classmethod
    def at(cls, end: FoundEnd, walls: FoundWalls, edge: int) -> Located:
        """The end as its walls tell of it: while the waste is in, it reaches from side to side."""
        if walls.stage == "cleared":
            return cls(end, walls, edge)
        return cls(end.as_sawn((walls.walls[0].x_mm, walls.walls[-1].x_mm)), walls, edge)


def locate(rgb: NDArray[np.uint8], plane: PlaneMap, card: Card, side: CardSide, stage: Stage | None) -> Located:
    """The end beyond the edge that the card's arrow points to or, when there is none, beyond another.

    Raises CannotMeasure as `locate_end` and `locate_walls` do for the arrow's edge.
    """
    try:
        return _located(rgb, plane, card, side, stage, BOTTOM)
    except CannotMeasure as refused:
        if refused.refusal.reason in _NOTHING_THERE:
            elsewhere = refused.refusal.reason
            for edge in UNUSUAL:
                try:
                    return _located(rgb, plane, card, side, stage, edge)
                except CannotMeasure as other:
                    if other.refusal.reason not in _NOTHING_THERE:
                        elsewhere = other.refusal.reason
            if elsewhere == "no_board_end" and not _room_for_an_end(rgb, plane, card):
                raise refuse("end_cut_off") from None
        raise


def _room_for_an_end(rgb: NDArray[np.uint8], plane: PlaneMap, card: Card) -> bool:
    """Whether the picture goes on beyond the middle of the arrow's edge as far as an end is thick."""
    facing = Facing.by(plane, card, BOTTOM)
    across = np.array([[facing.card.width_mm * share, facing.card.height_mm + _ROOM_MM] for share in (0.25, 0.5, 0.75)])
    pixels = facing.plane.to_image(across)
    height, width = rgb.shape[:2]
    return bool(((pixels >= 0.0) & (pixels < np.array([width, height]))).all())


def _located(
    rgb: NDArray[np.uint8], plane: PlaneMap, card: Card, side: CardSide, stage: Stage | None, edge: int
) -> Located:
    """The end beyond one edge of the card; tails that go on to where the search ends are looked at once more, farther,
    and where that does not help either, without the light lines that a mat has.

    Raises CannotMeasure as `locate` does.
    """

    def whole(search: Search) -> Located | None:
        end = locate_end(rgb, plane, card, side, edge, search)
        walls = locate_walls(end, stage)
        return None if walls.stage == "cleared" and end.goes_on else Located.at(end, walls, edge)

    if found := whole(USUAL):
        return found
    refused = refuse("no_board_end", "What was found beside it goes on and on, as a bench or a jaw does.")
    try:
        if found := whole(WIDE):
            return found
    except CannotMeasure as error:
        refused = error
    with suppress(CannotMeasure):
        if found := whole(RULED):
            return found
    raise refused


def locate_walls(end: FoundEnd, stage: Stage | None) -> FoundWalls:
    """The rough walls; `stage` None lets the surface tell. Raises CannotMeasure `no_kerfs`, `kerfs_do_not_pair`,
    `narrow_socket`, `burnt_out`, and `stage_contradicted` when the surface shows another stage than was told.
    """
    sawn = end.as_sawn()
    cuts = _kerfs_of(sawn)
    check_told_stage(stage, end.runs, cuts)
    found = stage or stage_of(end.runs, cuts)
    if found == "cleared":
        if any(after[0] - before[1] > _FAR_APART_MM for before, after in pairwise(end.runs)):
            raise refuse("no_board_end", "What was found beside it is in pieces too far apart for tails.")
        walls = walls_of_tails(end.strip, end.runs)
        check_walls_in_sight(end.strip, walls)
        return FoundWalls("cleared", walls, mark_doubts(cuts, end.runs))
    if not cuts:
        raise refuse("no_kerfs", sawn.hidden_cuts)
    sawn.check_not_burnt()
    if narrow := narrow_sockets(cuts):
        raise refuse("narrow_socket", places_words(narrow, sawn.left, "the left end of the show face"))
    if len(cuts) % 2:
        cuts = _with_one_beyond(cuts, end) or made_even(cuts, _pale_marks(sawn), _pale_marks(sawn.with_surroundings()))
    if len(cuts) % 2:
        raise refuse("kerfs_do_not_pair", odd_one_out(cuts, sawn.left))
    if crowded := no_room(cuts, sawn.left):
        raise refuse("kerfs_do_not_pair", crowded)
    return FoundWalls("sawn", walls_of_kerfs(cuts))


def _kerfs_of(end: FoundEnd) -> list[Cut]:
    """The cuts from side to side; none where what was taken for the sides leaves no room for any."""
    if end.right - end.left < 2.0 * NARROWEST_HALF_PIN_MM:
        return []
    return [cut for cut in kerfs_of(find_cuts(_surface_of(end))) if end.holds(cut)]


def _with_one_beyond(cuts: list[Cut], end: FoundEnd) -> list[Cut]:
    """The cuts with one more where the faces go on beyond a side: an outermost kerf had passed for it; else none."""
    sides = end.as_sawn()
    wider = replace(sides, left=min(sides.left, end.left), right=max(sides.right, end.right))
    found = _kerfs_of(wider)
    return found if len(found) == len(cuts) + 1 else []


def _pale_marks(end: FoundEnd) -> list[Cut]:
    """What may be a kerf that light or dust lies in."""
    return [cut for cut in find_cuts(_surface_of(end), darkest=PALE) if end.holds(cut)]


def _surface_of(end: FoundEnd) -> EndStrip:
    """The surface from side to side: what lies beside it is no measure of how light the wood is."""
    return end.strip.between(end.left, end.right)
