"""The picture of a wall, its gradient, and the edge it gives back."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.vision.wall_bands import BLUE, PROFILE, Scene, seen
from vision.wall_model import Belief, WallPicture, fit_wall
from vision.wall_parts import EDGE, FLOOR_LINE, INK, KERF, LINE, LINE_SLOPE, LINE_WIDTH, SHADE, SLOPE, Band, WallParts
from vision.wall_points import edge_points

EDGE_MM = 0.004
"""A twentieth of a sample at 12 per mm: ten times what noise of 1 % leaves over a whole band."""
SLOPE_PER_MM = 0.001
"""`EDGE_MM` over the distance between the band's quarter points."""
AWAY = 4.0
"""Place of a floor line that is not there."""


def parameters(scene: Scene) -> np.ndarray:
    p = np.array([scene.edge, scene.slope, scene.kerf or 0.6, -0.1, 0.0, scene.line_width, 0.0, 0.0, 0.0, AWAY, 0.0])
    if scene.line is not None:
        p[LINE], p[INK] = scene.line, BLUE
    return p


def fit(band: Band, scene: Scene, start: np.ndarray) -> WallPicture:
    free: tuple[int, ...] = (EDGE, SLOPE, KERF if scene.kerf else SHADE)
    if scene.line is not None:
        free += (LINE, LINE_SLOPE, LINE_WIDTH, INK.start, INK.start + 1, INK.start + 2)
    sigma = np.array([0.4, 0.02, 0.12, 0.4, 0.004, 0.1, 0.5, 0.5, 0.5, 5.0, 0.3])
    return fit_wall(band, start, Belief(start.copy(), sigma, free), PROFILE, kerf=scene.kerf is not None)


def light(parts: WallParts, p: np.ndarray, lights: np.ndarray) -> np.ndarray:
    return np.asarray((parts.picture(p).basis @ lights[..., None])[..., 0])


SAWN = (EDGE, SLOPE, KERF, LINE, LINE_SLOPE, LINE_WIDTH, 6, 7, 8)
CLEARED = (EDGE, SLOPE, SHADE, LINE, LINE_SLOPE, LINE_WIDTH, 6, 7, 8, FLOOR_LINE)


@pytest.mark.parametrize("line", [-0.4, -0.02, 0.5, 0.75])
@pytest.mark.parametrize(("kerf", "free"), [(0.6, SAWN), (None, CLEARED)])
def test_changes_with_every_border_are_the_central_differences_of_the_light(
    line: float, kerf: float | None, free: tuple[int, ...]
) -> None:
    scene = Scene(edge=0.031, slope=0.0043, kerf=kerf, line=line)
    rng = np.random.default_rng(3)
    parts = WallParts(seen(scene, rng, rows=5, unit=11.0), PROFILE, kerf is not None)
    p = parameters(scene)
    p[LINE_SLOPE], p[SHADE], p[FLOOR_LINE] = 0.0071, 0.2, 0.63
    lights = rng.uniform(0.1, 1.0, size=(5, 3, parts.ridge.shape[0]))
    changes = parts.changes(free, p, parts.picture(p), lights)
    for place, index in enumerate(free):
        step = np.zeros_like(p)
        step[index] = 2e-4
        numeric = (light(parts, p + step, lights) - light(parts, p - step, lights)) / 4e-4
        # The profile is a table: its slope is off by its curvature times half a cell of 0.0004 mm, under 1 %. Samples
        # on a kink (an edge of the gradients) may differ, so nine in ten must agree.
        close = np.abs(changes[..., place] - numeric) < 0.01 * (1.0 + np.abs(numeric).max())
        assert close.mean() > 0.9, index
        # A line on the floor of a cleared socket has no part on the tail that could move.
        assert np.abs(numeric).max() > 0.0 or (kerf is None and line > 0.4 and index not in (EDGE, SLOPE, FLOOR_LINE))


@pytest.mark.parametrize("kerf", [0.6, None])
@pytest.mark.parametrize("slope", [-0.03, 0.0, 0.02])
def test_an_edge_without_a_line_is_found_where_it_is(kerf: float | None, slope: float) -> None:
    scene = Scene(edge=0.05, slope=slope, kerf=kerf)
    start = parameters(Scene(edge=0.0, slope=0.0, kerf=kerf))
    picture = fit(seen(scene, np.random.default_rng(5), rows=8, unit=12.0), scene, start)
    assert picture.parameters[EDGE] == pytest.approx(scene.edge, abs=EDGE_MM)
    assert picture.parameters[SLOPE] == pytest.approx(slope, abs=SLOPE_PER_MM)


@pytest.mark.parametrize("kerf", [0.6, None])
@pytest.mark.parametrize("line", [-0.35, -0.08])
def test_a_line_beside_or_under_the_edge_does_not_pull_it(kerf: float | None, line: float) -> None:
    scene = Scene(edge=0.02, slope=0.012, kerf=kerf, line=line)
    start = parameters(Scene(edge=0.0, slope=0.0, kerf=kerf, line=line - 0.03))
    picture = fit(seen(scene, np.random.default_rng(7), rows=8, unit=16.0), scene, start)
    assert picture.parameters[EDGE] == pytest.approx(scene.edge, abs=2.0 * EDGE_MM)
    assert picture.parameters[SLOPE] == pytest.approx(scene.slope, abs=2.0 * SLOPE_PER_MM)


def test_a_drawn_line_is_the_cheaper_explanation_where_there_is_one() -> None:
    scene = Scene(line=-0.3)
    band = seen(scene, np.random.default_rng(9), rows=8, unit=14.0)
    bare = Scene()
    assert fit(band, scene, parameters(scene)).cost < fit(band, bare, parameters(bare)).cost - 50.0


def test_the_kerf_is_as_wide_as_it_was_sawn() -> None:
    scene = Scene(kerf=0.72)
    picture = fit(seen(scene, np.random.default_rng(11), rows=8, unit=12.0), scene, parameters(Scene()))
    assert picture.parameters[KERF] == pytest.approx(0.72, abs=2.0 * EDGE_MM)


@pytest.mark.parametrize("kerf", [0.6, None])
def test_points_follow_the_roughness_of_the_edge(kerf: float | None) -> None:
    scene = Scene(kerf=kerf, noise=0.004)
    band = seen(scene, np.random.default_rng(13), rows=60, unit=16.0)
    bump = 0.04 * np.sin(2.0 * band.along)
    light = np.array([
        seen(replace(scene, edge=scene.edge + shift), np.random.default_rng(row), rows=60, unit=16.0).light[row]
        for row, shift in enumerate(bump)
    ])
    points = edge_points(Band(light, band.along, band.across), parameters(scene), PROFILE, kerf=kerf is not None)
    truth = scene.edge + scene.slope * band.along + bump
    # Of 0.028 mm rms roughness no more than a fifth may be lost.
    assert np.sqrt(np.mean((points.across - truth) ** 2)) < 0.006


def test_points_are_less_sure_where_floor_and_tail_look_alike() -> None:
    rng = np.random.default_rng(15)
    faint, plain = Scene(kerf=None, floor=0.9), Scene(kerf=None, floor=0.4)
    unsure, sure = (
        edge_points(seen(scene, rng, rows=40, unit=14.0), parameters(scene), PROFILE, kerf=False).sigma.mean()
        for scene in (faint, plain)
    )
    # Contrast 0.1 against 0.6: six times, less what the shared floor of the noise takes.
    assert unsure > 3.0 * sure
