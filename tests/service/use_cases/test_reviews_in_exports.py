"""Reviews go out with the log and come back with it, on their pictures; what they decided elsewhere decides nothing."""

from __future__ import annotations

import io
import json
from pathlib import Path
from typing import Any

import pytest

from service.domain.mistakes import MistakeError
from service.domain.review import Mark
from service.jobs.measuring import Bench, measure
from service.use_cases.answer_job import finish_job, take_job
from service.use_cases.export_log import export_json
from service.use_cases.import_log import import_log
from service.use_cases.keep_log import BoardView, delete_board, look_at_board
from service.use_cases.review_board import Judgement, review_board
from service.use_cases.solo import SOLO, ensure_solo
from tests.service.house import House, open_house
from tests.service.web.site import photo

pytestmark = pytest.mark.usefixtures("core")
MARKS = (Mark(0.125, 0.75, "The saw left the line here."), Mark(1.0, 0.0, "A corner, to be sure."))


@pytest.fixture
def alone(tmp_path: Path) -> Any:
    """A teacher alone, who has reviewed one board twice: once with marks on the drawing, once in a word."""
    with open_house(tmp_path, cleaning=True) as house:
        solo = ensure_solo(house.ports)
        check = house.send(photo(1), SOLO, name="good")
        while (task := take_job("w", 60.0, house.ports)) is not None:
            assert finish_job(task, measure(task, Bench(house.ports.photos, house.data)), house.ports)
        answer = view(house, SOLO).checks[0].answer
        assert answer is not None
        house.later(hours=1)
        said = Judgement("pare", "Slower,\nnear the line.", MARKS, check.id, answer.pictures.overlay)
        review_board(solo, check.board, said, house.ports)
        house.later(hours=1)
        review_board(solo, check.board, Judgement("start over"), house.ports)
        yield house


def view(house: House, person: str) -> BoardView:
    with house.ports.reading() as uow:
        (board,) = uow.boards.all_of(person)
    return look_at_board(person, board.id, house.ports)


def exported(house: House) -> bytes:
    return "".join(export_json(SOLO, house.ports)).encode()


def test_an_export_restores_every_review_with_its_marks_and_picture(alone: House) -> None:
    before, data, files = view(alone, SOLO), exported(alone), alone.stored()
    assert [review.decision for review in before.reviews] == ["start over", "pare"]
    delete_board(SOLO, before.board.id, alone.ports)
    import_log(SOLO, io.BytesIO(data), alone.ports)
    assert view(alone, SOLO) == before
    assert alone.stored() == files
    assert json.loads(exported(alone))["boards"] == json.loads(data)["boards"]


def test_a_log_brought_by_another_person_keeps_reviews_as_history_that_decides_nothing(alone: House) -> None:
    import_log("ben", io.BytesIO(exported(alone)), alone.ports)
    brought, own = view(alone, "ben"), view(alone, SOLO)
    assert [(review.reviewer, review.name) for review in brought.reviews] == [("", "Me"), ("", "Me")]
    assert [review.marks for review in brought.reviews] == [(), MARKS]
    assert [review.imported for review in (*brought.reviews, *own.reviews)] == [True, True, False, False]
    assert {review.id for review in brought.reviews}.isdisjoint(review.id for review in own.reviews)
    assert brought.reviews[1].check == brought.checks[0].id
    assert (brought.board.decision, brought.board.review_rank) == ("", 1)
    assert own.board.decision == "start over"


def test_no_review_is_brought_from_a_time_to_come(alone: House) -> None:
    export = json.loads(exported(alone))
    delete_board(SOLO, export["boards"][0]["id"], alone.ports)
    export["boards"][0]["reviews"][0]["made_at"] = "2999-01-01T00:00:00+00:00"
    import_log(SOLO, io.BytesIO(json.dumps(export).encode()), alone.ports)
    assert alone.clock[0] in [review.made_at for review in view(alone, SOLO).reviews]


def test_an_export_from_before_there_were_reviews_is_read(alone: House) -> None:
    export = json.loads(exported(alone))
    delete_board(SOLO, export["boards"][0]["id"], alone.ports)
    del export["boards"][0]["reviews"]
    import_log(SOLO, io.BytesIO(json.dumps(export).encode()), alone.ports)
    assert view(alone, SOLO).reviews == []


def test_a_damaged_review_is_a_damaged_board(alone: House) -> None:
    export = json.loads(exported(alone))
    delete_board(SOLO, export["boards"][0]["id"], alone.ports)
    export["boards"][0]["reviews"][1]["marks"][0]["x"] = 7
    with pytest.raises(MistakeError, match="Board 1 of this export is damaged"):
        import_log(SOLO, io.BytesIO(json.dumps(export).encode()), alone.ports)
    with alone.ports.reading() as uow:
        assert uow.boards.all_of(SOLO) == []
