"""A board with all that belongs to it as plain data, for export and import; old versions stay readable for ever."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from datetime import UTC, datetime
from typing import Any, get_args

from service.domain.board import Board, Details, board_name
from service.domain.check import Answer, CardSide, Check, CheckState, Pictures, Stage, StoredPhoto, Told, View
from service.domain.fit import Fit
from service.domain.words import check_words

FORMAT, VERSION = "tailproof-log", 1
LONGEST_ID = 32


def board_record(board: Board) -> dict[str, Any]:
    """A board without its photos."""
    named = {"id": board.id, "name": board.name, "created": board.created.isoformat()}
    return named | {"details": asdict(board.details)}


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
        "answer": None if answer is None else _answer_record(answer),
    }


def _answer_record(answer: Answer) -> dict[str, Any]:
    when = answer.answered_at.isoformat() if answer.answered_at else None
    said = {"result": answer.result, "words": answer.words, "seconds": answer.seconds, "answered_at": when}
    return said | {"pictures": asdict(answer.pictures)}


def fit_record(fit: Fit) -> dict[str, Any]:
    """How one socket fitted."""
    return {"socket": fit.socket, "outcome": fit.outcome, "noted_at": fit.noted_at.isoformat()}


def board_from_record(record: Mapping[str, Any], person: str) -> Board:
    """A board of that person. Raises KeyError, TypeError or ValueError for a damaged record, MistakeError for values.

    Standing and thumbnail follow from the checks.
    """
    created = _moment(record["created"])
    return Board(_id(record["id"]), person, board_name(record["name"], created), created, _details(record["details"]))


def check_from_record(record: Mapping[str, Any], board: Board, names: Mapping[str, str]) -> Check:
    """A check of that board; `names` are its files' names as they are stored now. Raises like `board_from_record`."""
    answer, photo, told = record["answer"], record["photo"], record["told"]
    check = Check(
        _id(record["id"]),
        board.id,
        board.person,
        StoredPhoto(names[photo["name"]], str(photo["kind"])),
        _text(record["sent_sha256"], 64),
        _moment(record["sent_at"]),
        _one_of(record["view"], get_args(View)),
        Told(_one_of(told["stage"], (None, *get_args(Stage))), _one_of(told["card_side"], get_args(CardSide))),
        _one_of(record["state"], get_args(CheckState)),
        None if answer is None else _answer(answer, names),
    )
    check_words(check)
    return check


def fit_from_record(record: Mapping[str, Any]) -> Fit:
    """How one socket fitted. Raises like `board_from_record`."""
    return Fit(int(record["socket"]), record["outcome"], _moment(record["noted_at"]))


def _answer(record: Mapping[str, Any], names: Mapping[str, str]) -> Answer:
    pictures = {which: names[name] for which, name in record["pictures"].items() if name}
    when = _moment(record["answered_at"]) if record["answered_at"] else None
    return Answer(dict(record["result"]), dict(record["words"]), Pictures(**pictures), when, float(record["seconds"]))


def _details(record: Mapping[str, Any]) -> Details:
    thickness_mm = record["thickness_mm"]
    texts = {name: _text(record[name], 10_000) for name in ("species", "saw", "plan", "notes")}
    return Details(thickness_mm=None if thickness_mm is None else float(thickness_mm), **texts)


def _one_of(value: Any, known: tuple[Any, ...]) -> Any:
    if value not in known:
        raise ValueError(f"{value!r} is not one of {known}")
    return value


def _id(value: Any) -> str:
    name = _text(value, LONGEST_ID)
    if not name or not all(letter.isascii() and (letter.isalnum() or letter in "-_") for letter in name):
        raise ValueError(f"{value!r} is no id")
    return name


def _text(value: Any, longest: int) -> str:
    if not isinstance(value, str) or len(value) > longest:
        raise ValueError("a text is missing or too long")
    return value


def _moment(value: Any) -> datetime:
    moment = datetime.fromisoformat(_text(value, 40))
    return moment.replace(tzinfo=UTC) if moment.tzinfo is None else moment.astimezone(UTC)
