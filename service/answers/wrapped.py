"""Sentences wrapped to the width of an answer, never between a number and its unit."""

from __future__ import annotations

import re
import textwrap

WIDTH = 80
_BEFORE_UNIT = re.compile(r"(?<=\d) (?=(?:mm|px|MB|N|%|°|deg|±)(?![a-z]))|(?<=[N±]) (?=[m/\d])|(?<=/) (?=mm)")
_HELD = "\N{NO-BREAK SPACE}"


def wrapped(text: str, first: str = "", rest: str = "") -> list[str]:
    """The lines of `text`, the first one behind `first`, the others behind `rest`."""
    held = _BEFORE_UNIT.sub(_HELD, text)
    lines = textwrap.wrap(
        held, WIDTH, initial_indent=first, subsequent_indent=rest, break_long_words=False, break_on_hyphens=False
    )
    return [line.replace(_HELD, " ") for line in lines]
