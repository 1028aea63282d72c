"""Words in colour for a terminal that wants it; plain everywhere else. The words never depend on the colour."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TextIO

_CODES = {"bold": "1", "dim": "2", "seats": "36", "loose": "33", "splitting": "35", "too close to call": "1"}
"""ANSI codes (ECMA-48): cyan, yellow and magenta, which stay apart for every kind of colour vision."""


def wants_colour(stream: TextIO, environ: Mapping[str, str]) -> bool:
    """Only a terminal, and only when neither NO_COLOR nor a dumb terminal forbids it."""
    return stream.isatty() and not environ.get("NO_COLOR") and environ.get("TERM") != "dumb"


def paint(words: str, style: str, colour: bool) -> str:
    """`words` in a style: bold, dim or a verdict; unchanged without `colour`. Raises KeyError for another style."""
    return f"\x1b[{_CODES[style]}m{words}\x1b[0m" if colour else words
