"""Photos of the card as views for a camera profile: corners in the stored picture, and which photos belong together."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

from calibration.camera.bundle import View
from calibration.camera.fit import Dropped
from calibration.camera.setting import CameraSetting, sensor_points
from vision.photo.photo import Photo
from vision.photo.solve_card import find_card


@dataclass(frozen=True, eq=False)
class CardSeen:
    """The card in one photo: the `view` in the stored picture, the card's kind, and the camera that took it.

    `focal_px` and `focal_u_px` are what the photo's own data say, or None.
    """

    view: View
    kind: str
    setting: CameraSetting
    focal_px: float | None
    focal_u_px: float | None


def see_card(photo: Photo) -> CardSeen:
    """The card in a photo. Raises CannotMeasure when there is none to see."""
    corners = find_card(photo)
    upright_px = (photo.width_px, photo.height_px)
    points_px = sensor_points(corners.points_px, upright_px, photo.orientation)
    view = View(corners.points_mm, points_px, photo.name)
    return CardSeen(view, corners.card.kind, photo.setting, photo.lens.focal_px, photo.lens.focal_u_px)


def of_one_camera(seen: list[CardSeen]) -> tuple[list[CardSeen], list[Dropped]]:
    """The photos of the commonest camera setting and card, and the others with the reason."""
    if not seen:
        return [], []
    setting = _commonest([each.setting for each in seen])
    kind = Counter(each.kind for each in seen if each.setting == setting).most_common(1)[0][0]
    kept, dropped = [], []
    for each in seen:
        why = _why_not(each, setting, kind)
        if why is None:
            kept.append(each)
        else:
            dropped.append(Dropped(each.view.name, why))
    return kept, dropped


def _why_not(seen: CardSeen, setting: CameraSetting, kind: str) -> str | None:
    difference = setting.difference(seen.setting, against="the largest group of them was taken with")
    if difference is not None:
        return difference
    if seen.setting.size_px != setting.size_px:
        return "the phone turned this photo before it stored it: hold the phone the same way for all."
    if seen.kind != kind:
        return f"it shows the {seen.kind} card, most photos the {kind} one."
    return None


def _commonest(settings: list[CameraSetting]) -> CameraSetting:
    return Counter(settings).most_common(1)[0][0]
