"""The rules of a layout review as data that a teacher edits."""

from __future__ import annotations

import json
from typing import Any

import pytest

from calibration.kept_format import NewerFormatError
from vision.layout.rules import DEFAULT_RULES, rules_from_dict, rules_to_dict


def edited(**changes: Any) -> dict[str, Any]:
    return {"format": 1, "rules": [{"id": "half_pins"} | changes]}


def test_the_default_rules_come_back_as_they_were() -> None:
    assert rules_from_dict(json.loads(json.dumps(rules_to_dict(DEFAULT_RULES)))) == DEFAULT_RULES


def test_what_a_file_leaves_out_keeps_its_default() -> None:
    changed = rules_from_dict(edited(on=False))
    assert [rule.id for rule in changed] == [rule.id for rule in DEFAULT_RULES]
    assert [rule.id for rule in changed if not rule.on] == ["half_pins"]
    assert [one for one, rule in zip(changed, DEFAULT_RULES, strict=True) if one != rule] == [
        rule for rule in changed if not rule.on
    ]


def test_words_and_limits_can_be_a_teachers_own() -> None:
    rules = {r.id: r for r in rules_from_dict(edited(words="Half pins {least_times}x.", limits={"least_times": 1.5}))}
    assert rules["half_pins"].shown(lambda name, value: f"{name}={value:g}") == "Half pins least_times=1.5x."


def test_every_default_rule_names_its_limits_in_its_words() -> None:
    for rule in DEFAULT_RULES:
        shown = rule.shown(lambda name, value: f"<{name}>")
        assert all(f"<{name}>" in shown for name in rule.limits)


@pytest.mark.parametrize(
    ("data", "message"),
    [
        ([], "an object with format and rules is expected"),
        ({"format": 1}, "a list named rules is expected"),
        ({"format": 1, "rules": ["half_pins"]}, "a list named rules is expected"),
        ({"format": 1, "rules": [{"id": "lucky"}]}, "there is no rule 'lucky'; the rules are symmetry, even_tails"),
        (edited(on="no"), "rule half_pins: on must be true or false, got 'no'"),
        (edited(words=" "), "rule half_pins: its words must be a sentence"),
        (edited(words="About {width}."), "rule half_pins: braces in its words may only hold least_times"),
        (edited(words="{least_times.real}"), "braces in its words may only hold"),
        (edited(words="{least_times!r}"), "braces in its words may only hold"),
        (edited(words="{least_times"), "braces in its words may only hold"),
        (edited(limits=3), "rule half_pins: its limits must be an object"),
        (edited(limits={"most": 2}), "there is no limit 'most'; it has least_times"),
        (edited(limits={"least_times": 0}), "least_times must be a number above zero, got 0"),
        (edited(limits={"least_times": True}), "must be a number above zero, got True"),
        (edited(limits={"least_times": "2"}), "must be a number above zero, got '2'"),
    ],
)
def test_a_mistake_in_the_rules_is_told_by_rule_and_key(data: object, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        rules_from_dict(data)


def test_rules_of_a_later_format_are_refused_as_such() -> None:
    with pytest.raises(NewerFormatError, match="written in format 2"):
        rules_from_dict({"format": 2, "rules": []})


def test_rules_of_the_first_format_stay_readable() -> None:
    kept = {
        "format": 1,
        "rules": [{"id": "slim_pins", "on": True, "words": "Slim, {most_mm}.", "limits": {"most_mm": 3.0}}],
    }
    assert {rule.id: rule.limits for rule in rules_from_dict(kept)}["slim_pins"] == {"most_mm": 3.0}
