"""Saw cuts must pair, one on either side of every tail: the one that was missed, and the mark that is no cut."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from calibration.outcome import WARNINGS, Kind, refuse
from vision.end.find_walls import (
    NARROWEST_TAIL_MM,
    SAME_SAW,
    WIDEST_KERF_MM,
    WIDEST_SOCKET_MM,
    Cut,
    RoughWall,
    Run,
    log_widths,
    walls_of_kerfs,
)

Floats = NDArray[np.float64]

_OWN_MM = 2.0
"""How near a pale kerf may be to another kerf."""
_NARROWEST_KERF_MM, _INSIDE_MM = 0.45, 2.0
"""A dark mark as wide as a saw cuts, at least, and how far from a tail's sides it is none of what is drawn there."""
_TWO_CUTS = 0.5
"""How much wider than its saw's others a mark is that is two of its cuts, in natural logarithms: 1.65 times."""
_AS_WIDE = 0.8
"""Share of a tail's width from which a pin counts as wide as that (common practice, no source: pins are slimmer)."""
_EVEN = 0.25
"""Spread of the tails' widths, relative to their mean, up to which a layout is plausible (common practice, no source:
many boards have tails of one width, and outer ones are seldom half as wide again)."""
MOST_STRAY_DEG = 4.5
"""Lean from which a cut is no square one that strayed: slopes of dovetails are about 1:8, 7.1 degrees, or steeper
(how far hands stray is common practice, no source)."""
_FEWEST_TOLD, _ALIKE_MM = 5, 1.0
"""Cuts without which a layout does not tell where another one belongs, and how far tails or pins laid out as wide as
one another may differ once they are sawn (both judged by sawn boards, no source)."""


def made_even(cuts: list[Cut], pale: list[Cut], about: list[Cut]) -> list[Cut]:
    """An odd number of `cuts` with the one of the `pale` marks that was missed, or without the mark that is none.

    The layout alone may find it `about` the end as well, beyond what was taken for its sides. As they are if both may
    be, or neither.
    """
    rest = without_stranger(cuts)
    mate = mate_of(cuts, pale) or mate_by_layout(cuts, about)
    if mate is None:
        return rest or cuts
    return cuts if rest else sorted([*cuts, mate], key=lambda cut: cut.left)


def mate_of(kerfs: list[Cut], pale: list[Cut]) -> Cut | None:
    """The one of the `pale` marks as wide as the `kerfs`, when there is just one; light or dust lies in that kerf."""
    usual = np.median(log_widths(kerfs))
    alike = [cut for cut, width in zip(pale, log_widths(pale), strict=True) if abs(width - usual) < SAME_SAW]
    own = [cut for cut in alike if all(abs(cut.middle - other.middle) > _OWN_MM for other in kerfs)]
    return own[0] if len(own) == 1 else None


def mate_by_layout(kerfs: list[Cut], pale: list[Cut]) -> Cut | None:
    """A kerf where the `pale` marks of just one place, slim as they are, make all tails alike and all pins as well.

    Dust as bright as the wood fills that kerf, and only the cracks along it are dark. It is as wide as the others.
    """
    if len(kerfs) < _FEWEST_TOLD:
        return None
    even = [cut for cut in pale if cut.width < WIDEST_KERF_MM and _even([*kerfs, cut])]
    if not even or even[-1].right - even[0].left > WIDEST_KERF_MM:
        return None
    middle, width = (even[0].left + even[-1].right) / 2.0, float(np.median([cut.width for cut in kerfs]))
    return Cut(middle - width / 2.0, middle + width / 2.0, even[0].lean, min(cut.light for cut in even))


def _even(cuts: list[Cut]) -> bool:
    """Whether cuts pair to tails that are alike, with pins between them that are alike and narrower."""
    gaps = np.diff(sorted(cut.middle for cut in cuts))
    tails, pins = gaps[::2], gaps[1::2]
    return bool(max(np.ptp(tails), np.ptp(pins)) < _ALIKE_MM and tails.min() > pins.max() > _OWN_MM)


def without_stranger(kerfs: list[Cut]) -> list[Cut] | None:
    """The kerfs without the one that no saw of the others made, by its width; None when that is not just one.

    What is left must make up whole tails, wider than the pins between them as in nearly all boards.
    """
    widths = log_widths(kerfs)
    strange = np.flatnonzero(np.abs(widths - np.median(widths)) > SAME_SAW)
    if len(strange) != 1 or len(kerfs) % 2 == 0:
        return None
    rest = [cut for index, cut in enumerate(kerfs) if index != strange[0]]
    gaps = np.diff([cut.middle for cut in rest])
    plausible = len(gaps) > 0 and gaps[::2].min() > max(NARROWEST_TAIL_MM, float(np.max(gaps[1::2], initial=0.0)))
    return rest if plausible else None


