"""Saw cuts that must pair: the one missed, the one too many, and what leaves it open."""

from __future__ import annotations

import pytest

from calibration.outcome import CannotMeasure
from vision.end.find_walls import Cut, RoughWall
from vision.end.pairing import (
    check_across,
    made_even,
    mark_doubts,
    mate_by_layout,
    mate_of,
    narrow_sockets,
    no_room,
    odd_one_out,
    pin_doubts,
    without_stranger,
)


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


def test_a_stray_mark_is_no_socket_where_the_tails_are_more_even_without_it() -> None:
    stray = [Cut(x, x + w, 0.0, 0.05) for x, w in ((7.0, 0.6), (23.0, 0.6), (33.0, 0.6), (41.0, 1.2), (49.0, 0.6))]
    assert narrow_sockets([*stray, *cuts_at(59.0, 75.0)]) == []
    equal = [Cut(x, x + w, 0.0, 0.05) for x, w in ((7.0, 0.6), (21.0, 0.6), (35.0, 1.5), (49.0, 0.6))]
    assert narrow_sockets([*equal, *cuts_at(63.0, 77.0)]) == []


def test_marks_as_wide_as_two_cuts_are_sockets_but_where_all_pair_well_they_are_kerfs_and_lines() -> None:
    assert narrow_sockets(cuts_at(7.0, 30.0, 49.0, 59.0, 75.0, strange=1)) == [Cut(30.0, 31.4, 0.0, 0.05)]
    assert narrow_sockets([*cuts_at(5.0, 23.0, strange=1), *cuts_at(27.0, 45.0, strange=0)]) == []
    half = [*cuts_at(5.0), Cut(28.0, 29.2, 0.0, 0.05), Cut(50.0, 51.2, 0.0, 0.05), *cuts_at(73.0)]
    assert narrow_sockets(half) == half[1:3]
    assert narrow_sockets(cuts_at(5.0, 23.0, 27.0)) == []


def test_a_mark_as_wide_as_a_saw_well_inside_a_tail_is_a_socket_and_what_is_drawn_at_its_sides_is_not() -> None:
    tails = [(0.0, 40.0), (50.0, 70.0)]
    marks = ((12.0, 0.3), (38.0, 0.6), (20.0, 0.8), (45.0, 0.8))
    line, beside, gap, between = (Cut(x, x + width, 0.0, 0.2) for x, width in marks)
    assert mark_doubts([line, beside, between], tails) == ()
    (doubt,) = mark_doubts([line, beside, gap, between], tails)
    assert doubt.reason == "mark_in_tail"
    assert doubt.message.endswith("From the left side of the first tail, the one at 20.4 mm is 0.8 mm wide.")


@pytest.mark.parametrize(
    ("places", "doubted"),
    [((7.0, 30.0, 52.0, 75.0), True), ((7.0, 30.0, 40.0, 63.0), False), ((7.0, 17.0, 27.0, 37.0), False)],
)
def test_a_pin_as_wide_as_its_tails_is_doubted_unless_all_is_slim(places: tuple[float, ...], *, doubted: bool) -> None:
    walls = [RoughWall(number // 2, "left", x, 0.0, 0.6) for number, x in enumerate(places)]
    assert [kind.reason for kind in pin_doubts(walls)] == (["wide_pin"] if doubted else [])


def test_two_cuts_with_no_room_for_a_tail_between_them_are_told_by_their_places() -> None:
    assert no_room(cuts_at(5.0, 23.0, 27.0, 45.0), 0.0) == ""
    assert no_room(cuts_at(5.0, 23.0, 27.0, 30.0, 33.0, 45.0), 2.0).startswith("The ones at 25.3 and 28.3 mm from")


def test_what_serves_two_tails_is_told_only_where_the_tails_would_be_alike() -> None:
    assert "unless the one at 23.3 mm" in odd_one_out(cuts_at(5.0, 23.0, 41.0, 45.0, 63.0), 0.0)
    assert "unless" not in odd_one_out(cuts_at(5.0, 12.0, 41.0, 45.0, 48.5), 0.0)


@pytest.mark.parametrize("leans_deg", [(-7.0, 0.3, 1.0, 8.0), (-4.6, 4.6)])
def test_walls_that_lean_to_both_sides_as_tails_slope_are_those_of_a_face(leans_deg: tuple[float, ...]) -> None:
    with pytest.raises(CannotMeasure) as caught:
        check_across(leans_deg)
    assert caught.value.refusal.reason == "slopes_of_a_face"
    assert f"by {leans_deg[0]:.0f} to {leans_deg[-1]:.0f} degrees" in str(caught.value)


@pytest.mark.parametrize("leans_deg", [(-4.0, 4.0, -4.0, 4.0), (6.0, 5.0, 4.0, -1.0), (-8.0, 0.2)])
def test_a_hand_that_strays_and_one_wall_far_off_are_measured(leans_deg: tuple[float, ...]) -> None:
    check_across(leans_deg)
