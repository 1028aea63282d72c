"""Numbers for people, and round numbers along axes."""

from __future__ import annotations

import datetime as dt

import pytest

from service.practice.say import amount, counted, day_name, period_name, plus_minus
from service.practice.ticks import nice_step, padded, tick_places, ticks


@pytest.mark.parametrize(
    ("value", "u95", "unit", "told"),
    [
        (0.4134, 0.123, "deg", "0.41 ± 0.12 degrees"),
        (-0.4134, 0.3, "deg", "-0.4 ± 0.3 degrees"),
        (-0.0004, 0.02, "mm", "0.00 ± 0.02 mm"),
        (0.5, 0.0, "mm", "0.5000 ± 0.0000 mm"),
        (12.3, 4.0, "d", "12 ± 4 days"),
    ],
)
def test_no_more_digits_than_the_uncertainty_allows(value: float, u95: float, unit: str, told: str) -> None:
    assert plus_minus(value, u95, unit) == told


def test_a_day_is_read_in_one_way_and_a_period_of_one_day_is_said_once() -> None:
    first, last = dt.date(2026, 3, 2), dt.date(2026, 11, 27)
    assert day_name(last) == "27 Nov 2026"
    assert period_name(first, last) == "2 Mar 2026 to 27 Nov 2026"
    assert period_name(first, first) == "2 Mar 2026"


def test_lengths_but_not_angles_become_inches() -> None:
    assert plus_minus(2.54, 0.254, "mm", "inch") == "0.100 ± 0.010 in"
    assert plus_minus(2.54, 0.3, "deg", "inch") == "2.5 ± 0.3 degrees"
    assert amount(0.254, "mm", "inch") == "0.010 in"


def test_words_are_counted() -> None:
    assert (counted(1, "board"), counted(0, "board")) == ("1 board", "0 boards")


def test_ticks_are_round_few_and_inside() -> None:
    assert ticks(-0.31, 0.52) == pytest.approx([-0.2, 0.0, 0.2, 0.4], abs=1e-12)
    assert ticks(0.0, 100.0) == [0.0, 20.0, 40.0, 60.0, 80.0, 100.0]
    with pytest.raises(ValueError, match="low must be less than high"):
        ticks(1.0, 1.0)


@pytest.mark.parametrize("span", [1e-4, 0.037, 1.0, 3.3, 990.0])
def test_a_step_is_round_and_cuts_the_span_into_no_more_pieces_than_asked(span: float) -> None:
    step = nice_step(span, 5)
    mantissa = float(f"{step:.6e}".split("e")[0])
    assert mantissa in (1.0, 2.0, 2.5, 5.0)
    assert span / 5 <= step * (1.0 + 1e-9) <= span / 2 * (1.0 + 1e-9)


def test_as_many_decimals_as_tell_ticks_apart() -> None:
    assert (tick_places([0.0, 0.25]), tick_places([0.0, 20.0]), tick_places([0.1])) == (2, 0, 2)


def test_a_single_value_gets_room_around_it() -> None:
    low, high = padded(2.0, 2.0 + 1e-13)
    assert high - low > 0.1
    assert padded(0.0, 0.0) != (0.0, 0.0)
