"""The end found beside the card on synthetic photos: any turn of the phone, either face, and what is refused."""

from __future__ import annotations

import re
from contextlib import nullcontext
from dataclasses import replace

import cv2
import numpy as np
import pytest

from calibration.outcome import CannotMeasure
from tests.scenes import Scene, rendered
from tests.vision.ends import located, measured, solved
from vision.end.check import measure_end
from vision.end.find_end import find_pairs
from vision.end.find_walls import (
    Cut,
    find_cuts,
    kerfs_of,
    own_runs,
    surface_runs,
)
from vision.end.found_end import FoundEnd, locate_end
from vision.end.locate import locate, locate_walls
from vision.end.report import Stage
from vision.end.sawn_extent import RoughSide
from vision.end.stage import check_told_stage
from vision.photo.strip import Frame

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


@pytest.mark.parametrize("tilt", [(0.0, 0.0), (4.0, 4.0), (-4.0, 3.0), (-6.0, -5.0), (-2.0, -3.0)])
def test_the_floors_of_a_cleared_end_are_not_taken_for_the_end(tilt: tuple[float, float]) -> None:
    # The floors' picture is smaller by distance over distance and depth: 16.9 mm for 18.
    tilted = located(replace(CLEARED, tilt_deg=tilt))
    assert tilted.thickness == pytest.approx(TRUE_THICKNESS_MM, abs=0.07)  # a pixel


@pytest.mark.parametrize("places_mm", [(5.0, 15.0, 21.0, 31.0, 37.0, 47.0), (8.0, 32.0, 44.0, 74.0)])
def test_floors_of_boards_with_few_wide_or_many_narrow_tails_are_not_taken_either(places_mm: tuple[float, ...]) -> None:
    leans = tuple(0.2 * (-1.0) ** index for index in range(len(places_mm)))
    width = places_mm[-1] + places_mm[0]
    board = replace(CLEARED, places_mm=places_mm, leans_deg=leans, width_mm=width, tilt_deg=(-4.0, -2.0), depth_mm=22.0)
    assert located(board).thickness == pytest.approx(TRUE_THICKNESS_MM, abs=0.06)


def test_the_grid_of_a_cutting_mat_below_the_board_is_not_taken_for_the_end() -> None:
    corners, plane = solved(SCENE)
    rgb = rendered(SCENE).photo.rgb.copy()
    level = [np.array([[-20.0, y], [140.0, y]]) for y in (70.0, 78.0, 86.0)]
    upright = [np.array([[x, 68.0], [x, 88.0]]) for x in np.arange(-20.0, 141.0, 4.0)]
    for line in level + upright:
        start, stop = np.rint(plane.to_image(line)).astype(int).tolist()
        cv2.line(rgb, start, stop, (230, 230, 230), 6)
    end = locate_end(rgb, plane, corners.card, "show")
    # Grid or not, the end's own edges are the same pixels.
    assert end.thickness == pytest.approx(located(SCENE).thickness, abs=0.01)


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


def test_a_tail_goes_on_where_its_far_edge_does_not_show_against_a_bench_as_light_as_it_is() -> None:
    x = np.arange(0.0, 30.0, 0.3)
    surface, hidden = (x > 5.0) & (x < 25.0), x > 20.0
    light = np.where(surface, 1.05, 0.1)
    # Growth rings make steps everywhere, so that a surface may end anywhere at little cost.
    (run,) = surface_runs(x, surface, surface & ~hidden, light, np.full(len(x), 0.15))
    assert run == pytest.approx((5.0, 25.0), abs=0.35)


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


@pytest.mark.parametrize("share", [0.2, 0.5, 0.8])
def test_an_end_whose_far_face_is_below_the_picture_is_refused_as_cut_off(share: float) -> None:
    frame = rendered(SCENE).frame
    lowest = frame.to_plane(np.array([[42.0, share * TRUE_THICKNESS_MM]]))[0, 1]
    square_on = replace(SCENE, tilt_deg=(0.0, 0.0), roll_deg=0.0, size_px=(2040, 1500))
    cut_off = replace(square_on, aim_mm=(60.0, lowest - 750.0 / square_on.px_per_mm))
    assert reason_and_message(cut_off)[0] == "end_cut_off"


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


