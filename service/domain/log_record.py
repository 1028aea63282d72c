"""A board with all that belongs to it as plain data, for export and import; old versions stay readable for ever."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, replace
from typing import Any, get_args

from service.domain.board import LONGEST_NAME, LONGEST_TEXT, Board, Details, board_name
from service.domain.check import (
    PHOTO_KINDS,
    Answer,
    CardSide,
    Check,
    CheckState,
    Pictures,
    Stage,
    StoredPhoto,
    Told,
    View,
)
from service.domain.correction_record import lines_from_record
from service.domain.fit import Fit, fit_note
from service.domain.how_cut import LONGEST, HowCut
from service.domain.mistakes import check_text
from service.domain.practice_cuts import figures_of
from service.domain.read_record import digest_of, id_of, moment_of, one_of, plain, text_of
from service.domain.review import ADVICES
from service.domain.words import check_words

FORMAT, VERSION = "tailproof-log", 1


def board_record(board: Board) -> dict[str, Any]:
    """A board without its photos; its assignment by the title alone, which says something without the class."""
    named = {"id": board.id, "name": board.name, "created": board.created.isoformat()}
    when = board.handed_in.isoformat() if board.handed_in else None
    handed_in = {"assignment": board.assignment_title, "handed_in": when}
    return named | {"details": asdict(board.details)} | handed_in | {"fit_note": board.fit_note}


def check_record(check: Check) -> dict[str, Any]:
    """A check; its files are named, not held."""
    answer = check.answer
    return {
        "id": check.id,
        "photo": asdict(check.photo),
        "sent_sha256": check.sent_sha256,
        "sent_at": check.sent_at.isoformat(),
        "view": check.view,
        "told": asdict(check.told),
        "state": check.state,
        "answer": None if answer is None else answer_record(answer),
        "original": None if check.original is None else answer_record(check.original),
        "original_outdated": check.original_outdated,
    }


def answer_record(answer: Answer) -> dict[str, Any]:
    """An answer; its pictures are named, not held."""
    when = answer.answered_at.isoformat() if answer.answered_at else None
    said = {"result": answer.result, "words": answer.words, "seconds": answer.seconds, "answered_at": when}
    return said | {"pictures": asdict(answer.pictures)}


def fit_record(fit: Fit) -> dict[str, Any]:
    """How one socket fitted."""
    return {"socket": fit.socket, "outcome": fit.outcome, "noted_at": fit.noted_at.isoformat()}


def board_from_record(record: Mapping[str, Any], person: str) -> Board:
    """A board of that person.

    Raises KeyError, TypeError, ValueError or OverflowError for a damaged record, MistakeError for values. Standing and
    thumbnail follow from the checks.
    """
    created, when = moment_of(record["created"]), record.get("handed_in")
    name, details = board_name(record["name"], created), _details(record["details"])
    title = text_of(record.get("assignment", ""), LONGEST_NAME)
    handed_in = moment_of(when) if title and when else None
    check_text("assignment", title, LONGEST_NAME)
    note = fit_note(text_of(record.get("fit_note", ""), LONGEST_TEXT))
    board = Board(id_of(record["id"]), person, name, created, details, assignment_title=title, handed_in=handed_in)
    return replace(board, fit_note=note)


def check_from_record(record: Mapping[str, Any], board: Board, names: Mapping[str, str]) -> Check:
    """A check of that board; `names` are its files' names as they are stored now. Raises like `board_from_record`."""
    answer, original, photo, told = record["answer"], record.get("original"), record["photo"], record["told"]
    check = Check(
        id_of(record["id"]),
        board.id,
        board.person,
        StoredPhoto(names[photo["name"]], one_of(photo["kind"], PHOTO_KINDS)),
        digest_of(record["sent_sha256"]),
        moment_of(record["sent_at"]),
        one_of(record["view"], get_args(View)),
        _told(told),
        one_of(record["state"], get_args(CheckState)),
        None if answer is None else answer_from_record(answer, names),
        None if original is None else answer_from_record(original, names),
        record.get("original_outdated") is True,
    )
    _check_answers(check)
    return check


def _told(record: Mapping[str, Any]) -> Told:
    stage, side = one_of(record["stage"], (None, *get_args(Stage))), one_of(record["card_side"], get_args(CardSide))
    how_cut = {name: text_of(words, LONGEST) for name, words in record.get("how_cut", {}).items()}
    return Told(stage, side, lines_from_record(record.get("walls", ())), HowCut(**how_cut))


def _check_answers(check: Check) -> None:
    """Raise ValueError unless a page can be laid out from the answers, and corrected walls have an original."""
    _check_answer(check)
    if check.corrected != bool(check.told.walls):
        raise ValueError("corrected walls and the program's own answer come together")
    if check.corrected:
        _check_answer(check.uncorrected())


def _check_answer(check: Check) -> None:
    """Raise KeyError, TypeError or ValueError unless log, pages and prints have what they need of an answer."""
    check_words(check)
    if check.state in ("waiting", "kept") or check.answer is None:
        return
    if check.answer.answered_at is None:
        raise ValueError("an answer without its moment")
    if check.state == "measured":
        _check_measured(check.answer.result, check.view)


def _check_measured(result: Mapping[str, Any], view: View) -> None:
    """Only an end advises, and its pins stand between its walls; older results do not tell these."""
    if view == "drill":
        figures_of(result)
    if view != "end" and "advice" in result:
        raise ValueError("a face or practice cuts that advise")
    if view != "end":
        return
    one_of(result["advice"], ADVICES)
    walls, sockets = result.get("walls", ()), result.get("sockets", ())
    if walls:
        one_of(result["stage"], get_args(Stage))
    if walls and len(walls) != 2 * (len(sockets) - 1):
        raise ValueError("walls and sockets that do not go together")


def fits_from_record(records: Sequence[Mapping[str, Any]]) -> list[Fit]:
    """How the sockets fitted, each told once. Raises like `board_from_record`."""
    fits = [Fit(int(record["socket"]), record["outcome"], moment_of(record["noted_at"])) for record in records]
    if len({fit.socket for fit in fits}) < len(fits):
        raise ValueError("how a socket fitted is told twice")
    return fits


def answer_from_record(record: Mapping[str, Any], names: Mapping[str, str]) -> Answer:
    """An answer; `names` are its pictures' names as they are stored now. Raises like `board_from_record`."""
    pictures = {which: names[name] for which, name in record["pictures"].items() if name}
    when = moment_of(record["answered_at"]) if record["answered_at"] else None
    result, words = plain(dict(record["result"])), plain(dict(record["words"]))
    return Answer(result, words, Pictures(**pictures), when, float(record["seconds"]))


def _details(record: Mapping[str, Any]) -> Details:
    thickness_mm = record["thickness_mm"]
    texts = {name: text_of(record[name], 10_000) for name in ("species", "saw", "plan", "notes")}
    texts["print"] = text_of(record.get("print", ""), 10_000)
    return Details(thickness_mm=None if thickness_mm is None else float(thickness_mm), **texts)
