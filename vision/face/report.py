"""What a photo of a face shows: edges, baseline and every kerf's line, with their uncertainties.

The face frame has x as in the end frame (DEVELOPERS.md) and depth from the end's edge, in mm. So on the show face,
seen with the end at the bottom, x runs from right to left; on the transfer face from left to right.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from calibration.outcome import Kind
from calibration.quantity import Quantity
from vision.end.report import CardView, Side, Stage
from vision.face.baseline_kind import BaselineKind

Floats = NDArray[np.float64]

FaceView = Literal["show", "transfer"]
StopVerdict = Literal["stops short", "at the baseline", "past the baseline", "too close to call"]

PAST_LIMIT_MM = 0.3
"""How far past the baseline, or short of it, a cut may stop and still count as at it (common practice, no source)."""


@dataclass(frozen=True)
class Baseline:
    """The baseline's depth (mm) at x = 0 and at x = width, and how square and straight it is.

    `out_of_square` (deg) is its angle to the end's edge, positive when depth grows with x; `straightness_mm` the width
    of the zone between two parallel lines that holds it (ISO 1101). `kind` is what drew it where that is sure, else a
    `line`; `chances` are those of every kind, `width_mm` is the line's own width.
    """

    depth_left: Quantity
    depth_right: Quantity
    out_of_square: Quantity
    straightness_mm: float
    width_mm: float
    kind: BaselineKind = "line"
    chances: Mapping[BaselineKind, float] = field(default_factory=dict)


@dataclass(frozen=True)
class FaceKerf:
    """One sawn side of a tail as the face shows it, from the end to where the cut stops.

    `x_at_end` (mm) is the wall's place at the end's edge. `slope` is run over rise, unit "", positive when the tail
    narrows away from the end; `slope_deg` the same as an angle. `stop_depth` (mm) is from the end's edge,
    `past_baseline` (mm) from the baseline there, positive past it. `kerf_mm` is None once the waste is gone.
    """

    tail: int
    side: Side
    x_at_end: Quantity
    slope: Quantity
    slope_deg: Quantity
    stop_depth: Quantity
    past_baseline: Quantity
    verdict: StopVerdict
    kerf_mm: float | None = None


@dataclass(frozen=True)
class FaceMeasurement:
    """Everything measured on one face. `to_image` maps (n, 2) face-frame mm to (n, 2) pixels of the upright photo.

    `kerfs` run as on the end: by tail, left before right. `past_limit_mm` is the policy behind their verdicts.
    """

    view: FaceView
    stage: Stage
    px_per_mm: float
    camera_tilt: Quantity
    card: CardView
    width: Quantity
    baseline: Baseline
    kerfs: tuple[FaceKerf, ...]
    to_image: Callable[[Floats], Floats]
    past_limit_mm: float = PAST_LIMIT_MM
    warnings: tuple[Kind, ...] = ()
