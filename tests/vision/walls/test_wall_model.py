"""The picture of a wall, its gradient, and the edge it gives back."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.vision.wall_bands import PROFILE, Scene, seen, together
from vision.walls.channels import Channels
from vision.walls.lights import Bands, Sums, shown, unexplained
from vision.walls.model import Belief, WallPicture, fit_walls
from vision.walls.parts import (
    EDGE,
    FLOOR_LINE,
    INK,
    KERF,
    LINE,
    LINE_SLOPE,
    LINE_WIDTH,
    PARAMETERS,
    SHADE,
    SHOULDER,
    SLOPE,
    WallParts,
    placed,
    wall_parts,
)
from vision.walls.points import edge_points
from vision.walls.shared import FAR_AWAY, nothing_known

EDGE_MM = 0.004
"""A twentieth of a sample at 12 per mm: ten times what noise of 1 % leaves over a whole band."""
SLOPE_PER_MM = 0.001
"""`EDGE_MM` over the distance between the band's quarter points."""


def parameters(scene: Scene) -> np.ndarray:
    p = np.zeros(PARAMETERS)
    p[[EDGE, SLOPE, KERF, LINE, LINE_WIDTH]] = scene.edge, scene.slope, scene.kerf or 0.6, -0.1, scene.line_width
    p[[FLOOR_LINE, SHOULDER]] = FAR_AWAY
    if scene.line is not None:
        p[LINE], p[INK] = scene.line, scene.ink
    return p


def belief(starts: np.ndarray, *, kerf: bool) -> Belief:
    """Wide belief around `starts` (fits, 12); lines are fitted where there is ink."""
    free = np.zeros(starts.shape, bool)
    free[:, [EDGE, SLOPE, KERF if kerf else SHADE]] = True
    free[:, [LINE, LINE_SLOPE, LINE_WIDTH, *range(INK.start, INK.stop)]] = starts[:, INK].any(axis=1, keepdims=True)
    return Belief(starts, np.tile(nothing_known().sigma, (len(starts), 1)), free)


def fits(bands: Bands, starts: np.ndarray, *, kerf: bool) -> list[WallPicture]:
    """The pictures fitted to each band from each one's own start."""
    parts = wall_parts(PROFILE, kerf=kerf)
    channels = Channels.alike(parts, bands.light.shape[2])
    return fit_walls(bands, np.arange(len(starts)), starts, belief(starts, kerf=kerf), channels)


def fit(band: Bands, scene: Scene, start: np.ndarray) -> WallPicture:
    return fits(band, start[None], kerf=scene.kerf is not None)[0]


def light(parts: WallParts, along: np.ndarray, across: np.ndarray, p: np.ndarray, lights: np.ndarray) -> np.ndarray:
    """Light (blocks, 3, columns) of one wall's picture whose parts have `lights` (blocks, 3, parts)."""
    shapes = parts.shapes(placed(parts.follows(along, 3), p[None])[0], across).astype(float)
    amounts = (parts.mixing(p[INK]) @ lights[..., None])[..., 0]
    return np.asarray(amounts @ shapes)


