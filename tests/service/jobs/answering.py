"""Photos on boards, taken through a job to their answers."""

from __future__ import annotations

from service.domain.check import Answer, Check
from service.jobs.measuring import Bench, measure
from service.use_cases.answer_job import finish_job, take_job
from service.use_cases.keep_log import look_at_check
from tests.service.house import House
from tests.vision.photos import encoded, picture

PHOTO = encoded(picture(), "JPEG")


def answered(house: House, name: str, **more: object) -> tuple[Check, Answer]:
    """The check and answer of the photo on a board of that name, by which the measuring core decides."""
    sent = house.send(PHOTO, name=name, **more)
    task = take_job("w", 60.0, house.ports)
    assert task is not None
    assert finish_job(task, measure(task, Bench(house.ports.photos, house.data)), house.ports)
    check = look_at_check("ann", sent.id, house.ports)
    assert check.answer is not None
    return check, check.answer
