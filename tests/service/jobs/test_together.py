"""All photos of a board become one answer: the end from its photos, end and faces in depth, in words and drawn."""

from __future__ import annotations

import jsonschema
import pytest
from PIL import Image

from service.domain.check import Answer
from service.domain.together import Together
from service.domain.words import check_together
from service.jobs.bench import Bench
from service.jobs.measuring import measure
from service.storage.photo_files import PhotoFiles
from service.use_cases.answer_job import finish_job, take_job
from service.use_cases.keep_log import BoardView, look_at_board
from tests.service.house import House
from tests.service.one_board import measure_one_board
from tests.vision.answer.test_result import SCHEMA
from tests.vision.photos import encoded, picture


@pytest.fixture(autouse=True)
def one_board(monkeypatch: pytest.MonkeyPatch) -> None:
    measure_one_board(monkeypatch)


def answered(house: House, *views: str) -> tuple[BoardView, Answer]:
    """A board with photos of these views, all answered and put together."""
    board = ""
    for number, view in enumerate(views):
        pixels = picture().copy()
        pixels[:8, :8] = number
        board = house.send(encoded(pixels, "JPEG"), board=board, view=view).board
    while (task := take_job("w", 60.0, house.ports)) is not None:
        assert finish_job(task, measure(task, Bench(house.ports.photos, house.data)), house.ports)
    found = look_at_board("ann", board, house.ports)
    assert found.together is not None
    assert found.together.answer is not None
    return found, found.together.answer


def test_end_and_faces_are_told_in_depth_with_a_drawing_of_all(house: House) -> None:
    _, answer = answered(house, "end", "show", "transfer")
    assert answer.result["end"] is None
    board = answer.result["board"]
    jsonschema.validate(board, SCHEMA)
    assert [(each["view"], each["file"]) for each in board["photos"]] == [
        ("end", "Photo 1"),
        ("show", "Photo 2"),
        ("transfer", "Photo 3"),
    ]
    words = answer.words["mm"]["board"]
    assert words["verdict"].startswith("Start over: pin between tails 1 and 2 too tight")
    assert words["board"] == "108.0 mm wide, 19.0 mm thick, baseline 16.0 mm from the end"
    assert words["walls"][0]["slope_show"].startswith("1:7")
    assert " in wide" in answer.words["inch"]["board"]["board"]
    with Image.open(PhotoFiles(house.data / "photos").path_of(answer.pictures.screen)) as drawing:
        assert drawing.height > drawing.width  # three photos below one another
    assert not answer.pictures.overlay


def test_several_photos_of_the_end_are_combined_and_each_is_named(house: House) -> None:
    view, answer = answered(house, "end", "end")
    end = answer.result["end"]
    jsonschema.validate(end, SCHEMA)
    assert [each["file"] for each in end["photos"]] == ["Photo 1", "Photo 2"]
    assert answer.result["board"] is None
    single = view.checks[0].answer
    assert single is not None
    u95 = [[wall["x_u95_mm"] for wall in result["walls"]] for result in (end, single.result)]
    assert all(both < one for both, one in zip(*u95, strict=True))
    assert answer.words["mm"]["end"]["agreement"][-1] == "The 2 photos agree and were combined."
    assert answer.pictures.overlay
    assert not answer.pictures.screen


def test_both_parts_are_there_when_both_can_be(house: House) -> None:
    _, answer = answered(house, "end", "end", "show")
    assert answer.result["end"]["ok"]
    assert answer.result["board"]["ok"]
    assert answer.result["board"]["photos"][0]["file"] == "Photo 2"  # the newest end, by which the board stands


def test_photos_that_are_not_of_one_board_are_refused_in_words_and_keep_their_own_answers(
    house: House, monkeypatch: pytest.MonkeyPatch
) -> None:
    from calibration.outcome import refuse

    def contradict(*views: object, **told: object) -> None:
        raise refuse("views_not_one_board")

    monkeypatch.setattr("service.measuring.board_check.judge_board", contradict)
    view, answer = answered(house, "end", "show")
    assert answer.result["board"]["refusal"]["reason"] == "views_not_one_board"
    assert answer.words["mm"]["board"]["what_to_do"]
    assert [check.state for check in view.checks] == ["measured", "measured"]
    assert not answer.pictures.screen


def test_the_words_are_what_a_page_is_laid_out_from(house: House) -> None:
    view, answer = answered(house, "end", "end", "show", "transfer")
    check_together(Together(view.board.id, state="ready", answer=answer))
    with pytest.raises(ValueError, match="verdict is no text"):
        check_together(Together("b", state="ready", answer=Answer({}, {"mm": _broken(answer), "inch": {}})))


def _broken(answer: Answer) -> dict[str, object]:
    return {**answer.words["mm"], "board": answer.words["mm"]["board"] | {"verdict": 7}}


def test_a_face_is_measured_as_the_command_line_measures_it(house: House) -> None:
    view, _ = answered(house, "end", "show")
    face = view.checks[1]
    assert face.answer is not None
    assert (face.state, face.advice, view.board.standing) == ("measured", "", view.checks[0].advice)
    jsonschema.validate(face.answer.result, SCHEMA)
    assert face.answer.result["view"] == "show"
    words = face.answer.words["mm"]
    assert words["verdict"] == "No cut is past the baseline."
    assert words["board"] == "Show face, 108.0 mm wide, waste still in"
    assert words["cuts"][0]["sentence"] == "The left cut of tail 1 stops at the baseline. Slope 1:7.0."
    assert face.answer.pictures.overlay
