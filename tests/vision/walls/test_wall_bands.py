"""Bands averaged into blocks of rows."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from vision.walls.bands import WallBands

UNIT = 10.0


def bands(torn: int) -> WallBands:
    """One wall's band of 100 rows, each as bright as its own place along the wall."""
    along = (np.arange(100) - 49.5) / UNIT
    light = np.broadcast_to(along[:, None, None], (1, 100, 3, 20)).astype(np.float32)
    return WallBands([], light, along, np.zeros((1, 20)), np.ones((1, 20), bool), torn)


@pytest.mark.parametrize("torn", [0, 7])
@pytest.mark.parametrize("count", [8, 17])
def test_blocks_hold_the_rows_they_stand_for_and_ends_are_apart(torn: int, count: int) -> None:
    blocks = bands(torn).blocks(count, at_ends=2)
    # Medians of five and means of a straight ramp are its middle: single precision.
    assert blocks.light[0, :, 0, 0] == pytest.approx(blocks.along, abs=0.21)
    assert list(blocks.along) == sorted(blocks.along)
    assert blocks.counts is not None
    assert blocks.counts.sum() == count
    assert len(blocks.along) == count + (4 if torn else 0)
    assert np.all(blocks.trust[~blocks.counts] < 1.0)
    assert np.all(blocks.trust[blocks.counts] == 1.0)


def test_the_length_that_counts_leaves_the_torn_ends_out() -> None:
    # From the middle of the first row to the middle of the last.
    assert bands(7).length_mm == pytest.approx((100 - 14 - 1) / UNIT)


@pytest.mark.parametrize("torn", [0, 7])
def test_merged_blocks_are_means_of_neighbours_without_the_torn_ends(torn: int) -> None:
    fine = bands(torn).blocks(8, at_ends=2)
    coarse = fine.merged(3)
    assert fine.counts is not None
    assert coarse.trust.tolist() == [1.0, 1.0, 1.0]
    assert list(coarse.along) == sorted(coarse.along)
    assert coarse.light[0, :, 0, 0] == pytest.approx(coarse.along, abs=0.21)
    # Every block that counts is in exactly one of the three: 3, 3 and 2 of the eight.
    assert coarse.along @ [3, 3, 2] == pytest.approx(fine.along[fine.counts].sum())


def test_how_light_scatters_is_told_with_tones_alone() -> None:
    shades = np.full((1, 100, 3, 20), 0.25, np.float32)
    colours = WallBands([], shades, np.arange(100) / UNIT, np.zeros((1, 20)), np.ones((1, 20), bool))
    told = replace(colours, power=1.0).blocks(8).precision
    assert told is not None
    assert told[:, :, 0] == pytest.approx(2.0)
    assert colours.blocks(8).precision is None
