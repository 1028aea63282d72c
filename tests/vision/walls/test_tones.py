"""Luma and colour: what each of them is, and edges of coloured ink in photos that keep colour coarsely."""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
import pytest
from scipy.special import ndtr

from tests.vision.wall_bands import PROFILE, Scene, seen
from vision.end.find_walls import RoughWall
from vision.photo.edge_profile import EdgeProfile
from vision.photo.strip import Frame, linear_to_srgb, smooth, srgb_to_linear
from vision.walls.bands import WallBands, cut_bands
from vision.walls.channels import Channels
from vision.walls.lights import Sums
from vision.walls.measure import measure_walls
from vision.walls.model import Belief, fit_walls
from vision.walls.parts import EDGE, INK, LINE, LINE_SLOPE, LINE_WIDTH, SHADE, SLOPE, wall_parts
from vision.walls.shared import Overhead, nothing_known, with_changed
from vision.walls.tones import FLOOR_POWER, coarse, ink_in_colours, ink_in_tones, light_in_tones, shot_precision

WOOD = np.array([[0.55, 0.38, 0.24]])
RED = np.array([0.25, 0.72, 0.66])
UNIT = 12.0


def test_levels_and_light_are_each_others_reverse() -> None:
    light = np.linspace(0.0, 1.0, 500)
    # Single precision through a power of 2.4.
    assert srgb_to_linear(linear_to_srgb(light.astype(np.float32)).astype(float)) == pytest.approx(light, abs=2e-6)
    assert linear_to_srgb(np.array([-0.2], np.float32)) == 0.0


def test_bare_wood_has_luma_one_and_no_colour_of_its_own() -> None:
    tones = light_in_tones(np.ones((1, 2, 3, 4), np.float32), WOOD)
    assert tones[:, :, 0] == pytest.approx(1.0, abs=1e-5)
    assert tones[:, :, 1:] == pytest.approx(0.0, abs=1e-5)


def test_colour_is_what_opencv_makes_of_it() -> None:
    light = np.random.default_rng(1).uniform(0.1, 1.4, size=(1, 3, 3, 5)).astype(np.float32)
    tones = light_in_tones(light, WOOD)
    levels = linear_to_srgb((light[0] * WOOD[0][:, None]).astype(np.float32))
    luma, red, blue = np.moveaxis(cv2.cvtColor(np.moveaxis(levels, 1, 2), cv2.COLOR_RGB2YCrCb), 2, 0)
    # OpenCV's Cr and Cb are the differences times 0.713 and 0.564, about one half; its constants have three digits.
    for ours, theirs, factor in ((tones[0, :, 2], red, 0.713), (tones[0, :, 1], blue, 0.564)):
        assert np.ptp(ours) / np.ptp(theirs) == pytest.approx(1.1 / (_wood_luma() * factor), rel=2e-3)
        assert np.corrcoef(ours.ravel(), theirs.ravel())[0, 1] > 1.0 - 1e-5
    assert tones[0, :, 0] == pytest.approx(srgb_to_linear(luma) / srgb_to_linear(_wood_luma()), rel=2e-3)


def _wood_luma() -> np.ndarray:
    return linear_to_srgb(WOOD[0].astype(np.float32)) @ np.array([0.299, 0.587, 0.114])


def test_ink_told_in_luma_and_colour_comes_back() -> None:
    assert ink_in_tones(np.full(3, 0.4)) == pytest.approx([0.4, 0.0, 0.0])
    assert ink_in_colours(ink_in_tones(RED)) == pytest.approx(RED)
    # Grey ink leaves 0.6 of the light.
    assert ink_in_tones(np.full(3, 0.4), FLOOR_POWER)[0] == pytest.approx(1.0 - 0.6**FLOOR_POWER)
    assert ink_in_colours(ink_in_tones(RED, FLOOR_POWER), FLOOR_POWER) == pytest.approx(RED)


