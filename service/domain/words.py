"""What the words of an answer must hold for a page to be laid out from them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from service.domain.check import Check

SENTENCES = ("verdict", "board")
LISTS = ("settle", "off_square", "known", "assumptions")
TABLES: Mapping[str, tuple[str, ...]] = {
    "sockets": ("name", "verdict", "sentence", "taper", "gap", "squeeze", "crush", "split"),
    "walls": ("name", "lean", "out_of_square", "x_show", "kerf"),
    "doubts": ("message", "what_to_do"),
    "budgets": ("title",),
}
"""Lists of rows, and the texts that every row has."""


def check_words(check: Check) -> None:
    """Raise ValueError unless the words of a check that has an answer are complete in both units."""
    answer = check.answer
    if check.state in ("waiting", "kept"):
        return
    if answer is None:
        raise ValueError("an answered check without an answer")
    for units in ("mm", "inch"):
        words = answer.words[units]
        if check.state == "measured":
            _check_measured(words)
        else:
            _check_texts(words, ("message", "what_to_do"))


def _check_measured(words: Mapping[str, Any]) -> None:
    _check_texts(words, SENTENCES)
    for name in LISTS:
        _check_list(words[name])
    for name, columns in TABLES.items():
        for row in words[name]:
            _check_texts(row, columns)
    for wall in words["walls"]:
        _check_list(wall["flags"])
    for budget in words["budgets"]:
        _check_list(budget["advice"])
        for row in budget["rows"]:
            _check_list(row)
            if len(row) != 3:
                raise ValueError("a row of a budget has three texts")


def _check_texts(row: Mapping[str, Any], names: tuple[str, ...]) -> None:
    for name in names:
        if not isinstance(row[name], str):
            raise ValueError(f"{name} is no text")


def _check_list(texts: Any) -> None:
    if not isinstance(texts, list) or not all(isinstance(text, str) for text in texts):
        raise ValueError("a list of texts is missing")
