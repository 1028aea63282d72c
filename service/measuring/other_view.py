"""A photo of a face checked as one of an end, or the other way round: told by measuring it as the other.

What is said of it here is for the command line, where `--view` tells what a photo shows; pages have words of their own.
"""

from __future__ import annotations

from dataclasses import replace

from calibration.outcome import Refusal
from service.measuring.checking import CheckSettings, check_photo
from vision.answer.result import Report
from vision.face.report import FaceView
from vision.face.result import FaceReport
from vision.photo.photo import Photo

_MAY_BE_A_FACE = {"card_not_in_plane", "kerfs_do_not_pair", "no_kerfs", "slopes_of_a_face"}
_MAY_BE_AN_END = {"kerfs_do_not_pair", "no_baseline", "no_face", "no_kerfs_on_face"}
"""Refusals that the wrong kind of photo gets. Others hold of the photo, whatever it shows."""
_IS_A_FACE = "It can be measured as a photo of a face: if it is one, add `--view show` or `--view transfer`."
_IS_AN_END = "It can be measured as a photo of the end: if it is one, leave out `--view`."


def check_end_told(photo: Photo, settings: CheckSettings) -> Report | Refusal:
    """The result for a photo of an end; a refusal also says so when the photo can be measured as one of a face."""
    result = check_photo(photo, settings)
    if not isinstance(result, Refusal):
        return result
    return _also(result, _IS_A_FACE) if is_a_face(photo, result, settings) else result


def check_face_told(
    photo: Photo, view: FaceView, settings: CheckSettings, past_limit_mm: float | None = None
) -> FaceReport | Refusal:
    """The result for a photo of a face; a refusal also says so when the photo can be measured as one of an end."""
    from service.measuring.face_check import check_face

    result = check_face(photo, view, settings, past_limit_mm)
    if not isinstance(result, Refusal):
        return result
    return _also(result, _IS_AN_END) if is_an_end(photo, result, settings) else result


def is_a_face(photo: Photo, refusal: Refusal, settings: CheckSettings) -> bool:
    """Whether a photo that was refused as one of an end can be measured as one of a face."""
    if refusal.reason not in _MAY_BE_A_FACE:
        return False
    from service.measuring.face_check import check_face  # a check of an end need not load what measures faces

    return not isinstance(check_face(photo, "show", settings), Refusal)


def is_an_end(photo: Photo, refusal: Refusal, settings: CheckSettings) -> bool:
    """Whether a photo that was refused as one of a face can be measured as one of an end."""
    return refusal.reason in _MAY_BE_AN_END and not isinstance(check_photo(photo, settings), Refusal)


def _also(refusal: Refusal, advice: str) -> Refusal:
    return replace(refusal, what_to_do=f"{refusal.what_to_do} {advice}")
