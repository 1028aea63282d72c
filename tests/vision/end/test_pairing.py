"""Saw cuts that must pair: the one missed, the one too many, and what leaves it open."""

from __future__ import annotations

import pytest

from vision.end.find_walls import Cut
from vision.end.pairing import made_even, mate_by_layout, mate_of, without_stranger


def cuts_at(*places_mm: float, strange: int | None = None) -> list[Cut]:
    """Kerfs 0.6 mm wide; the one of number `strange` is 1.4 mm wide."""
    widths = [1.4 if index == strange else 0.6 for index in range(len(places_mm))]
    return [Cut(x, x + width, 0.0, 0.05) for x, width in zip(places_mm, widths, strict=True)]


def test_two_marks_that_may_be_the_missing_kerf_settle_nothing() -> None:
    kerfs = cuts_at(10.0)
    one, other = Cut(30.0, 30.6, 0.0, 0.7), Cut(50.0, 50.6, 0.0, 0.7)
    assert mate_of(kerfs, [one]) == one
    assert mate_of(kerfs, [one, other]) is None
    assert mate_of(kerfs, [Cut(30.0, 32.0, 0.0, 0.7)]) is None
    assert mate_of(kerfs, [Cut(10.8, 11.4, 0.0, 0.7)]) is None
    assert mate_of(kerfs, [Cut(30.0, 30.0, 0.0, 0.7)]) is None


EVEN = cuts_at(5.0, 23.0, 27.0, 45.0, 67.0)
"""Tails of 18 mm and pins of 4 mm, sawn to half a millimetre, but for the cut at 49 mm."""


def test_a_slim_mark_is_the_missing_kerf_where_it_makes_all_tails_and_all_pins_alike() -> None:
    crack, ring = Cut(49.2, 49.4, 0.02, 0.4), Cut(57.0, 57.2, 0.0, 0.7)
    found = made_even(EVEN, [], [*EVEN, crack, ring])
    assert [cut for cut in found if cut not in EVEN] == [found[4]]
    assert (found[4].left, found[4].right, found[4].lean, found[4].light) == pytest.approx((49.0, 49.6, 0.02, 0.4))


def test_both_cracks_along_a_kerf_full_of_dust_tell_one_place() -> None:
    left, right = Cut(48.9, 49.05, 0.02, 0.5), Cut(49.45, 49.6, 0.02, 0.4)
    mate = mate_by_layout(EVEN, [left, right])
    assert mate is not None
    assert (mate.middle, mate.width, mate.light) == pytest.approx((49.25, 0.6, 0.4))


def test_a_layout_that_leaves_the_place_open_tells_no_mate() -> None:
    assert mate_by_layout(EVEN, [Cut(51.0, 51.2, 0.0, 0.7)]) is None
    assert mate_by_layout(cuts_at(5.0, 23.0, 27.0), [Cut(45.2, 45.4, 0.0, 0.7)]) is None
    uneven = cuts_at(5.0, 20.0, 27.0, 45.0, 67.0)
    assert mate_by_layout(uneven, [Cut(49.2, 49.4, 0.0, 0.7)]) is None
    # A kerf is no wider than 1.6 mm, so these are two places, and either would do.
    assert mate_by_layout(EVEN, [Cut(48.4, 48.5, 0.0, 0.7), Cut(50.05, 50.1, 0.0, 0.7)]) is None


def test_one_mark_that_another_saw_would_have_made_is_left_out() -> None:
    kerfs = cuts_at(2.0, 7.0, 23.0, 33.0, 49.0, strange=0)
    assert without_stranger(kerfs) == kerfs[1:]


def test_marks_that_may_all_be_kerfs_are_kept() -> None:
    assert without_stranger(cuts_at(2.0, 7.0, 23.0, 33.0, 49.0)) is None
    # Without the wide one, tails of 5 and 10 mm would stand beside a pin of 16: the wide one may be a torn kerf.
    assert without_stranger(cuts_at(2.0, 7.0, 23.0, 33.0, 60.0, strange=4)) is None
    assert without_stranger(cuts_at(2.0, 7.0, 23.0, 33.0, strange=0)) is None
    assert without_stranger(cuts_at(2.0, strange=0)) is None
