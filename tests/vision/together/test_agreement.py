"""Photos that agree, photos that do not, and who is left out: simulated ends with honest and with wrong photos."""

from __future__ import annotations

import numpy as np
import pytest

from calibration.quantity import Quantity, Source
from vision.together.agreement import DOUBT, FIRM, agreement, contrasts, differences, odd_ones_out
from vision.together.combine import Floats, Stack

WALLS = 6
NUMBERS = 2 + 2 * WALLS
PLACES = np.array([7.0, 23.0, 33.0, 49.0, 59.0, 75.0])
TRUE = np.concatenate([[82.0, 18.0], np.repeat(PLACES, 2)])


def photo(name: str, rng: np.random.Generator, wrong: dict[int, float] | None = None) -> list[Quantity]:
    """An end's numbers as one photo sees them: walls' own places and leans, a side that moves all; print shared."""
    sources: list[tuple[Source, Floats]] = [
        (Source("board side", f"photo {name}"), np.concatenate([[-0.03, 0.0], np.full(2 * WALLS, -0.03)])),
        (Source("print scale", "x"), np.concatenate([[0.2, 0.0], 0.0025 * np.repeat(PLACES, 2)])),
        (Source("face edges", f"photo {name}"), 0.02 * np.eye(NUMBERS)[1]),
    ]
    for wall in range(WALLS):
        at = 2 + 2 * wall
        place, lean = np.zeros((2, NUMBERS))
        place[at : at + 2] = 0.01
        lean[at : at + 2] = -0.012, 0.012
        sources += [(Source("place", f"{wall} {name}"), place), (Source("lean", f"{wall} {name}"), lean)]
    values = TRUE + sum(part * rng.standard_normal() for source, part in sources if source.cause != "print scale")
    for index, by in (wrong or {}).items():
        values[index] += by
    return [
        Quantity(float(value), {source: float(part[index]) for source, part in sources if part[index]})
        for index, value in enumerate(values)
    ]


def stack(seed: int, wrong: dict[int, dict[int, float]] | None = None, photos: int = 3) -> Stack:
    """Photos of one end, some of them wrong: `wrong` tells row, number and by how many mm."""
    rng = np.random.default_rng([3, seed])
    return Stack.of([photo(str(row), rng, (wrong or {}).get(row)) for row in range(photos)])


def test_honest_photos_are_never_left_out_and_seldom_doubted() -> None:
    found = [stack(seed) for seed in range(60)]
    assert all(odd_ones_out(each) == ([0, 1, 2], []) for each in found)
    # At one in a hundred, 60 cases have three or more in doubt by chance in two of a hundred runs; seeds are fixed.
    assert sum(agreement(each) < DOUBT for each in found) <= 2


@pytest.mark.parametrize(("row", "wall"), [(0, 2), (1, 0), (2, WALLS - 1)])
def test_the_one_photo_with_a_wrong_wall_is_left_out_and_named(row: int, wall: int) -> None:
    # The lean of that wall, 0.3 mm out: five times the U of a difference.
    found = stack(1, {row: {2 + 2 * wall: -0.15, 3 + 2 * wall: 0.15}})
    kept, out = odd_ones_out(found)
    assert out == [row]
    first = differences(found.only([row, *kept]), 0)[0]
    assert (first.what, first.wall) == ("lean", wall)
    # Three seeds at 95 %: half as far again as U is one in four hundred.
    assert first.by_mm == pytest.approx(0.3, abs=1.5 * first.u95_mm)


class Still(np.random.Generator):
    """No error at all: what photos differ by is told alone."""

    def standard_normal(self) -> float:
        return 0.0


def exact(*wrong: dict[int, float]) -> Stack:
    """Photos that are right but for what is told."""
    return Stack.of([photo(str(row), Still(np.random.PCG64(0)), each) for row, each in enumerate(wrong)])


