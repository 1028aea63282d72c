"""The practice log as versioned JSON, out and in again without loss."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Callable, Iterable, Mapping
from dataclasses import asdict
from typing import Any

from service.practice.entries import Chances, PracticeBoard, PracticeSocket, PracticeWall

FORMAT = "tailproof practice log"
VERSION = 1
UPGRADES: Mapping[int, Callable[[dict[str, Any]], dict[str, Any]]] = {}
"""From each past version to the next; files of every version stay readable."""


def export_json(boards: Iterable[PracticeBoard]) -> str:
    """The boards as JSON text, one object."""
    return json.dumps(export_dict(boards), ensure_ascii=False, indent=1)


def export_dict(boards: Iterable[PracticeBoard]) -> dict[str, Any]:
    """The boards as one JSON object, with its format and version."""
    return {"format": FORMAT, "version": VERSION, "boards": [board_dict(board) for board in boards]}


def board_dict(board: PracticeBoard) -> dict[str, Any]:
    """One board as JSON; its keys are the names of the fields."""
    return {**asdict(board), "date": board.date.isoformat()}


def import_json(text: str) -> list[PracticeBoard]:
    """The boards of an export. Raises ValueError with a sentence where it is not one, or is damaged."""
    try:
        record = json.loads(text)
    except json.JSONDecodeError as error:
        raise ValueError(f"this is not JSON: {error}") from None
    return import_dict(record)


def import_dict(record: Any) -> list[PracticeBoard]:
    """As `import_json`, from the object."""
    if not isinstance(record, dict) or record.get("format") != FORMAT:
        raise ValueError(f"this is no {FORMAT}: the key format must say so")
    boards = _upgraded(record).get("boards")
    if not isinstance(boards, list):
        raise ValueError("the practice log has no list of boards")
    return [_board_numbered(number, board) for number, board in enumerate(boards, start=1)]


def board_from_dict(record: Mapping[str, Any]) -> PracticeBoard:
    """The board that `board_dict` wrote. Raises ValueError, TypeError or KeyError for anything else."""
    fields = dict(record)
    return PracticeBoard(
        **{
            **fields,
            "date": dt.date.fromisoformat(fields["date"]),
            "walls": tuple(_wall(wall) for wall in fields["walls"]),
            "sockets": tuple(_socket(socket) for socket in fields["sockets"]),
        }
    )


def _upgraded(record: dict[str, Any]) -> dict[str, Any]:
    version = record.get("version")
    if not isinstance(version, int) or not 1 <= version <= VERSION:
        raise ValueError(f"version must be 1 to {VERSION}, got {version!r}: a newer Tailproof wrote this log")
    for step in range(version, VERSION):
        record = UPGRADES[step](record)
    return record


def _board_numbered(number: int, record: Any) -> PracticeBoard:
    try:
        return board_from_dict(record)
    except KeyError as error:
        raise ValueError(f"board {number} of the log has no {error.args[0]!r}") from None
    except (TypeError, ValueError, AttributeError) as error:
        raise ValueError(f"board {number} of the log cannot be read: {error}") from None


def _wall(record: Mapping[str, Any]) -> PracticeWall:
    return PracticeWall(**{**record, "flags": tuple(record["flags"])})


def _socket(record: Mapping[str, Any]) -> PracticeSocket:
    chances = record["chances"]
    return PracticeSocket(**{**record, "chances": None if chances is None else Chances(**chances)})
