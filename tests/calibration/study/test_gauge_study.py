"""The gauge study: what it makes of known scatter, of photos whose parts share an error, and of too little."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pytest

from calibration.study.gauge_study import INTERACTION, PHOTO, GaugeStudy, Reading, Spread, study_gauge

BOARDS, WALLS, PERSONS, PHOTOS = 3, 4, 3, 2
PART_SD, PERSON_SD, PHOTO_SD, ERROR_SD = 0.4, 0.05, 0.06, 0.03


def readings(rng: np.random.Generator, persons: int = PERSONS, person_sd: float = PERSON_SD) -> Iterator[Reading]:
    """A study as photos make it: all walls of a board in one photo, which share an error. Claims are exact."""
    bias = rng.normal(0.0, person_sd, persons)
    for board in range(BOARDS):
        walls = rng.normal(0.0, PART_SD, WALLS)
        for person in range(persons):
            for shot in range(PHOTOS):
                shared = rng.normal(0.0, PHOTO_SD)
                for wall, true in enumerate(walls):
                    value = true + bias[person] + shared + rng.normal(0.0, ERROR_SD)
                    photo = f"{board}/{person}/{shot}"
                    yield Reading(f"{board}: {wall}", f"person {person}", photo, value, math.hypot(PHOTO_SD, ERROR_SD))


def study(seed: int = 1, **changes: float) -> GaugeStudy:
    return study_gauge(list(readings(np.random.default_rng(seed), **changes)))


def some_lost(every: list[Reading]) -> list[Reading]:
    """A refused photo takes all its walls with it, and one person never saw one board."""
    return [reading for reading in every if reading.photo not in ("0/1/0", "2/2/0", "2/2/1")]


@pytest.mark.parametrize("lost", [False, True], ids=["balanced", "photos lost"])
def test_known_scatter_is_found_on_average(lost: bool) -> None:
    rng = np.random.default_rng(11)
    found = []
    for _ in range(250):
        made = list(readings(rng))
        result = study_gauge(some_lost(made) if lost else made)
        assert result.balanced is not lost
        people = result.reproducibility
        assert people is not None
        found.append([result.part.sd**2, people.sd**2, result.repeatability.sd**2])
    means, errors = np.mean(found, axis=0), np.std(found, axis=0) / math.sqrt(len(found))
    true = np.square([PART_SD, PERSON_SD, math.hypot(PHOTO_SD, ERROR_SD)])
    # Four standard errors of the mean; on top of it, what pooling by a test and cutting at zero may bias a variance:
    # a tenth, for the small one between people.
    assert np.all(np.abs(means - true) < 4.0 * errors + [0.0, 0.1 * true[1], 0.02 * true[2]])


def test_what_a_photo_gives_all_its_parts_is_not_taken_for_the_person() -> None:
    """Without the photo as a factor, chance between photos would pass for people in most studies that have none."""
    wrong = sum(
        (result.full.row("person").p or 1.0) < 0.05 for result in (study(seed, person_sd=0.0) for seed in range(120))
    )
    assert wrong <= 14  # binomial with 5 % of 120: 6, and 14 is exceeded once in a thousand


def test_the_shared_error_of_a_photo_is_told_apart() -> None:
    shared = np.array([study(seed).full.raw_variance(PHOTO) for seed in range(100)])
    # Unbiased before pooling: four standard errors of the mean.
    assert abs(shared.mean() - PHOTO_SD**2) < 4.0 * shared.std() / math.sqrt(len(shared))


def test_readings_that_share_no_photo_have_no_photo_effect() -> None:
    made = [replace(r, photo=str(number)) for number, r in enumerate(readings(np.random.default_rng(2)))]
    result = study_gauge(made)
    assert PHOTO not in [row.name for row in result.full.rows]


def test_one_person_gives_repeatability_alone() -> None:
    result = study(persons=1)
    assert result.reproducibility is None
    assert result.gauge == result.repeatability
    assert [row.name for row in result.full.rows] == ["part", "photo", "error"]


def test_an_interaction_that_is_real_stays() -> None:
    rng = np.random.default_rng(3)
    made = [
        Reading(f"{part}", f"{person}", f"{part}{person}{trial}", part + effect + rng.normal(0.0, 0.01))
        for part in range(5)
        for person in range(3)
        for effect in [rng.normal(0.0, 0.2)]
        for trial in range(2)
    ]
    result = study_gauge(made)
    assert result.pooled == ()
    people = result.reproducibility
    assert people is not None
    assert people.sd > 10.0 * result.repeatability.sd  # 0.2 against 0.01, with room for five by three draws


def test_a_true_claim_lies_in_the_interval_of_its_ratio_as_often_as_stated() -> None:
    """One person: the whole gauge is what the claim speaks of."""
    ratios = [study(seed, persons=1).claim_ratio for seed in range(200)]
    inside = np.mean([ratio[1] <= 1.0 <= ratio[2] for ratio in ratios if ratio])
    assert 0.88 <= inside <= 0.99  # binomial standard error 1.5 %; three degrees of freedom a photo effect are few


def test_a_claim_that_some_readings_lack_is_not_tested() -> None:
    made = list(readings(np.random.default_rng(1)))
    made[5] = replace(made[5], u=None)
    assert study_gauge(made).claim_ratio is None


def test_percentages_of_limits_by_hand() -> None:
    result = study()
    assert result.limit_percent(0.5) == pytest.approx(100 * 2 * result.gauge.sd / 0.5)
    assert result.tolerance_percent(0.5) == pytest.approx(100 * 6 * result.gauge.sd / 0.5)
    assert result.reproducibility_limit == pytest.approx(2.8 * result.gauge.sd)


def test_variances_add_up_to_the_total() -> None:
    result = study()
    people = result.reproducibility
    assert people is not None
    spreads = (result.part, people, result.repeatability)
    assert sum(spread.sd**2 for spread in spreads) == pytest.approx(result.total.sd**2)
    assert sum(result.contribution_percent(spread) for spread in spreads) == pytest.approx(100.0)


def test_the_interval_of_a_standard_deviation_is_the_published_one() -> None:
    """Chi-squared of 10 degrees of freedom, 2.5 and 97.5 %: 3.247 and 20.483 (NIST/SEMATECH e-Handbook, 1.3.6.7.4)."""
    ends = [math.sqrt(10 / 20.483), math.sqrt(10 / 3.247)]
    assert list(Spread(1.0, 10.0).factors95) == pytest.approx(ends, rel=1e-4)  # printed to three decimals


def test_values_that_repeat_exactly_leave_no_gauge() -> None:
    made = [replace(r, value=float(r.part[0]), u=0.1) for r in readings(np.random.default_rng(1))]
    result = study_gauge(made)
    assert result.gauge.sd == 0.0
    assert result.categories == math.inf
    assert result.claim_ratio is not None
    assert result.claim_ratio[0] == 0.0
    assert [result.total_percent(result.gauge), result.contribution_percent(result.gauge)] == [0.0, 0.0]


def test_where_nothing_varies_at_all_nothing_is_a_share_of_it() -> None:
    result = study_gauge([replace(r, value=1.0) for r in readings(np.random.default_rng(1))])
    assert result.total.sd == 0.0
    assert [result.total_percent(result.part), result.contribution_percent(result.part)] == [0.0, 0.0]
    assert result.outlying() == ()


@pytest.mark.parametrize(("off", "named"), [(0.36, False), (0.38, True), (1.0, True)])
def test_a_reading_four_standard_deviations_from_its_part_is_named(off: float, named: bool) -> None:
    made = list(readings(np.random.default_rng(1)))
    made[7] = replace(made[7], value=made[7].value + off)
    result = study_gauge(made)
    same_part = [r.value for r in made if r.part == made[7].part]
    assert bool(made[7].value - np.median(same_part) > 4.0 * result.gauge.sd) == named
    assert result.outlying() == ((made[7],) if named else ())
    assert study().outlying() == ()


def test_some_photos_that_show_several_parts_are_enough_for_a_photo_effect() -> None:
    made = list(readings(np.random.default_rng(2)))
    made[0] = replace(made[0], photo="one wall alone")
    assert PHOTO in [row.name for row in study_gauge(made).full.rows]


def test_an_interaction_that_the_counts_cannot_show_is_left_out() -> None:
    """Two parts, two people, one of the four cells empty: nothing is left to tell an interaction by."""
    cells = [("a", "x"), ("a", "x"), ("a", "y"), ("a", "y"), ("b", "x"), ("b", "x")]
    made = [Reading(part, person, str(i), float(i * i % 5)) for i, (part, person) in enumerate(cells)]
    assert INTERACTION not in [row.name for row in study_gauge(made).full.rows]


@pytest.mark.parametrize(
    ("cells", "said"),
    [
        ("ax ax ay ay", "at least two parts"),
        ("ax ay bx by", "nobody measured a part twice"),
        ("ax ax by by", "no part in common"),
    ],
)
def test_too_little_is_told_in_a_sentence(cells: str, said: str) -> None:
    made = [Reading(cell[0], cell[1], str(i), i * 0.7 % 1) for i, cell in enumerate(cells.split())]
    with pytest.raises(ValueError, match=said):
        study_gauge(made)


def test_a_value_that_is_not_a_number_is_refused() -> None:
    made = list(readings(np.random.default_rng(1)))
    with pytest.raises(ValueError, match="finite"):
        study_gauge([*made, replace(made[0], value=math.nan)])
