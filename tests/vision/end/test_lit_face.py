"""The datum where light falls on the show face just below its arris."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from tests.scenes import Scene, rendered
from tests.vision.ends import solved
from vision.end.found_end import FoundEnd, locate_end

SCENE = Scene()


def found(photo: np.ndarray) -> FoundEnd:
    corners, plane = solved(SCENE)
    return locate_end(photo, plane, corners.card, "show")


def lit(left_mm: float, right_mm: float, share: float) -> np.ndarray:
    """The scene's photo with the face lit to so far below the arris, at `share` of the light of the end's wood."""
    _, plane = solved(SCENE)
    photo, end, width = rendered(SCENE).photo.rgb, rendered(SCENE).frame, SCENE.width_mm
    band = np.array([[0.0, 0.0], [width, 0.0], [width, -right_mm], [0.0, -left_mm]])
    wood = photo[tuple(np.rint(plane.to_image(end.to_plane(np.array([[width / 2.0, 2.0]])))[0]).astype(int)[::-1])]
    encoded = np.rint(wood * share ** (1.0 / 2.2)).astype(int).tolist()  # sRGB is nearly a power of 2.2
    corners = np.rint(plane.to_image(end.to_plane(band)) * 16.0).astype(np.int32)
    drawn = cv2.fillPoly(photo.copy(), [corners], encoded, cv2.LINE_AA, 4)
    return cv2.GaussianBlur(drawn, (0, 0), 0.6)


def turn_deg(end: FoundEnd) -> float:
    """By how much the datum is turned against the true one."""
    true = rendered(SCENE).frame.right
    return float(np.degrees(np.arctan2(end.frame.right[1], end.frame.right[0]) - np.arctan2(true[1], true[0])))


@pytest.mark.parametrize(("left_mm", "right_mm", "share"), [(0.2, 0.05, 0.7), (0.05, 0.2, 0.7), (0.16, 0.06, 0.6)])
def test_light_below_the_arris_does_not_turn_the_datum(left_mm: float, right_mm: float, share: float) -> None:
    """The border of that light, taken for the arris, would turn all leans by 0.1 degrees (0.15 mm over 82)."""
    end = found(lit(left_mm, right_mm, share))
    assert abs(turn_deg(end)) < 0.02
    assert end.thickness == pytest.approx(SCENE.thickness_mm, abs=0.05)


def test_a_face_in_shadow_is_left_as_it_is() -> None:
    plain = found(rendered(SCENE).photo.rgb)
    assert abs(turn_deg(plain)) < 0.02
    assert plain.thickness == pytest.approx(SCENE.thickness_mm, abs=0.05)
