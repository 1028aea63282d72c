"""Kept JSON files say in which format they are: older ones can always be read, newer ones never by guessing."""

from __future__ import annotations

from typing import Any


class NewerFormatError(ValueError):
    """A file written by a newer version of the program."""


def in_known_format(data: object, newest: int, wrong: str) -> dict[str, Any]:
    """The parsed file `data`, an object whose `format` is a number up to `newest`.

    Raises NewerFormatError for a higher one, and ValueError, saying `wrong`, for anything else.
    """
    if not isinstance(data, dict) or not isinstance(data.get("format"), int):
        raise ValueError(wrong)
    if data["format"] > newest:
        raise NewerFormatError(f"written in format {data['format']}, this version of the program reads up to {newest}")
    return data
