"""Verdicts are told apart by word, colour, shape and line, each for itself."""

from __future__ import annotations

from itertools import combinations, pairwise
from typing import get_args

import pytest

from vision.answer.palette import INK, LOOKS, PAPER, lightness, look_of, text_colour
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


def test_lightness_has_the_published_ends_and_middle() -> None:
    """CIE 15: L* of black and white; sRGB 119 is the mid grey of L* 50 to a tenth."""
    assert lightness((0, 0, 0)) == pytest.approx(0.0, abs=1e-9)
    assert lightness((255, 255, 255)) == pytest.approx(100.0, abs=1e-9)
    assert lightness((119, 119, 119)) == pytest.approx(50.0, abs=0.1)


def test_words_on_a_colour_are_readable() -> None:
    """WCAG 2.2, 1.4.3: a contrast of 4.5 to 1."""
    for look in LOOKS.values():
        one, other = (_relative(colour) + 0.05 for colour in (look.colour, text_colour(look.colour)))
        assert max(one, other) / min(one, other) >= 4.5
    assert text_colour(PAPER) == INK


def _relative(colour: tuple[int, int, int]) -> float:
    """Relative luminance back from L*."""
    value = lightness(colour)
    return ((value + 16.0) / 116.0) ** 3 if value > 8.0 else value / 903.3
