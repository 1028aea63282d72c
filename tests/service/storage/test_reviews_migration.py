"""Boards that were there before there were reviews wait for one, and nothing of them is lost on the way."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import pytest
from alembic import command
from alembic.config import Config
from sqlalchemy import text

from service.domain.board import STANDINGS, Board
from service.domain.review import Mark, Review
from service.domain.review_queue import URGENCY
from service.storage.migrate import FOLDER
from tests.service.house import BEGIN, SERVER, House

OF_THEN = [standing for standing in STANDINGS if standing != "practice cuts"]
"""How boards could stand before there were reviews."""


@pytest.mark.skipif(bool(SERVER), reason="a server's tables are shared: they are not taken back and forth")
def test_boards_of_before_get_their_place_in_the_queue(house: House) -> None:
    with house.ports.unit_of_work() as uow:
        for standing in OF_THEN:
            uow.boards.add(Board(standing.replace(" ", "-"), "ann", standing, BEGIN, standing=standing))
        uow.commit()
    _go(house, command.downgrade, "0004")
    with house.engine.connect() as connection:
        assert connection.execute(text("SELECT count(*) FROM boards")).scalar() == len(OF_THEN)
    _go(house, command.upgrade, "head")
    with house.ports.reading() as uow:
        boards = uow.boards.all_of("ann")
    assert {board.standing: board.review_rank for board in boards} == {each: URGENCY.get(each) for each in OF_THEN}


@pytest.mark.skipif(bool(SERVER), reason="a server's tables are shared: they are not taken back and forth")
def test_reviews_of_before_without_a_reviewer_came_by_an_import_and_none_is_lost(house: House) -> None:
    with house.ports.unit_of_work() as uow:
        uow.boards.add(Board("box", "ann", "Box", BEGIN))
        for name, reviewer in (("made here", "ben"), ("brought", "")):
            known = {"marks": (Mark(0.5, 0.5, "Here."),), "imported": not reviewer}
            uow.reviews.add(Review(name, "box", reviewer, name, BEGIN, "pare", "pare", **known))  # type: ignore[arg-type]
        uow.commit()
    before = _reviews(house)
    _go(house, command.downgrade, "0008")
    _go(house, command.upgrade, "head")
    assert _reviews(house) == before
    with house.ports.unit_of_work() as uow:
        uow.people.remove("ben")
        uow.commit()
    assert [(review.reviewer, review.imported) for review in _reviews(house)] == [("", False), ("", True)]


def _reviews(house: House) -> Sequence[Review]:
    with house.ports.reading() as uow:
        return uow.reviews.of_board("box")


def _go(house: House, way: Callable[[Config, str], None], revision: str) -> None:
    """All steps up or down to that revision."""
    config = Config()
    config.set_main_option("script_location", str(FOLDER))
    with house.engine.connect() as connection:
        config.attributes["connection"] = connection
        way(config, revision)
