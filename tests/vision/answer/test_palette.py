"""Verdicts are told apart by word, colour, shape and line, each for itself."""

from __future__ import annotations

from itertools import combinations, pairwise
from typing import get_args

import pytest

from tests.vision.shades import lightness, luminance
from vision.answer.palette import INK, LOOKS, PAPER, look_of, text_colour
from vision.joint.seating import Verdict

LEAST_STEP = 12.0
"""Steps of L* that a grey print keeps apart: five times the difference that is just seen side by side."""


def test_every_verdict_has_a_look_and_there_is_no_other() -> None:
    assert set(LOOKS) == set(get_args(Verdict))


def test_an_unknown_verdict_has_none() -> None:
    with pytest.raises(KeyError, match="perhaps"):
        look_of("perhaps")


def test_colours_stay_apart_on_a_grey_print() -> None:
    shades = sorted(lightness(look.colour) for look in LOOKS.values())
    assert all(b - a >= LEAST_STEP for a, b in pairwise(shades))


def test_no_two_share_a_shape_or_a_sign() -> None:
    for one, other in combinations(LOOKS.values(), 2):
        assert one.shape != other.shape
        assert one.sign != other.sign


def test_words_on_a_colour_are_readable() -> None:
    """WCAG 2.2, 1.4.3: a contrast of 4.5 to 1."""
    for look in LOOKS.values():
        one, other = (luminance(colour) + 0.05 for colour in (look.colour, text_colour(look.colour)))
        assert max(one, other) / min(one, other) >= 4.5
    assert text_colour(PAPER) == INK