def with_pale_kerfs(*numbers: int) -> FoundEnd:
    """The sawn end, with three quarters of the wood's light in the kerfs of the given walls."""
    end = located(SCENE)
    light = end.strip.light.copy()
    kerfs = kerfs_of(find_cuts(end.strip))
    for cut in (kerfs[number] for number in numbers):
        inside = (end.strip.x > cut.left - 0.4) & (end.strip.x < cut.right + 0.4)
        light[:, inside] = np.maximum(light[:, inside], 0.74)
    return replace(end, strip=replace(end.strip, light=light))


def test_a_kerf_that_light_falls_into_is_found_when_its_mate_wants_it() -> None:
    found = locate_walls(with_pale_kerfs(3), None)
    assert found.stage == "sawn"
    np.testing.assert_allclose(
        [wall.x_mm for wall in found.walls], [wall.x_mm for wall in locate_walls(located(SCENE), None).walls], atol=0.1
    )  # A pale kerf looks a sample or two of 0.05 mm narrower.


def test_an_outermost_kerf_that_passed_for_the_boards_side_is_found_where_the_faces_go_on() -> None:
    end = located(SCENE)
    *_, last = locate_walls(end, None).walls
    short = replace(end, sides=(end.sides[0], RoughSide.at(last.x_mm)))
    assert locate_walls(short, None) == locate_walls(end, None)


def test_an_outermost_kerf_beyond_the_wood_that_shows_is_found_where_the_layout_wants_it() -> None:
    end = located(SCENE)
    *_, last = locate_walls(end, None).walls
    right = last.x_mm - 2.0
    short = replace(end, sides=(end.sides[0], RoughSide.at(right)), right=right, runs=[(end.left, right)])
    found, whole = locate_walls(short, None).walls, locate_walls(end, None).walls
    assert len(found) == len(whole)
    # Its edges are half a usual kerf's width from the middle of the mark, which is told to a sample of 0.05 mm.
    np.testing.assert_allclose([wall.x_mm for wall in found], [wall.x_mm for wall in whole], atol=0.1)


@pytest.mark.parametrize(
    ("scene", "told", "seen"), [(SCENE, "cleared", "6 saw cuts run through it"), (CLEARED, "sawn", "into 3 tails")]
)
def test_a_stage_that_the_photo_contradicts_is_refused(scene: Scene, told: Stage, seen: str) -> None:
    """Else the board's planed sides would pass for walls, all of them square, or a socket's floor for waste."""
    with pytest.raises(CannotMeasure, match=seen) as caught:
        locate_walls(located(scene), told)
    assert caught.value.refusal.reason == "stage_contradicted"


def test_where_the_photo_leaves_it_open_the_told_stage_holds() -> None:
    """Two stretches of surface with a gap between them, and a cut or two through one: broken out, or crossed by ink."""
    runs, kerfs = [(0.0, 30.0), (34.0, 70.0)], [Cut(x, x + 0.6, 0.0, 0.05) for x in (10.0, 20.0)]
    check_told_stage("sawn", runs, kerfs)
    check_told_stage("cleared", runs, kerfs[:1])
    check_told_stage(None, runs, [])


def test_an_odd_number_of_cuts_is_refused_with_their_places() -> None:
    odd = replace(SCENE, leans_deg=(0.3, -0.2, 0.0, 0.5, -0.4), places_mm=(7.0, 23.0, 33.0, 49.0, 59.0))
    reason, message = reason_and_message(odd)
    assert reason == "kerfs_do_not_pair"
    assert "5 were found" in message
    lone = re.search(r"the one at ([\d.]+) mm seems to have no mate", message)
    assert lone is not None
    # The last: its kerf, left of a left wall at 59 mm, is centred at 58.7; the end's left side is known to 0.5 here.
    assert float(lone.group(1)) == pytest.approx(58.7, abs=0.5)


@pytest.mark.parametrize("width_mm", [1.0, 1.2, 1.5])
def test_a_socket_too_narrow_for_a_cut_on_either_side_is_refused_with_its_place(width_mm: float) -> None:
    places = (7.0, 30.0, 30.0 + width_mm, 49.0, 59.0, 75.0)
    reason, message = reason_and_message(replace(SCENE, leans_deg=(0.1,) * 6, places_mm=places))
    assert reason == "narrow_socket"
    assert place_and_width(message) == pytest.approx((30.0 + width_mm / 2.0, width_mm), abs=0.5)


