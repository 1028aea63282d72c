"""What rival explanations of a wall are held against: where perspective puts a line, what finding out costs."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from tests.vision.cameras import straight_down
from vision.end.find_walls import RoughWall
from vision.walls import rivals
from vision.walls.model import Belief, WallPicture
from vision.walls.parts import EDGE, INK, KERF, LINE, LINE_WIDTH, PARAMETERS, SLOPE
from vision.walls.rivals import Board, Effort, Rival, agreed, explain_together, first_look
from vision.walls.shared import Overhead, Shared, nothing_known, shared_belief, with_changed

DISTANCE_MM, DEPTH_MM = 280.0, 17.0


@pytest.mark.parametrize("side", ["left", "right"])
@pytest.mark.parametrize("x_mm", [5.0, 41.0, 70.0])
def test_a_line_on_the_floor_is_seen_where_a_camera_would_see_it(side: str, x_mm: float) -> None:
    camera = straight_down(40.0, 0.0, distance_mm=DISTANCE_MM)
    on_floor = camera.to_plane(camera.to_image(np.array([[x_mm, 3.0]]), height_mm=-DEPTH_MM))[0, 0]
    outward = 1.0 if side == "right" else -1.0
    wall = RoughWall(0, side, x_mm, 0.0, None)
    # A pinhole without distortion: exact.
    assert Overhead(40.0, DISTANCE_MM, DEPTH_MM).shift(wall) == pytest.approx(outward * (on_floor - x_mm), abs=1e-9)


def test_a_parameter_costs_what_the_light_narrows_it_by_and_one_that_is_not_fitted_nothing() -> None:
    sigma = np.full((1, PARAMETERS), 0.5)
    free = np.zeros((1, PARAMETERS), bool)
    free[0, [EDGE, SLOPE]] = True
    hessian = np.zeros((1, PARAMETERS, PARAMETERS))
    hessian[0] = np.diag(np.full(PARAMETERS, 96.0))
    narrowed = Belief(sigma, sigma, free).narrowed(hessian)
    # Normal distributions: from variance 1/4 to 1/(4 + 96), twenty-five times narrower, for each of two.
    assert narrowed == pytest.approx([2.0 * math.log(25.0)])


def test_walls_agree_on_one_kerf_even_where_another_width_explains_one_of_them_better() -> None:
    def rival(kerf: float, cost: float) -> Rival:
        parameters = np.zeros(PARAMETERS)
        parameters[KERF] = kerf
        return Rival(WallPicture(parameters, cost), cost)

    wide, slim = [rival(0.66, 0.0), rival(0.51, 4.0)], [rival(0.505, 0.0), rival(0.66, 30.0)]
    kerfs = [float(picture.parameters[KERF]) for picture in agreed([wide, slim, slim])]
    assert kerfs == [0.51, 0.505, 0.505]


def walls_with_lines(count: int, lines: int) -> list[WallPicture]:
    """Pictures of `count` walls of a kerf of 0.7 mm, the first `lines` of them with a drawn line of 0.2 mm."""
    pictures = []
    for number in range(count):
        parameters = nothing_known().mean.copy()
        parameters[KERF] = 0.7
        if number < lines:
            parameters[INK], parameters[LINE_WIDTH] = 0.5, 0.2
        pictures.append(WallPicture(parameters, 0.0))
    return pictures


def test_without_its_line_a_board_keeps_its_kerf_and_knows_nothing_of_lines() -> None:
    anew = shared_belief(walls_with_lines(6, 6)).without_line()
    changed = np.flatnonzero(anew.mean != nothing_known().mean)
    assert changed.tolist() == [KERF]
    assert anew.mean[KERF] == 0.7
    assert anew.line_price == nothing_known().line_price


@pytest.mark.parametrize(
    ("lines", "gain", "chosen"),
    [(1, 200.0, "apart"), (1, 50.0, "together"), (4, 200.0, "together"), (0, 200.0, "together")],
)
def test_walls_are_explained_each_for_itself_only_where_few_show_a_line_and_that_is_clearly_better(
    lines: int, gain: float, chosen: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Six walls: clearly is more than 10 a wall, 60 in all."""

    def explained(board: Board, earlier: list[WallPicture], shared: Shared) -> list[list[Rival]]:
        alone = shared.mean[LINE_WIDTH] == nothing_known().mean[LINE_WIDTH] and lines > 0
        cost = (1000.0 - gain if alone else 1000.0) / len(earlier)
        return [[Rival(WallPicture(picture.parameters, cost), cost)] for picture in earlier]

    monkeypatch.setattr(rivals, "explain", explained)
    first = walls_with_lines(6, lines)
    board = Board([RoughWall(0, "left", 0.0, 0.0, 0.7)] * 6, None, None, None)  # type: ignore[arg-type]
    total = sum(each[0].cost for each in explain_together(board, first, first))
    assert total == pytest.approx(1000.0 - gain if chosen == "apart" else 1000.0)


