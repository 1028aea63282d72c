"""Pencil, or knife and gauge: told by colour where the wood has one, left open where it has none."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from tests.face_scenes import FaceScene
from tests.vision.face.test_measure_face import measured
from vision.face.baseline_kind import SURE, LineLook, chances, look_of_line, named

YELLOW, WHITE = np.array([0.9, 0.7, 0.45]), np.array([0.8, 0.8, 0.8])
Y = np.linspace(-1.1, 1.1, 45)


def line_in(wood: np.ndarray, hidden: float, grey: float | None, pieces: int = 60) -> np.ndarray:
    """Light (pieces, rows, 3) across a line of Gaussian profile that hides a share of the wood by grey or by shade."""
    share = hidden * np.exp(-0.5 * (Y / 0.12) ** 2)[None, :, None]
    base = np.broadcast_to(wood * WHITE, (pieces, len(Y), 3)) * (1.0 + 0.1 * Y[None, :, None])
    return base * (1.0 - share) + share * (0.0 if grey is None else grey) * WHITE


def test_a_shades_missing_light_is_alike_in_all_colours() -> None:
    look = look_of_line(line_in(YELLOW, 0.6, None), Y, WHITE, 0.2)
    # The slant of the light is fitted away; the Gaussian's tail beyond 0.7 mm is 4e-8 of it.
    assert look.blue_over_red == pytest.approx(1.0, abs=1e-7)
    np.testing.assert_allclose(look.wood, YELLOW, rtol=1e-7)


def test_graphite_takes_away_less_blue_than_red_by_a_closed_form() -> None:
    look = look_of_line(line_in(YELLOW, 0.6, 0.25), Y, WHITE, 0.2)
    # (1 - g / blue) / (1 - g / red); the light's slant of a tenth per mm adds a second-order trace.
    assert look.blue_over_red == pytest.approx((1 - 0.25 / 0.45) / (1 - 0.25 / 0.9), abs=0.002)


def test_its_uncertainty_is_what_the_ratio_scatters_by() -> None:
    rng = np.random.default_rng(5)
    looks = []
    for _ in range(200):
        light = line_in(YELLOW, 0.6, 0.25) + 0.02 * rng.standard_normal((60, len(Y), 3))
        looks.append(look_of_line(light, Y, WHITE, 0.2))
    scatter = np.std([look.blue_over_red for look in looks])
    # A median's own efficiency (0.8) is in it; a spread of twelve groups is known to a fifth, its mean far better.
    assert np.sqrt(np.mean([look.u**2 for look in looks])) == pytest.approx(scatter, rel=0.25)


@pytest.mark.parametrize(("ratio", "kind"), [(0.62, "pencil"), (1.0, "knife or gauge"), (0.86, "line"), (1.7, "line")])
def test_a_kind_is_named_where_the_ratio_carries_it(ratio: float, kind: str) -> None:
    found = chances(LineLook(ratio, 0.01, YELLOW, 0.25))
    assert sum(found.values()) == pytest.approx(1.0)
    assert named(found) == kind
    assert (max(found.values()) >= SURE) or kind == "line"


def test_on_grey_wood_nothing_is_told() -> None:
    """Graphite on grey is a grey line like any other."""
    assert named(chances(LineLook(1.0, 0.01, np.full(3, 0.5), 0.25))) == "line"


def test_a_noisy_ratio_tells_nothing() -> None:
    assert named(chances(LineLook(0.7, 0.4, YELLOW, 0.25))) == "line"


def test_of_lines_whose_colour_leaves_it_open_the_broad_one_is_likelier_drawn() -> None:
    slim, broad = (chances(LineLook(0.85, 0.02, YELLOW, width))["pencil"] for width in (0.1, 0.5))
    assert slim < broad


def test_kinds_are_told_as_often_wrongly_as_their_chances_say() -> None:
    """Drawn from the beliefs themselves: a named kind is wrong in at most one of twenty."""
    rng = np.random.default_rng(2)
    wrong = told = 0
    for _ in range(2000):
        wood = np.sort(rng.uniform(0.3, 1.0, 3))[::-1]
        pencil = rng.random() < 0.5
        grey = rng.normal(0.25, 0.07)
        ratio = (1 - grey / wood[2]) / max(1 - grey / wood[0], 0.05) if pencil else 1.0 + rng.normal(0.0, 0.05)
        width = math.exp(math.log(0.35 if pencil else 0.2) + rng.normal(0.0, 0.55))
        kind = named(chances(LineLook(ratio + rng.normal(0.0, 0.03), 0.0, wood, width)))
        told += kind != "line"
        wrong += kind != "line" and (kind == "pencil") != pencil
    assert told > 600  # or the test says nothing
    assert wrong / told < 0.05


@pytest.mark.parametrize(("graphite", "kind"), [(None, "knife or gauge"), (0.25, "pencil")])
def test_painted_faces_tell_their_baselines_kind(graphite: float | None, kind: str) -> None:
    face = FaceScene(graphite=graphite)
    baseline = measured(face).baseline
    assert baseline.kind == kind
    assert baseline.chances[kind] >= SURE  # type: ignore[index]


def test_the_kind_of_a_line_on_grey_wood_is_left_open() -> None:
    face = FaceScene()
    grey = replace(face, scene=replace(face.scene, wood=(0.4, 0.4, 0.4)))
    assert measured(grey).baseline.kind == "line"
