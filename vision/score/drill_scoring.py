"""What is known of a drill board, from the truth file beside its photo, and how well it was measured."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from calibration.outcome import Refusal
from vision.drill.report import DrillCut, DrillMeasurement
from vision.score.claims import Claim, coverage, errors_of
from vision.score.truth_parts import number, parts, text

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
    keys = ("lean", "x_show", "x_transfer", "kerf")
    cuts = tuple(TrueCut(*(number(cut, key) for key in keys)) for cut in parts(data, "cuts"))
    return DrillTruth(text(data, "photo"), cuts)


@dataclass(frozen=True)
class DrillScore:
    """One photo's score: true cuts, false ones, and of every cut found the claims of its lean, place and kerf.

    `refused` is the reason of a photo that was not measured.
    """

    photo: str
    true: int
    false: int = 0
    errors: Mapping[str, tuple[Claim, ...]] | None = None
    refused: str | None = None


UNITS = {"lean": "deg", "x_show": "mm", "kerf": "mm"}


def score_drill(truth: DrillTruth, found: DrillMeasurement | Refusal) -> DrillScore:
    """How well a drill's photo was measured: each true cut against the nearest measured one, if that is near enough."""
    if isinstance(found, Refusal):
        return DrillScore(truth.photo, len(truth.cuts), refused=found.reason)
    pairs = [(true, _nearest(true, found.cuts)) for true in truth.cuts]
    matched = [(true, cut) for true, cut in pairs if cut is not None]
    errors = {
        "lean": tuple(Claim.of("lean", cut.lean, true.lean_deg) for true, cut in matched),
        "x_show": tuple(Claim.of("x_show", cut.x_show, true.x_show_mm) for true, cut in matched),
        "kerf": tuple(Claim.of("kerf", cut.kerf, true.square_kerf_mm) for true, cut in matched),
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
        "errors": {name: _figures([claim for errors in measured for claim in errors[name]]) for name in UNITS},
        "refused": [{"photo": score.photo, "reason": score.refused} for score in scores if score.refused],
    }


def _figures(claims: Sequence[Claim]) -> dict[str, float | None] | None:
    errors = errors_of(claims)
    return None if errors is None else {**errors, "inside_u95": coverage(claims)}
