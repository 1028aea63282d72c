"""A class: who improves, who is stuck, the common fault, and how an assignment came out."""

from __future__ import annotations

import datetime as dt
import json

import numpy as np
import pytest

from service.domain.measures import Measures
from service.practice.calibration_table import wilson
from service.practice.class_view import PERIOD, class_sentences, common_fault, distribution, failing_sentence, standings
from service.practice.series import ABS_TAPER
from tests.service.practice.builders import START, Sawyer, board, boards_of, kept

STEADY = {"walls_deg": 0.05, "boards_deg": 0.03}
SQUARE, CROOKED = Sawyer(**STEADY), Sawyer(0.9, -0.9, **STEADY)
SUNDAY = START + dt.timedelta(days=6)
"""The end of the week that begins with the first board."""


def sawn(*parts: tuple[Sawyer, int], seed: int = 1) -> list[Measures]:
    """One person's boards: so many by each way of sawing, one after the other."""
    rng, boards = np.random.default_rng(seed), []
    for sawyer, count in parts:
        boards += boards_of(sawyer, count, rng, first=len(boards))
    return [kept(board) for board in boards]


CLASS = {
    "Eve": sawn((SQUARE, 4)),
    "Dan": sawn((SQUARE, 6), (CROOKED, 6)),
    "Cleo": sawn((CROOKED, 12)),
    "Ben": sawn((SQUARE, 12)),
    "Ada": sawn((CROOKED, 6), (SQUARE, 6)),
}


def test_everyone_stands_where_their_boards_put_them_who_needs_help_first() -> None:
    assert [(each.person, each.word) for each in standings(CLASS)] == [
        ("Cleo", "stuck"),
        ("Dan", "getting worse"),
        ("Ada", "improving"),
        ("Ben", "steady"),
        ("Eve", "too few"),
    ]


def test_a_standing_tells_how_many_of_the_latest_boards_failed() -> None:
    stuck = standings(CLASS)[0]
    assert failing_sentence(stuck) == "6 of the latest 6 boards had a socket firmly off."


def test_a_whole_class_that_does_not_change_seldom_seems_to() -> None:
    """At least one of ten in at most 5 % of 60 classes, and four standard deviations of that share: 0.11."""
    alarms = 0
    for seed in range(60):
        people = {str(n): sawn((Sawyer(), 8), seed=100 * seed + n) for n in range(10)}
        alarms += any(each.word in ("improving", "getting worse") for each in standings(people))
    assert alarms / 60 < 0.05 + 0.11


def test_intervals_are_widened_for_the_number_of_people_who_are_judged() -> None:
    judged = [each.progress.change for each in standings(CLASS)]
    assert [change.comparisons for change in judged if change] == [4, 4, 4, 4]


def test_the_first_and_the_last_boards_say_as_much_as_all_of_a_long_series() -> None:
    long = {"Ada": sawn((CROOKED, 30), (SQUARE, 30))}
    short = {"Ada": [*long["Ada"][:PERIOD], *long["Ada"][-PERIOD:]]}
    assert standings(short)[0].progress.change == standings(long)[0].progress.change


def test_people_without_boards_and_empty_classes_have_a_place() -> None:
    assert [each.word for each in standings({"New": []})] == ["too few"]
    assert standings({}) == []
    assert common_fault({"New": []}, SUNDAY) is None


def leaning(lean_left: float, lean_right: float, number: int = 0) -> list[Measures]:
    return [kept(board([lean_left, lean_right] * 3, number=number))]


def test_the_common_fault_is_what_most_people_share() -> None:
    people = {"a": leaning(0.5, 0.0), "b": leaning(0.0, -0.4), "c": leaning(0.0, -0.5), "d": leaning(0.0, 0.0)}
    fault = common_fault(people, SUNDAY)
    assert fault is not None
    assert (fault.side, fault.way, fault.having, fault.people) == ("right", "left", 2, 4)
    assert (fault.low, fault.high) == wilson(2, 4)
    assert fault.sentence.startswith("2 of 4 people have the same fault: most of their right walls lean to the left")


def test_a_lean_within_the_uncertainty_is_nobodys_fault() -> None:
    assert common_fault({name: leaning(0.09, -0.09) for name in "abc"}, SUNDAY) is None


def test_a_fault_of_one_person_is_not_the_classes() -> None:
    assert common_fault({"a": leaning(0.5, 0.0), "b": leaning(0.0, 0.0)}, SUNDAY) is None


def test_last_weeks_fault_does_not_count_and_the_week_has_seven_days() -> None:
    people = {name: leaning(0.5, 0.0) for name in "ab"}
    assert common_fault(people, SUNDAY) is not None
    assert common_fault(people, SUNDAY + dt.timedelta(days=1)) is None
    assert common_fault(people, START - dt.timedelta(days=1)) is None


def test_an_assignment_comes_out_as_five_numbers_over_its_people() -> None:
    latest = {"a": kept(board([0.1, 0.1])), "b": kept(board([0.3, 0.3], advice="transfer"))}
    found = distribution(latest)
    assert found is not None
    assert found.values == pytest.approx({"a": 0.1, "b": 0.3}, rel=1e-12)
    assert found.five == pytest.approx((0.1, 0.15, 0.2, 0.25, 0.3), rel=1e-12)  # linear between two values
    assert found.advice == {"start over": 1, "transfer": 1}
    assert found.sentence() == (
        "Lean, mean size over the latest board of each of 2 people: median 0.20 degrees,"
        " the middle half from 0.15 degrees to 0.25 degrees."
    )
    assert distribution({}) is None


def test_a_distribution_is_told_in_inches_where_asked_for() -> None:
    found = distribution({"a": kept(board([1.0, 1.0]))}, metric=ABS_TAPER)
    assert found is not None
    assert " in to " in found.sentence("inch")


def test_the_class_in_sentences() -> None:
    names = {name: name for name in CLASS}
    said = class_sentences(standings(CLASS), common_fault(CLASS, SUNDAY), names)
    assert said[:3] == ["Stuck: Cleo.", "Getting worse: Dan.", "Improving: Ada."]
    assert said[-1].startswith("2 of 5 people have the same fault")
    assert class_sentences([], None, {}) == ["No fault is common to several people this week."]


def test_an_assignments_outcome_is_json_for_its_chart() -> None:
    found = distribution({"a": kept(board([0.3, 0.3]))})
    assert found is not None
    told = json.loads(json.dumps(found.to_chart(), allow_nan=False))
    assert (told["metric"], told["values"]) == ("abs_lean", {"a": pytest.approx(0.3, rel=1e-12)})