@pytest.mark.parametrize("line", [-0.4, -0.02, 0.55, 0.75])
@pytest.mark.parametrize(("kerf", "shoulder"), [(0.6, None), (None, None), (None, 0.6), (None, -0.2)])
def test_changes_with_every_parameter_are_the_central_differences_of_the_light(
    line: float, kerf: float | None, shoulder: float | None
) -> None:
    rng = np.random.default_rng(3)
    parts = wall_parts(PROFILE, kerf=kerf is not None, shoulder=shoulder is not None)
    along, across = np.linspace(-8.0, 8.0, 5), np.tile(np.arange(-1.4, 1.4, 1.0 / 11.0), (5, 1))
    p = parameters(Scene(edge=0.031, slope=0.0043, kerf=kerf, line=line))
    p[LINE_SLOPE], p[SHADE], p[FLOOR_LINE], p[SHOULDER] = 0.0071, 0.2, 0.63, shoulder or FAR_AWAY
    lights = rng.uniform(0.1, 1.0, size=(5, 3, len(parts.ridge)))
    amounts = (parts.mixing(p[INK]) @ lights[..., None])[..., 0]
    by_borders = np.einsum(
        "bcp,bpkx->bckx", amounts, parts.changes(placed(parts.follows(along, 3), p[None])[0], across)
    )
    changes = np.einsum("bckx,bckq->bcxq", by_borders, parts.follows(along, 3))
    moves = set()
    for index in range(PARAMETERS):
        step = np.zeros_like(p)
        step[index] = 1e-3
        numeric = (light(parts, along, across, p + step, lights) - light(parts, along, across, p - step, lights)) / 2e-3
        # Single precision: 1e-7 of the light over 2e-3 mm, and a table whose slope is off by half a cell's curvature,
        # under 1 %. Samples on a kink (an end of a gradient) may differ, so nine in ten must agree.
        close = np.abs(changes[..., index] - numeric) < 0.01 * (1.0 + np.abs(numeric).max())
        assert close.mean() > 0.9, index
        moves |= {index} if np.abs(numeric).max() > 0.01 else set()
    sawn = {EDGE, SLOPE, KERF, LINE, LINE_SLOPE, LINE_WIDTH, *range(INK.start, INK.stop)}
    cleared = sawn - {KERF} | {SHADE, FLOOR_LINE} | ({SHOULDER} if (shoulder or 0.0) > 0.0 else set())
    assert moves == (cleared if kerf is None else sawn)


def test_amounts_and_what_they_leave_are_those_of_plain_least_squares() -> None:
    rng = np.random.default_rng(4)
    shapes, changes = (rng.normal(size=size).astype(np.float32) for size in ((7, 4, 30), (7, 2, 3, 30)))
    weight, seen_light = (rng.uniform(0.2, 1.0, size=(7, 2, 30)).astype(np.float32) for _ in range(2))
    amounts, inverse = Sums.over(shapes[:, None], weight, seen_light).amounts(np.zeros((4, 4)))
    left = unexplained(changes, shapes[:, None], weight, inverse)
    for row, channel in np.ndindex(7, 2):
        root = np.sqrt(weight[row, channel])
        design = (root * shapes[row]).T
        # Single precision in, thirty samples.
        expected = np.linalg.lstsq(design, root * seen_light[row, channel], rcond=None)[0]
        assert amounts[row, channel] == pytest.approx(expected, abs=1e-5)
        taken = np.linalg.lstsq(design, (root * changes[row, channel]).T, rcond=None)[0]
        assert left[row, channel] == pytest.approx(changes[row, channel] - shown(taken.T, shapes[row][None]), abs=1e-4)


@pytest.mark.parametrize("kerf", [0.6, None])
def test_fits_side_by_side_find_what_each_finds_alone(kerf: float | None) -> None:
    # More than run together, some with a line, of different width and noise, so that they end at different steps.
    scenes = [
        Scene(edge=0.002 * i, slope=0.001 * i, kerf=kerf, line=-0.35 if i % 3 == 0 else None, noise=0.003 * (1 + i % 5))
        for i in range(40)
    ]
    bands = [seen(scene, np.random.default_rng(i), rows=8, unit=12.0) for i, scene in enumerate(scenes)]
    bands = [
        Bands(b.light[..., : 33 - i % 4], b.along, b.across[:, : 33 - i % 4], b.seen[:, : 33 - i % 4])
        for i, b in enumerate(bands)
    ]
    starts = np.array([parameters(replace(scene, edge=0.0, slope=0.0)) for scene in scenes])
    for picture, band, scene, start in zip(
        fits(together(bands), starts, kerf=kerf is not None), bands, scenes, starts, strict=True
    ):
        alone = fit(band, scene, start)
        # Sums in another order, in single precision, over a few steps that end when an edge moves less than 3e-4 mm.
        assert picture.parameters[[EDGE, SLOPE]] == pytest.approx(alone.parameters[[EDGE, SLOPE]], abs=3e-5)
        assert picture.cost == pytest.approx(alone.cost, abs=0.05)


