"""Card and end out of parallel: told from the faces and from a fan of walls, and only on firm evidence."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from calibration.outcome import CannotMeasure
from tests.scenes import Scene
from tests.vision.ends import leaning_walls, located, solved
from vision.in_plane import check_in_plane

SCENE = Scene()
X = np.array([7.0, 23.0, 33.0, 49.0, 59.0, 75.0])
SCATTER_DEG = np.array([0.02, -0.03, 0.01, 0.03, -0.02, -0.01])


def reasons(lean_deg: np.ndarray, unparallel_deg: float = 0.0, u_deg: float = 0.005) -> list[str]:
    """Warnings for walls with those leans and faces that far from parallel."""
    end = replace(located(SCENE), unparallel=np.radians(unparallel_deg), unparallel_u=np.radians(u_deg))
    walls = leaning_walls(X[: len(lean_deg)], lean_deg)
    return [kind.reason for kind in check_in_plane(solved(SCENE)[1], end, walls)]


def fan(tilt_deg: float) -> np.ndarray:
    """Leans of walls that such a tilt of the card fans out, with a little scatter."""
    return tilt_deg / solved(SCENE)[1].distance_mm * (X - 41.0) + SCATTER_DEG


def test_a_good_end_gives_no_warning() -> None:
    assert reasons(SCATTER_DEG) == []


def test_a_fan_of_walls_is_remarked_on() -> None:
    assert reasons(fan(3.2)) == ["card_tilt_suspected"]


def test_a_wide_fan_of_walls_is_refused() -> None:
    with pytest.raises(CannotMeasure, match="tilted by about 6 degrees") as caught:
        reasons(fan(6.0))
    assert caught.value.refusal.reason == "card_not_in_plane"


def test_a_fan_lost_in_the_walls_own_scatter_is_not_evidence() -> None:
    assert reasons(fan(6.0) + np.array([0.9, -1.1, 0.8, -0.9, 1.2, -0.8])) == []


def test_three_walls_are_too_few_to_make_a_fan() -> None:
    assert reasons(fan(6.0)[:2]) == []


def test_faces_out_of_parallel_are_remarked_on_and_then_refused() -> None:
    lever = solved(SCENE)[1].distance_mm / located(SCENE).thickness
    # Beyond the uncertainty of 2 (0.005, 0.02) degrees: 0.041 degrees times the lever of 15 is 0.61.
    assert reasons(SCATTER_DEG, 0.03) == []
    assert reasons(SCATTER_DEG, 1.35 / lever) == ["card_tilt_suspected"]
    with pytest.raises(CannotMeasure, match="tilted by about 3 degrees"):
        reasons(SCATTER_DEG, 3.0 / lever)


def test_faces_seen_unsurely_are_no_evidence() -> None:
    assert reasons(SCATTER_DEG, 0.2, u_deg=0.2) == []
