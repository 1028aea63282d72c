"""The use case behind `tailproof camera`: photos of the card in, the camera and an honest word on it out."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from calibration.camera.advice import Advice, advise
from calibration.camera.fit import FEWEST_VIEWS, CameraFit, Dropped, TooFewViewsError, fit_camera
from calibration.camera.setting import CameraSetting
from calibration.lens_prior import FOCAL_PRIOR_UNKNOWN
from calibration.outcome import CannotMeasure, Refusal
from vision.photo.camera_views import CardSeen, of_one_camera, see_card
from vision.photo.photo import Photo

_TOO_FEW = Advice(
    "not usable",
    (f"Too few photos could be used: at least {FEWEST_VIEWS} that differ are needed, better 8 to 12.",),
)


@dataclass(frozen=True, eq=False)
class CameraMade:
    """What photos made: the camera's `setting`, its `fit` (None: too few photos), advice, and what was left out.

    `setting` is None when no photo shows a card. `photos` is how many were given.
    """

    setting: CameraSetting | None
    fit: CameraFit | None
    advice: Advice
    dropped: tuple[Dropped, ...]
    photos: int


def make_camera(photos: Iterable[tuple[str, Photo | Refusal]]) -> CameraMade:
    """The camera from photos by name; those that could not be read come as their refusal."""
    seen, dropped = [], []
    for name, photo in photos:
        card = _see(photo)
        if isinstance(card, Refusal):
            dropped.append(Dropped(name, f"{card.message} {card.what_to_do}"))
        else:
            seen.append(card)
    given = len(seen) + len(dropped)
    kept, others = of_one_camera(seen)
    return _made(kept, [*dropped, *others], given)


def _see(photo: Photo | Refusal) -> CardSeen | Refusal:
    if isinstance(photo, Refusal):
        return photo
    try:
        return see_card(photo)
    except CannotMeasure as error:
        return error.refusal


def _made(seen: list[CardSeen], dropped: list[Dropped], given: int) -> CameraMade:
    if not seen:
        return CameraMade(None, None, _TOO_FEW, tuple(dropped), given)
    setting, (focal_px, focal_u) = seen[0].setting, _first_focal(seen[0])
    try:
        fit = fit_camera([each.view for each in seen], setting.size_px, focal_px=focal_px, focal_u=focal_u)
    except TooFewViewsError as error:
        return CameraMade(setting, None, _TOO_FEW, (*dropped, *error.dropped), given)
    return CameraMade(setting, fit, advise(fit), (*dropped, *fit.dropped), given)


def _first_focal(seen: CardSeen) -> tuple[float, float]:
    """A first idea of the focal length in px, and its relative standard uncertainty."""
    if seen.focal_px is None or seen.focal_u_px is None:
        return float(max(seen.setting.size_px)), FOCAL_PRIOR_UNKNOWN
    return seen.focal_px, seen.focal_u_px / seen.focal_px
