"""Photos of the card as views: corners in the stored picture, whichever way up; which photos belong together."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from calibration.camera.bundle import View
from calibration.camera.setting import CameraSetting
from calibration.outcome import CannotMeasure
from tests.scenes import Scene, rendered
from vision.photo.camera_views import CardSeen, of_one_camera, see_card
from vision.photo.photo import Photo

SCENE = Scene(board=False, size_px=(1600, 1200), px_per_mm=9.0, tilt_deg=(8.0, -5.0))
TURNS = {1: 0, 6: -1, 3: 2, 8: 1}
"""Quarter turns counter-clockwise that make the stored picture upright, by EXIF orientation."""


@pytest.mark.parametrize("orientation", TURNS)
def test_corners_are_those_of_the_stored_picture(orientation: int) -> None:
    photo = rendered(SCENE).photo
    plain = see_card(photo).view
    turned = Photo(np.ascontiguousarray(np.rot90(photo.rgb, TURNS[orientation])), photo.lens, "", orientation)
    seen = see_card(turned)
    assert seen.setting.size_px == (1600, 1200)
    order = {tuple(point): index for index, point in enumerate(seen.view.points_mm)}
    pairs = [(index, order[tuple(point)]) for index, point in enumerate(plain.points_mm) if tuple(point) in order]
    mine, theirs = np.array(pairs).T
    assert len(pairs) >= 30
    # The same pixels searched in another order: corners refined to a few hundredths.
    np.testing.assert_allclose(seen.view.points_px[theirs], plain.points_px[mine], atol=0.05)


def test_a_photo_without_a_card_says_so() -> None:
    with pytest.raises(CannotMeasure, match="No card was found"):
        see_card(Photo(np.full((1200, 1600, 3), 128, np.uint8)))


MOST = CameraSetting("Maker", "Phone 9", "", 6.8, 52.0, 1.0, (4000, 3000))


def made(name: str, setting: CameraSetting = MOST, kind: str = "short") -> CardSeen:
    points = np.zeros((20, 2))
    return CardSeen(View(points, points, name), kind, setting, None, None)


@pytest.mark.parametrize(
    ("odd", "why"),
    [
        (
            made("odd", replace(MOST, focal_mm=2.2)),
            "the 2.2 mm lens, the largest group of them was taken with the 6.8 mm lens.",
        ),
        (made("odd", replace(MOST, zoom=2.0)), "zoomed 2 times, the largest group of them was taken with a zoom of 1."),
        (made("odd", replace(MOST, size_px=(3000, 4000))), "turned this photo before it stored it"),
        (made("odd", kind="long"), "it shows the long card, most photos the short one."),
    ],
    ids=["lens", "zoom", "turned", "card"],
)
def test_an_odd_photo_out_is_named_with_its_reason(odd: CardSeen, why: str) -> None:
    kept, dropped = of_one_camera([made("a"), odd, made("b"), made("c")])
    assert [each.view.name for each in kept] == ["a", "b", "c"]
    assert [each.name for each in dropped] == ["odd"]
    assert why in dropped[0].why


def test_no_photos_belong_together() -> None:
    assert of_one_camera([]) == ([], [])
