"""What is known of a drill board, from the truth file beside its photo, and how well it was measured."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from calibration.outcome import Refusal
from vision.drill.report import DrillCut, DrillMeasurement

SAME_CUT_MM = 0.75
"""A measured cut this close to a true one, half-way through the board, is that cut: more than a kerf is wide."""


@dataclass(frozen=True)
class TrueCut:
    """A cut's true line, midway between the least-squares lines through its kerf's edges, 1 mm inside each face.

    `kerf_mm` is how far apart these are along the board.
    """

    lean_deg: float
    x_show_mm: float
    x_transfer_mm: float
    kerf_mm: float

    @property
    def square_kerf_mm(self) -> float:
        """The kerf's width square to it."""
        return self.kerf_mm * math.cos(math.radians(self.lean_deg))

    @property
    def x_mid_mm(self) -> float:
        """Where the cut is half-way through the board."""
        return (self.x_show_mm + self.x_transfer_mm) / 2.0


@dataclass(frozen=True)
class DrillTruth:
    """The true cuts of a photo, from left to right."""

    photo: str
    cuts: tuple[TrueCut, ...]


def is_drill_truth(data: object) -> bool:
    """Whether a JSON value is the truth of a drill board."""
    return isinstance(data, Mapping) and {"photo", "board", "cuts"} <= data.keys()


def drill_truth_from_dict(data: Mapping[str, Any]) -> DrillTruth:
    """The truth in a truth file's JSON object. Raises ValueError, naming what is missing or wrong."""
    try:
        keys = ("lean", "x_show", "x_transfer", "kerf")
        return DrillTruth(data["photo"], tuple(TrueCut(*(float(cut[key]) for key in keys)) for cut in data["cuts"]))
    except KeyError as error:
        raise ValueError(f"the truth file has no {error.args[0]!r}") from None
    except (TypeError, AttributeError) as error:
        raise ValueError(f"the truth file is not in the format expected: {error}") from None


@dataclass(frozen=True)
class DrillScore:
    """One photo's score: true cuts, false ones, and of every cut found (error, U) of its lean, place and kerf.

    `refused` is the reason of a photo that was not measured.
    """

    photo: str
    true: int
    false: int = 0
    errors: Mapping[str, tuple[tuple[float, float], ...]] | None = None
    refused: str | None = None


UNITS = {"lean": "deg", "x_show": "mm", "kerf": "mm"}


def score_drill(truth: DrillTruth, found: DrillMeasurement | Refusal) -> DrillScore:
    """How well a drill's photo was measured: each true cut against the nearest measured one, if that is near enough."""
    if isinstance(found, Refusal):
        return DrillScore(truth.photo, len(truth.cuts), refused=found.reason)
    pairs = [(true, _nearest(true, found.cuts)) for true in truth.cuts]
    matched = [(true, cut) for true, cut in pairs if cut is not None]
    errors = {
        "lean": tuple((cut.lean.value - true.lean_deg, cut.lean.u95) for true, cut in matched),
        "x_show": tuple((cut.x_show.value - true.x_show_mm, cut.x_show.u95) for true, cut in matched),
        "kerf": tuple((cut.kerf.value - true.square_kerf_mm, cut.kerf.u95) for true, cut in matched),
    }
    return DrillScore(truth.photo, len(truth.cuts), len(found.cuts) - len(matched), errors)


def _nearest(true: TrueCut, cuts: Sequence[DrillCut]) -> DrillCut | None:
    nearest = min(cuts, key=lambda cut: abs(cut.x_mid_mm - true.x_mid_mm))
    return nearest if abs(nearest.x_mid_mm - true.x_mid_mm) < SAME_CUT_MM else None


def drill_scores_dict(scores: Sequence[DrillScore]) -> dict[str, Any]:
    """All scores as one JSON object; cuts of refused photos count as missed."""
    measured = [score.errors for score in scores if score.errors is not None]
    found = sum(len(errors["lean"]) for errors in measured)
    true = sum(score.true for score in scores)
    return {
        "photos": len(scores),
        "cuts": {"true": true, "found": found, "missed": true - found, "false": sum(score.false for score in scores)},
        "errors": {name: _figures([pair for errors in measured for pair in errors[name]]) for name in UNITS},
        "refused": [{"photo": score.photo, "reason": score.refused} for score in scores if score.refused],
    }


def _figures(pairs: Sequence[tuple[float, float]]) -> dict[str, float] | None:
    if not pairs:
        return None
    error, u95 = np.abs(np.array(pairs)).T
    median, p95, worst = (float(np.percentile(error, share)) for share in (50, 95, 100))
    inside = float(np.mean(error <= u95))
    return {"count": len(pairs), "median": median, "p95": p95, "worst": worst, "inside_u95": inside}