@pytest.mark.parametrize(("seen_mm", "believed_mm"), [(0.72, [0.7]), (0.62, [0.7, 0.62])])
def test_a_kerf_learned_to_be_another_is_believed_in_one_round_more(
    seen_mm: float, believed_mm: list[float], monkeypatch: pytest.MonkeyPatch
) -> None:
    believed = []

    def explained(board: Board, earlier: list[WallPicture], shared: Shared) -> list[list[Rival]]:
        believed.append(float(shared.mean[KERF]))
        pictures = walls_with_lines(len(earlier), len(earlier))
        for picture in pictures:
            picture.parameters[KERF] = seen_mm
        return [[Rival(picture, 0.0)] for picture in pictures]

    monkeypatch.setattr(rivals, "explain", explained)
    first = walls_with_lines(6, 6)
    board = Board([RoughWall(0, "left", 0.0, 0.0, 0.7)] * 6, None, None, None)  # type: ignore[arg-type]
    explain_together(board, first, first)
    assert believed == pytest.approx(believed_mm)


@pytest.mark.parametrize(("seen_mm", "gain", "kerf_mm"), [(0.8, 5.0, 0.5), (0.8, -5.0, 0.8), (0.6, 5.0, 0.6)])
def test_kerfs_that_all_seem_wide_may_each_have_a_line_for_a_part_where_that_costs_less(
    seen_mm: float, gain: float, kerf_mm: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    def explained(board: Board, earlier: list[WallPicture], shared: Shared, effort: Effort) -> list[list[Rival]]:
        pictures = [WallPicture(with_changed(each.parameters, (KERF, shared.mean[KERF])), 0.0) for each in earlier]
        return [[Rival(picture, -gain if shared.mean[INK].any() else 0.0)] for picture in pictures]

    monkeypatch.setattr(rivals, "explain", explained)
    plain = [WallPicture(with_changed(nothing_known().mean, (KERF, seen_mm)), 0.0)] * 4
    board = Board([RoughWall(0, "left", 0.0, 0.0, seen_mm)] * 4, None, None, None)  # type: ignore[arg-type]
    assert [float(each.parameters[KERF]) for each in first_look(board, plain)] == pytest.approx([kerf_mm] * 4)


def test_a_belief_in_a_kerf_does_not_hold_itself(monkeypatch: pytest.MonkeyPatch) -> None:
    """All walls are cheaper at 0.5 mm, but pay there for what is believed: 0.7 mm, give or take 0.02."""
    believed = []

    def explained(board: Board, earlier: list[WallPicture], shared: Shared) -> list[list[Rival]]:
        believed.append(float(shared.mean[KERF]))
        pictures = [WallPicture(with_changed(earlier[0].parameters, (KERF, kerf)), 0.0) for kerf in (0.7, 0.5)]
        wide, slim = (Rival(picture, (picture.parameters[KERF] - believed[-1]) ** 2 / 0.02**2) for picture in pictures)
        return [[replace(wide, cost=wide.cost + 20.0), slim]] * len(earlier)

    monkeypatch.setattr(rivals, "explain", explained)
    first = walls_with_lines(6, 6)
    board = Board([RoughWall(0, "left", 0.0, 0.0, 0.7)] * 6, None, None, None)  # type: ignore[arg-type]
    explain_together(board, first, first)
    assert believed == pytest.approx([0.7, 0.5])


@pytest.mark.parametrize(("lines", "beyond", "doubted"), [(6, 1, True), (6, 3, False), (2, 0, False)])
def test_where_most_lines_are_on_the_tails_one_beyond_its_kerf_is_doubted(
    lines: int, beyond: int, doubted: bool
) -> None:
    pictures = walls_with_lines(6, lines)
    for picture in pictures[:beyond]:
        picture.parameters[LINE] = picture.parameters[EDGE] + picture.parameters[KERF] + 0.1
    assert (shared_belief(pictures).beyond_price > 0.0) == doubted
