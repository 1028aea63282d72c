"""The board's result as JSON (`schema: 1`): walls by their corners, sockets by depth, and which photo to doubt."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from calibration.outcome import Refusal
from calibration.quantity import Quantity
from vision.answer.result import SCHEMA
from vision.board.agreement import Comparison
from vision.board.joint_in_depth import DeepSocket, Slice
from vision.board.judge import BoardReport
from vision.board.views import ViewName
from vision.board.walls import BoardWall
from vision.face.report import FaceView
from vision.together.agreement import Difference

CORNERS = ("show_end", "transfer_end", "show_baseline", "transfer_baseline")
"""A wall's corners, in `BoardWall`'s order."""


def board_dict(
    report: BoardReport, files: Mapping[ViewName, str], refused: Mapping[FaceView, Refusal] | None = None
) -> dict[str, Any]:
    """The result JSON: millimetres and degrees, lengths to 0.1 micrometre, angles to 0.0001 degree."""
    return {
        "schema": SCHEMA,
        "ok": True,
        "advice": report.advice,
        "photos": _photos(report, files, refused or {}),
        "agreement": _agreement(report),
        "in_depth": _in_depth(report),
    }


def _photos(
    report: BoardReport, files: Mapping[ViewName, str], refused: Mapping[FaceView, Refusal]
) -> list[dict[str, Any]]:
    """Every photo, what it was to the result, and what is doubtful about it."""
    found = [_photo("end", files, report)]
    found += [_photo(face.view, files, report) for face in report.faces]
    told: list[tuple[ViewName, Refusal]] = list(refused.items())
    return found + [{**_named(view, files), "used": False, "refusal": why.to_dict()} for view, why in told]


def _photo(view: ViewName, files: Mapping[ViewName, str], report: BoardReport) -> dict[str, Any]:
    measured = next((face for face in report.faces if face.view == view), report.end)
    return {
        **_named(view, files),
        "used": view != report.left_out,
        "px_per_mm": round(measured.px_per_mm, 3),
        "warnings": [warning.reason for warning in measured.warnings],
    }


def _named(view: ViewName, files: Mapping[ViewName, str]) -> dict[str, str]:
    return {"view": view, "file": files[view]}


def _agreement(report: BoardReport) -> dict[str, Any]:
    found = report.agreement
    return {
        "doubt": found.doubt,
        "exchanged": report.exchanged,
        "turned": report.turned,
        "comparisons": [_comparison(one) for one in found.comparisons],
        "birge_ratio": round(found.birge_ratio, 3),
        "wall_probabilities": [round(probability, 6) for probability in found.walls],
    }


def _comparison(one: Comparison) -> dict[str, Any]:
    return {
        "photos": [one.first, one.second],
        "chi_square": round(one.scatter.chi_square, 3),
        "freedom": one.scatter.freedom,
        "probability": round(one.probability, 6),
        "odd": [_difference(each) for each in one.odd],
        "differs_in": [_difference(each) for each in one.differences],
    }


def _difference(one: Difference) -> dict[str, Any]:
    value: dict[str, Any] = {"what": one.what, "by_mm": round(one.by_mm, 4), "u95_mm": round(one.u95_mm, 4)}
    return value if one.wall is None else value | {"wall": one.wall}


def _in_depth(report: BoardReport) -> dict[str, Any]:
    shape, prediction = report.shape, report.joint.prediction
    return {
        "stage": report.end.stage,
        "board": {
            "width_mm": round(shape.width.value, 4),
            "thickness_mm": round(shape.thickness.value, 4),
            "baseline_depth_mm": round(shape.depth.value, 4),
            "u95_mm": round(max(size.u95 for size in (shape.width, shape.thickness, shape.depth)), 4),
        },
        "walls": [_wall(wall) for wall in shape.walls],
        "sockets": [_socket(socket) for socket in report.joint.sockets],
        "settle_mm": round(prediction.settle_mm, 4),
    }


def _wall(wall: BoardWall) -> dict[str, Any]:
    value: dict[str, Any] = {"tail": wall.tail, "side": wall.side}
    value["x_mm"] = {name: round(corner.value, 4) for name, corner in zip(CORNERS, wall.corners, strict=True)}
    value["x_u95_mm"] = round(max(corner.u95 for corner in wall.corners), 4)
    value |= _with_u95("lean_end", "deg", wall.lean_at(0.0))
    value |= _with_u95("lean_baseline", "deg", wall.lean_at(wall.depth_mm))
    value |= _with_u95("twist", "deg", wall.twist)
    value |= _with_u95("slope_show", "", wall.slope_at(0.0))
    return value | _with_u95("slope_transfer", "", wall.slope_at(wall.thickness_mm))


def _with_u95(name: str, unit: str, quantity: Quantity) -> dict[str, float]:
    ending = f"_{unit}" if unit else ""
    return {f"{name}{ending}": round(quantity.value, 4), f"{name}_u95{ending}": round(quantity.u95, 4)}


def _socket(deep: DeepSocket) -> dict[str, Any]:
    """The socket as the end's own result has it, its worst over the depth, and its depths."""
    place, mean = deep.squeezed_at, deep.socket.squeeze_mean
    centre = (
        None if place is None else {"from_show_mm": round(place.from_show_mm, 2), "depth_mm": round(place.depth_mm, 2)}
    )
    return deep.socket.to_dict() | {
        "gap_depth_mm": round(deep.gap_depth_mm, 4),
        "squeeze_mean_mm": round(mean.value, 4),
        "squeeze_mean_interval_mm": [round(mean.low, 4), round(mean.high, 4)],
        "squeeze_centre": centre,
        "by_depth": [_slice(one) for one in deep.slices],
    }


def _slice(one: Slice) -> dict[str, float]:
    return {
        "depth_mm": round(one.depth_mm, 4),
        "taper_mm": round(one.taper.value, 4),
        "taper_u95_mm": round(one.taper.u95, 4),
        "gap_mm": round(one.gap_mm, 4),
        "squeeze_mm": round(one.squeeze_mm, 4),
    }