@pytest.mark.parametrize("width_mm", [0.8, 1.2, 1.5])
def test_on_a_cleared_board_what_may_be_such_a_socket_is_remarked_on_and_the_rest_measured(width_mm: float) -> None:
    places = (7.0, 30.0, 30.0 + width_mm, 49.0, 59.0, 75.0)
    found = measured(replace(SCENE, leans_deg=(0.1,) * 6, places_mm=places, cleared=True))
    assert [wall.tail for wall in found.walls] == [0, 0, 1, 1]
    (doubt,) = (kind for kind in found.warnings if kind.reason == "mark_in_tail")
    assert place_and_width(doubt.message) == pytest.approx((23.0 + width_mm / 2.0, width_mm), abs=0.5)


def place_and_width(message: str) -> tuple[float, float]:
    """Where a mark is said to be, and how wide."""
    told = re.search(r"the one at ([\d.]+) mm is ([\d.]+) mm wide", message)
    assert told is not None
    return float(told.group(1)), float(told.group(2))


def test_a_cut_that_serves_two_tails_is_told_of_beside_the_one_that_seems_alone() -> None:
    places = (7.0, 30.0, 30.6, 49.0, 59.0, 75.0)  # the kerfs on either side of the second socket are one
    reason, message = reason_and_message(replace(SCENE, leans_deg=(0.1,) * 6, places_mm=places))
    assert reason == "kerfs_do_not_pair"
    assert re.search(r"unless the one at 30\.\d mm serves two tails", message)


def test_cuts_that_leave_no_room_for_a_tail_are_refused_with_their_places() -> None:
    places = (7.0, 23.0, 33.0, 34.2, 59.0, 75.0)
    reason, message = reason_and_message(replace(SCENE, leans_deg=(0.1,) * 6, places_mm=places))
    assert reason == "kerfs_do_not_pair"
    assert "leave no room for a tail" in message


def test_a_single_cut_is_refused_with_its_place() -> None:
    reason, message = reason_and_message(replace(SCENE, leans_deg=(0.1,), places_mm=(33.0,)))
    assert reason == "kerfs_do_not_pair"
    assert "Only one was found" in message


@pytest.mark.parametrize("kerfs", [(10.0, 10.0), (10.0, 10.5), (10.0, 13.0)])
def test_sides_that_leave_no_room_for_a_cut_hold_none(kerfs: tuple[float, float]) -> None:
    narrow = replace(located(SCENE), sides=(RoughSide.at(kerfs[0]), RoughSide.at(kerfs[1])))
    with pytest.raises(CannotMeasure) as caught:
        locate_walls(narrow, "sawn")
    assert caught.value.refusal.reason == "no_kerfs"


