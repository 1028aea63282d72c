"""One stored photo to its answer, in numbers, words and pictures; all photos of a board are put together elsewhere."""

from __future__ import annotations

import time
from dataclasses import asdict, replace
from typing import Any, get_args

from calibration.outcome import CannotMeasure, Refusal, refuse
from service.domain.assignment import Assignment
from service.domain.check import FACES, KEPT_VIEWS, Answer, Pictures
from service.jobs.answer_words import refusal_words, report_words
from service.jobs.bench import Bench
from service.jobs.drill_words import drill_words
from service.jobs.face_words import face_words
from service.jobs.pictures import keep_pictures
from service.jobs.plan_words import kept_plan, plan_words, with_plan
from service.jobs.together import put_together
from service.jobs.told import settings_of
from service.jobs.unusable import with_unusable
from service.measuring.checking import CheckSettings, check_photo
from service.measuring.drill_check import check_drill
from service.measuring.face_check import check_face
from service.measuring.other_view import is_a_face, is_an_end
from service.use_cases.answer_job import Task
from vision.answer.overlay import draw_overlay
from vision.answer.result import Report, refusal_dict, result_dict
from vision.answer.words import Units
from vision.drill.overlay import draw_drill
from vision.drill.plan import PlanMismatch
from vision.drill.result import DrillResult
from vision.face.overlay import draw_face
from vision.layout.plan import Plan
from vision.layout.plan_check import check_plan
from vision.photo.decode import decode
from vision.photo.photo import Photo

__all__ = ["Bench", "measure"]


def measure(task: Task, bench: Bench) -> Answer:
    """The answer to a task, its pictures with it. Raises whatever a fault of the program raises, and MemoryError."""
    started, bench = time.monotonic(), bench.cleared()
    answer = _photo(task, bench) if task.photos is None else put_together(task, task.photos, bench)
    return replace(answer, seconds=time.monotonic() - started, files=bench.drawn)


def _photo(task: Task, bench: Bench) -> Answer:
    """One photo's answer, by what it shows."""
    view = task.check.view
    try:
        photo = decode(bench.photos.read(task.check.photo.name), task.board.name)
        if view in KEPT_VIEWS:
            return _kept(photo, bench)
        measured = _face if view in FACES else _drill if view == "drill" else _end
        answer = measured(photo, task, bench)
        return with_unusable(answer, task, bench.data) if answer.result["ok"] else answer
    except CannotMeasure as error:
        return _refused(error.refusal, Pictures())


def _kept(photo: Photo, bench: Bench) -> Answer:
    """A photo that is shown, not measured."""
    return Answer({}, {}, keep_pictures(photo, None, bench))


def _face(photo: Photo, task: Task, bench: Bench) -> Answer:
    settings = settings_of(task, bench.data)
    found = check_face(photo, task.check.view, settings)  # type: ignore[arg-type]
    if isinstance(found, Refusal):
        perhaps = "end" if is_an_end(photo, found, settings) else ""
        return _refused(found, keep_pictures(photo, None, bench), perhaps)
    overlay = draw_face(photo, found.measurement, units=task.person.units)
    words = {units: face_words(found.measurement, units) for units in get_args(Units)}
    return Answer(found.to_dict(), words, keep_pictures(photo, overlay, bench))


def _drill(photo: Photo, task: Task, bench: Bench) -> Answer:
    settings = settings_of(task, bench.data)
    found = _practice_cuts(photo, task, settings)
    if isinstance(found, Refusal):
        return _refused(found, keep_pictures(photo, None, bench))
    overlay = draw_drill(photo, found, units=task.person.units, card_side=settings.card_side)
    words = {units: drill_words(found, units) for units in get_args(Units)}
    return Answer(found.to_dict(), words, keep_pictures(photo, overlay, bench))


def _practice_cuts(photo: Photo, task: Task, settings: CheckSettings) -> DrillResult | Refusal:
    """Of cuts that were told otherwise than the photo shows them, that is the refusal."""
    try:
        return check_drill(photo, task.check.told.how_cut.plan, settings)
    except PlanMismatch as error:
        detail = str(error)
        return refuse("cuts_told_otherwise", f"{detail[0].upper()}{detail[1:]}.").refusal


def _end(photo: Photo, task: Task, bench: Bench) -> Answer:
    settings = settings_of(task, bench.data)
    found = check_photo(photo, settings)
    if isinstance(found, Refusal):
        perhaps = "face" if is_a_face(photo, found, settings) else ""
        return _refused(found, keep_pictures(photo, None, bench), perhaps)
    overlay = draw_overlay(photo, found, units=task.person.units, card_side=settings.card_side)
    pictures, plan = keep_pictures(photo, overlay, bench), _plan(task, bench)
    result, words = result_dict(found), _words(found, task.assignment)
    return (
        Answer(result, words, pictures) if plan is None else _beside_plan(Answer(result, words, pictures), found, plan)
    )


def _plan(task: Task, bench: Bench) -> Plan | None:
    """The kept plan that the board was to be cut by: its assignment's, else the one that its person names."""
    named = task.assignment.plan if task.assignment else ""
    return kept_plan(named, bench.data) or kept_plan(task.board.details.plan, bench.data)


def _beside_plan(answer: Answer, report: Report, plan: Plan) -> Answer:
    """The answer with what the plan meant and what the saw made of it."""
    check = check_plan(report.measurement, plan)
    told = {units: answer.words[units] | {"plan": plan_words(check, units)} for units in get_args(Units)}
    return replace(answer, result=with_plan(answer.result, check), words=answer.words | told)


def _words(report: Report, assignment: Assignment | None) -> dict[str, Any]:
    """The sentences in both units, and by what the board was judged if it was handed in."""
    words: dict[str, Any] = {"mm": report_words(report, "mm"), "inch": report_words(report, "inch")}
    if assignment is not None:
        words["policy"] = {"assignment": assignment.title} | asdict(assignment.policy)
    return words


def _refused(refusal: Refusal, pictures: Pictures, perhaps: str = "") -> Answer:
    """The answer to a photo that is not measured; `perhaps` it shows something else, as which it can be measured."""
    words = refusal_words(refusal) | ({"perhaps": perhaps} if perhaps else {})
    return Answer(refusal_dict(refusal), {"mm": words, "inch": words}, pictures)