def test_luma_as_a_power_of_light_is_that_power() -> None:
    light = np.random.default_rng(2).uniform(0.1, 1.4, size=(1, 3, 3, 5)).astype(np.float32)
    plain, raised = light_in_tones(light, WOOD), light_in_tones(light, WOOD, 0.5)
    assert raised[:, :, 0] == pytest.approx(np.sqrt(plain[:, :, 0]))
    assert np.array_equal(raised[:, :, 1:], plain[:, :, 1:])


@pytest.mark.parametrize("power", [1.0, FLOOR_POWER])
def test_luma_scatters_as_the_square_root_of_light_and_colour_alike(power: float) -> None:
    light = np.ones((3, 20), np.float32)
    light[:, 12:] = 0.25
    small = 1e-3 * np.sqrt(light)
    tones = light**power
    precision = shot_precision(tones, power)
    scatter = ((light + small) ** power - tones)[0] * precision[0]
    # Away from the step, which is smoothed: the derivative to second order.
    assert scatter[[3, 17]] == pytest.approx(1e-3 * power, rel=2e-3)
    assert np.all(precision[1:] == 1.0)


def test_coarse_colour_is_as_wide_as_subsampled_colour_spread_out_again() -> None:
    sharp = EdgeProfile(1.1, 0.0, 1.3)
    x = np.arange(-40.0, 40.0)
    places, seen_levels = [], []
    for shift in np.arange(0.0, 2.0, 0.1):
        pairs = ndtr((x - shift) / sharp.blur).reshape(-1, 2).mean(axis=1)
        before, after = np.r_[pairs[:1], pairs[:-1]], np.r_[pairs[1:], pairs[-1:]]
        spread = np.stack([0.75 * pairs + 0.25 * before, 0.75 * pairs + 0.25 * after], axis=1).ravel()
        places.append(x - shift)
        seen_levels.append(spread)
    place, level = np.concatenate(places), np.concatenate(seen_levels)
    off, unspread = (np.std(level - profile.step(place)) for profile in (coarse(sharp), sharp))
    # Averaged over the phases of the edge against the pairs it is one pixel squared more; each alone is a little off.
    assert off < 0.3 * unspread


@pytest.mark.parametrize("kerf", [True, False])
def test_amounts_of_lights_are_undone_and_ink_follows_luma_alone(kerf: bool) -> None:
    parts = wall_parts(PROFILE, kerf=kerf)
    rng = np.random.default_rng(5)
    lights, ink = rng.uniform(0.2, 1.0, size=(4, 3, len(parts.ridge))), np.tile(RED, (4, 1))
    for channels in (Channels.alike(parts), Channels.luma_and_colour(parts, parts)):
        amounts = channels.amounts_of(lights, ink)
        assert channels.lights_of(amounts, ink) == pytest.approx(lights)
    assert amounts[:, 1, -2] == pytest.approx(lights[:, 1, -2] - RED[1] * lights[:, 0, 0])


def test_channels_of_one_profile_have_the_amounts_of_plain_least_squares_whatever_their_ink_shares() -> None:
    parts = wall_parts(PROFILE, kerf=False)
    rng = np.random.default_rng(6)
    shapes = rng.normal(size=(4, 1, 6, 60)).astype(np.float32)
    light, weight = (rng.uniform(0.3, 1.0, size=(4, 3, 60)).astype(np.float32) for _ in range(2))
    sums, ink = Sums.over(shapes, weight, light), np.tile(RED, (4, 1))
    expected, _ = sums.amounts(np.zeros((6, 6)))
    for channels in (Channels.alike(parts), Channels.luma_and_colour(parts, parts)):
        found, _ = channels.amounts(sums, np.zeros((6, 6)), ink)
        assert found == pytest.approx(expected, abs=1e-6)


