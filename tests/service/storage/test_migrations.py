"""Old databases brought up to date: nothing is lost, and what lists need is worked out for what there is."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import pytest
from alembic import command
from alembic.config import Config
from sqlalchemy import Engine, text

from service.domain.log import Wanted
from service.domain.log_numbers import log_numbers_of
from service.domain.measures import measures_of
from service.storage.engine import database_url, open_engine
from service.storage.migrate import FOLDER, migrate
from service.storage.unit_of_work import reading
from tests.vision.photos import report

DAY = "2026-03-02 09:00:00.000000"


@pytest.fixture
def old(tmp_path: Path) -> Iterator[Engine]:
    """A database as it was before classes: `box` measured, `damaged` measured with a result cut off, `new` not yet."""
    engine = open_engine(database_url(None, tmp_path))
    _to(engine, "0003")
    results = {"box": json.dumps(report().to_dict()), "damaged": '{"advice": "pare", "walls": [{}, {}]}', "new": None}
    with engine.begin() as connection:
        connection.execute(text("INSERT INTO people VALUES ('ann', 'Ann', 'student', 'mm', '{}')"))
        for name, result in results.items():
            values = {"name": name, "day": DAY, "result": result, "state": "measured" if result else "waiting"}
            connection.execute(text(_BOARD), values)
            connection.execute(text(_CHECK), values)
    yield engine
    engine.dispose()


_BOARD = "INSERT INTO boards VALUES (:name, 'ann', :name, :day, '', NULL, '', '', '', 'empty', '')"
_CHECK = (
    "INSERT INTO checks VALUES (:name, :name, 'ann', 'p', 'JPEG', :name, :day, 'end', NULL, 'show', :state, :day, 0,"
    " :result, NULL, '', '', '')"
)


def _to(engine: Engine, revision: str) -> None:
    config = Config()
    config.set_main_option("script_location", str(FOLDER))
    with engine.connect() as connection:
        config.attributes["connection"] = connection
        move = command.downgrade if revision == "-" else command.upgrade
        move(config, "0003" if revision == "-" else revision)


def test_boards_and_photos_come_through_and_belong_to_no_assignment(old: Engine) -> None:
    migrate(old)
    with reading(old)() as uow:
        boards = {board.name: board for board in uow.boards.all_of("ann")}
        assert boards.keys() == {"box", "damaged", "new"}
        assert {(board.assignment, board.assignment_title, board.handed_in) for board in boards.values()} == {
            ("", "", None)
        }
        assert len(uow.checks.of_boards(boards)) == 3


def test_numbers_are_worked_out_for_what_was_measured_before(old: Engine) -> None:
    migrate(old)
    with reading(old)() as uow:
        board = uow.boards.get("box")
        expected = measures_of(board, uow.checks.of_boards(["box"]))
        assert uow.measures.of_board("box") == expected is not None
        assert [uow.measures.of_board(name) for name in ("damaged", "new")] == [None, None]


def test_what_was_there_before_can_be_searched_and_charted(old: Engine) -> None:
    migrate(old)
    with reading(old)() as uow:
        assert [board.name for board in uow.boards.find(Wanted("ann", "BOX")).boards] == ["box"]
        assert uow.boards.find(Wanted("ann")).total == 3
        (logged,) = uow.log_numbers.latest(Wanted("ann"), 10)
        measures, checks = uow.measures.of_board("box"), uow.checks.of_boards(["box"])
        assert measures is not None
        expected = log_numbers_of(measures, checks)
    assert (logged.identity, logged.walls, logged.sockets) == ("box", expected.walls, expected.sockets)


def test_the_steps_can_be_taken_back_without_losing_a_board(old: Engine) -> None:
    migrate(old)
    _to(old, "-")
    with old.connect() as connection:
        assert connection.execute(text("SELECT count(*) FROM checks JOIN boards ON boards.id = board_id")).scalar() == 3
        columns = list(connection.execute(text("SELECT * FROM boards")).keys())
    assert "assignment_id" not in columns
