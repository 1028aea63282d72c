"""Walls measured in synthetic bands: known edges come back within what is stated of them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.vision.wall_bands import PROFILE, Scene, seen
from vision.end.find_walls import RoughWall
from vision.photo.strip import Frame
from vision.walls.bands import WallBands, cut_bands, outward
from vision.walls.lights import Bands
from vision.walls.measure import MeasuredWall, measure_walls
from vision.walls.shared import Overhead

UNIT = 14.0
LENGTH = 16.0
OVERHEAD = Overhead(x_mm=25.0, distance_mm=300.0, depth_mm=LENGTH)


class Board:
    """Walls with straight edges x = place + lean (y - T/2), seen in bands wherever they are cut.

    `lines` tells where each wall's own line lies about it; without it all have that of the scene.
    """

    def __init__(self, leans: list[float], scene: Scene, seed: int = 1, lines: list[float] | None = None) -> None:
        self.leans, self.scene, self.seed = leans, scene, seed
        self.lines = lines or [scene.line] * len(leans)
        self.places = [8.0 + 9.0 * i for i in range(len(leans))]

    def rough_walls(self) -> list[RoughWall]:
        """Walls a tenth of a millimetre and half a degree off."""
        return [
            RoughWall(i // 2, "left" if i % 2 == 0 else "right", place + 0.1, lean - 0.009, self.scene.kerf)
            for i, (place, lean) in enumerate(zip(self.places, self.leans, strict=True))
        ]

    def cut(self, walls: list[RoughWall]) -> WallBands:
        """The bands across `walls`, the same noise whenever they are cut."""
        bands = [self._band(i, wall) for i, wall in enumerate(walls)]
        light, across, seen = (np.concatenate([getattr(b, n) for b in bands]) for n in ("light", "across", "seen"))
        return WallBands(walls, light, bands[0].along, across, seen)

    def _band(self, index: int, wall: RoughWall) -> Bands:
        outward = 1.0 if wall.side == "right" else -1.0
        edge = outward * (self.places[index] - wall.x_mm)
        slope = outward * (self.leans[index] - wall.lean)
        place = self.lines[index]
        line = None if place is None else edge + place
        scene = replace(self.scene, edge=edge, slope=slope, line=line)
        rng = np.random.default_rng([self.seed, index])
        return seen(scene, rng, rows=round(LENGTH * UNIT), unit=UNIT, length=LENGTH)

    def measured(self) -> list[MeasuredWall]:
        return measure_walls(self.cut, self.rough_walls(), PROFILE, OVERHEAD)


def errors(board: Board) -> tuple[np.ndarray, np.ndarray]:
    """Errors of the slopes and their standard uncertainties, (walls,)."""
    walls = board.measured()
    slope = np.array([wall.line.slope for wall in walls]) - board.leans
    return slope, np.array([wall.line.slope_u for wall in walls])


@pytest.mark.parametrize("kerf", [0.6, None])
def test_bare_walls_are_found_within_what_is_stated(kerf: float | None) -> None:
    board = Board([0.01, 0.01, -0.02, -0.02, 0.0, 0.03], Scene(kerf=kerf, noise=0.02, rough=0.02))
    error, u = errors(board)
    assert np.all(np.abs(error) < 2.0 * u)
    # A good wall's direction is claimed to 0.1 degrees at k = 2, and must be found to better.
    assert np.all(2.0 * u < np.radians(0.12))
    assert np.abs(error).max() < np.radians(0.05)


def test_places_are_found_to_hundredths() -> None:
    board = Board([0.01, -0.015], Scene(noise=0.02))
    for wall, place in zip(board.measured(), board.places, strict=True):
        # A seventh of a pixel.
        assert wall.line.at(0.0) == pytest.approx(place, abs=0.01)


@pytest.mark.parametrize("kerf", [0.6, None])
def test_a_line_beside_the_walls_does_not_turn_them(kerf: float | None) -> None:
    board = Board([0.01, 0.012, -0.01, 0.0], Scene(kerf=kerf, line=-0.3, noise=0.01))
    error, u = errors(board)
    assert np.all(np.abs(error) < 2.0 * u)
    assert np.abs(error).max() < np.radians(0.1)


def test_lines_as_dark_as_the_kerfs_that_touch_them_are_not_taken_for_parts_of_them() -> None:
    """Where the kerf's belief held itself, one of these walls was 0.2 degrees off."""
    scene = Scene(kerf=0.55, line=-0.14, noise=0.02, ink=(0.9, 0.9, 0.9))
    board = Board([0.01, 0.012, -0.01, 0.0, 0.004, -0.006], scene)
    seen_wide = [replace(wall, x_mm=wall.x_mm - 0.28 * outward(wall), kerf_mm=0.83) for wall in board.rough_walls()]
    walls = measure_walls(board.cut, seen_wide, PROFILE, OVERHEAD)
    np.testing.assert_allclose([wall.line.at(0.0) for wall in walls], board.places, atol=0.04)
    assert np.abs([wall.line.slope - lean for wall, lean in zip(walls, board.leans, strict=True)]).max() < 0.002