def test_an_edge_under_ink_is_found_where_luma_is_sharp_and_colour_is_soft() -> None:
    scene = Scene(edge=0.02, slope=0.012, kerf=None, line=-0.1, noise=0.004)
    sharp = seen(scene, np.random.default_rng(7), rows=8, unit=16.0)
    wide = EdgeProfile(0.1, PROFILE.overshoot, 0.13)
    wall = wall_parts(PROFILE, kerf=False), wall_parts(wide, kerf=False)
    light = light_in_tones(sharp.light, WOOD)
    for channel in (1, 2):
        # From a blur of 0.06 mm to one of 0.1.
        light[0, :, channel] = smooth(np.ascontiguousarray(light[0, :, channel]), 0.08 * 16.0, axis=1)
    known = nothing_known()
    start = with_changed(known.mean, (LINE, -0.13), (INK, ink_in_tones(np.array([0.65, 0.6, 0.05]))))
    free = np.zeros((1, len(start)), bool)
    free[:, [EDGE, SLOPE, SHADE, LINE, LINE_SLOPE, LINE_WIDTH, *range(INK.start, INK.stop)]] = True
    picture = fit_walls(
        replace(sharp, light=light),
        np.arange(1),
        start[None],
        Belief(start[None], known.sigma[None], free),
        Channels.luma_and_colour(*wall),
    )[0]
    # A tenth of a sample, as for one profile.
    assert picture.parameters[EDGE] == pytest.approx(scene.edge, abs=0.008)
    assert picture.parameters[SLOPE] == pytest.approx(scene.slope, abs=0.002)


def lined_photo(lean: float, rng: np.random.Generator) -> np.ndarray:
    """A tail from 20 to 40 mm, its right wall leaning, a red line that ends at it, above a floor nearly as bright.

    At `UNIT` px per mm, colour kept at half the resolution and spread out again, as JPEG does.
    """
    y, x = np.mgrid[0:264, 0:720] / UNIT
    blur = 1.1 / UNIT
    edge = 40.0 + lean * (y - 11.0)
    tail = ndtr((x - 20.0) / blur) * ndtr((edge - x) / blur)
    line = ndtr((x - 39.75) / blur) - ndtr((x - np.minimum(40.1, edge)) / blur)
    share = (tail - line.clip(0.0, 1.0))[..., None] + line.clip(0.0, 1.0)[..., None] * (1.0 - RED)
    light = WOOD[0] * (share + (1.0 - tail)[..., None] * 0.8)
    light *= 1.0 + 0.02 * cv2.GaussianBlur(rng.normal(size=x.shape), (0, 0), 1.0)[..., None]
    levels = linear_to_srgb(light.astype(np.float32)) + rng.normal(scale=0.006, size=light.shape).astype(np.float32)
    tones = cv2.cvtColor(levels.clip(0.0, 1.0), cv2.COLOR_RGB2YCrCb)
    for channel in (1, 2):
        small = cv2.resize(tones[..., channel], None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA)
        tones[..., channel] = cv2.resize(small, (720, 264), interpolation=cv2.INTER_LINEAR)
    return (255.0 * cv2.cvtColor(tones, cv2.COLOR_YCrCb2RGB)).clip(0.0, 255.0).round().astype(np.uint8)


def test_a_red_line_that_ends_at_the_edge_does_not_turn_it_where_colour_is_coarse() -> None:
    frame, blur = Frame.turned(np.zeros(2), 0.0), EdgeProfile(1.1, 0.0, 1.3)
    errors = []
    for seed, lean in enumerate((-0.012, -0.006, 0.0, 0.006, 0.012)):
        photo = lined_photo(lean, np.random.default_rng(seed))
        walls = [RoughWall(0, "left", 20.05, 0.0, None), RoughWall(0, "right", 40.05, lean - 0.004, None)]

        def cut(walls: list[RoughWall], photo: np.ndarray = photo) -> WallBands:
            return cut_bands(photo, lambda points: points * UNIT, frame, 22.0, UNIT, walls)

        colour = coarse(blur).scaled(1.0 / UNIT)
        found = measure_walls(cut, walls, blur.scaled(1.0 / UNIT), Overhead(30.0, 300.0, 22.0), colour)[1]
        errors.append(found.line.slope - lean)
        assert abs(errors[-1]) < 2.0 * found.line.slope_u
    # 0.1 degrees, half a pixel over the whole length.
    assert np.sqrt(np.mean(np.square(errors))) < np.radians(0.1)
