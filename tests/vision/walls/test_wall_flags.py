"""Each flag provoked by a made-up wall, and only that one."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from calibration.outcome import FLAGS
from tests.vision.ends import made_wall
from vision.walls.flags import FAINT_DEG, ROUGH_MM, TORN_MM, flags_of, kerf_mm
from vision.walls.measure import MeasuredWall


def torn(points: int) -> np.ndarray:
    bumps = np.zeros(81)
    bumps[60 : 60 + points] = 1.5 * TORN_MM
    return bumps


PROVOKED = {
    "tear_out": made_wall(bumps=torn(4)),
    "line_beside": made_wall(line_mm=-0.3, ink=0.5),
    "rough": made_wall(scatter=1.1 * ROUGH_MM),
    "faint_edge": made_wall(slope_u=np.radians(1.1 * FAINT_DEG)),
    "placed_by_hand": replace(made_wall(), picture=None),
}


@pytest.mark.parametrize(("flag", "wall"), PROVOKED.items())
def test_each_flag_is_raised_by_what_it_names(flag: str, wall: MeasuredWall) -> None:
    assert flags_of(wall) == (flag,)


def test_every_flag_of_the_table_is_provoked_here() -> None:
    assert PROVOKED.keys() == FLAGS.keys()


def test_a_good_wall_has_none() -> None:
    assert flags_of(made_wall(slope=0.01)) == ()


@pytest.mark.parametrize(
    "wall",
    [
        made_wall(bumps=torn(1)),
        made_wall(line_mm=-0.3, ink=0.1),
        made_wall(line_mm=-1.2, ink=0.5),
        made_wall(scatter=0.9 * ROUGH_MM),
        made_wall(slope_u=np.radians(0.9 * FAINT_DEG)),
    ],
    ids=["one point off", "hardly any ink", "ink far off", "nearly rough", "nearly faint"],
)
def test_what_falls_short_raises_no_flag(wall: MeasuredWall) -> None:
    assert flags_of(wall) == ()


def test_the_kerf_is_told_only_while_the_waste_is_in() -> None:
    assert kerf_mm(made_wall()) == pytest.approx(0.58)
    assert kerf_mm(made_wall(kerf_mm=None)) is None
    assert kerf_mm(PROVOKED["placed_by_hand"]) is None