def test_one_channel_counts_for_the_three_it_stands_for() -> None:
    band = seen(Scene(), np.random.default_rng(6), rows=8, unit=12.0)
    one = replace(band, light=band.light[:, :, :1])
    three = replace(band, light=np.repeat(one.light, 3, axis=2))
    start = parameters(Scene(edge=0.0, slope=0.0))
    single, triple = (fit(bands, Scene(), start) for bands in (one, three))
    assert single.parameters == pytest.approx(triple.parameters, abs=1e-6)
    assert single.cost == pytest.approx(triple.cost, rel=1e-6)


def test_what_is_not_free_stays_where_it_started() -> None:
    band = seen(Scene(line=-0.3), np.random.default_rng(8), rows=8, unit=12.0)
    start = parameters(Scene(edge=0.0, slope=0.0))
    moved = np.nonzero(fit(band, Scene(), start).parameters != start)[0]
    assert moved.tolist() == [EDGE, SLOPE, KERF]


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


@pytest.mark.parametrize("kerf", [0.6, None])
def test_ink_lighter_than_the_wood_in_its_own_colour_is_told_as_that(kerf: float | None) -> None:
    scene = Scene(edge=0.02, slope=0.012, kerf=kerf, line=-0.2, ink=(0.6, 0.3, -0.4))
    start = parameters(replace(scene, edge=0.0, slope=0.0, ink=(0.4, 0.4, 0.4)))
    picture = fit(seen(scene, np.random.default_rng(17), rows=8, unit=16.0), scene, start)
    # The belief, 0.5 about the start, and the part's own light take a twentieth.
    assert picture.parameters[INK] == pytest.approx(scene.ink, abs=0.05)
    assert picture.parameters[EDGE] == pytest.approx(scene.edge, abs=2.0 * EDGE_MM)


def test_what_is_lighter_in_every_colour_is_no_ink() -> None:
    scene = Scene(kerf=None, line=-0.4, ink=(-0.3, -0.25, -0.3))
    start = parameters(replace(scene, ink=(0.1, 0.1, 0.1)))
    picture = fit(seen(scene, np.random.default_rng(18), rows=8, unit=16.0), scene, start)
    assert picture.parameters[INK].min() >= -picture.parameters[INK].max()


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
    rough = [
        seen(replace(scene, edge=scene.edge + shift), np.random.default_rng(row), rows=60, unit=16.0).light[0, row]
        for row, shift in enumerate(bump)
    ]
    bands = replace(band, light=np.array([rough]))
    points = edge_points(bands, parameters(scene)[None], Channels.alike(wall_parts(PROFILE, kerf=kerf is not None)))
    truth = scene.edge + scene.slope * band.along + bump
    # Of 0.028 mm rms roughness no more than a fifth may be lost.
    assert np.sqrt(np.mean((points.across[0] - truth) ** 2)) < 0.006


def test_points_are_less_sure_where_floor_and_tail_look_alike() -> None:
    rng = np.random.default_rng(15)
    faint, plain = Scene(kerf=None, floor=0.9), Scene(kerf=None, floor=0.4)
    channels = Channels.alike(wall_parts(PROFILE, kerf=False))
    unsure, sure = (
        edge_points(seen(scene, rng, rows=40, unit=14.0), parameters(scene)[None], channels).sigma.mean()
        for scene in (faint, plain)
    )
    # Contrast 0.1 against 0.6: six times, less what the shared floor of the noise takes.
    assert unsure > 3.0 * sure


def test_light_that_scatters_as_its_square_root_is_told_so_to_the_fit() -> None:
    rng = np.random.default_rng(16)
    scene = Scene(noise=0.0)
    clean, truth = seen(scene, rng, rows=10, unit=12.0), parameters(scene)
    root = np.sqrt(np.maximum(clean.light, 0.03))
    spread = 0.06 * root
    grainy = [clean.light + spread * rng.normal(size=spread.shape).astype(np.float32) for _ in range(60)]
    alike, sure = (
        np.std([(fits(band, truth[None], kerf=True)[0].parameters - truth)[[EDGE, SLOPE]] for band in bands], axis=0)
        for bands in (
            [replace(clean, light=light) for light in grainy],
            [replace(clean, light=light, precision=1.0 / root) for light in grainy],
        )
    )
    # Gauss and Markov: weights by the variance are the best there are. It is 0.84 and 0.80.
    assert np.all(sure < 0.9 * alike)