def narrow_sockets(cuts: list[Cut]) -> list[Cut]:
    """The cuts that seem to be a socket each, too narrow to have a kerf on either side: too wide for the others' saw.

    Elsewhere what is as wide is a kerf with a line beside it, or a mark that is none: where the cuts pair as they are
    without a doubt about a pin, or make tails more even without it.
    """
    widths = log_widths(cuts)
    saw = np.percentile(widths, 25)  # of the slimmer ones: half of the cuts may be such sockets
    wide = [cut for cut, width in zip(cuts, widths, strict=True) if width - saw > _TWO_CUTS]
    rest = [cut for cut in cuts if cut not in wide]
    if not wide or len(rest) % 2:
        return []
    if len(wide) % 2 == 0:
        return wide if pin_doubts(walls_of_kerfs(cuts)) else []
    twice, without = (_tails(np.sort([cut.middle for cut in each])) for each in ([*cuts, *wide], rest))
    return wide if len(rest) == 0 or np.std(twice) <= np.std(without) else []


def mark_doubts(cuts: list[Cut], tails: list[Run]) -> tuple[Kind, ...]:
    """The warning `mark_in_tail` when some of the `cuts`, as wide as a saw's, lie well inside the `tails`.

    On a cleared board a socket too narrow for two walls looks like a dark line across a tail.
    """
    found = [
        cut
        for cut in cuts
        if cut.width > _NARROWEST_KERF_MM
        and any(left + _INSIDE_MM < cut.left and cut.right < right - _INSIDE_MM for left, right in tails)
    ]
    if not found:
        return ()
    kind = WARNINGS["mark_in_tail"]
    places = places_words(found, tails[0][0], "the left side of the first tail")
    return (kind._replace(message=f"{kind.message} {places}"),)


def pin_doubts(walls: Sequence[RoughWall]) -> tuple[Kind, ...]:
    """The warning `wide_pin` when a socket between these walls, from left to right, is as wide as the tails beside it.

    Then two sockets no wider than the saw may have passed for the sides of one.
    """
    gaps = np.diff([wall.x_mm for wall in walls])
    tails, sockets = gaps[::2], gaps[1::2]
    beside = np.minimum(tails[:-1], tails[1:])
    wide = (sockets > WIDEST_SOCKET_MM) & (sockets > _AS_WIDE * beside)
    return (WARNINGS["wide_pin"],) if wide.any() else ()


def check_across(leans_deg: Sequence[float]) -> None:
    """Raises CannotMeasure `slopes_of_a_face` when walls lean to both sides as the sides of tails do on a face.

    One saw may stray far to one side; no hand strays so far to both.
    """
    if min(leans_deg) < -MOST_STRAY_DEG and max(leans_deg) > MOST_STRAY_DEG:
        raise refuse("slopes_of_a_face", f"They lean by {min(leans_deg):.0f} to {max(leans_deg):.0f} degrees.")


def places_words(found: list[Cut], first: float, start: str) -> str:
    """A sentence on marks: how far they are from the place `first`, called `start`, and how wide."""
    told = " and ".join(f"the one at {cut.middle - first:.1f} mm is {cut.width:.1f} mm wide" for cut in found)
    return f"From {start}, {told}."


def odd_one_out(cuts: list[Cut], left: float) -> str:
    """A sentence on an odd number of cuts: where they are, and which of them seems to stand alone."""
    places = np.array([cut.middle - left for cut in cuts])
    listed = ", ".join(f"{place:.1f}" for place in places)
    if len(cuts) == 1:
        return f"Only one was found, {listed} mm from the left end of the show face."
    alone, shared = places[_lone_cut(places)], _shared_cut(places)
    unless = "" if shared is None else f", unless the one at {places[shared]:.1f} mm serves two tails"
    return (
        f"{len(cuts)} were found, {listed} mm from the left end of the show face;"
        f" the one at {alone:.1f} mm seems to have no mate{unless}."
    )


def no_room(cuts: list[Cut], left: float) -> str:
    """A sentence on two of an even number of `cuts` that would be the sides of a tail too narrow to be one, or none."""
    for one, other in zip(cuts[::2], cuts[1::2], strict=True):
        if other.left - one.right < NARROWEST_TAIL_MM:
            places = " and ".join(f"{cut.middle - left:.1f}" for cut in (one, other))
            return f"The ones at {places} mm from the left end of the show face leave no room for a tail between them."
    return ""


def _lone_cut(places: Floats) -> int:
    """The cut without which the rest make the most even tails."""
    return min(range(0, len(places), 2), key=lambda index: float(np.std(_tails(np.delete(places, index)))))


def _shared_cut(places: Floats) -> int | None:
    """The cut that, as both sides of a socket no wider than the saw, makes the most even tails; None if none does."""
    evenness = {}
    for index in range(1, len(places) - 1, 2):
        tails = _tails(np.insert(places, index, places[index]))
        if tails.min() > NARROWEST_TAIL_MM and np.std(tails) < _EVEN * np.mean(tails):
            evenness[index] = float(np.std(tails))
    return min(evenness, key=evenness.__getitem__, default=None)


def _tails(places: Floats) -> Floats:
    """Widths of the tails between an even number of cuts."""
    return np.asarray(places[1::2] - places[::2])
