"""A stored photo of practice cuts becomes an answer in numbers, words and pictures."""

from __future__ import annotations

import json
from importlib import resources

import jsonschema
import pytest

from service.domain.check import Told
from service.domain.how_cut import HowCut
from service.domain.words import check_words
from tests.service.house import House
from tests.service.jobs.answering import answered

pytestmark = pytest.mark.usefixtures("core")
SCHEMA = json.loads(resources.files("vision").joinpath("drill/result.schema.json").read_text(encoding="utf-8"))


def test_the_result_is_by_the_schema_and_its_words_are_whole_in_both_units(house: House) -> None:
    check, answer = answered(house, "good", view="drill")
    jsonschema.validate(answer.result, SCHEMA)
    assert (check.state, check.work_on) == ("measured", "bias")
    check_words(check)
    assert answer.words["mm"]["verdict"].startswith("Work on your lean: ")
    assert " in over the thickness" in answer.words["inch"]["verdict"]
    assert [cut["name"] for cut in answer.words["mm"]["cuts"]] == [str(turn) for turn in range(1, 9)]
    assert all(vars(answer.pictures).values())


def test_every_figure_has_its_uncertainty_and_whether_it_is_firm(house: House) -> None:
    figures = {
        row["name"]: (row["value"], row["firm"])
        for row in answered(house, "good", view="drill")[1].words["mm"]["figures"]
    }
    assert figures["Mean lean off what was meant"][0].startswith("0.60 ± 0.")
    assert figures["Mean lean off what was meant"][1] == "firm (p < 0.001)"
    assert figures["Drift from cut to cut"][1].startswith("not firm (p = ")
    assert "(95 %: " in figures["Standard deviation about that mean"][0]
    assert " mm" in figures["Mean bow half-way through"][0]


def test_a_photo_without_a_card_is_refused_as_any_other(house: House) -> None:
    check, answer = answered(house, "cardless", view="drill")
    assert (check.state, answer.result["refusal"]["reason"]) == ("refused", "no_card")
    assert answer.pictures.screen
    assert not answer.pictures.overlay


@pytest.mark.parametrize("how_cut", [HowCut(order="1,2,3"), HowCut(intended="1,2,3"), HowCut(keep="left,right,left")])
def test_cuts_told_otherwise_than_the_photo_shows_them_are_refused_with_a_sentence(
    house: House, how_cut: HowCut
) -> None:
    check, answer = answered(house, "good", view="drill", told=Told(how_cut=how_cut))
    assert (check.state, answer.result["refusal"]["reason"]) == ("refused", "cuts_told_otherwise")
    assert "8 cuts" in answer.words["mm"]["message"]
