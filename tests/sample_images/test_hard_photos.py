"""What the renderer does to make photos hard, and that the truth stays exact. No Blender needed."""

from __future__ import annotations

import importlib
from copy import deepcopy
from dataclasses import replace
from pathlib import Path
from types import ModuleType
from typing import Any

import numpy as np
import pytest

SAMPLE_IMAGES = Path(__file__).parents[2] / "sample_images"
SEED = 952
DEVELOPED = ("motion", "jpeg", "mono", "beauty")
"""Ways that change what the phone makes of the scene and nothing about the scene."""


@pytest.fixture(autouse=True)
def _renderer_on_path(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.syspath_prepend(str(SAMPLE_IMAGES))


def _module(name: str) -> ModuleType:
    return importlib.import_module(f"render.{name}")


def _scene(way: str | None = None, seed: int = SEED) -> Any:
    return _module("draw").params(seed, way)


def _ways() -> list[str]:
    return list(_module("hard").WAYS)


def test_every_way_changes_the_scene_and_says_so() -> None:
    for way in _ways():
        scene = _scene(way)
        assert scene.hard == way
        assert replace(scene, hard=None) != _scene()


def test_another_way_is_refused_by_name() -> None:
    with pytest.raises(ValueError, match=r"'snow'"):
        _scene("snow")


def test_no_way_moves_a_saw_cut_of_a_board_that_it_keeps() -> None:
    plain = [wall.x for wall in _module("wall").walls(_scene())]
    for way in _ways():
        scene = _scene(way)
        if scene.board == replace(_scene().board, species=scene.board.species):
            for before, after in zip(plain, _module("wall").walls(scene), strict=True):
                np.testing.assert_array_equal(before, after.x)


@pytest.mark.parametrize("way", DEVELOPED)
def test_what_is_done_in_the_phone_leaves_the_scene_alone(way: str) -> None:
    assert replace(_scene(way), develop=_scene().develop, hard=None) == _scene()


@pytest.mark.parametrize("angle", [0.0, 30.0, 90.0, 147.0])
def test_a_shaken_hand_moves_nothing_on_the_whole(angle: float) -> None:
    how = replace(_scene("motion").develop, motion=6.0, motion_angle=angle)
    kernel = _module("develop").shake(how)
    y, x = np.indices(kernel.shape) - (np.array(kernel.shape)[:, None, None] - 1) / 2
    assert kernel.sum() == pytest.approx(1.0, abs=1e-6)  # single precision
    assert (np.sum(kernel * x), np.sum(kernel * y)) == pytest.approx((0.0, 0.0), abs=1e-5)
    along = x * np.cos(np.radians(angle)) + y * np.sin(np.radians(angle))
    # An even line of length L has standard deviation L / sqrt(12); whole pixels blur it by up to half a pixel.
    assert np.sqrt(np.sum(kernel * along**2)) == pytest.approx(6.0 / np.sqrt(12.0), abs=0.5)


def test_a_coarser_camera_sees_every_point_at_the_same_place() -> None:
    scene = _scene("48mp")
    camera_module, card = _module("camera"), _module("card")
    pose = camera_module.card_pose(scene.card, scene.board.width, card.half_sheet(scene.card))
    subject = np.concatenate([_module("scene").sheet_corners(scene, pose), _module("scene").end_corners(scene)])
    camera = camera_module.place(scene, subject)
    coarse = camera.coarser(scene.shot.traced_at)
    assert camera.px == (8000, 6000)
    expected = (camera.project(subject) - camera.centre) / scene.shot.traced_at + coarse.centre
    np.testing.assert_allclose(coarse.project(subject), expected, atol=1e-9)  # the same formula, rounded


def test_a_grey_photo_has_three_equal_channels_and_a_plain_one_has_not() -> None:
    develop = _module("develop")
    picture = np.random.default_rng(1).uniform(0, 1, (30, 40, 3)).astype(np.float32)
    grey = develop._finished(picture, _scene("mono").develop)
    np.testing.assert_array_equal(grey[..., 0], grey[..., 2])
    np.testing.assert_array_equal(develop._finished(picture, _scene().develop), picture)


def test_beauty_flattens_faint_texture_and_overdraws_an_edge() -> None:
    rng = np.random.default_rng(2)
    picture = np.full((60, 80, 3), 0.4, np.float32) + rng.normal(0, 0.01, (60, 80, 1)).astype(np.float32)
    picture[:, 40:] += 0.3
    done = _module("develop")._finished(picture, _scene("beauty").develop)
    assert done[:, 5:25].std() < 0.7 * picture[:, 5:25].std()  # nearly halved, and not by chance
    assert done[:, 40:46].mean(axis=(0, 2)).max() > 0.72  # above the step's own 0.70: a halo


def test_a_wrinkled_sheet_stands_off_between_edges_that_stay_down() -> None:
    corners = np.array([[0, 0, 1], [100, 0, 1], [100, 40, 1], [0, 40, 1]], float)
    mesh = _module("solid").wrinkled(corners, 1.2, np.random.default_rng(3))
    height = mesh.points[:, 2] - 1.0
    edge = (mesh.points[:, 1] < 1e-9) | (mesh.points[:, 1] > 40 - 1e-9)
    assert np.abs(height[edge]).max() < 1e-9
    assert height.min() > -1e-9
    assert height.max() < 1.2 + 1e-9
    assert height.max() == pytest.approx(1.2, rel=0.5)  # the highest blister, less where it nears an edge
    # The picture's top row lies along the first two corners.
    top = mesh.points[mesh.uv[:, 1] == 1.0]
    np.testing.assert_allclose(top[:, 1], 0.0, atol=1e-9)


def test_a_thumb_is_round_at_its_tip_and_lies_on_the_card() -> None:
    tip, back = np.array([10.0, 5.0, 0.2]), np.array([10.0, -55.0, 0.2])
    points = _module("solid").finger(tip, back, radius=9.0).points
    assert points[:, 1].max() == pytest.approx(5.0, abs=1e-9)
    assert points[:, 2].min() == pytest.approx(0.2 - 0.16 * 9.0 / 2, abs=0.8)  # pressed in at most by its flattening
    assert np.ptp(points[:, 0]) == pytest.approx(2.2 * 9.0, rel=1e-9)


def test_the_shine_lies_where_the_ink_does() -> None:
    marks, wood, wall = _module("marks"), _module("wood"), _module("wall")
    scene = _scene("pen-glare", seed=964)
    board = replace(scene.board, width=40.0, thickness=8.0, tails=2)
    small = replace(scene, board=board, marks=replace(scene.marks, hatch=False, marks=0.0, pen="black"))
    sawn, rng = wall.walls(small), np.random.default_rng(4)
    plain = wood.end_grain(board, small.marks, rng)
    shine = marks.shine(plain, board, small.marks, sawn, deepcopy(rng))
    drawn = marks.draw(plain, board, small.marks, sawn, rng)
    inked = np.abs(drawn - plain).max(axis=2) > 0.05
    assert inked.any()
    assert shine[inked].min() > small.marks.gloss
    assert shine[~inked].mean() < shine[inked].mean() - 0.4