def test_a_growth_ring_that_nears_the_edge_is_not_taken_for_a_line() -> None:
    # Before the wood had a gradient of its own, walls under a line were found 0.4 to 0.7 degrees off here.
    leans = [0.01, 0.012, -0.01, 0.0]
    for line in (None, 0.1):
        error, u = errors(Board(leans, Scene(kerf=None, ring=0.2, line=line, noise=0.02)))
        assert np.all(np.abs(error) < 2.0 * u)
        assert np.abs(error).max() < np.radians(0.05)


def test_a_line_that_the_saw_took_whole_is_thought_of_beside_walls_that_kept_theirs() -> None:
    """Before, a sliver of it was looked for in all cases, and the wall's U was 0.75 degrees in the mean."""
    scene = Scene(kerf=None, floor=0.35, line_width=0.12, noise=0.03, rough=0.02, ink=(0.5, 0.5, 0.5))
    boards = [Board([0.01, 0.012, -0.01, 0.006], scene, seed, [-0.03, -0.02, 0.3, -0.04]) for seed in range(4)]
    error, u = np.array([[each[2] for each in errors(board)] for board in boards]).T
    assert np.all(np.abs(error) < 2.0 * u)
    assert 2.0 * u.mean() < np.radians(0.5)


def test_left_and_right_walls_of_one_lean_get_one_sign() -> None:
    board = Board([0.03, 0.03], Scene(noise=0.01))
    left, right = board.measured()
    assert left.line.slope > 0.02
    assert right.line.slope > 0.02


def test_a_faint_edge_is_less_sure_than_a_plain_one() -> None:
    leans = [0.01, -0.01]
    plain = errors(Board(leans, Scene(kerf=None, floor=0.4, noise=0.04)))[1]
    faint = errors(Board(leans, Scene(kerf=None, floor=0.93, noise=0.04)))[1]
    assert faint.min() > 1.5 * plain.max()


@pytest.mark.parametrize("line", [None, -0.1])
def test_a_shoulder_that_ends_beside_the_outermost_wall_is_not_taken_for_the_wall(line: float | None) -> None:
    scene = Scene(kerf=None, floor=0.75, line=line, noise=0.02, shoulder=0.6)
    board = Board([0.012, -0.008], scene)
    # A camera so near draws shoulders far enough toward itself that they may end beside the walls; the ends stand out.
    low = Overhead(x_mm=12.5, distance_mm=12.0, depth_mm=LENGTH)
    ends = board.places[0] - 0.6, board.places[1] + 0.6
    rough = [replace(wall, x_mm=end) for wall, end in zip(board.rough_walls(), ends, strict=True)]
    walls = measure_walls(board.cut, rough, PROFILE, low)
    slope = np.array([wall.line.slope for wall in walls])
    np.testing.assert_allclose(slope, board.leans, atol=np.radians(0.1))
    np.testing.assert_allclose([wall.line.at(0.0) for wall in walls], board.places, atol=0.02)


