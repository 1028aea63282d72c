"""What the photos of one end were to the result, in sentences: how the card lay, who disagrees, what cancelled."""

from __future__ import annotations

from collections.abc import Sequence

from calibration.units import MM_PER_INCH
from vision.answer.budget_words import cause_words
from vision.answer.words import Units, format_error, wall_name
from vision.end.report import Placement, Wall
from vision.together.agreement import SIDE, Difference
from vision.together.same_end import Cancelled, Role, SameEnd

MOST_DIFFERENCES = 3
"""As many differences as tell a person where to look."""


def same_end_sentences(end: SameEnd, units: Units = "mm") -> list[str]:
    """One sentence for every photo, then whether they agree and what turning the card cancelled."""
    first = end.roles[0]
    photos = [f"{role.name}: {_how(role, first)}.{_why_out(role, end, units)}" for role in end.roles]
    return [*photos, *_verdict(end, units), *(_cancelled(each, units) for each in end.cancelled)]


def _how(role: Role, first: Role) -> str:
    """How the card lay, told against the first photo."""
    if role is first:
        return f"the card lies along the {first.placement.side} face{_edge_words(first.placement)}"
    if role.set_up == first.set_up:
        return "card and board as in the first"
    turned = turn_words(first.placement, role.placement)
    return f"the card {turned}" if turned else "card and board set up anew"


def _edge_words(placement: Placement) -> str:
    return {0: "", 2: ", its far edge to the board"}.get(placement.edge, ", a short edge to the board")


def turn_words(first: Placement, other: Placement) -> str:
    """How the card was turned or moved between two photos, empty when it was not."""
    turned = {0: "", 2: "turned end for end"}.get((other.edge - first.edge) % 4, "turned a quarter")
    moved = f"laid along the {other.side} face" if other.side != first.side else ""
    return " and ".join(filter(None, (turned, moved)))


def _why_out(role: Role, end: SameEnd, units: Units) -> str:
    if role.used:
        return ""
    agreeing = sum(each.used for each in end.roles)
    return f" Left out: it differs {_in_what(role.differences, end, units)}, and the {agreeing} others agree."


def _in_what(found: Sequence[Difference], end: SameEnd, units: Units) -> str:
    """`in the lean of the left wall of tail 1 by 0.31 mm`, and so on."""
    if not found:
        return "in many numbers a little"
    return "in " + ", ".join(difference_words(each, end.measurement.walls, units) for each in found[:MOST_DIFFERENCES])


def difference_words(difference: Difference, walls: Sequence[Wall], units: Units = "mm") -> str:
    """`the lean of the left wall of tail 1 by 0.31 mm`; a lean is told as what it makes over the thickness."""
    by = format_error(abs(difference.by_mm), units)
    if difference.wall is None:
        return f"the {'place of the ' if difference.what == SIDE else ''}{difference.what} by {by}"
    return f"the {difference.what} of the {wall_name(walls[difference.wall])} by {by}"


def _verdict(end: SameEnd, units: Units) -> list[str]:
    used = [role for role in end.roles if role.used]
    if len(used) < 2:
        return []
    if end.settled:
        return [f"The {len(used)} photos agree and were combined."]
    odd = max(used, key=lambda role: role.deviation.chi_square if role.deviation else 0.0)
    return [f"The photos differ {_in_what(odd.differences, end, units)}."]


def _cancelled(found: Cancelled, units: Units) -> str:
    places = 4 if units == "inch" else 3
    scale, unit = (1.0 / MM_PER_INCH, "in") if units == "inch" else (1.0, "mm")
    before, after = (f"{value * scale:.{places}f}" for value in (found.before_mm, found.after_mm))
    return (
        f"Turning the card cancelled an error of its own, {cause_words(found.cause)}:"
        f" its part of U fell from {before} to {after} {unit} off square."
    )
