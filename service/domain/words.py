"""What the words of an answer must hold for a page to be laid out from them."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from service.domain.check import FACES, Check
from service.domain.together import Together


@dataclass(frozen=True)
class Words:
    """What the words of one kind of answer hold: texts, lists of texts, and lists of rows with their texts."""

    texts: tuple[str, ...]
    lists: tuple[str, ...]
    tables: Mapping[str, tuple[str, ...]]

    def check(self, words: Mapping[str, Any]) -> None:
        """Raise KeyError, TypeError or ValueError unless all of it is there."""
        _check_texts(words, self.texts)
        for name in self.lists:
            _check_list(words[name])
        for name, columns in self.tables.items():
            for row in words[name]:
                _check_texts(row, columns)


OF_END = Words(
    ("verdict", "board"),
    ("settle", "off_square", "known", "assumptions"),
    {
        "sockets": ("name", "verdict", "sentence", "taper", "gap", "squeeze", "crush", "split"),
        "walls": ("name", "lean", "out_of_square", "x_show", "kerf"),
        "doubts": ("message", "what_to_do"),
        "budgets": ("title",),
    },
)
OF_FACE = Words(
    ("verdict", "board", "baseline", "slopes"),
    ("known",),
    {
        "cuts": ("name", "verdict", "sentence", "past", "slope", "ratio", "stop", "x", "kerf"),
        "doubts": ("message", "what_to_do"),
    },
)
OF_CUTS = Words(
    ("verdict", "board"),
    ("strayed", "known"),
    {
        "cuts": ("name", "place", "meant", "lean", "spacing", "zone", "bow", "kerf", "edge", "mark"),
        "figures": ("name", "value", "firm"),
        "doubts": ("message", "what_to_do"),
    },
)
OF_PLAN = Words(("plan",), ("said",), {"lines": ("name", "intended", "off_show", "off_transfer", "course")})
IN_DEPTH = Words(
    ("verdict", "board"),
    ("agreement", "notes", "assumptions"),
    {
        "sockets": ("name", "verdict", "sentence", "taper_end", "taper_baseline", "gap", "squeeze", "mean"),
        "walls": ("name", "lean_end", "lean_baseline", "slope_show", "slope_transfer"),
        "doubts": ("message", "what_to_do"),
    },
)


def check_words(check: Check) -> None:
    """Raise ValueError unless the words of a check that has an answer are complete in both units."""
    answer = check.answer
    if check.state in ("waiting", "kept"):
        return
    if answer is None:
        raise ValueError("an answered check without an answer")
    for units in ("mm", "inch"):
        words = answer.words[units]
        if check.state != "measured":
            _check_texts(words, ("message", "what_to_do"))
        elif check.view in FACES:
            OF_FACE.check(words)
        elif check.view == "drill":
            OF_CUTS.check(words)
        else:
            _check_end(words)


def check_together(together: Together) -> None:
    """Raise KeyError, TypeError or ValueError unless a page can be laid out from what a board's photos say together."""
    answer = together.answer
    if together.state == "waiting" or answer is None:
        return
    for units in ("mm", "inch"):
        words = answer.words[units]
        if together.state == "failed":
            _check_texts(words, ("message", "what_to_do"))
            continue
        for photo in words["photos"]:
            _check_texts(photo, ("name", "check", "view"))
        for name, whole in (("end", _check_end), ("board", IN_DEPTH.check)):
            if words[name] is not None:
                _check_part(words[name], whole)


def _check_part(words: Mapping[str, Any], whole: Callable[[Mapping[str, Any]], None]) -> None:
    """A result that is whole, with whether the photos agree, or a refusal."""
    if "message" in words:
        _check_texts(words, ("message", "what_to_do"))
    else:
        _check_list(words["agreement"])
        whole(words)


def _check_end(words: Mapping[str, Any]) -> None:
    OF_END.check(words)
    _check_list(words.get("corrected", []))
    if "plan" in words:
        OF_PLAN.check(words["plan"])
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
