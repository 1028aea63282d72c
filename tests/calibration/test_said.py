"""Numbers and lists for people."""

from __future__ import annotations

import pytest

from calibration.said import decimal_places, fixed, listed, numbered


@pytest.mark.parametrize(
    ("uncertainty", "places"), [(0.3, 1), (0.123, 2), (0.194, 2), (0.196, 1), (4.0, 0), (1e-9, 4), (0.0, 4)]
)
def test_an_uncertainty_has_one_digit_or_two_where_it_starts_with_a_one(uncertainty: float, places: int) -> None:
    assert decimal_places(uncertainty) == places


def test_zero_has_no_sign() -> None:
    assert (fixed(-0.004, 2), fixed(-0.006, 2)) == ("0.00", "-0.01")


def test_names_are_listed() -> None:
    assert (listed(["a"]), listed(["a", "b"]), listed(["a", "b", "c"])) == ("a", "a and b", "a, b and c")
    assert listed(["tails 1 and 2", "tail 3"]) == "tails 1 and 2, and tail 3"
    with pytest.raises(ValueError, match="names must not be empty"):
        listed([])


@pytest.mark.parametrize(
    ("numbers", "said"),
    [
        ([3], "cut 3"),
        ([1, 2], "cuts 1 and 2"),
        ([1, 2, 3, 4], "cuts 1 to 4"),
        ([1, 3, 5, 6, 7], "cuts 1, 3 and 5 to 7"),
        ([2, 3, 4, 8, 9], "cuts 2 to 4, 8 and 9"),
    ],
)
def test_numbers_are_listed_and_rows_of_them_by_their_ends(numbers: list[int], said: str) -> None:
    assert numbered("cut", numbers) == said
