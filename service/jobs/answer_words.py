"""The answer as sentences and tables for a page: what the terminal says, in parts that a page can lay out."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from calibration.outcome import FLAGS, Kind, Refusal
from vision.answer.budget import Budget, Taken, find_budgets
from vision.answer.budget_words import LEAST_SHARE, budget_title, cause_words, forecast_sentences, in_units, places_for
from vision.answer.result import Report
from vision.answer.words import (
    ON_A_PAGE,
    Units,
    board_sentence,
    camera_sentence,
    correction_sentences,
    format_error,
    format_plus_minus,
    format_size,
    off_square_sentences,
    print_sentence,
    socket_name,
    socket_sentence,
    wall_name,
)
from vision.end.report import Measurement, Wall
from vision.joint.seating import Socket


def refusal_words(refusal: Refusal) -> dict[str, Any]:
    """Why a photo cannot be measured, and what to do."""
    return {"message": refusal.message, "what_to_do": refusal.what_to_do}


def report_words(report: Report, units: Units, photos: int = 1) -> dict[str, Any]:
    """Everything a page says about a measured end, from so many photos, in these units."""
    measurement, prediction = report.measurement, report.prediction
    count = len(prediction.sockets)
    return {
        "verdict": board_sentence(prediction),
        "board": _board(measurement, units),
        "corrected": correction_sentences(measurement, units),
        "settle": list(prediction.what_would_settle),
        "off_square": off_square_sentences(measurement.walls, units),
        "sockets": [_socket(socket, count, units) for socket in prediction.sockets],
        "walls": [_wall(wall, units) for wall in measurement.walls],
        "doubts": _doubts(measurement),
        "known": _known(measurement),
        "budgets": [
            _budget(budget, count, units)
            for budget in find_budgets(measurement, prediction, taken=Taken.of(measurement, photos))
        ],
        "assumptions": list(prediction.assumptions),
    }


def _known(measurement: Measurement) -> list[str]:
    """What is known of print and camera, and what it costs that they are not known better."""
    said = (print_sentence(measurement.print_cost, ON_A_PAGE), camera_sentence(measurement.card))
    return [sentence for sentence in said if sentence]


def _board(measurement: Measurement, units: Units) -> str:
    width, thickness = (format_size(size.value, units) for size in (measurement.width, measurement.thickness))
    return f"{width} wide, {thickness} thick, {'waste still in' if measurement.stage == 'sawn' else 'waste out'}"


def _socket(socket: Socket, count: int, units: Units) -> dict[str, Any]:
    return {
        "name": socket_name(socket.index, count),
        "verdict": socket.verdict,
        "sentence": socket_sentence(socket, count, units),
        "taper": format_plus_minus(socket.taper, units),
        "gap": format_error(socket.gap.value, units),
        "squeeze": format_error(socket.squeeze.value, units),
        "crush": f"{socket.crush_ratio:.1f}",
        "split": f"{socket.split_index:.1f}",
    }


def _wall(wall: Wall, units: Units) -> dict[str, Any]:
    return {
        "name": wall_name(wall),
        "lean": format_plus_minus(wall.lean, units).replace(" deg", "°"),
        "out_of_square": format_plus_minus(wall.out_of_square, units),
        "x_show": format_plus_minus(wall.x_show, units),
        "kerf": "" if wall.kerf_mm is None else format_error(wall.kerf_mm, units),
        "flags": [FLAGS[flag].message for flag in wall.flags],
    }


def _doubts(measurement: Measurement) -> list[dict[str, str]]:
    """The photo's warnings, then each kind of flag with the walls that carry it."""
    flags = dict.fromkeys(flag for wall in measurement.walls for flag in wall.flags)
    warnings = [{"message": kind.message, "what_to_do": kind.what_to_do} for kind in measurement.warnings]
    return warnings + [_flag(FLAGS[flag], measurement.walls) for flag in flags]


def _flag(kind: Kind, walls: Sequence[Wall]) -> dict[str, str]:
    names = ", ".join(wall_name(wall) for wall in walls if kind.reason in wall.flags)
    return {"message": f"{names[:1].upper()}{names[1:]}: {kind.message}", "what_to_do": kind.what_to_do}


def _budget(budget: Budget, sockets: int, units: Units) -> dict[str, Any]:
    """A budget's title with its value, its rows largest first, and what would make it smaller."""
    value = format_plus_minus(budget.quantity, units).replace(" deg", "°")
    large = [line for line in budget.lines if line.share >= LEAST_SHARE]
    rest = 1.0 - sum(line.share for line in large)
    rows = [[cause_words(line.cause), _shown(line.u95, budget, units), f"{100 * line.share:.0f} %"] for line in large]
    if rest > 0.0 and len(large) < len(budget.lines):
        rows.append(["all else", _shown(budget.quantity.u95 * rest**0.5, budget, units), f"{100 * rest:.0f} %"])
    title = f"{budget_title(budget, sockets)}: {value}"
    return {"title": title, "rows": rows, "advice": forecast_sentences(budget, units)}


def _shown(u95: float, budget: Budget, units: Units) -> str:
    value, unit = in_units(u95, budget, units)
    return f"± {value:.{places_for(in_units(budget.quantity.u95, budget, units)[0])}f} {unit}"