@pytest.mark.parametrize(("evidence", "found"), [(2.9, False), (3.1, True)])
def test_faces_for_which_hardly_anything_speaks_are_none(
    evidence: float, found: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    corners, plane = solved(SCENE)
    monkeypatch.setattr("vision.end.face_pair.evidence_of", lambda *_: evidence)
    with nullcontext() if found else pytest.raises(CannotMeasure, match="No board's end"):
        locate_end(rendered(SCENE).photo.rgb, plane, corners.card, "show")


def test_a_surface_that_goes_on_beyond_the_search_is_no_cleared_end(monkeypatch: pytest.MonkeyPatch) -> None:
    end = located(CLEARED)
    assert not end.goes_on
    for looked in ((end.runs[0][0], end.looked[1]), (end.looked[0], end.runs[-1][1])):
        assert replace(end, looked=looked).goes_on
    corners, plane = solved(CLEARED)
    monkeypatch.setattr(FoundEnd, "goes_on", True)
    with pytest.raises(CannotMeasure, match="goes on and on"):
        locate(rendered(CLEARED).photo.rgb, plane, corners.card, "show", None)


def test_a_cleared_board_wider_than_the_usual_search_is_found_whole() -> None:
    # The faces are looked for up to 15 mm beyond the card's squares, from -15 to 135 mm; the tails, from -23 to 143.
    places = (-23.0, 14.0, 22.0, 58.0, 66.0, 101.0, 109.0, 143.0)
    scene = replace(
        CLEARED,
        width_mm=180.0,
        board_left_mm=-30.0,
        places_mm=tuple(x + 30.0 for x in places),
        leans_deg=(0.0,) * len(places),
        px_per_mm=12.0,
    )
    corners, plane = solved(scene)
    found = locate(rendered(scene).photo.rgb, plane, corners.card, "show", None).walls
    assert (found.stage, len(found.walls)) == ("cleared", len(places))
    spacing = np.diff([wall.x_mm for wall in found.walls])
    np.testing.assert_allclose(spacing, np.diff(places), atol=0.5)  # rough walls: a pixel is 0.08 mm


def test_a_surface_ends_where_its_near_face_is_not_seen_only_if_the_light_changes() -> None:
    x = np.arange(0.0, 40.0, 0.3)
    surface = (x > 5.0) & (x < 35.0)
    hidden = (x > 20.0) & (x < 22.5)
    seen, still = surface & ~hidden, np.full(len(x), 0.02)
    light = np.where(surface, 1.05, 0.1)
    # 2.5 mm in which stone behind is as light as the wood; a socket has an upright edge at either end.
    assert len(surface_runs(x, seen, seen, light, still)) == 1
    steps = np.where(np.isin(np.arange(len(x)), np.flatnonzero(np.diff(hidden))), 0.2, 0.02)
    assert len(surface_runs(x, seen, seen, light, steps)) == 2


def test_what_lies_beyond_the_wood_and_farther_off_than_a_socket_is_wide_is_no_tail() -> None:
    tails = [(-30.0, 4.0), (9.0, 44.0)]
    jaw = [(-75.0, -52.0), *tails, (58.0, 67.0)]
    assert own_runs(jaw, (-31.0, 45.0)) == tails
    assert own_runs(jaw, (-31.0, 60.0)) == [*tails, (58.0, 67.0)]
    assert own_runs([(-40.0, -35.0), *tails], (-31.0, 45.0)) == [(-40.0, -35.0), *tails]
    assert own_runs(jaw, (200.0, 210.0)) == jaw


def test_pieces_farther_apart_than_any_socket_is_wide_are_no_tails() -> None:
    end = located(CLEARED)
    apart = replace(
        end, runs=[(left + 31.0 * index, right + 31.0 * index) for index, (left, right) in enumerate(end.runs)]
    )
    with pytest.raises(CannotMeasure, match="too far apart for tails"):
        locate_walls(apart, "cleared")


def on_ruled_mat(scene: Scene, every_mm: float, turn_deg: float) -> np.ndarray:
    """The scene's photo with a mat's bright lines drawn on whatever is neither card nor board."""
    corners, plane = solved(scene)
    photo, end = rendered(scene).photo.rgb, rendered(scene).frame
    lined, mask = photo.copy(), np.zeros(photo.shape[:2], np.uint8)
    mat = Frame.turned(np.array([60.0, 20.0]), np.radians(turn_deg))
    for offset in np.arange(-160.0, 160.0, every_mm):
        for ends in ([[offset, -150.0], [offset, 150.0]], [[-150.0, offset], [150.0, offset]]):
            first, last = plane.to_image(mat.to_plane(np.array(ends)))
            cv2.line(lined, first.astype(int).tolist(), last.astype(int).tolist(), (150, 150, 150), 5, cv2.LINE_AA)
    w, h, width, thickness = corners.card.width_mm, corners.card.height_mm, scene.width_mm, scene.thickness_mm
    card = np.array([[-5.0, -5.0], [w + 5.0, -5.0], [w + 5.0, h + 5.0], [-5.0, h + 5.0]])
    board = end.to_plane(np.array([[0.0, 0.0], [width, 0.0], [width, thickness], [0.0, thickness]]))
    for outline in (card, board):
        cv2.fillPoly(mask, [np.rint(plane.to_image(outline)).astype(np.int32)], (1,))
    return np.where(mask[..., None] > 0, photo, lined)


@pytest.mark.parametrize("scene", [SCENE, CLEARED])
@pytest.mark.parametrize(("every_mm", "turn_deg"), [(6.0, 0.0), (6.0, 1.0), (8.3, 2.0), (8.3, -2.5), (10.0, 0.0)])
def test_the_lines_of_a_cutting_mat_are_not_taken_for_the_end(scene: Scene, every_mm: float, turn_deg: float) -> None:
    corners, plane = solved(scene)
    found = locate(on_ruled_mat(scene, every_mm, turn_deg), plane, corners.card, "show", None)
    assert found.end.thickness == pytest.approx(TRUE_THICKNESS_MM, abs=0.05)
    assert len(found.walls.walls) == len(scene.places_mm)