def test_bands_grow_outward_from_the_tail() -> None:
    picture = np.full((300, 600, 3), 40, np.uint8)
    picture[:, 200:400] = 220
    walls = [RoughWall(0, "left", 20.0, 0.0, None), RoughWall(0, "right", 40.0, 0.0, None)]
    frame = Frame.turned(np.zeros(2), 0.0)
    bands = cut_bands(picture, lambda points: points * 10.0, frame, 20.0, 10.0, walls)
    for light, across in zip(bands.light, bands.across, strict=True):
        assert light[:, :, across < -0.4].min() > 0.9
        assert light[:, :, across > 0.4].max() < 0.2


def test_a_band_ends_before_the_next_cut_and_no_other_band_for_it() -> None:
    picture = np.full((300, 600, 3), 220, np.uint8)
    xs = (20.0, 40.0, 41.7)
    walls = [RoughWall(i // 2, "left" if i % 2 == 0 else "right", x, 0.0, 0.6) for i, x in enumerate(xs)]
    bands = cut_bands(picture, lambda points: points * 10.0, Frame.turned(np.zeros(2), 0.0), 20.0, 10.0, walls)
    # 1.7 mm to the next cut, less its kerf of 0.6 and 0.15 of room; the first wall has 1.1 mm on either side.
    assert bands.across[1][bands.seen[1]].max() == pytest.approx(0.95, abs=0.1)
    assert bands.across[0][bands.seen[0]].max() == pytest.approx(1.05, abs=0.1)


@pytest.mark.parametrize("width_mm", [0.0, 0.3, 0.9])
def test_a_tail_too_narrow_to_show_bare_wood_gives_bands_of_numbers(width_mm: float) -> None:
    picture = np.full((300, 600, 3), 220, np.uint8)
    walls = [RoughWall(0, "left", 20.0, 0.0, 0.6), RoughWall(0, "right", 20.0 + width_mm, 0.0, 0.6)]
    bands = cut_bands(picture, lambda points: points * 10.0, Frame.turned(np.zeros(2), 0.0), 20.0, 10.0, walls)
    np.testing.assert_allclose(bands.light, 1.0, atol=1e-3)


@pytest.mark.parametrize("size", [1, 2, 3, 4, 5, 13])
def test_blocks_are_means_of_medians_of_up_to_five_rows(size: int) -> None:
    rng = np.random.default_rng(size)
    light = rng.normal(size=(2, 3 * size, 3, 7)).astype(np.float32)
    bands = WallBands([], light, np.arange(3.0 * size), np.zeros((2, 7)), np.ones((2, 7), bool))
    runs = light.reshape(2, 3, size, 3, 7)[:, :, : max(size // 5 * 5, min(size, 4))]
    medians = [np.median(runs[:, :, i : i + 5], axis=2) for i in range(0, runs.shape[2], 5)]
    # Single precision.
    assert bands.blocks(3).light == pytest.approx(np.mean(medians, axis=0), abs=1e-6)


def test_every_row_is_in_one_block_and_blocks_differ_by_one_row_at_most() -> None:
    along = np.arange(23.0)
    light = np.broadcast_to(along[None, :, None, None], (1, 23, 3, 4)).astype(np.float32)
    blocks = WallBands([], light, along, np.zeros((1, 4)), np.ones((1, 4), bool)).blocks(8)
    sizes = [3] * 7 + [2]
    assert blocks.along.tolist() == [np.mean(part) for part in np.split(along, np.cumsum(sizes)[:-1])]
    assert blocks.light[0, :, 0, 0].tolist() == blocks.along.tolist()
