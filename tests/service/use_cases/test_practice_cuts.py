"""Boards of practice cuts: how they stand, what they say to work on, and what they take no part in."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest

from service.domain.board import Details
from service.domain.check import Answer, Told
from service.domain.how_cut import HowCut
from service.domain.log import Wanted
from service.domain.mistakes import MistakeError
from service.domain.person import Person
from service.jobs.drill_words import drill_words
from service.use_cases.export_log import export_csv, export_json
from service.use_cases.import_log import import_log
from service.use_cases.keep_log import (
    change_board,
    check_again,
    delete_board,
    look_at_board,
    look_at_check,
    look_at_log,
)
from service.use_cases.look_at_trends import look_at_trends
from service.use_cases.print_log import period_to_print
from service.use_cases.review_queue import Narrowed, look_at_queue
from tests.service.house import BEGIN, House, measured, refused
from tests.service.use_cases.school import JUNO, WREN, bench, people, work
from tests.vision.drills import made_drill
from vision.drill.result import DrillResult

ANN = Person("ann", "Ann")
RIGHT = (0.64, 0.52, 0.66, 0.58, 0.67, 0.53, 0.63, 0.57)


def cuts_measured(leans_deg: tuple[float, ...] = RIGHT, thumbnail: str = "") -> Answer:
    """The answer to a photo of cuts that lean so."""
    result = DrillResult.of("board.jpg", made_drill(leans_deg))
    answer = Answer(json.loads(json.dumps(result.to_dict())), {u: drill_words(result, u) for u in ("mm", "inch")})  # type: ignore[arg-type]
    return replace(answer, pictures=replace(answer.pictures, thumbnail=thumbnail))


def drilled(house: House, data: bytes = b"cuts", answer: Answer | None = None, **more: object) -> str:
    """The board of a photo of practice cuts, answered."""
    check = house.send(data, view="drill", **more)
    house.answer(answer or cuts_measured())
    return check.board


def test_a_board_of_practice_cuts_stands_by_what_to_work_on_and_has_no_advice(house: House) -> None:
    view = look_at_board("ann", drilled(house, answer=cuts_measured(thumbnail="small.jpg")), house.ports)
    assert (view.board.standing, view.board.work_on, view.board.thumbnail) == ("practice cuts", "bias", "small.jpg")
    assert view.checks[0].advice == ""
    assert view.together is None
    with house.ports.reading() as uow:
        assert uow.measures.of_board(view.board.id) is None


def test_it_waits_and_is_refused_like_any_other(house: House) -> None:
    check = house.send(b"cuts", view="drill")
    assert look_at_board("ann", check.board, house.ports).board.standing == "waiting"
    house.answer(refused())
    board = look_at_board("ann", check.board, house.ports).board
    assert (board.standing, board.work_on) == ("refused", "")


def test_a_measured_photo_counts_before_a_newer_one_that_could_not_be_measured(house: House) -> None:
    board = drilled(house, answer=cuts_measured(thumbnail="first.jpg"))
    house.later(seconds=5)
    drilled(house, b"blurred", refused(), board=board)
    found = look_at_board("ann", board, house.ports).board
    assert (found.standing, found.work_on, found.thumbnail) == ("practice cuts", "bias", "first.jpg")


def test_beside_an_end_it_is_the_end_by_which_the_board_stands(house: House) -> None:
    end = house.send(b"end")
    house.answer(measured("pare", "end.jpg"))
    house.later(seconds=5)
    drilled(house, board=end.board)
    view = look_at_board("ann", end.board, house.ports)
    assert (view.board.standing, view.board.work_on, view.board.thumbnail) == ("pare", "", "end.jpg")
    assert view.checks[1].work_on == "bias"
    assert view.together is None or not view.together.basis


def test_the_filter_by_result_finds_them(house: House) -> None:
    board = drilled(house)
    house.send(b"end")
    house.answer(measured())
    found, _ = look_at_log(Wanted("ann", standing="practice cuts"), house.ports)
    assert [each.id for each in found.boards] == [board]
    assert found.boards[0].work_on == "bias"


def test_how_they_were_made_is_kept_and_can_be_told_otherwise(house: House) -> None:
    told = Told(how_cut=HowCut("right-to-left", "7,-7", "left"))
    board = drilled(house, told=told)
    check = look_at_board("ann", board, house.ports).checks[0]
    assert check.told == told
    check_again("ann", check.id, Told(how_cut=HowCut(intended="5")), house.ports)
    assert look_at_check("ann", check.id, house.ports).told.how_cut == HowCut(intended="5")
    assert look_at_board("ann", board, house.ports).board.standing == "waiting"


def test_an_end_that_was_sent_as_practice_cuts_by_mistake_is_measured_as_one(house: House) -> None:
    board = drilled(house, told=Told(how_cut=HowCut("right-to-left")))
    check = look_at_board("ann", board, house.ports).checks[0]
    check_again("ann", check.id, Told(), house.ports, "end")
    house.answer(measured("transfer"))
    found = look_at_board("ann", board, house.ports).board
    assert (found.standing, found.work_on) == ("transfer", "")


def test_a_told_thickness_measures_them_again_and_a_wood_does_not(house: House) -> None:
    board = drilled(house)
    assert change_board("ann", board, "Scrap", Details("oak"), house.ports).standing == "practice cuts"
    assert change_board("ann", board, "Scrap", Details("oak", 18.0), house.ports).standing == "waiting"


def test_handed_in_they_wait_for_an_instructor_behind_whoever_cannot_go_on(house: House) -> None:
    people(house)
    task = work(house, bench(house, JUNO))
    for data, answer in ((b"cuts", cuts_measured()), (b"dark", refused())):
        house.send(data, "juno", view="drill", assignment=task.id)
        house.answer(answer)
        house.later(seconds=1)
    queue = look_at_queue(WREN, Narrowed(), house.ports)
    assert [each.board.standing for each in queue.boards] == ["refused", "practice cuts"]
    assert [each.check.view for each in queue.boards if each.check] == ["drill", "drill"]


def test_trends_follow_every_board_of_practice_cuts_by_its_newest_measured_photo(house: House) -> None:
    first = drilled(house, b"1", name="One")
    house.later(days=1)
    drilled(house, b"2", name="Two", details=Details("oak"))
    drilled(house, b"3", cuts_measured((-0.2, -0.3, -0.25)), board=first)
    drilled(house, b"4", refused(), board=first)
    end = house.send(b"end")
    house.answer(measured())
    drilled(house, b"5", board=end.board)
    view = look_at_trends(ANN, Wanted("ann"), 100, house.ports)
    assert [board.name for board in view.cuts] == ["One", "Two"]
    assert view.cuts_trends["cuts_lean"].series.values.tolist() == pytest.approx([-0.25, 0.6], abs=1e-4)
    assert {each.verdict for each in view.cuts_progress} == {"too few"}
    narrowed = look_at_trends(ANN, Wanted("ann", species="oak"), 100, house.ports)
    assert [board.name for board in narrowed.cuts] == ["Two"]
    assert [board.name for board in look_at_trends(ANN, Wanted("ann"), 1, house.ports).cuts] == ["Two"]


def test_a_period_is_printed_with_its_practice_cuts_and_begins_and_ends_with_them(house: House) -> None:
    drilled(house, b"1", name="One")
    house.later(days=2)
    house.send(b"end")
    house.answer(measured())
    house.later(days=2)
    drilled(house, b"2", name="Two", details=Details("oak"))
    whole = period_to_print(ANN, Wanted("ann"), house.ports)
    assert [board.name for board in whole.cuts] == ["One", "Two"]
    assert (whole.start, whole.end) == (BEGIN.date(), BEGIN.date() + timedelta(days=4))
    assert whole.cuts == look_at_trends(ANN, Wanted("ann"), 100, house.ports).cuts
    part = period_to_print(ANN, Wanted("ann", since=BEGIN.date() + timedelta(days=1)), house.ports)
    assert [board.name for board in part.cuts] == ["Two"]
    oak = period_to_print(ANN, Wanted("ann", species="oak"), house.ports)
    assert ([board.name for board in oak.cuts], oak.start) == (["Two"], oak.end)
    assert period_to_print(Person("ben", "Ben"), Wanted("ben"), house.ports).cuts == []


def test_the_table_has_a_row_for_every_practice_cut_and_their_figures_beside_the_photo(house: House) -> None:
    drilled(house)
    rows = list(csv.DictReader(io.StringIO("".join(export_csv("ann", house.ports)))))
    result = cuts_measured().result["drill"]
    photos, cuts = ([row for row in rows if row["what"] == what] for what in ("photo", "practice cut"))
    assert len(rows) == len(photos) + len(cuts) == 9
    assert {(row["view"], row["work_on"]) for row in photos} == {("drill", "bias")}
    assert float(photos[0]["mean_lean_deg"]) == result["mean_lean_deg"]["value"]
    assert float(photos[0]["mean_lean_u95_deg"]) == result["mean_lean_deg"]["u95"]
    assert float(photos[0]["scatter_high95_deg"]) == result["spread_deg"]["high95"]
    assert float(photos[0]["drift_deg_per_cut"]) == result["drift_deg_per_cut"]["value"]
    assert [float(row["lean_deg"]) for row in cuts] == [cut["lean_deg"] for cut in result["cuts"]]
    assert [(row["turn"], row["edge"]) for row in cuts] == [(str(turn), "both") for turn in range(1, 9)]
    assert [float(row["zone_mm"]) for row in cuts] == [cut["squareness_zone_mm"] for cut in result["cuts"]]


def test_an_export_brings_them_back_with_how_they_were_made(house: House) -> None:
    before = look_at_board("ann", drilled(house, told=Told(how_cut=HowCut("right-to-left", "7,-7"))), house.ports)
    data = "".join(export_json("ann", house.ports)).encode()
    delete_board("ann", before.board.id, house.ports)
    import_log("ann", io.BytesIO(data), house.ports)
    assert look_at_board("ann", before.board.id, house.ports) == before


@pytest.mark.parametrize(
    "damage",
    [
        lambda check: check["answer"]["result"]["drill"].update(work_on="rest"),
        lambda check: check["answer"]["result"].update(advice="transfer"),
        lambda check: check["answer"]["words"]["mm"].pop("figures"),
        lambda check: check["told"]["how_cut"].update(order=7),
        lambda check: check["told"]["how_cut"].update(depth="all of it"),
    ],
)
def test_what_no_page_could_show_is_not_imported(house: House, damage: Callable[[Any], object]) -> None:
    board = drilled(house)
    export = json.loads("".join(export_json("ann", house.ports)))
    delete_board("ann", board, house.ports)
    damage(export["boards"][0]["checks"][0])
    with pytest.raises(MistakeError, match="Board 1 of this export is damaged"):
        import_log("ann", io.BytesIO(json.dumps(export).encode()), house.ports)
