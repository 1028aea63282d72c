"""Which photos a camera profile holds for, and where a point of the upright picture lies in the stored one."""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
import pytest

from calibration.camera.setting import CameraSetting, sensor_points, sensor_size, turn_matrix

SETTING = CameraSetting("Maker", "Phone 9", "back 2x", 6.8, 52.0, 1.0, (4032, 3024))


def test_the_same_setting_is_no_other() -> None:
    assert SETTING.difference(SETTING) is None


def test_a_photo_stored_turned_is_no_other() -> None:
    assert SETTING.difference(replace(SETTING, size_px=(3024, 4032))) is None


def test_what_a_photo_does_not_tell_is_no_difference() -> None:
    assert SETTING.difference(CameraSetting(size_px=(4032, 3024))) is None


@pytest.mark.parametrize(
    ("other", "words"),
    [
        ({"model": "Phone 8"}, "The photo comes from Maker Phone 8"),
        ({"focal_mm": 2.2}, "taken with the 2.2 mm lens, the profile is for the 6.8 mm lens"),
        ({"lens": "front"}, "taken with the lens 'front', the profile is for 'back 2x'"),
        ({"zoom": 1.5}, "zoomed 1.5 times, the profile is for a zoom of 1"),
        ({"film_mm": 77.0}, "the view of a 77 mm lens on film, the profile is for 52 mm"),
        ({"size_px": (4032, 2268)}, "cropped to 4032 x 2268 pixels, the profile is for 4032 x 3024 pixels"),
        ({"size_px": (2016, 1512)}, "made smaller or cropped to 2016 x 1512 pixels"),
    ],
)
def test_every_difference_is_told_in_a_sentence(other: dict[str, object], words: str) -> None:
    difference = SETTING.difference(replace(SETTING, **other))  # type: ignore[arg-type]
    assert difference is not None
    assert words in difference
    assert difference.endswith(".")


def test_rounded_focal_lengths_are_one_lens() -> None:
    assert SETTING.difference(replace(SETTING, focal_mm=6.765)) is None


def test_a_setting_survives_json() -> None:
    assert CameraSetting.from_dict(SETTING.to_dict()) == SETTING


def test_a_maker_within_the_model_is_not_said_twice() -> None:
    assert SETTING.words == "Maker Phone 9, 6.8 mm lens, 4032 x 3024 pixels"
    assert CameraSetting("Maker", "Maker 9", size_px=(40, 30)).words == "Maker 9, 40 x 30 pixels"
    assert CameraSetting(size_px=(40, 30), zoom=2.0).words == "unnamed camera, zoomed 2 times, 40 x 30 pixels"


def test_a_size_of_nought_is_refused() -> None:
    with pytest.raises(ValueError, match="size_px must be above zero"):
        CameraSetting(size_px=(0, 3024))


@pytest.mark.parametrize("name", ["focal_mm", "film_mm", "zoom"])
def test_a_kept_lens_or_zoom_of_nought_is_refused_and_breaks_no_later_check(name: str) -> None:
    with pytest.raises(ValueError, match=f"{name} must be above zero"):
        CameraSetting.from_dict(SETTING.to_dict() | {name: 0.0})


@pytest.mark.parametrize("orientation", range(1, 9))
def test_points_go_where_the_decoder_took_the_pixels_from(orientation: int) -> None:
    """One lit pixel of a stored picture of 7 x 5, turned upright by the EXIF rule, found again."""
    stored = np.zeros((5, 7), np.uint8)
    stored[1, 4] = 255
    upright = _upright(stored, orientation)
    row, column = np.argwhere(upright)[0]
    size = (upright.shape[1], upright.shape[0])
    assert sensor_size(size, orientation) == (7, 5)
    np.testing.assert_allclose(sensor_points(np.array([[column, row]], float), size, orientation), [[4.0, 1.0]])
    offset = np.array([4.0, 1.0]) - [3.0, 2.0]
    np.testing.assert_allclose(turn_matrix(orientation) @ offset, [column, row] - (np.array(size) - 1.0) / 2.0)


def _upright(stored: np.ndarray, orientation: int) -> np.ndarray:
    """TIFF 6.0, tag 274, by OpenCV's flips and turns."""
    turned = cv2.transpose(stored) if orientation >= 5 else stored
    flip = {2: 1, 3: -1, 4: 0, 6: 1, 7: -1, 8: 0}.get(orientation)
    return turned if flip is None else cv2.flip(turned, flip)
