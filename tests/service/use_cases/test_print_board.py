"""A board is printed with who corrected its walls, and with the marks of its newest review on their picture."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from service.domain.check import Check
from service.domain.correction import lines_of
from service.domain.log import Wanted
from service.domain.review import Mark
from service.jobs.bench import Bench
from service.jobs.measuring import measure
from service.texts import text
from service.use_cases.answer_job import finish_job, take_job
from service.use_cases.correct_walls import correct_walls, withdraw_correction
from service.use_cases.keep_log import delete_check, look_at_board
from service.use_cases.print_log import BoardToPrint, board_to_print, period_to_print
from service.use_cases.review_board import Judgement, review_board
from service.use_cases.solo import ensure_solo
from tests.service.house import House, open_house
from tests.service.use_cases.school import KIT, WREN, bench, people
from tests.service.use_cases.school import work as set_work
from tests.service.web.site import photo

MARKS = (Mark(0.25, 0.5, "The saw left the line."), Mark(0.75, 0.5, "Cleaner here."))


@pytest.fixture
def house(tmp_path: Path, core: None) -> Iterator[House]:
    """A service whose photos are measured and drawn."""
    with open_house(tmp_path, cleaning=True) as house:
        people(house)
        yield house


@pytest.fixture
def board(house: House) -> str:
    """Kit's board, handed in to Wren."""
    assignment = set_work(house, bench(house, KIT))
    check = house.send(photo(1), KIT.id, name="good", assignment=assignment.id)
    work(house)
    return check.board


def work(house: House) -> None:
    while (task := take_job("w", 60.0, house.ports)) is not None:
        assert finish_job(task, measure(task, Bench(house.ports.photos, house.data)), house.ports)


def check_of(house: House, board: str) -> Check:
    return look_at_board(KIT.id, board, house.ports).checks[0]


def overlay_of(check: Check) -> str:
    assert check.answer is not None
    return check.answer.pictures.overlay


def correct(house: House, board: str, why: str = "") -> None:
    check = check_of(house, board)
    lines = list(lines_of(check))
    lines[1] = replace(lines[1], show_px=(lines[1].show_px[0] + 4.0, lines[1].show_px[1]), zoom=3.0)
    correct_walls(WREN.id, check.id, lines, why, house.ports)
    work(house)


def printed(house: House, board: str) -> BoardToPrint:
    return board_to_print(KIT, board, house.ports)


def test_who_corrected_the_walls_is_printed_until_it_is_withdrawn(house: House, board: str) -> None:
    assert printed(house, board).said.corrected == ""
    correct(house, board, "A knife line.")
    told = "Walls corrected by Instructor Wren Alder on 2 Mar 2026: A knife line."
    assert printed(house, board).said.corrected == told
    assert [each.corrected for each in period_to_print(KIT, _all(), house.ports).boards] == [True]
    withdraw_correction(WREN.id, check_of(house, board).id, house.ports)
    assert printed(house, board).said.corrected == ""


def test_marks_are_printed_on_the_picture_that_they_were_put_on(house: House, board: str) -> None:
    check = check_of(house, board)
    marked = house.ports.photos.read(overlay_of(check))
    review_board(WREN, board, Judgement("pare", "", MARKS, check.id, overlay_of(check)), house.ports)
    found = printed(house, board)
    assert (found.picture, found.said.marks, found.said.caption) == (marked, MARKS, "")
    correct(house, board)
    later = printed(house, board)
    assert (later.picture, later.said.caption) == (marked, text("print.earlier_picture"))
    assert [each.decision for each in period_to_print(KIT, _all(), house.ports).boards] == ["pare"]


def test_marks_on_the_photo_itself_are_not_said_to_be_on_an_earlier_picture(house: House, board: str) -> None:
    check = check_of(house, board)
    assert check.answer is not None
    screen = check.answer.pictures.screen
    review_board(WREN, board, Judgement("pare", "", MARKS, check.id, screen), house.ports)
    found = printed(house, board)
    assert (found.picture, found.said.caption) == (house.ports.photos.read(screen), "")


def test_when_the_marked_photo_is_gone_the_comments_are_printed_beside_the_picture_there_is(
    house: House, board: str
) -> None:
    check = check_of(house, board)
    review_board(WREN, board, Judgement("pare", "", MARKS, check.id, overlay_of(check)), house.ports)
    house.later(hours=1)
    house.send(photo(2), KIT.id, name="", board=board)
    work(house)
    delete_check(KIT.id, check.id, house.ports)
    found = printed(house, board)
    assert found.picture == house.ports.photos.read(overlay_of(check_of(house, board)))
    assert (found.said.marks, found.said.on_picture) == (MARKS, False)
    assert found.said.caption == text("print.picture_gone")


def _all() -> Wanted:
    return Wanted(KIT.id)


def test_who_works_alone_is_named_nowhere_on_the_page(house: House) -> None:
    alone = ensure_solo(house.ports)
    sent = house.send(photo(3), alone.id, name="good")
    work(house)
    review_board(alone, sent.board, Judgement("pare"), house.ports)
    found = board_to_print(alone, sent.board, house.ports)
    assert (found.board.person, found.said.by) == ("", "Decision, 2 Mar 2026")
