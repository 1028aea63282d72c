"""The part of `tailproof score` that is about faces: photos with their truths, checked and scored."""

from __future__ import annotations

from typing import Any

from service.measuring.cases import Case, score_each
from service.measuring.checking import CheckSettings, measured_or_refused
from service.measuring.face_check import check_face
from vision.score.face_scoring import FaceScore, face_scores_dict, score_face
from vision.score.face_truth import FaceTruth


def score_faces(cases: list[Case[FaceTruth]], settings: CheckSettings) -> tuple[dict[str, Any], int]:
    """All faces' scores as a JSON object, with progress on stderr; and the number of faults."""

    def score(case: Case[FaceTruth]) -> FaceScore:
        checked = measured_or_refused(case.photo, lambda photo: check_face(photo, case.truth.view, settings))
        return score_face(case.truth, checked)

    scores, faults = score_each(cases, score, "face ")
    return face_scores_dict(scores), faults
