"""The same photo sent by two people is one file with the same pictures: deleting one never takes the other's."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from threading import Event
from typing import TypeVar

import pytest

from service.domain.check import Answer, StoredPhoto
from service.jobs.measuring import Bench, measure
from service.storage.photo_files import PhotoFiles
from service.use_cases.answer_job import Task, finish_job, take_job
from service.use_cases.keep_log import delete_board, delete_check, look_at_check
from service.use_cases.ports import Ports
from tests.service.house import House
from tests.service.jobs.answering import PHOTO, answered

pytestmark = pytest.mark.usefixtures("core")
T = TypeVar("T")
MEANWHILE_S = 0.5
"""How long a removal waits for what must not happen meanwhile: a hundred times what storing a picture takes."""


@dataclass(frozen=True)
class Halting(PhotoFiles):
    """A store whose removal says that it is about to begin and waits for somebody to put a file."""

    removing: Event
    put_one: Event

    def put(self, data: bytes, kind: str) -> StoredPhoto:
        stored = super().put(data, kind)
        self.put_one.set()
        return stored

    def remove(self, names: Iterable[str]) -> None:
        self.removing.set()
        self.put_one.wait(MEANWHILE_S)
        super().remove(names)


def halting(house: House) -> tuple[Ports, Halting]:
    """The same house with such a store."""
    photos = Halting(house.data / "photos", Event(), Event())
    return replace(house.ports, photos=photos), photos


def measured_by(house: House, person: str) -> tuple[Task, Answer]:
    """A photo sent and measured; its answer is not written down yet."""
    house.send(PHOTO, person, name="good")
    task = take_job("w", 60.0, house.ports)
    assert task is not None
    return task, measure(task, Bench(house.ports.photos, house.data))


def stored_of(house: House, person: str, check_id: str) -> set[str]:
    """What belongs to a check, all of which has to be there."""
    names = set(look_at_check(person, check_id, house.ports).stored_names)
    assert names <= house.stored()
    return names


def test_twins_have_the_same_files(house: House) -> None:
    mine, _ = answered(house, "good")
    task, answer = measured_by(house, "ben")
    assert finish_job(task, answer, house.ports)
    assert stored_of(house, "ben", task.check.id) == stored_of(house, "ann", mine.id) == house.stored()


@pytest.mark.parametrize("whole", [True, False])
def test_pictures_outlive_a_twin_that_is_deleted_after_they_were_drawn(house: House, *, whole: bool) -> None:
    mine, _ = answered(house, "good")
    task, answer = measured_by(house, "ben")
    _delete(mine.board, mine.id, house.ports, whole=whole)
    assert finish_job(task, answer, house.ports)
    assert len(stored_of(house, "ben", task.check.id)) == 4  # the photo, drawn, for a screen, small


@pytest.mark.parametrize("whole", [True, False])
def test_pictures_that_are_written_down_in_the_moment_of_the_removal_wait_for_it(house: House, *, whole: bool) -> None:
    mine, _ = answered(house, "good")
    task, answer = measured_by(house, "ben")
    _while_deleted(house, mine.board, mine.id, lambda ports: finish_job(task, answer, ports), whole=whole)
    assert len(stored_of(house, "ben", task.check.id)) == 4


@pytest.mark.parametrize("whole", [True, False])
def test_a_photo_that_is_sent_in_the_moment_of_the_removal_waits_for_it(house: House, *, whole: bool) -> None:
    mine, _ = answered(house, "good")
    sent = _while_deleted(
        house, mine.board, mine.id, lambda ports: replace(house, ports=ports).send(PHOTO, "ben"), whole=whole
    )
    assert house.ports.photos.read(look_at_check("ben", sent.id, house.ports).photo.name) == PHOTO


def test_an_answer_that_nobody_wants_any_more_leaves_no_pictures(house: House) -> None:
    task, answer = measured_by(house, "ann")
    delete_board("ann", task.board.id, house.ports)
    assert not finish_job(task, answer, house.ports)
    assert house.stored() == set()


def _delete(board: str, check: str, ports: Ports, *, whole: bool) -> None:
    if whole:
        delete_board("ann", board, ports)
    else:
        delete_check("ann", check, ports)


def _while_deleted(house: House, board: str, check: str, meanwhile: Callable[[Ports], T], *, whole: bool) -> T:
    """Ann's is deleted, and once its files are about to go, somebody else does something: only after the removal."""
    ports, photos = halting(house)
    with ThreadPoolExecutor(2) as threads:
        deleting = threads.submit(_delete, board, check, ports, whole=whole)
        assert photos.removing.wait(10.0)
        other = threads.submit(meanwhile, ports)
        deleting.result()
        return other.result()
