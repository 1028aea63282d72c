"""One photo of a face in, its result out."""

from __future__ import annotations

from calibration.outcome import CannotMeasure, Refusal
from service.measuring.checking import CheckSettings, known_of
from vision.face.measure import measure_face
from vision.face.report import PAST_LIMIT_MM, FaceView
from vision.face.result import FaceReport
from vision.photo.photo import Photo


def check_face(
    photo: Photo, view: FaceView, settings: CheckSettings, past_limit_mm: float | None = None
) -> FaceReport | Refusal:
    """The result for a decoded photo of a face: measured, or the reason why not."""
    limit_mm = PAST_LIMIT_MM if past_limit_mm is None else past_limit_mm
    try:
        known = known_of(photo, settings)
        return FaceReport(
            photo.name, measure_face(photo, view, stage=settings.stage, known=known, past_limit_mm=limit_mm)
        )
    except CannotMeasure as error:
        return error.refusal
