"""All photos with truths in a folder, by what they show, and the truths that are broken."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from service.errors import UsageError
from service.measuring.cases import Case, LeftOut, cases_of, of_no_kind, truth_files
from vision.score.drill_scoring import DrillTruth, drill_truth_from_dict, is_drill_truth
from vision.score.face_truth import FaceTruth, face_truth_from_dict, is_face_truth
from vision.score.truth import Truth, is_truth, truth_from_dict


@dataclass(frozen=True)
class FoundCases:
    """The photos of ends, faces and drill boards with their truths; and the truths that nothing can be scored by."""

    ends: list[Case[Truth]]
    faces: list[Case[FaceTruth]]
    drills: list[Case[DrillTruth]]
    left_out: list[LeftOut]


def find_cases(folder: Path) -> FoundCases:
    """What there is to score in `folder` and below. Raises UsageError when there is nothing, naming broken truths."""
    if not folder.is_dir():
        raise UsageError(f"there is no folder {folder}.")
    files = truth_files(folder)
    ends, broken_ends = cases_of(files, is_truth, truth_from_dict)
    faces, broken_faces = cases_of(files, is_face_truth, face_truth_from_dict)
    drills, broken_drills = cases_of(files, is_drill_truth, drill_truth_from_dict)
    unknown = of_no_kind(files, (is_truth, is_face_truth, is_drill_truth))
    left_out = sorted([*broken_ends, *broken_faces, *broken_drills, *unknown])
    if not (ends or faces or drills):
        raise UsageError(_nothing_in(folder, left_out))
    return FoundCases(ends, faces, drills, left_out)


def _nothing_in(folder: Path, left_out: list[LeftOut]) -> str:
    if left_out:
        named = "".join(f"\n  {truth}: {why}" for truth, why in left_out)
        return f"no truth file in {folder} can be used:{named}"
    return (
        f"no photo in {folder} has a truth file: for NAME.jpg that is NAME.json beside it, as sample_images/README.md"
        " has it."
    )
