"""Phones and programs are let in by secrets that nobody can read out of the log, and are dropped for good."""

from __future__ import annotations

import pytest
from sqlalchemy import text

from service.domain.mistakes import MistakeError, NotFoundError
from service.use_cases.pair_device import (
    accept_pairing,
    drop_device,
    issue_token,
    list_devices,
    offer_pairing,
    person_with,
)
from tests.service.house import House


def test_a_code_pairs_one_phone_with_the_person_who_offered_it(house: House) -> None:
    secret = accept_pairing(offer_pairing("ann", house.ports), "Phone", house.ports)
    assert person_with(secret, house.ports)[0].id == "ann"
    assert [(each.name, each.kind) for each in list_devices("ann", house.ports)] == [("Phone", "phone")]


def test_a_code_works_once(house: House) -> None:
    code = offer_pairing("ann", house.ports)
    accept_pairing(code, "Phone", house.ports)
    with pytest.raises(NotFoundError):
        accept_pairing(code, "Another", house.ports)
    assert len(list_devices("ann", house.ports)) == 1


def test_a_code_grows_old_in_ten_minutes(house: House) -> None:
    young, old = offer_pairing("ann", house.ports), offer_pairing("ann", house.ports)
    house.later(minutes=10)
    accept_pairing(young, "Phone", house.ports)
    house.later(seconds=1)
    with pytest.raises(NotFoundError):
        accept_pairing(old, "Phone", house.ports)


def test_codes_that_nobody_used_are_cleared_away(house: House) -> None:
    offer_pairing("ann", house.ports)
    house.later(hours=1)
    offer_pairing("ann", house.ports)
    with house.engine.connect() as connection:
        assert connection.scalar(text("SELECT count(*) FROM pairings")) == 1


def test_a_dropped_device_is_a_stranger_from_then_on(house: House) -> None:
    secret = issue_token("ann", "script", house.ports)
    drop_device("ann", list_devices("ann", house.ports)[0].id, house.ports)
    with pytest.raises(NotFoundError):
        person_with(secret, house.ports)


def test_nobody_drops_anothers_device(house: House) -> None:
    secret = issue_token("ann", "script", house.ports)
    with pytest.raises(NotFoundError):
        drop_device("ben", list_devices("ann", house.ports)[0].id, house.ports)
    assert person_with(secret, house.ports)[0].id == "ann"


def test_the_log_holds_no_secret_that_could_be_used(house: House) -> None:
    code, token = offer_pairing("ann", house.ports), issue_token("ann", "script", house.ports)
    with house.engine.connect() as connection:
        tables = [connection.execute(text(f"SELECT * FROM {table}")) for table in ("devices", "pairings")]
        kept = [str(tuple(row)) for table in tables for row in table]
    assert kept
    assert not any(secret in row for secret in (code, token) for row in kept)


def test_phones_and_programs_are_let_in_until_they_are_dropped(house: House) -> None:
    secrets = [accept_pairing(offer_pairing("ann", house.ports), "Phone", house.ports)]
    secrets.append(issue_token("ann", "script", house.ports))
    house.later(days=1000)
    assert [person_with(secret, house.ports)[1] for secret in secrets] == ["phone", "program"]


def test_when_a_device_was_seen_is_written_down_hourly(house: House) -> None:
    secret = issue_token("ann", "script", house.ports)
    house.later(hours=1)
    person_with(secret, house.ports)
    first = list_devices("ann", house.ports)[0]
    assert first.seen_at == first.paired_at
    house.later(seconds=1)
    person_with(secret, house.ports)
    assert list_devices("ann", house.ports)[0].seen_at == house.clock[0]


def test_a_name_that_cannot_be_kept_lets_nobody_in(house: House) -> None:
    with pytest.raises(MistakeError, match="too long"):
        issue_token("ann", "x" * 61, house.ports)
    assert list_devices("ann", house.ports) == []