def test_one_wrong_wall_is_seen_among_many_numbers_that_agree() -> None:
    # The lean of the third wall is out by 5.2 of its difference's standard uncertainties, 0.024 mm times root 1.5.
    found = exact({}, {6: -0.0765, 7: 0.0765}, {})
    assert found.scatter().probability > DOUBT
    assert odd_ones_out(found) == ([0, 2], [1])
    told = differences(found.only([1, 0, 2]), 0)[0]
    # Against the mean of two; the rounding that keeps covariances invertible is the rest.
    assert (told.what, told.wall, told.by_mm) == ("lean", 2, pytest.approx(0.153, rel=1e-3))
    assert told.u95_mm == pytest.approx(2.0 * 0.024 * 1.5**0.5, rel=1e-3)


def test_a_wrong_side_is_named_as_the_side_and_not_as_every_wall() -> None:
    found = stack(2, {1: dict.fromkeys(range(2, NUMBERS), 0.5)})
    _, out = odd_ones_out(found)
    named = differences(found.only([1, 0, 2]), 0)
    assert out == [1]
    assert {each.what for each in named} == {"left side"}


def test_of_two_that_disagree_none_is_left_out() -> None:
    found = stack(3, {1: {7: 0.3}}, photos=2)
    assert agreement(found) < FIRM
    assert odd_ones_out(found) == ([0, 1], [])


def test_when_no_two_agree_none_is_left_out() -> None:
    found = stack(4, {0: {5: 0.4}, 1: {7: 0.4}, 2: {9: 0.4}})
    assert agreement(found) < FIRM
    assert odd_ones_out(found) == ([0, 1, 2], [])


def test_two_wrong_photos_of_five_are_both_left_out() -> None:
    found = stack(5, {1: {5: 0.4}, 4: {9: -0.4}}, photos=5)
    kept, out = odd_ones_out(found)
    assert (kept, set(out)) == ([0, 2, 3], {1, 4})


def test_no_more_than_three_photos_are_left_out() -> None:
    wrong = {row: {3 + 2 * row: 0.4} for row in range(4)}
    assert odd_ones_out(stack(8, dict(list(wrong.items())[:3]), photos=5)) == ([3, 4], [0, 1, 2])
    found = stack(8, wrong, photos=6)
    assert agreement(found.only([4, 5])) > DOUBT
    assert odd_ones_out(found) == (list(range(6)), [])


def test_a_photo_that_is_doubtful_but_not_firmly_at_odds_is_not_left_out_along_with_a_wrong_one() -> None:
    # A lean 4.4 of its difference's standard uncertainties out: of 45 differences, one in a thousand by chance.
    found = exact({}, {6: -0.0647, 7: 0.0647}, {9: 0.6}, {})
    assert FIRM < agreement(found.only([0, 1, 3])) < DOUBT < agreement(found.only([0, 3]))
    assert agreement(found.only([0, 2, 3])) < FIRM
    assert odd_ones_out(found) == ([0, 1, 2, 3], [])


def test_two_against_two_is_left_open() -> None:
    found = stack(7, {0: {7: 0.4}, 1: {7: 0.4}}, photos=4)
    assert odd_ones_out(found) == ([0, 1, 2, 3], [])


def test_a_single_photo_agrees_with_itself() -> None:
    assert agreement(stack(6, photos=1)) == 1.0


def test_contrasts_tell_lean_place_and_side_apart() -> None:
    kinds, weights = contrasts(2)
    numbers = np.array([80.0, 18.0, 10.0, 10.2, 30.0, 30.0])
    told = dict(zip(kinds, (weights @ numbers).round(9).tolist(), strict=True))
    assert (told[("width", None)], told[("thickness", None)]) == (80.0, 18.0)
    assert told[("left side", None)] == pytest.approx(20.05)
    assert told[("lean", 0)] == pytest.approx(0.2)
    assert told[("place", 1)] == pytest.approx(9.95)
