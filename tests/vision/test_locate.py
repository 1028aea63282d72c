"""The end found beside the card on synthetic photos: any turn of the phone, either face, and what is refused."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest

from calibration.outcome import CannotMeasure
from tests.scenes import Scene, rendered
from tests.vision.ends import located, measured, solved
from vision.check import measure_end
from vision.find_end import find_pairs
from vision.locate import locate_walls

SCENE = Scene()
CLEARED = Scene(cleared=True)
TRUE_THICKNESS_MM, TRUE_WIDTH_MM = 18.0, 82.0


def reason_and_message(scene: Scene) -> tuple[str, str]:
    with pytest.raises(CannotMeasure, match=r".+\.") as caught:
        measured(scene)
    return caught.value.refusal.reason, caught.value.refusal.message


def test_a_likely_pair_of_faces_is_found_on_the_coarse_strip() -> None:
    corners, plane = solved(SCENE)
    pairs, frame = find_pairs(rendered(SCENE).photo.rgb, plane, corners.card)
    truth = frame.from_plane(rendered(SCENE).frame.to_plane(np.array([[42.0, 0.0]])))[0, 1]
    # One of the candidates has both edges within a coarse sample and a half, 0.3 mm.
    assert any(abs(p.y_mm - truth) < 0.5 and abs(p.thickness_mm - TRUE_THICKNESS_MM) < 0.5 for p in pairs)


@pytest.mark.parametrize("scene", [SCENE, CLEARED])
def test_faces_are_found_to_hundredths_of_a_millimetre(scene: Scene) -> None:
    end, truth = located(scene), rendered(scene).frame
    turn = np.degrees(np.arctan2(end.frame.right @ truth.down, end.frame.right @ truth.right))
    # Over 82 mm, 0.03 degrees is 0.04 mm at either end: half a pixel.
    assert abs(turn) < 0.03
    assert end.thickness == pytest.approx(TRUE_THICKNESS_MM, abs=0.05)
    assert abs(truth.from_plane(end.frame.origin[None])[0, 1]) < 0.05


FLOOR_TAKEN = "the sockets' floors, 18 mm deeper, are taken for the end: 16.9 mm thick, no warning"


@pytest.mark.parametrize(
    "tilt",
    [
        (0.0, 0.0),
        (4.0, 4.0),
        pytest.param((-4.0, 3.0), marks=pytest.mark.xfail(strict=True, reason=FLOOR_TAKEN)),
    ],
)
def test_the_floors_of_a_cleared_end_are_not_taken_for_the_end(tilt: tuple[float, float]) -> None:
    # The floors' picture is smaller by distance over distance and depth: 16.9 mm for 18.
    assert located(replace(CLEARED, tilt_deg=tilt)).thickness == pytest.approx(TRUE_THICKNESS_MM, abs=0.06)


def test_a_sawn_end_reaches_from_side_to_side() -> None:
    end = located(SCENE)
    along = rendered(SCENE).frame.from_plane(end.frame.to_plane(np.array([[end.left, 0.0], [end.right, 0.0]])))[:, 0]
    # Columns of the surface are 0.3 mm wide; a chamfered corner or two of them may be missed.
    np.testing.assert_allclose(along, [0.0, TRUE_WIDTH_MM], atol=0.7)


@pytest.mark.parametrize(("scene", "stage"), [(SCENE, "sawn"), (CLEARED, "cleared")])
def test_the_stage_tells_itself_and_every_wall_is_found(scene: Scene, stage: str) -> None:
    end = located(scene)
    found = locate_walls(end, None)
    assert found.stage == stage
    assert [(wall.tail, wall.side) for wall in found.walls] == [(i // 2, ("left", "right")[i % 2]) for i in range(6)]
    middles = np.array([[wall.x_mm, end.thickness / 2.0] for wall in found.walls])
    places = rendered(scene).frame.from_plane(end.frame.to_plane(middles))[:, 0]
    # The walls' model starts from a belief of 0.4 mm about a rough wall's place.
    np.testing.assert_allclose(places, scene.places_mm, atol=0.4)


@pytest.mark.parametrize("turns", [1, 2, 3])
def test_turning_the_phone_changes_nothing(turns: int) -> None:
    upright, turned = measured(SCENE), measured(replace(SCENE, quarter_turns=turns))
    for one, other in zip(upright.walls, turned.walls, strict=True):
        # The same pixels sampled from another side; what differs is interpolation and the solver's last digits.
        assert other.lean.value == pytest.approx(one.lean.value, abs=0.02)
        assert other.x_show.value == pytest.approx(one.x_show.value, abs=0.02)


def test_a_card_on_the_transfer_side_gives_the_same_leans_in_the_turned_frame() -> None:
    show = measured(SCENE)
    transfer = measure_end(rendered(SCENE).photo, card_side="transfer")
    width = show.width.value
    for one, other in zip(show.walls, reversed(transfer.walls), strict=True):
        # Half a turn keeps every line's lean, swaps left and right, and swaps the faces.
        assert other.lean.value == pytest.approx(one.lean.value, abs=0.03)
        assert other.side != one.side
        assert other.x_show.value == pytest.approx(width - one.x_transfer.value, abs=0.05)


def test_no_board_is_refused() -> None:
    assert reason_and_message(replace(SCENE, board=False))[0] == "no_board_end"


@pytest.mark.parametrize("aim", [(33.0, 33.0), (87.0, 33.0)])
def test_an_end_that_runs_out_of_the_picture_is_refused(aim: tuple[float, float]) -> None:
    left = 60.0 if aim[0] < 60.0 else -22.0
    cut_off = replace(SCENE, board_left_mm=left, aim_mm=aim, tilt_deg=(0.0, 0.0), roll_deg=0.0, size_px=(2040, 1500))
    assert reason_and_message(cut_off)[0] == "end_cut_off"


def test_an_end_without_saw_cuts_is_refused() -> None:
    assert reason_and_message(replace(SCENE, leans_deg=(), places_mm=()))[0] == "no_kerfs"


def test_a_bare_surface_holds_no_cuts() -> None:
    end = located(SCENE)
    bare = replace(end, strip=replace(end.strip, light=np.ones_like(end.strip.light)))
    with pytest.raises(CannotMeasure, match="No saw cuts were found"):
        locate_walls(bare, "sawn")


def test_an_odd_number_of_cuts_is_refused_with_their_places() -> None:
    odd = replace(SCENE, leans_deg=(0.3, -0.2, 0.0, 0.5, -0.4), places_mm=(7.0, 23.0, 33.0, 49.0, 59.0))
    reason, message = reason_and_message(odd)
    assert reason == "kerfs_do_not_pair"
    assert "5 were found" in message
    lone = re.search(r"the one at ([\d.]+) mm seems to have no mate", message)
    assert lone is not None
    # The last: its kerf, left of a left wall at 59 mm, is centred at 58.7; the end's left side is known to 0.5 here.
    assert float(lone.group(1)) == pytest.approx(58.7, abs=0.5)


def test_a_single_cut_is_refused_with_its_place() -> None:
    reason, message = reason_and_message(replace(SCENE, leans_deg=(0.1,), places_mm=(33.0,)))
    assert reason == "kerfs_do_not_pair"
    assert "Only one was found" in message
