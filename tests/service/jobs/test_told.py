"""What a person told of a board reaches its measurement: the kept plan by its name, and the print of the card."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import Any

import jsonschema
import numpy as np
import pytest

from calibration.prints.check import LENGTHS
from calibration.prints.known import Known
from calibration.prints.record import PrintRecord
from calibration.prints.shape import PrintShape
from service.domain.board import Details
from service.domain.check import Answer, Check
from service.domain.words import check_words
from service.errors import UsageError
from service.jobs.bench import Bench
from service.jobs.measuring import measure
from service.jobs.unusable import WITHOUT
from service.kept.camera_store import CameraStore
from service.kept.plan_store import PlanStore
from service.kept.print_store import PrintStore
from service.use_cases.answer_job import finish_job, take_job
from service.use_cases.keep_log import change_board, look_at_check
from tests.calibration.camera.test_camera_profile import PROFILE
from tests.service.house import House
from tests.vision.answer.test_result import SCHEMA
from tests.vision.photos import encoded, measurement, picture
from vision.end.report import Measurement
from vision.layout.plan import Plan
from vision.photo.photo import Photo

PHOTO = encoded(picture(), "JPEG")
PLAN = Plan(108.0, 19.0, 3, 7.0, 8.0, 1 / 7, 16.0, "box")


@pytest.fixture
def seen(monkeypatch: pytest.MonkeyPatch) -> list[Known]:
    """What was known at every measurement."""
    known: list[Known] = []

    def measured(image: Photo, *, known: Known, told: Sequence[Any] = (), **more: object) -> Measurement:
        seen_.append(known)
        return measurement()

    seen_ = known
    monkeypatch.setattr("service.measuring.checking.measure_end", measured)
    return known


def answered(house: House, details: Details) -> Check:
    sent = house.send(PHOTO, name="good", details=details)
    work(house)
    return look_at_check("ann", sent.id, house.ports)


def work(house: House) -> int:
    """Do all jobs; how many there were."""
    count = 0
    while (task := take_job("w", 60.0, house.ports)) is not None:
        assert finish_job(task, measure(task, Bench(house.ports.photos, house.data)), house.ports)
        count += 1
    return count


def keep_print(folder: Path, name: str, x_scale: float) -> None:
    shape = PrintShape(x_scale, 1.0, 0.0, np.diag([1e-8, 1e-8, 1e-8]), name)
    PrintStore(folder).put(PrintRecord(shape, dict.fromkeys(LENGTHS, (100.0,)), "caliper", date(2026, 3, 1)))


def result_of(check: Check) -> Answer:
    assert check.answer is not None
    return check.answer


def test_a_plan_by_its_name_is_held_against_the_end(house: House, seen: list[Known]) -> None:
    PlanStore(house.data).put(PLAN)
    check = answered(house, Details(plan="box"))
    answer = result_of(check)
    jsonschema.validate(answer.result, SCHEMA)
    assert answer.result["plan"]["name"] == "box"
    assert all("intended_mm" in wall["plan"] for wall in answer.result["walls"])
    words = answer.words["mm"]["plan"]
    assert words["plan"].startswith("Plan 'box': 3 tails, board 108.0 mm by 19.0 mm")
    assert [line["name"] for line in words["lines"]][:2] == ["tail 1 left", "tail 1 right"]
    check_words(check)


def test_any_other_plan_is_the_persons_own_note(house: House, seen: list[Known]) -> None:
    PlanStore(house.data).put(PLAN)
    answer = result_of(answered(house, Details(plan="three tails at 1:7")))
    assert "plan" not in answer.result
    assert "plan" not in answer.words["mm"]


def test_a_plan_of_other_tails_is_told_and_not_compared(house: House, seen: list[Known]) -> None:
    PlanStore(house.data).put(Plan(108.0, 19.0, 4, 7.0, 8.0, 1 / 7, 16.0, "box"))
    words = result_of(answered(house, Details(plan="box"))).words["mm"]["plan"]
    assert words["lines"] == []
    assert "its lines cannot be compared" in words["said"][0]


def test_the_named_print_is_used_else_the_usual_one_else_none(house: House, seen: list[Known]) -> None:
    answered(house, Details())
    keep_print(house.data, "default", 1.001)
    keep_print(house.data, "laser", 1.004)
    for name in ("", "laser", "one that was forgotten"):
        change_board("ann", board_id(house), "", Details(print=name), house.ports)
        work(house)
    used = [known.print.name for known in seen]
    assert used == ["", "laser", "default"]  # a usual print that is kept later takes effect at the next check


def board_id(house: House) -> str:
    with house.ports.reading() as uow:
        return uow.boards.all_of("ann")[0].id


def test_another_plan_measures_anew_only_where_one_is_kept_by_that_name(house: House, seen: list[Known]) -> None:
    PlanStore(house.data).put(PLAN)
    board = answered(house, Details()).board
    change_board("ann", board, "", Details(plan="only a note"), house.ports)
    assert work(house) == 0
    change_board("ann", board, "", Details(plan="box"), house.ports)
    assert work(house) == 1


def test_a_told_thickness_is_known_to_the_measurement(house: House, seen: list[Known]) -> None:
    answered(house, Details(thickness_mm=19.05))
    assert seen[0].thickness is not None
    assert seen[0].thickness.value == pytest.approx(19.05, abs=1e-12)  # identity


def test_damaged_or_newer_files_cost_no_answer_and_are_named_beside_it(house: House, seen: list[Known]) -> None:
    keep_print(house.data, "default", 1.001)
    PlanStore(house.data).path.write_text("{")
    PrintStore(house.data).path.write_text('{"format": 99}')
    camera = CameraStore(house.data).path_of("old")
    camera.parent.mkdir()
    camera.write_text('{"version": 99}')
    check = answered(house, Details(plan="box", print="default"))
    assert check.state == "measured"
    assert seen[-1].print.name == ""
    doubts = result_of(check).words["inch"]["doubts"]
    told = [doubt["what_to_do"] for doubt in doubts if doubt["message"] == WITHOUT]
    assert [each.split()[0] for each in told] == ["cameras/old.json", "prints.json", "plans.json"]
    assert told[0].endswith("Move it away and make the profile again.")
    check_words(check)
    assert list(house.ports.kept.plans()) == []


def test_a_damaged_profile_does_not_take_the_others_with_it(tmp_path: Path) -> None:
    store = CameraStore(tmp_path)
    store.put(PROFILE)
    store.path_of("old").write_text("{")
    profiles, faults = store.usable()
    assert [profile.name for profile in profiles] == [PROFILE.name]
    assert "is damaged" in str(faults[0])
    with pytest.raises(UsageError, match="is damaged"):
        store.list()
