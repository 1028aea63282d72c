"""The trade's opinions on a layout as rules that a teacher may reword, re-set or switch off: versioned data.

None of them is a law and none has a source we know of: common practice. A rule's words may name its own limits in
braces, `{least_mm}`; they are put in when the rule is shown.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from string import Formatter
from typing import Any

from calibration.kept_format import in_known_format

FORMAT = 1
"""Version of the rules' data. Every version ever written stays readable."""

SLIM_PIN_MM = 4.7625
"""3/16 inch: slimmer than the shank of a common router bit for dovetails."""


@dataclass(frozen=True)
class Rule:
    """One opinion: its name, whether it is on, its words, and its limits by name (the unit is in the name)."""

    id: str
    words: str
    limits: Mapping[str, float]
    on: bool = True

    def shown(self, show: Callable[[str, float], str]) -> str:
        """The words with every limit put in as `show(name, value)` writes it."""
        return self.words.format_map({name: show(name, value) for name, value in self.limits.items()})

    def to_dict(self) -> dict[str, Any]:
        """The rule as data for JSON."""
        return {"id": self.id, "on": self.on, "words": self.words, "limits": dict(self.limits)}


DEFAULT_RULES: tuple[Rule, ...] = (
    Rule(
        "symmetry",
        "Most joints look best when the left half mirrors the right, to about {most_mm}.",
        {"most_mm": 1.0},
    ),
    Rule(
        "even_tails",
        "Tails of one row look even when their widths differ by no more than about {most_mm}.",
        {"most_mm": 0.8},
    ),
    Rule(
        "even_pins",
        "Pins of one row look even when their widths differ by no more than about {most_mm}.",
        {"most_mm": 0.5},
    ),
    Rule(
        "half_pins",
        "A half pin is held on one side only: make it no smaller than the inner pins ({least_times} times the widest).",
        {"least_times": 1.0},
    ),
    Rule(
        "slim_pins",
        "Where hand-cut looks are wanted: inner pins slimmer than about {most_mm} have them.",
        {"most_mm": SLIM_PIN_MM},
    ),
    Rule(
        "pin_and_kerf",
        "A pin thinner than the kerf leaves no wood between two saw cuts: keep it at {least_times} kerfs or more.",
        {"least_times": 1.0},
    ),
    Rule(
        "slope_steep",
        "A slope steeper than about 1:{steepest_n} leaves short grain at the tail's corners that breaks easily.",
        {"steepest_n": 5.0},
    ),
    Rule(
        "slope_usual",
        "The usual slope is no steeper than 1:{steepest_n}.",
        {"steepest_n": 6.0},
    ),
    Rule(
        "slope_flat",
        "A slope flatter than about 1:{flattest_n} starts to look like a box joint, and holds like one.",
        {"flattest_n": 8.0},
    ),
    Rule(
        "section",
        "At the baseline the tails should keep at least about {least_share} of the board's width.",
        {"least_share": 0.5},
    ),
    Rule(
        "weak_link",
        "When the roots of the tails bear less than {least_times} times what the glue bears, the board is the weak"
        " link: it breaks before the joint opens. Fewer tails or slimmer pins leave more of it.",
        {"least_times": 1.0},
    ),
)


def rules_to_dict(rules: tuple[Rule, ...]) -> dict[str, Any]:
    """The rules as data for JSON."""
    return {"format": FORMAT, "rules": [rule.to_dict() for rule in rules]}


def rules_from_dict(data: object) -> tuple[Rule, ...]:
    """All rules, those in `data` in place of the default ones; keys left out keep their default.

    Raises NewerFormatError, or ValueError with a sentence on what is wrong.
    """
    wrong = "these are not rules: an object with format and rules is expected"
    given = in_known_format(data, FORMAT, wrong).get("rules")
    if not isinstance(given, list) or not all(isinstance(each, dict) for each in given):
        raise ValueError("these are not rules: a list named rules is expected")
    rules = {rule.id: rule for rule in DEFAULT_RULES}
    for each in given:
        rule = _known_rule(each.get("id"), rules)
        rules[rule.id] = _changed(rule, each)
    return tuple(rules.values())


def _known_rule(name: object, rules: Mapping[str, Rule]) -> Rule:
    if not isinstance(name, str) or name not in rules:
        raise ValueError(f"there is no rule {name!r}; the rules are {', '.join(rules)}")
    return rules[name]


def _changed(rule: Rule, data: Mapping[str, Any]) -> Rule:
    """`rule` with what `data` says in place of its own."""
    on, words = data.get("on", rule.on), data.get("words", rule.words)
    if not isinstance(on, bool):
        raise ValueError(f"rule {rule.id}: on must be true or false, got {on!r}")
    if not isinstance(words, str) or not words.strip():
        raise ValueError(f"rule {rule.id}: its words must be a sentence")
    changed = replace(rule, on=on, words=words, limits=_changed_limits(rule, data.get("limits", {})))
    _check_words(changed)
    return changed


def _changed_limits(rule: Rule, given: object) -> Mapping[str, float]:
    if not isinstance(given, dict):
        raise ValueError(f"rule {rule.id}: its limits must be an object")
    for name, value in given.items():
        if name not in rule.limits:
            raise ValueError(f"rule {rule.id}: there is no limit {name!r}; it has {', '.join(rule.limits)}")
        if isinstance(value, bool) or not isinstance(value, int | float) or not 0.0 < value < math.inf:
            raise ValueError(f"rule {rule.id}: {name} must be a number above zero, got {value!r}")
    return {name: float(given.get(name, value)) for name, value in rule.limits.items()}


def _check_words(rule: Rule) -> None:
    """Braces in the words may hold the names of the rule's limits and nothing else."""
    wrong = f"rule {rule.id}: braces in its words may only hold {', '.join(rule.limits)}"
    try:
        fields = [part[1:] for part in Formatter().parse(rule.words) if part[1] is not None]
    except ValueError as error:
        raise ValueError(wrong) from error
    if any(name not in rule.limits or spec or conversion for name, spec, conversion in fields):
        raise ValueError(wrong)
