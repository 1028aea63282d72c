"""Values out of a record that somebody brings: each is what it has to be, or the record is damaged (ValueError)."""

from __future__ import annotations

import json
import re
from datetime import UTC, datetime
from typing import Any, TypeVar

LONGEST_ID = 32
_DIGEST = re.compile(r"[0-9a-f]{64}")
Value = TypeVar("Value")


def one_of(value: Any, known: tuple[Any, ...]) -> Any:
    """One of the values that are known."""
    if value not in known:
        raise ValueError(f"{value!r} is not one of {known}")
    return value


def id_of(value: Any) -> str:
    """A name for a row: letters, digits, dashes."""
    name = text_of(value, LONGEST_ID)
    if not name or not all(letter.isascii() and (letter.isalnum() or letter in "-_") for letter in name):
        raise ValueError(f"{value!r} is no id")
    return name


def digest_of(value: Any) -> str:
    """A SHA-256 in small hexadecimal letters."""
    digest = text_of(value, 64)
    if not _DIGEST.fullmatch(digest):
        raise ValueError(f"{value!r} is no SHA-256")
    return digest


def plain(value: Value) -> Value:
    """The same, if JSON can say it: numbers that are none, which Python reads, not every database takes."""
    json.dumps(value, allow_nan=False)
    return value


def text_of(value: Any, longest: int) -> str:
    """A text no longer than that."""
    if not isinstance(value, str) or len(value) > longest:
        raise ValueError("a text is missing or too long")
    return value


def moment_of(value: Any) -> datetime:
    """A moment in UTC; one without a zone is taken for it."""
    moment = datetime.fromisoformat(text_of(value, 40))
    return moment.replace(tzinfo=UTC) if moment.tzinfo is None else moment.astimezone(UTC)
