"""Refusals, warnings and flags: each defined once, in sentences, with something to do."""

from __future__ import annotations

import pytest

from calibration.outcome import FLAGS, REFUSALS, WARNINGS, Kind, refuse

TABLES = {"refusal": REFUSALS, "warning": WARNINGS, "flag": FLAGS}
KINDS = [pytest.param(name, kind, id=f"{word}-{name}") for word, rows in TABLES.items() for name, kind in rows.items()]


@pytest.mark.parametrize(("name", "kind"), KINDS)
def test_each_kind_says_what_is_wrong_and_what_to_do(name: str, kind: Kind) -> None:
    assert kind.reason == name
    assert name.isidentifier()
    assert name == name.lower()
    for sentence in (kind.message, kind.what_to_do):
        assert sentence[0].isupper()
        assert sentence.endswith(".")


def test_no_name_is_used_twice() -> None:
    names = [name for rows in TABLES.values() for name in rows]
    assert len(names) == len(set(names))


def test_a_refusal_carries_its_detail_and_becomes_json() -> None:
    refusal = refuse("too_oblique", "It is tilted by about 41 degrees.").refusal
    assert refusal.message == f"{REFUSALS['too_oblique'].message} It is tilted by about 41 degrees."
    assert refusal.to_dict() == {
        "reason": "too_oblique",
        "message": refusal.message,
        "what_to_do": REFUSALS["too_oblique"].what_to_do,
    }


def test_a_refusal_without_detail_is_the_tables_own_sentence() -> None:
    assert str(refuse("no_card")) == REFUSALS["no_card"].message


def test_an_unknown_reason_is_a_programming_error() -> None:
    with pytest.raises(KeyError, match="no_such_reason"):
        refuse("no_such_reason")
