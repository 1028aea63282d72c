"""What is known of a face: the truth that lies beside its photo as NAME.json, in the face frame, mm and degrees."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from vision.end.report import Side, Stage
from vision.face.baseline_kind import BaselineKind
from vision.face.report import FaceView
from vision.score.truth_parts import number, one_of, part, parts, size, text


@dataclass(frozen=True)
class TrueKerf:
    """A cut's true line: where its wall meets the end, its slope, and where the saw stopped."""

    tail: int
    side: Side
    x_at_end_mm: float
    slope_deg: float
    stop_depth_mm: float
    past_baseline_mm: float


@dataclass(frozen=True)
class FaceTruth:
    """The true face: view, stage, width and baseline (mm), its cuts as on the end, and what drew the baseline
    where that is known."""

    photo: str
    view: FaceView
    stage: Stage
    width_mm: float
    depth_left_mm: float
    depth_right_mm: float
    kerfs: tuple[TrueKerf, ...]
    baseline_kind: BaselineKind | None = None


def is_face_truth(data: object) -> bool:
    """Whether a JSON value is the truth of a face."""
    return isinstance(data, Mapping) and {"photo", "view", "board", "baseline", "kerfs"} <= data.keys()


def face_truth_from_dict(data: Mapping[str, Any]) -> FaceTruth:
    """The truth in a truth file's JSON object. Raises ValueError, naming what is missing or wrong."""
    photo, board, baseline = text(data, "photo"), part(data, "board"), part(data, "baseline")
    depths = number(baseline, "depth_at_left"), number(baseline, "depth_at_right")
    kerfs = tuple(_kerf(kerf) for kerf in parts(data, "kerfs"))
    view, stage = one_of(data, "view", ("show", "transfer")), one_of(board, "stage", ("sawn", "cleared"))
    kind = one_of(baseline, "kind", ("pencil", "knife or gauge")) if "kind" in baseline else None
    return FaceTruth(photo, view, stage, size(board, "width"), *depths, kerfs, kind)


def _kerf(kerf: Mapping[str, Any]) -> TrueKerf:
    numbers = [number(kerf, key) for key in ("x_at_end", "slope_deg", "stop_depth", "past_baseline")]
    return TrueKerf(int(number(kerf, "tail")), one_of(kerf, "side", ("left", "right")), *numbers)
