"""The photo renderer's truths: camera against OpenCV's, walls and sockets against closed forms. No Blender needed."""

from __future__ import annotations

import importlib
from dataclasses import replace
from pathlib import Path
from types import ModuleType
from typing import Any

import cv2
import numpy as np
import pytest

SAMPLE_IMAGES = Path(__file__).parents[2] / "sample_images"
IDENTITY_PX = 1e-6
"""The same formula in double precision at 1e4 px: rounding is near 1e-11 px, the rest is room for order of terms."""
SEEDS = (501, 502, 507, 516, 523)


@pytest.fixture(autouse=True)
def _renderer_on_path(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.syspath_prepend(str(SAMPLE_IMAGES))


def _module(name: str) -> ModuleType:
    return importlib.import_module(f"render.{name}")


def _subject(scene: Any) -> np.ndarray:
    """The card's sheet and the end, without building the rest of the scene."""
    scene_module, camera, card = _module("scene"), _module("camera"), _module("card")
    pose = camera.card_pose(scene.card, scene.board.width, card.half_sheet(scene.card))
    return np.concatenate([scene_module.sheet_corners(scene, pose), scene_module.end_corners(scene)])


@pytest.mark.parametrize("seed", SEEDS)
def test_the_camera_projects_as_opencv_does(seed: int) -> None:
    scene = _module("draw").params(seed)
    subject = _subject(scene)
    camera = _module("camera").place(scene, subject)
    world = subject * (1, -1, 1)
    turn, _ = cv2.Rodrigues(camera.axes)
    matrix = np.array([[camera.f_px, 0, camera.centre[0]], [0, camera.f_px, camera.centre[1]], [0, 0, 1]])
    distortion = np.array([camera.k1, camera.k2, 0, 0, 0])
    expected, _ = cv2.projectPoints(world, turn, -camera.axes @ camera.eye, matrix, distortion)
    np.testing.assert_allclose(camera.project(subject), expected[:, 0], atol=IDENTITY_PX)


@pytest.mark.parametrize("seed", SEEDS)
def test_the_card_and_the_end_lie_inside_the_photo(seed: int) -> None:
    scene = _module("draw").params(seed)
    camera = _module("camera").place(scene, _subject(scene))
    pixels = camera.project(_subject(scene))
    assert pixels.min() > 0
    assert np.all(pixels < np.array(camera.px) - 1)


def test_light_comes_from_where_the_lens_takes_it() -> None:
    scene = _module("draw").params(501)
    scene = replace(scene, shot=replace(scene.shot, px=(320, 240), px_per_mm=1.2, k1=-0.03, k2=0.008))
    camera = _module("camera").place(scene, _subject(scene))
    source = camera.pinhole_source()
    for point in _subject(scene):
        col, row = camera.project(point[None])[0]
        there = _between_pixels(source, col, row)
        # bilinear interpolation of a smooth map whose second difference over one pixel is below 1e-5 px
        np.testing.assert_allclose(there, camera.project_pinhole(point[None])[0], atol=1e-4)


def _between_pixels(field: np.ndarray, col: float, row: float) -> np.ndarray:
    c, r = int(col), int(row)
    u, v = col - c, row - r
    upper, lower = [(1 - u) * field[r + i, c] + u * field[r + i, c + 1] for i in (0, 1)]
    return (1 - v) * upper + v * lower


def test_a_smooth_straight_wall_is_fitted_with_its_own_lean() -> None:
    wall = _module("wall")
    scene = _module("draw").params(502)
    smooth = replace(scene, saw=replace(scene.saw, bow_sd=0.0, rough=0.0, tearout=0.0))
    for sawn in wall.walls(smooth):
        found = wall.fit(sawn)
        # a straight line through points on a straight line: identity but for rounding
        assert found.lean == pytest.approx(sawn.lean, abs=1e-9)
        assert (found.x_show, found.x_transfer) == pytest.approx(sawn.ends, abs=1e-9)


def test_the_truth_of_a_rough_wall_leaves_out_one_millimetre_at_each_face() -> None:
    wall = _module("wall")
    sawn = wall.walls(_module("draw").params(502))[0]
    torn = replace(sawn, x=np.where((sawn.y < 0.99) | (sawn.y > sawn.y[-1] - 0.99), sawn.x + 5.0, sawn.x))
    assert wall.fit(torn) == wall.fit(sawn)


def test_tear_out_takes_wood_and_never_adds_it() -> None:
    wall = _module("wall")
    scene = _module("draw").params(503)
    bare = replace(scene, saw=replace(scene.saw, rough=0.0, bow_sd=0.0, lean_sd=0.0, lean_bias=0.0))
    lost = [sawn.into_tail * sawn.rough for sawn in wall.walls(bare)]
    assert np.all(np.concatenate(lost) >= 0)
    assert np.concatenate(lost).max() > 0.01  # mm; a board spared at every wall would test nothing


def test_taper_is_the_difference_of_the_two_widths_and_half_pins_end_at_square_edges() -> None:
    wall, truth = _module("wall"), _module("truth")
    scene = _module("draw").params(504)
    fits = [wall.fit(sawn) for sawn in wall.walls(scene)]
    sockets = truth.sockets(fits, scene.board.width)
    assert len(sockets) == scene.board.tails + 1
    assert [s["kind"] for s in sockets] == ["half", *["full"] * (scene.board.tails - 1), "half"]
    run = scene.board.thickness * np.tan(np.radians([f.lean for f in fits]))
    assert sockets[0]["taper"] == pytest.approx(-run[0], abs=1e-9)
    assert sockets[-1]["taper"] == pytest.approx(run[-1], abs=1e-9)


@pytest.mark.parametrize("kind", ["short", "long"])
def test_the_rendered_card_is_the_printed_card(kind: str) -> None:
    card = _module("card")
    scene = _module("draw").params(501)
    picture = card.sheet(replace(scene.card, kind=kind), np.random.default_rng(1))
    grey = np.rint(np.clip(picture[::5, ::5, 1], 0, 1) * 255).astype(np.uint8)
    corners, ids, _, _ = cv2.aruco.CharucoDetector(card.opencv_board(kind)).detectBoard(grey)
    design = card.DESIGNS[kind]
    assert len(ids) == (design.squares[0] - 1) * (design.squares[1] - 1)
    scale = card.PX_PER_MM / 5
    step = np.diff(corners.reshape(-1, 2)[ids.ravel() < design.squares[0] - 1, 0])
    # corner refinement on a noise-free chequer, grain 1 %: within a tenth of a pixel
    np.testing.assert_allclose(step, design.square_mm * scale, atol=0.1)


def test_another_view_keeps_the_end_the_card_the_light_and_the_lens() -> None:
    draw = _module("draw")
    scene = draw.params(501)
    other = draw.another_view(scene, 2)
    assert other.shot.azimuth != scene.shot.azimuth
    assert (other.board, other.card, other.light, other.marks) == (scene.board, scene.card, scene.light, scene.marks)
    assert (other.shot.k1, other.shot.distance, other.shot.px) == (scene.shot.k1, scene.shot.distance, scene.shot.px)
    assert draw.another_view(scene, 0) == scene
    assert draw.another_view(scene, 1) != other
