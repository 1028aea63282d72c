"""What end and faces say together, as sentences and tables for a page."""

from __future__ import annotations

from typing import Any

from vision.answer.words import Units, format_error, format_plus_minus, format_size, socket_name, wall_name
from vision.board.joint_in_depth import DeepSocket
from vision.board.judge import BoardReport
from vision.board.walls import BoardWall
from vision.board.words import (
    NAMES,
    agreement_sentences,
    deep_sentence,
    past_baseline_sentences,
    report_sentence,
    slope_text,
    unseen_sentence,
)


def board_words(report: BoardReport, units: Units) -> dict[str, Any]:
    """Everything a page says about a board in depth, in these units."""
    sockets, walls = report.joint.sockets, zip(report.shape.walls, report.end.walls, strict=True)
    return {
        "verdict": report_sentence(report),
        "board": _sizes(report, units),
        "agreement": agreement_sentences(report, units),
        "notes": _notes(report, units),
        "sockets": [_socket(deep, len(sockets), units) for deep in sockets],
        "walls": [_wall(wall, wall_name(end)) for wall, end in walls],
        "doubts": _doubts(report),
        "assumptions": list(report.joint.prediction.assumptions),
    }


def _sizes(report: BoardReport, units: Units) -> str:
    shape = report.shape
    width, thickness, depth = (format_size(size.value, units) for size in (shape.width, shape.thickness, shape.depth))
    return f"{width} wide, {thickness} thick, baseline {depth} from the end"


def _notes(report: BoardReport, units: Units) -> list[str]:
    """What would settle what is open, cuts past the baseline, and a face that nobody photographed."""
    past = past_baseline_sentences(report.faces, units)
    return [*report.joint.prediction.what_would_settle, *past, *filter(None, [unseen_sentence(report)])]


def _socket(deep: DeepSocket, count: int, units: Units) -> dict[str, str]:
    socket = deep.socket
    return {
        "name": socket_name(socket.index, count),
        "verdict": socket.verdict,
        "sentence": deep_sentence(deep, count, units),
        "taper_end": format_plus_minus(deep.slices[0].taper, units),
        "taper_baseline": format_plus_minus(deep.slices[-1].taper, units),
        "gap": format_error(socket.gap.value, units),
        "squeeze": format_error(socket.squeeze.value, units),
        "mean": format_error(socket.squeeze_mean.value, units),
    }


def _wall(wall: BoardWall, name: str) -> dict[str, str]:
    leans = (format_plus_minus(wall.lean_at(depth), "mm").replace(" deg", "°") for depth in (0.0, wall.depth_mm))
    slopes = (slope_text(wall.slope_at(y)) for y in (0.0, wall.thickness_mm))
    keys = ("lean_end", "lean_baseline", "slope_show", "slope_transfer")
    return {"name": name} | dict(zip(keys, (*leans, *slopes), strict=True))


def _doubts(report: BoardReport) -> list[dict[str, str]]:
    views = [("end", report.end.warnings), *((face.view, face.warnings) for face in report.faces)]
    return [
        {"message": f"Photo of {NAMES[view]}: {kind.message}", "what_to_do": kind.what_to_do}  # type: ignore[index]
        for view, kinds in views
        for kind in kinds
    ]
