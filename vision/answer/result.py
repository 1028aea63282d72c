"""The result of a check as one value, and as the JSON that others rely on (`schema: 1`)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from calibration.outcome import Refusal
from vision.end.report import Measurement, Wall
from vision.face.report import FaceMeasurement
from vision.joint.seating import Prediction

SCHEMA = 1


@dataclass(frozen=True)
class Report:
    """One photo's measured end and what its pins will do. `name` is the photo's, for messages."""

    name: str
    measurement: Measurement
    prediction: Prediction

    def to_dict(self) -> dict[str, Any]:
        """The result JSON: millimetres and degrees, lengths to 0.1 micrometre, angles to 0.0001 degree."""
        measurement = self.measurement
        return {
            "schema": SCHEMA,
            "ok": True,
            "stage": measurement.stage,
            "advice": self.prediction.advice,
            **setting_dict(measurement),
            "walls": _walls(measurement),
            "sockets": [socket.to_dict() for socket in self.prediction.sockets],
            "settle_mm": round(self.prediction.settle_mm, 4),
            "warnings": [warning.reason for warning in measurement.warnings],
            **corrections_dict(measurement),
        }


def refusal_dict(refusal: Refusal) -> dict[str, Any]:
    """The result JSON of a photo that cannot be measured."""
    return {"schema": SCHEMA, "ok": False, "refusal": refusal.to_dict()}


def result_dict(result: Report | Refusal) -> dict[str, Any]:
    """The result JSON, whichever it is."""
    return result.to_dict() if isinstance(result, Report) else refusal_dict(result)


def setting_dict(measurement: Measurement) -> dict[str, Any]:
    """What every result tells of its photo, card, print and board, whatever was measured on the board."""
    return {
        "photo": photo_dict(measurement) | _scale_u(measurement) | _size(measurement),
        "card": card_dict(measurement),
        "print": _print(measurement),
        "board": _board(measurement),
    }


def socket_edges_mm(walls: Sequence[Wall], width_mm: float) -> list[tuple[float, float]]:
    """Left and right end of every socket at the transfer face, mm, from left to right."""
    inner = [wall.x_transfer.value for wall in walls]
    ends = [0.0, *inner, width_mm]
    return list(zip(ends[0::2], ends[1::2], strict=True))


def photo_dict(measurement: Measurement | FaceMeasurement) -> dict[str, Any]:
    """Scale and tilt, and the camera profile that was used (null: none)."""
    tilt = measurement.camera_tilt
    return {
        "px_per_mm": round(measurement.px_per_mm, 3),
        "camera_tilt_deg": round(tilt.value, 2),
        "camera_tilt_u95_deg": round(tilt.u95, 3),
        "camera_profile": measurement.card.profile or None,
    }


def _scale_u(measurement: Measurement) -> dict[str, float]:
    """The uncertainty of the scale."""
    return {"px_per_mm_u95": round(measurement.px_per_mm_u95, 4)}


def _size(measurement: Measurement) -> dict[str, Any]:
    """Width and height of the upright photo that pixels are counted in."""
    return {"size_px": list(measurement.size_px)} if all(measurement.size_px) else {}


def card_dict(measurement: Measurement | FaceMeasurement) -> dict[str, Any]:
    """The card's kind, corners and their misfit."""
    card = measurement.card
    return {"kind": card.kind, "corners": card.corners, "rms_px": round(card.rms_px, 4)}


def _print(measurement: Measurement) -> dict[str, Any]:
    """The kept print that was used (null: none), and the shares of U that an exactly known print would save."""
    cost = measurement.print_cost
    shares = {"share_of_u": round(cost.lean_share, 4), "share_of_width_u": round(cost.width_share, 4)}
    return {"name": cost.name or None, **shares}


def _board(measurement: Measurement) -> dict[str, float]:
    """Width and thickness, with the larger of their uncertainties for both."""
    width, thickness = measurement.width, measurement.thickness
    u95_mm = max(width.u95, thickness.u95)
    return {
        "width_mm": round(width.value, 4),
        "thickness_mm": round(thickness.value, 4),
        "u95_mm": round(u95_mm, 4),
    }


def _walls(measurement: Measurement) -> list[dict[str, Any]]:
    """Every wall, with where its ends lie in the photo."""
    ends_mm = [[wall.x_show.value, 0.0] for wall in measurement.walls]
    ends_mm += [[wall.x_transfer.value, measurement.thickness.value] for wall in measurement.walls]
    ends_px = np.round(measurement.to_image(np.array(ends_mm)), 2).tolist()
    count = len(measurement.walls)
    pairs = zip(measurement.walls, ends_px[:count], ends_px[count:], strict=True)
    return [_wall(wall) | {"show_px": show_px, "transfer_px": transfer_px} for wall, show_px, transfer_px in pairs]


def corrections_dict(measurement: Measurement) -> dict[str, Any]:
    """What a person changed of the walls found, with what they had been; empty for an answer as the program gave it."""
    corrections = measurement.corrections
    if not corrections:
        return {}
    placed = [(measurement.walls[index], was) for index, was in sorted(corrections.placed.items())]
    corrected = [{"tail": wall.tail, "side": wall.side, "was": was and _wall(was)} for wall, was in placed]
    return {"corrected": corrected, "left_out": [_wall(wall) for wall in corrections.left_out]}


def _wall(wall: Wall) -> dict[str, Any]:
    """One wall; `x_u95_mm` is the larger of the uncertainties at the two faces."""
    return {
        "tail": wall.tail,
        "side": wall.side,
        "lean_deg": round(wall.lean.value, 4),
        "lean_u95_deg": round(wall.lean.u95, 4),
        "x_show_mm": round(wall.x_show.value, 4),
        "x_transfer_mm": round(wall.x_transfer.value, 4),
        "x_u95_mm": round(max(wall.x_show.u95, wall.x_transfer.u95), 4),
        "out_of_square_mm": round(wall.out_of_square.value, 4),
        "squareness_zone_mm": round(wall.squareness_zone_mm, 4),
        "kerf_mm": None if wall.kerf_mm is None else round(wall.kerf_mm, 4),
        "flags": list(wall.flags),
    }
