"""The log searched, narrowed, counted and cut into pages."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest
from sqlalchemy import text

from service.domain.board import Board, Details
from service.domain.log import PAGE_SIZE, Wanted
from service.storage.tables import LogLineRow
from tests.service.house import BEGIN, House


def add(house: House, name: str, *, person: str = "ann", days: int = 0, **details: str) -> Board:
    board = Board(house.ports.new_id(), person, name, BEGIN + timedelta(days=days), Details(**details))  # type: ignore[arg-type]
    with house.ports.unit_of_work() as uow:
        uow.boards.add(board)
        uow.commit()
    return board


def names(house: House, **wanted: object) -> list[str]:
    with house.ports.reading() as uow:
        return [board.name for board in uow.boards.find(Wanted("ann", **wanted)).boards]  # type: ignore[arg-type]


def test_every_word_must_be_somewhere_in_a_board_capitals_or_not(house: House) -> None:
    add(house, "Drawer", species="Kirsche", notes="Schräge zu STEIL")
    add(house, "Box", species="pine", saw="old Drawer saw")
    assert sorted(names(house, text="dRAWER")) == ["Box", "Drawer"]
    assert names(house, text="schrÄge kirsche") == ["Drawer"]
    assert names(house, text="drawer oak") == []


@pytest.mark.parametrize("sign", ["%", "_", "/", "\\", "'", '"'])
def test_signs_that_mean_something_to_a_database_mean_themselves(house: House, sign: str) -> None:
    add(house, "plain")
    add(house, f"with {sign} in it")
    assert names(house, text=sign) == [f"with {sign} in it"]


def test_a_day_runs_from_its_first_moment_to_its_last(house: House) -> None:
    first, day, moment = datetime(2026, 3, 3, tzinfo=UTC), timedelta(days=1), timedelta(microseconds=1)
    with house.ports.unit_of_work() as uow:
        moments = {"before": first - moment, "first": first, "last": first + day - moment, "after": first + day}
        for name, at in moments.items():
            uow.boards.add(Board(house.ports.new_id(), "ann", name, at))
        uow.commit()
    assert names(house, since=first.date(), until=first.date()) == ["last", "first"]
    assert names(house, since=first.date()) == ["after", "last", "first"]
    assert names(house, until=first.date()) == ["last", "first", "before"]
    with house.ports.reading() as uow:
        found = uow.boards.between(Wanted("ann"), first, first + day)
    assert [board.name for board in found] == ["first", "last"]


def test_words_do_not_run_from_one_field_into_the_next(house: House) -> None:
    add(house, "Box", species="oak")
    assert names(house, text="boxoak") == []


def test_pages_and_counts_agree_wherever_one_looks(house: House) -> None:
    for number in range(2 * PAGE_SIZE + 3):
        add(house, f"board {number}", days=number, species="oak" if number % 2 else "pine")
    for text_, total in (("", 51), ("oak", 25), ("board 7", 5), ("nowhere", 0)):
        found: list[str] = []
        for page in range(1, 9):
            with house.ports.reading() as uow:
                part = uow.boards.find(Wanted("ann", text_, page=page))
            assert part.total == total
            assert part.page == min(page, part.pages)
            found += [board.name for board in part.boards] if part.page == page else []
        assert len(set(found)) == len(found) == total
    assert names(house, page=2)[0] == f"board {PAGE_SIZE + 2}"  # newest first


def test_the_log_is_narrowed_by_result_wood_saw_and_day(house: House) -> None:
    first = add(house, "first", species="oak", saw="a")
    add(house, "second", days=1, species="pine", saw="b")
    add(house, "third", days=2, species="oak", saw="b")
    with house.ports.unit_of_work() as uow:
        uow.boards.put(replace(first, standing="pare"))
        uow.commit()
    assert names(house, standing="pare") == ["first"]
    assert names(house, species="oak", saw="b") == ["third"]
    day = BEGIN.date() + timedelta(days=1)
    assert names(house, since=day) == ["third", "second"]
    assert names(house, until=day) == ["second", "first"]
    assert names(house, since=day, until=day) == ["second"]
    assert names(house, since=date.min, until=date.max) == ["third", "second", "first"]


def test_what_is_changed_is_searched_as_it_is_now(house: House) -> None:
    board = add(house, "oak box", species="oak")
    with house.ports.unit_of_work() as uow:
        uow.boards.put(replace(board, name="tray", details=Details("elm")))
        uow.commit()
    assert names(house, text="tray elm") == ["tray"]
    assert names(house, text="oak") == []


def test_nobody_searches_the_boards_of_others(house: House) -> None:
    add(house, "secret", person="ben", species="yew", saw="fret saw")
    assert names(house, text="secret") == []
    with house.ports.reading() as uow:
        assert uow.boards.choices("ann").species == ()
        assert uow.boards.choices("ben").saws == ("fret saw",)


def test_woods_and_saws_to_choose_from_are_each_named_once(house: House) -> None:
    for number, wood in enumerate(["oak", "Ash", "oak", "", "élan", "pine", "oak"]):
        add(house, f"b{number}", species=wood, saw="one" if number % 2 else "")
    with house.ports.reading() as uow:
        found = uow.boards.choices("ann")
    assert found.species == tuple(sorted(["Ash", "oak", "pine", "élan"]))
    assert found.saws == ("one",)


def test_a_stretch_of_days_has_its_boards_oldest_first(house: House) -> None:
    for days in (40, 3, 1):
        add(house, f"day {days}", days=days)
    with house.ports.reading() as uow:
        found = uow.boards.between(Wanted("ann"), BEGIN, BEGIN + timedelta(days=30))
    assert [board.name for board in found] == ["day 1", "day 3"]


def test_a_board_that_is_deleted_leaves_no_line_behind(house: House) -> None:
    board = add(house, "gone")
    with house.ports.unit_of_work() as uow:
        uow.boards.remove(board.id)
        uow.commit()
    with house.engine.connect() as connection:
        assert connection.execute(text(f"SELECT count(*) FROM {LogLineRow.__tablename__}")).scalar() == 0
