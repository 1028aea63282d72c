"""What a board's photos say together as plain data, for export and import."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any, get_args

from service.domain.check import Answer, Check
from service.domain.log_record import answer_from_record, answer_record
from service.domain.read_record import one_of
from service.domain.together import Together, TogetherState, basis_of, belonging
from service.domain.words import check_together


def together_record(together: Together) -> dict[str, Any]:
    """What a board's photos say together; its pictures are named, not held."""
    answer = None if together.answer is None else answer_record(together.answer)
    return {"left_out": list(together.left_out), "state": together.state, "answer": answer}


def together_from_record(
    record: Mapping[str, Any], board: str, checks: Mapping[str, str], names: Mapping[str, str], came: Sequence[Check]
) -> Together:
    """What the photos of that board that `came` say together; without an answer unless all of them came along.

    `checks` and `names` are the photos' ids and the files' names as they are now. Raises KeyError, TypeError,
    ValueError or OverflowError for a damaged record.
    """
    answer = None if record["answer"] is None else answer_from_record(record["answer"], names)
    left_out = tuple(checks[check] for check in record["left_out"] if checks.get(check))
    state: TogetherState = one_of(record["state"], get_args(TogetherState))
    check_together(Together(board, left_out, "", state, answer))
    basis = basis_of(belonging(came, left_out))
    if state != "ready" or not all(checks.values()) or not basis or answer is None:
        return Together(board, left_out)
    return Together(board, left_out, basis, state, _renamed(answer, checks))


def _renamed(answer: Answer, checks: Mapping[str, str]) -> Answer:
    """The answer with the photos' ids as they are now."""
    words = {units: _told(told, checks) for units, told in answer.words.items()}
    return replace(answer, result=_told(answer.result, checks), words=words)


def _told(told: Mapping[str, Any], checks: Mapping[str, str]) -> dict[str, Any]:
    photos = [photo | {"check": checks[photo["check"]]} for photo in told["photos"]]
    return {**told, "photos": photos}
