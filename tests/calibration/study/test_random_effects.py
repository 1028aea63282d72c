"""Random-effects analysis of variance: closed forms, known variances from seeded draws, and what it must not accept."""

from __future__ import annotations

import itertools
from collections.abc import Callable

import numpy as np
import pytest

from calibration.study.random_effects import ERROR, Anova, ConfoundedError, random_effects_anova

PARTS, PERSONS, REPEATS = 4, 3, 2
CELLS = list(itertools.product(range(PARTS), range(PERSONS), range(REPEATS)))
"""No two of the three numbers agree, so that swapped factors cannot hide."""

Cell = tuple[int, int, int]


def factors(cells: list[Cell]) -> dict[str, list[object]]:
    return {
        "part": [part for part, _, _ in cells],
        "person": [person for _, person, _ in cells],
        "both": [(part, person) for part, person, _ in cells],
    }


def draws(rng: np.random.Generator, cells: list[Cell], sd: tuple[float, float, float, float]) -> np.ndarray:
    """Values with known standard deviations between parts, persons, cells and readings."""
    part, person, both, error = sd
    a, b, ab = rng.normal(0, part, 9), rng.normal(0, person, 9), rng.normal(0, both, (9, 9))
    return np.array([a[i] + b[j] + ab[i, j] + rng.normal(0, error) for i, j, _ in cells])


def unbalanced(cells: list[Cell]) -> list[Cell]:
    """One cell empty, one with a single reading: seven readings in eight are left."""
    gone = {(0, 0, 0), (0, 0, 1), (2, 1, 1)}
    return [cell for cell in cells if cell not in gone]


def test_balanced_sums_of_squares_are_those_of_the_textbook() -> None:
    values = draws(np.random.default_rng(1), CELLS, (1.0, 0.5, 0.3, 0.2))
    table = random_effects_anova(values, factors(CELLS))
    cube = values.reshape(PARTS, PERSONS, REPEATS)
    part, person, cell = cube.mean((1, 2)), cube.mean((0, 2)), cube.mean(2)
    inner = cell - part[:, None] - person + cube.mean()
    expected = [
        PERSONS * REPEATS * np.sum((part - cube.mean()) ** 2),
        PARTS * REPEATS * np.sum((person - cube.mean()) ** 2),
        REPEATS * np.sum(inner**2),
        np.sum((cube - cell[:, :, None]) ** 2),
    ]
    # Identities, to rounding.
    assert [row.sum_squares for row in table.rows] == pytest.approx(expected, rel=1e-12)
    assert [row.dof for row in table.rows] == [3, 2, 6, 12]


def test_balanced_variances_are_those_of_the_expected_mean_squares() -> None:
    table = random_effects_anova(draws(np.random.default_rng(2), CELLS, (1.0, 0.9, 0.5, 0.2)), factors(CELLS))
    part, person, both, error = table.mean_squares
    assert table.raw_variance("part") == pytest.approx((part - both) / (PERSONS * REPEATS), rel=1e-10)
    assert table.raw_variance("person") == pytest.approx((person - both) / (PARTS * REPEATS), rel=1e-10)
    assert table.raw_variance("both") == pytest.approx((both - error) / REPEATS, rel=1e-10)
    assert table.raw_variance(ERROR) == pytest.approx(error)


def test_balanced_tests_divide_by_the_mean_square_below() -> None:
    table = random_effects_anova(draws(np.random.default_rng(3), CELLS, (1.0, 0.5, 0.3, 0.2)), factors(CELLS))
    part, person, both, error = table.mean_squares
    tests = [(row.f, row.f_dof) for row in table.rows]
    assert tests[:3] == [pytest.approx(pair) for pair in ((part / both, 6), (person / both, 6), (both / error, 12))]
    assert tests[3] == (None, None)


@pytest.mark.parametrize("choose", [list, unbalanced], ids=["balanced", "unbalanced"])
def test_variances_come_out_true_on_average(choose: Callable[[list[Cell]], list[Cell]]) -> None:
    cells = choose(CELLS)
    sd = (1.0, 0.7, 0.4, 0.3)
    rng = np.random.default_rng(4)
    tables = [random_effects_anova(draws(rng, cells, sd), factors(cells)) for _ in range(800)]
    for name, true in zip(("part", "person", "both", ERROR), sd, strict=True):
        found = np.array([table.raw_variance(name) for table in tables])
        # Unbiased: the mean of 800 lies within 4 of its own standard errors, missed by chance once in 16 000.
        assert abs(found.mean() - true**2) < 4.0 * found.std() / np.sqrt(len(tables))


@pytest.mark.parametrize("choose", [list, unbalanced], ids=["balanced", "unbalanced"])
def test_an_absent_effect_is_found_as_seldom_as_stated(choose: Callable[[list[Cell]], list[Cell]]) -> None:
    cells = choose(CELLS)
    rng = np.random.default_rng(5)
    tables = [random_effects_anova(draws(rng, cells, (1.0, 0.0, 0.3, 0.3)), factors(cells)) for _ in range(800)]
    share = np.mean([(table.row("person").p or 1.0) < 0.05 for table in tables])
    # Binomial standard error 0.8 %, four of them; Satterthwaite's approximation is better than that.
    assert share == pytest.approx(0.05, abs=0.031)


def test_a_negative_estimate_counts_as_none() -> None:
    values = [1.0, -1.0, -1.0, 1.0, 0.9, -1.1]
    table = random_effects_anova(values, {"part": ["a", "a", "b", "b", "c", "c"]})
    assert table.raw_variance("part") < 0.0
    assert table.variance("part").value == table.variance("part").dof == 0.0
    assert table.variance("part", ERROR).value == table.raw_variance(ERROR)


def test_the_sum_of_two_variances_has_satterthwaites_degrees_of_freedom() -> None:
    table = one_way()
    between, within = table.mean_squares
    total = table.variance("part", ERROR)
    assert total.value == pytest.approx(between / 3 + within * 2 / 3)
    assert total.dof == pytest.approx(total.value**2 / ((between / 3) ** 2 / 2 + (within * 2 / 3) ** 2 / 6))


def test_a_name_that_is_not_in_the_table_is_refused_as_a_row_and_adds_nothing_to_a_sum() -> None:
    assert one_way().variance("person", ERROR) == one_way().variance(ERROR)
    with pytest.raises(KeyError, match="person"):
        one_way().row("person")


def test_labels_must_be_as_many_as_values() -> None:
    with pytest.raises(ValueError, match="one label for each value"):
        random_effects_anova([1.0, 2.0, 3.0], {"part": ["a", "b"]})


@pytest.mark.parametrize(
    ("labels", "confounded"),
    [
        ({"part": "aabb", "person": "xxyy"}, "person"),
        ({"part": "aaaa"}, "part"),
        ({"part": "abcd"}, ERROR),
    ],
)
def test_a_factor_that_cannot_be_told_apart_is_named(labels: dict[str, str], confounded: str) -> None:
    with pytest.raises(ConfoundedError, match=confounded) as caught:
        random_effects_anova([1.0, 2.0, 4.0, 7.0], labels)
    assert caught.value.factor == confounded


def one_way() -> Anova:
    return random_effects_anova([1.0, 2.0, 3.0, 5.0, 6.0, 9.0, 7.0, 9.0, 9.5], {"part": list("aaabbbccc")})
