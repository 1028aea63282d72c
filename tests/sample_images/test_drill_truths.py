"""The renderer's drill boards: cuts where they were meant, their truth in closed form, the wood between them whole."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from sample_images.render.draw import params
from sample_images.render.drill import drilled, true_cut
from sample_images.render.solid import _outlines
from sample_images.render.wall import DRILL_SIDE_MM, walls

MEANT = (7.0, -7.0, 0.0, 7.0, -7.0)
SCENE = drilled(params(628), MEANT)
STEADY = replace(SCENE, saw=replace(SCENE.saw, lean_bias=0.0, lean_sd=0.0, bow_sd=0.0, rough=1e-9, tearout=0.0))


def test_cuts_stand_evenly_from_side_to_side_whatever_was_meant() -> None:
    nominal = [wall.nominal for wall in walls(SCENE)]
    assert nominal == pytest.approx(np.linspace(DRILL_SIDE_MM, SCENE.board.width - DRILL_SIDE_MM, 5).tolist())
    assert SCENE.board.stage == "sawn"


def test_a_steady_saw_cuts_what_was_meant() -> None:
    for number, (wall, meant) in enumerate(zip(walls(STEADY), MEANT, strict=True), start=1):
        cut = true_cut(number, wall, meant)
        # Roughness of a nanometre.
        assert [cut["lean"], cut["lean_left"], cut["lean_right"]] == pytest.approx([meant] * 3, abs=1e-6)
        assert cut["kerf"] == pytest.approx(STEADY.board.kerf, abs=1e-6)
        middle = (cut["x_show"] + cut["x_transfer"]) / 2.0
        assert middle == pytest.approx(wall.x_mid - STEADY.board.kerf / 2.0, abs=1e-6)


def test_a_sawyers_bias_is_in_the_truth() -> None:
    leaning = replace(STEADY, saw=replace(STEADY.saw, lean_bias=0.5))
    leans = [true_cut(1, wall, meant)["lean"] - meant for wall, meant in zip(walls(leaning), MEANT, strict=True)]
    assert leans == pytest.approx([0.5] * 5, abs=1e-6)


def test_one_more_piece_of_wood_than_cuts_stands_and_they_fill_the_board_but_for_the_kerfs() -> None:
    pieces = _outlines(STEADY, walls(STEADY), np.random.default_rng(1))
    assert len(pieces) == len(MEANT) + 1
    across = sum(float((right[:, 0, 0] - left[:, 0, 0]).mean()) for left, right in pieces)
    assert across == pytest.approx(STEADY.board.width - len(MEANT) * STEADY.board.kerf, abs=1e-6)


def test_a_tail_board_is_as_it_was() -> None:
    plain = params(628)
    assert plain.drill == ()
    assert [wall.side for wall in walls(plain)] == ["left", "right"] * plain.board.tails
