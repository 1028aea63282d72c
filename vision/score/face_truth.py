"""What is known of a face: the truth that lies beside its photo as NAME.json, in the face frame, mm and degrees."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from vision.end.report import Side, Stage
from vision.face.baseline_kind import BaselineKind
from vision.face.report import FaceView


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
    try:
        board, baseline = data["board"], data["baseline"]
        width_mm = float(board["width"])
        left_mm, right_mm = float(baseline["depth_at_left"]), float(baseline["depth_at_right"])
        kerfs = tuple(_kerf(kerf) for kerf in data["kerfs"])
        view, stage = _one_of(data, "view", ("show", "transfer")), _one_of(board, "stage", ("sawn", "cleared"))
        kind = _one_of(baseline, "kind", ("pencil", "knife or gauge")) if "kind" in baseline else None
        return FaceTruth(data["photo"], view, stage, width_mm, left_mm, right_mm, kerfs, kind)
    except KeyError as error:
        raise ValueError(f"the truth file has no {error.args[0]!r}") from None
    except (TypeError, AttributeError) as error:
        raise ValueError(f"the truth file is not in the format expected: {error}") from None


def _kerf(kerf: Mapping[str, Any]) -> TrueKerf:
    numbers = [float(kerf[key]) for key in ("x_at_end", "slope_deg", "stop_depth", "past_baseline")]
    return TrueKerf(int(kerf["tail"]), kerf["side"], *numbers)


def _one_of(data: Mapping[str, Any], key: str, words: tuple[str, ...]) -> Any:
    if data[key] not in words:
        raise ValueError(f"the truth file's {key} must be {' or '.join(words)}, got {data[key]!r}")
    return data[key]
