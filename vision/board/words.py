"""The board's result in sentences: do the photos agree, which one to doubt, and what each pin meets in depth."""

from __future__ import annotations

import math
from collections.abc import Sequence

from calibration.quantity import COVERAGE_FACTOR, Quantity, Source
from vision.answer.words import (
    Units,
    board_sentence,
    format_error,
    format_plus_minus,
    format_size,
    socket_sentence,
    wall_name,
)
from vision.board.agreement import SCALE, Comparison, Doubt
from vision.board.joint_in_depth import DeepSocket
from vision.board.judge import BoardReport
from vision.board.views import ViewName
from vision.board.walls import TWIST_U
from vision.end.report import Wall
from vision.face.report import FaceKerf, FaceMeasurement
from vision.together.agreement import SIDE, Difference

MOST_DIFFERENCES = 3
"""More differences of two photos than this are not listed: the surest say enough."""

NAMES: dict[ViewName, str] = {"end": "the end", "show": "the show face", "transfer": "the transfer face"}

_DOUBTS: dict[Doubt, str] = {
    "end": "Doubt the photo of the end: it contradicts both faces, which agree with one another.",
    "show": "Doubt the photo of the show face: it contradicts the end, which the transfer face bears out. It was left"
    " out.",
    "transfer": "Doubt the photo of the transfer face: it contradicts the end, which the show face bears out. It was"
    " left out.",
    "either": "The photos contradict one another, and nothing tells which of them is wrong.",
}
_REMEDY = (
    "See that they show one board, that each face was named rightly and that the card lay flat in its plane; then take"
    " that photo again."
)
_EXCHANGED = (
    "The photos contradict one another as they are named, but agree when show and transfer face are exchanged: give"
    " each face's photo by its right name."
)


def report_sentence(report: BoardReport) -> str:
    """The verdict for the board in one line, advice first."""
    if report.agreement.agree:
        return board_sentence(report.joint.prediction)
    return "Photograph again: the photos contradict one another."


def slope_text(slope: Quantity) -> str:
    """A slope as people say it, `1:6.9 ± 0.2`; `none` where it is not sure that there is any."""
    if abs(slope.value) <= slope.u95:
        return "none"
    rise = 1.0 / slope.value
    return f"1:{format_plus_minus(Quantity(rise, slope.scaled(rise * rise).parts, '')).strip()}"


def agreement_sentences(report: BoardReport, units: Units = "mm") -> list[str]:
    """Whether the photos agree and, if not, which one to doubt and in what they differ."""
    found = report.agreement
    doubts = [] if found.doubt is None else [f"{_DOUBTS[found.doubt]} {_REMEDY}"]
    if report.exchanged:
        doubts = [_EXCHANGED]
    return [*doubts, *(_comparison_sentence(one, report.end.walls, units) for one in found.comparisons)]


def deep_sentence(deep: DeepSocket, sockets: int, units: Units = "mm") -> str:
    """What the pin will do, and where: at which depth the gap is widest, and where wood overlaps."""
    sentence = socket_sentence(deep.socket, sockets, units)
    if deep.socket.verdict == "loose":
        return f"{sentence} It is widest at the {'end' if deep.gap_depth_mm == 0.0 else 'baseline'}."
    if deep.socket.verdict == "splitting" and deep.squeezed_at is not None:
        from_show, depth = (format_size(x, units) for x in (deep.squeezed_at.from_show_mm, deep.squeezed_at.depth_mm))
        mean = format_error(deep.socket.squeeze_mean.value, units)
        return (
            f"{sentence} The wood in the way has its middle {from_show} from the show face and {depth} from the end;"
            f" over the walls the squeeze is {mean} in the mean."
        )
    return sentence


def past_baseline_sentences(faces: Sequence[FaceMeasurement], units: Units = "mm") -> list[str]:
    """A sentence for every face with cuts that firmly run past the baseline: they show in the finished joint."""
    found = [(face, [kerf for kerf in face.kerfs if kerf.verdict == "past the baseline"]) for face in faces]
    return [
        f"Sawn past the baseline on {NAMES[face.view]}: {', '.join(_past(kerf, units) for kerf in past)}."
        for face, past in found
        if past
    ]


def unseen_sentence(report: BoardReport) -> str:
    """What a face that was not photographed, or was left out, leaves open; empty when both were used."""
    used = {face.view for face in report.faces} - {report.left_out}
    if len(used) == 2:
        return ""
    missing = NAMES["transfer" if used == {"show"} else "show"]
    within_deg = math.degrees(math.atan(COVERAGE_FACTOR * TWIST_U))
    return (
        f"Nothing is known of {missing}: its slopes are taken as those of the other, within {within_deg:.1f} degrees."
    )


def _past(kerf: FaceKerf, units: Units) -> str:
    return f"{kerf.side} wall of tail {kerf.tail + 1} by {format_plus_minus(kerf.past_baseline, units)}"


def _comparison_sentence(one: Comparison, walls: Sequence[Wall], units: Units) -> str:
    first, second = NAMES[one.first], NAMES[one.second]
    if one.contradicts:
        listed = "; ".join(_difference(each, one, walls, units) for each in one.differences[:MOST_DIFFERENCES])
        return f"{_upper(first)} and {second} contradict one another: {listed or 'in many numbers'}."
    odd = "; ".join(_difference(each, one, walls, units) for each in one.odd)
    if odd and not one.corners:
        return f"{_upper(first)} and {second} differ in the one thing that both show: {odd}."
    if odd:
        return f"{_upper(first)} and {second} agree but for this: {odd}. U there reaches as far as they differ."
    most = max([one.width, *one.corners], key=lambda quantity: abs(quantity.value))
    return f"{_upper(first)} and {second} agree: they differ by {format_error(abs(most.value), units)} at most."


def _upper(name: str) -> str:
    return name[0].upper() + name[1:]


def _difference(one: Difference, of: Comparison, walls: Sequence[Wall], units: Units) -> str:
    """In what two views differ, told of the first."""
    by, on = _by(one, units), f"on {NAMES[of.first]}"
    direction = "right" if one.by_mm > 0 else "left"
    if one.wall is not None:
        return f"the {wall_name(walls[one.wall])} lies {by} farther {direction} {on}"
    if one.what == SIDE:  # places count from it: all of them grow when it lies farther left
        return f"the board's left side lies {by} farther {'left' if one.by_mm > 0 else 'right'} {on}"
    if one.what == SCALE:
        return f"everything is {'larger' if one.by_mm > 0 else 'smaller'} {on}, by {by} over the width"
    return f"the board's right side lies {by} farther {direction} {on}"


def _by(one: Difference, units: Units) -> str:
    """The size of a difference with its uncertainty."""
    return format_plus_minus(Quantity(abs(one.by_mm), {Source("both"): one.u95_mm / COVERAGE_FACTOR}), units)
