"""Perpendicularity as ISO 1101 means it, on constructed edges.

The zone lies between two lines square to the datum, t apart, that hold the whole edge: for a straight edge of length L
leaning by theta, t = L tan(theta); anything that bends the edge makes it wider.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from tests.vision.ends import made_wall
from vision.end.check import squareness_zone_mm
from vision.walls.measure import MeasuredWall


def edge(length_mm: float, lean_deg: float, bow_mm: float = 0.0) -> MeasuredWall:
    """A wall's edge of that length, leaning, bowed by `bow_mm` at half its length; a point every 0.1 mm."""
    y = np.linspace(-length_mm / 2.0, length_mm / 2.0, round(length_mm * 10.0) + 1)
    x = math.tan(math.radians(lean_deg)) * y + bow_mm * (1.0 - (2.0 * y / length_mm) ** 2)
    return replace(made_wall(), y=y, x=x)


@pytest.mark.parametrize(
    ("lean_deg", "zone_mm"),
    # Closed form L tan(theta) over 19 mm, to the digits given.
    [(0.3016, 0.1000), (0.25, 0.0829), (1.0, 0.3316), (-1.0, 0.3316)],
)
def test_a_straight_edge_fills_a_zone_of_length_times_tangent(lean_deg: float, zone_mm: float) -> None:
    # The printed digits, and 2 % for the point at each end that its neighbours may outvote.
    assert squareness_zone_mm(edge(19.0, lean_deg)) == pytest.approx(zone_mm, rel=0.02, abs=5e-5)


def test_the_zone_is_not_narrower_than_the_lean_alone() -> None:
    # ISO 1101: the zone holds all of the edge, so t >= L tan(theta); a ten-thousandth for rounding.
    assert squareness_zone_mm(edge(19.0, 0.5)) >= 19.0 * math.tan(math.radians(0.5)) * (1.0 - 1e-4)


def test_a_bowed_edge_needs_a_wider_zone_than_its_fitted_line() -> None:
    assert squareness_zone_mm(edge(19.0, 0.1, bow_mm=0.15)) > 1.5 * 19.0 * math.tan(math.radians(0.1))


def test_a_square_straight_edge_needs_none() -> None:
    assert squareness_zone_mm(edge(19.0, 0.0)) == pytest.approx(0.0, abs=1e-12)


def test_one_speck_does_not_widen_the_zone() -> None:
    wall = edge(19.0, 0.0)
    wall.x[90] += 0.4
    assert squareness_zone_mm(wall) == pytest.approx(0.0, abs=1e-12)
