"""Budgets in plain words: every cause has some, every forecast is a whole sentence with what it assumes."""

from __future__ import annotations

from typing import get_args

import pytest

from calibration.quantity import Quantity, Source
from tests.scenes import Scene
from tests.vision.ends import measured
from vision.answer.budget import Act, Forecast, budget_of
from vision.answer.budget_words import (
    ACTS,
    CAUSES,
    budget_title,
    cause_words,
    forecast_sentence,
    forecast_sentences,
    places_for,
)

BUDGET = budget_of("socket 2", "taper", Quantity(0.2, {Source("wall edge place", "a"): 0.031}))


def test_every_cause_that_a_check_can_name_is_said_plainly() -> None:
    measurement = measured(Scene())
    numbers = [measurement.width, measurement.thickness, *(wall.lean for wall in measurement.walls)]
    causes = {source.cause for number in numbers for source in number.parts}
    assert causes <= set(CAUSES)


def test_a_cause_without_words_is_said_as_it_is() -> None:
    assert cause_words("gravity") == "gravity"


def test_every_act_can_be_said() -> None:
    assert set(ACTS) == set(get_args(Act))


@pytest.mark.parametrize(
    ("what", "number", "title"),
    [
        ("socket 1", "taper", "taper, left half pin"),
        ("socket 2", "taper", "taper, pin between tails 1 and 2"),
        ("socket 4", "taper", "taper, right half pin"),
        ("tail 2 right", "lean", "lean, right wall of tail 2"),
        ("board", "width", "width of the board"),
    ],
)
def test_titles_name_walls_and_pins_as_people_do(what: str, number: str, title: str) -> None:
    assert budget_title(budget_of(what, number, Quantity(0.1)), 4) == title


def test_a_forecast_is_told_in_the_units_asked_for() -> None:
    forecast = Forecast("print check", 0.03)
    assert forecast_sentence(forecast, BUDGET).startswith("A print check would bring U from 0.062 to 0.030 mm (if ")
    # 0.062 mm and 0.030 mm are 2.44 and 1.18 thousandths of an inch.
    assert "from 0.0024 to 0.0012 in (if" in forecast_sentence(forecast, BUDGET, "inch")


def test_an_angle_stays_in_degrees() -> None:
    lean = budget_of("tail 1 left", "lean", Quantity(0.2, {Source("lens"): 0.1}, "deg"))
    assert "from 0.200 to 0.100 ° (if" in forecast_sentence(Forecast("closer", 0.1, 1.2), lean, "inch")


def test_a_closer_photo_is_told_with_how_much_closer() -> None:
    told = forecast_sentence(Forecast("closer", 0.03, 1.2), BUDGET)
    assert told.startswith("A photo in which the end is 1.2 times as large would bring U")


def test_where_nothing_helps_that_is_said() -> None:
    assert forecast_sentences(budget_of("socket 2", "taper", Quantity(0.2))) == [
        "No single step would make U smaller by much."
    ]


@pytest.mark.parametrize(("u95", "places"), [(0.3, 3), (0.062, 3), (0.01, 3), (0.009, 4), (0.0009, 5), (0.0, 5)])
def test_figures_have_two_or_three_digits(u95: float, places: int) -> None:
    assert places_for(u95) == places
