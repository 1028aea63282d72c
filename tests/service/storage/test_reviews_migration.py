"""Boards that were there before there were reviews wait for one, and nothing of them is lost on the way."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from alembic import command
from alembic.config import Config
from sqlalchemy import text

from service.domain.board import STANDINGS, Board
from service.domain.review_queue import URGENCY
from service.storage.migrate import FOLDER
from tests.service.house import BEGIN, SERVER, House


@pytest.mark.skipif(bool(SERVER), reason="a server's tables are shared: they are not taken back and forth")
def test_boards_of_before_get_their_place_in_the_queue(house: House) -> None:
    with house.ports.unit_of_work() as uow:
        for standing in STANDINGS:
            uow.boards.add(Board(standing.replace(" ", "-"), "ann", standing, BEGIN, standing=standing))
        uow.commit()
    _go(house, command.downgrade, "0004")
    with house.engine.connect() as connection:
        assert connection.execute(text("SELECT count(*) FROM boards")).scalar() == len(STANDINGS)
    _go(house, command.upgrade, "head")
    with house.ports.reading() as uow:
        boards = uow.boards.all_of("ann")
    assert {board.standing: board.review_rank for board in boards} == {each: URGENCY.get(each) for each in STANDINGS}


def _go(house: House, way: Callable[[Config, str], None], revision: str) -> None:
    """All steps up or down to that revision."""
    config = Config()
    config.set_main_option("script_location", str(FOLDER))
    with house.engine.connect() as connection:
        config.attributes["connection"] = connection
        way(config, revision)
