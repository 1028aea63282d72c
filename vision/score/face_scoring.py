"""How well photos of faces were measured: cuts matched to the truth, errors, verdicts judged; and many together.

Cuts match by tail and side within `MATCH_MM` of their place at the end. With the waste out a photo does not show where
a saw stopped short, so of a cleared board no stops are judged.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from calibration.outcome import Refusal
from vision.face.report import FaceKerf, FaceMeasurement
from vision.face.result import FaceReport
from vision.score.claims import Claim, coverage, errors_of
from vision.score.face_truth import FaceTruth, TrueKerf
from vision.score.scoring import MATCH_MM, Judgement

FACE_CLAIMED = ("slope", "stop", "past", "x_at_end", "baseline", "width")
POOLED = ("slope", "stop", "past")
"""The claims that a face is photographed for, taken together."""


@dataclass(frozen=True)
class FaceScore:
    """One photo of a face against its truth. A refused photo has all its cuts missed and no claims."""

    photo: str
    true_kerfs: int
    found: int
    false: int
    stage_right: bool | None = None
    claims: tuple[Claim, ...] = ()
    verdicts: tuple[Judgement, ...] = ()
    refusal: str | None = None
    baseline_kind: Judgement | None = None


def score_face(truth: FaceTruth, result: FaceReport | Refusal) -> FaceScore:
    """The score of one photo's result; verdicts are judged by the limit that the result went by."""
    if isinstance(result, Refusal):
        return FaceScore(truth.photo, len(truth.kerfs), 0, 0, refusal=result.reason)
    measured = result.measurement
    named = {(true.tail, true.side): true for true in truth.kerfs}
    pairs = [(kerf, named.get((kerf.tail, kerf.side))) for kerf in measured.kerfs]
    matches = [(kerf, true) for kerf, true in pairs if true is not None and _near(kerf, true)]
    claims = [*_face_claims(measured, truth), *(claim for match in matches for claim in _kerf_claims(*match))]
    verdicts: list[Judgement] = [_judged(*match, measured.past_limit_mm) for match in matches]
    if truth.stage == "cleared":
        claims, verdicts = [claim for claim in claims if claim.what not in ("stop", "past")], []
    counts = len(truth.kerfs), len(matches), len(measured.kerfs) - len(matches)
    right, kind = measured.stage == truth.stage, _kind_judged(measured, truth)
    return FaceScore(truth.photo, *counts, right, tuple(claims), tuple(verdicts), baseline_kind=kind)


def face_scores_dict(scores: Sequence[FaceScore]) -> dict[str, Any]:
    """Many faces' scores as a JSON object; lengths in mm, angles in degrees, shares from 0 to 1."""
    told = [score.stage_right for score in scores if score.stage_right is not None]
    verdicts = [verdict for score in scores for verdict in score.verdicts]
    names: tuple[Judgement, ...] = ("firm right", "undecided", "firm wrong")
    return {
        "photos": len(scores),
        "kerfs": {
            "true": sum(score.true_kerfs for score in scores),
            "found": sum(score.found for score in scores),
            "missed": sum(score.true_kerfs - score.found for score in scores),
            "false": sum(score.false for score in scores),
        },
        "stage": {"told": len(told), "right": sum(told)},
        "errors": {kind: errors_of(_claims(scores, kind)) for kind in FACE_CLAIMED},
        "inside_u95": {kind: coverage(_claims(scores, kind)) for kind in FACE_CLAIMED}
        | {"slope, stop and past": coverage(_claims(scores, *POOLED))},
        "verdicts": {name: verdicts.count(name) for name in names},
        "baseline_kinds": {name: [score.baseline_kind for score in scores].count(name) for name in names},
        "refused": [{"photo": score.photo, "reason": score.refusal} for score in scores if score.refusal],
    }


def _near(kerf: FaceKerf, true: TrueKerf) -> bool:
    return abs(kerf.x_at_end.value - true.x_at_end_mm) < MATCH_MM


def _face_claims(measured: FaceMeasurement, truth: FaceTruth) -> list[Claim]:
    return [
        Claim.of("width", measured.width, truth.width_mm),
        Claim.of("baseline", measured.baseline.depth_left, truth.depth_left_mm),
        Claim.of("baseline", measured.baseline.depth_right, truth.depth_right_mm),
    ]


def _kerf_claims(kerf: FaceKerf, true: TrueKerf) -> list[Claim]:
    return [
        Claim.of("slope", kerf.slope_deg, true.slope_deg),
        Claim.of("stop", kerf.stop_depth, true.stop_depth_mm),
        Claim.of("past", kerf.past_baseline, true.past_baseline_mm),
        Claim.of("x_at_end", kerf.x_at_end, true.x_at_end_mm),
    ]


def _judged(kerf: FaceKerf, true: TrueKerf, limit_mm: float) -> Judgement:
    if kerf.verdict == "too close to call":
        return "undecided"
    past, short = true.past_baseline_mm > limit_mm, true.past_baseline_mm < -limit_mm
    truly = "past the baseline" if past else "stops short" if short else "at the baseline"
    return "firm right" if kerf.verdict == truly else "firm wrong"


def _kind_judged(measured: FaceMeasurement, truth: FaceTruth) -> Judgement | None:
    """What was said of the baseline's kind against the truth, where the truth tells it."""
    if truth.baseline_kind is None:
        return None
    if measured.baseline.kind == "line":
        return "undecided"
    return "firm right" if measured.baseline.kind == truth.baseline_kind else "firm wrong"


def _claims(scores: Sequence[FaceScore], *kinds: str) -> list[Claim]:
    return [claim for score in scores for claim in score.claims if claim.what in kinds]
