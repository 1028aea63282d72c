"""A stored photo becomes an answer in numbers, words and pictures, whatever it shows."""

from __future__ import annotations

import jsonschema
import pytest
from PIL import Image

from service.domain.board import Details
from service.domain.mistakes import NotFoundError
from service.jobs.measuring import Bench, measure
from service.storage.photo_files import PhotoFiles
from service.use_cases.answer_job import take_job
from service.use_cases.keep_log import choose_units
from tests.service.house import House
from tests.service.jobs.answering import PHOTO, answered
from tests.vision.answer.test_result import SCHEMA

pytestmark = pytest.mark.usefixtures("core")


def test_a_measured_end_has_the_result_by_the_schema_and_its_words_in_both_units(house: House) -> None:
    check, answer = answered(house, "good")
    jsonschema.validate(answer.result, SCHEMA)
    assert check.state == "measured"
    assert answer.words["mm"]["verdict"] == answer.words["inch"]["verdict"]
    assert answer.words["mm"]["verdict"].startswith("Start over: ")
    assert " mm" in answer.words["mm"]["board"]
    assert " in wide" in answer.words["inch"]["board"]
    assert [socket["verdict"] for socket in answer.words["mm"]["sockets"]].count("splitting") == 1
    assert answer.words["mm"]["budgets"][0]["rows"]


def test_its_pictures_are_for_any_browser_and_any_screen(house: House) -> None:
    _, answer = answered(house, "good")
    files = PhotoFiles(house.data / "photos")
    sizes = {}
    for which in ("overlay", "screen", "thumbnail"):
        with Image.open(files.path_of(getattr(answer.pictures, which))) as image:
            assert image.format == "JPEG"
            sizes[which] = image.size
    assert sizes["screen"] == (1200, 900)
    assert max(sizes["thumbnail"]) == 480


def test_a_refusal_keeps_the_photo_to_look_at_and_says_what_to_do(house: House) -> None:
    check, answer = answered(house, "cardless")
    assert check.state == "refused"
    assert answer.result["refusal"]["reason"] == "no_card"
    assert answer.words["mm"]["what_to_do"].startswith("Lay the printed card")
    assert answer.pictures.screen
    assert not answer.pictures.overlay


def test_a_face_is_shown_and_not_measured(house: House) -> None:
    check, answer = answered(house, "fault", view="face")
    assert (check.state, answer.result) == ("kept", {})
    assert answer.pictures.thumbnail


def test_wood_and_thickness_of_the_board_reach_the_measurement(house: House) -> None:
    _, answer = answered(house, "good", details=Details("pine"))
    limits = {socket["squeeze_limit_mm"] for socket in answer.result["sockets"]}
    assert limits == {0.15, 0.075}  # the softwood's limit, and half of it at a half pin


def test_a_wood_that_no_table_knows_is_measured_as_one_not_named(house: House) -> None:
    _, answer = answered(house, "good", details=Details("Grandfather's tree"))
    assert answer.result["ok"]


def test_the_drawn_result_has_the_persons_units(house: House) -> None:
    choose_units("ann", "inch", house.ports)
    in_inches = answered(house, "good")[1].pictures.overlay
    choose_units("ben", "mm", house.ports)
    house.send(PHOTO, "ben", name="good")
    task = take_job("w", 60.0, house.ports)
    assert task is not None
    assert measure(task, Bench(house.ports.photos, house.data)).pictures.overlay != in_inches


def test_a_photo_whose_file_is_gone_is_a_fault_and_not_an_answer(house: House) -> None:
    check = house.send(PHOTO, name="good")
    house.ports.photos.remove([check.photo.name])
    task = take_job("w", 60.0, house.ports)
    assert task is not None
    with pytest.raises(NotFoundError):
        measure(task, Bench(house.ports.photos, house.data))
