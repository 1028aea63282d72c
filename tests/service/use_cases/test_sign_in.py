"""Accounts by invitation: one code, one person; a password known to its person alone; gone with everything."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor, wait

import pytest
from sqlalchemy import text

from service.domain.account import Account
from service.domain.mistakes import MistakeError, NotFoundError
from service.domain.person import Person
from service.storage.passwords import Passwords
from service.use_cases.keep_log import look_at_board
from service.use_cases.pair_device import accept_pairing, issue_token, list_devices, offer_pairing, person_with
from service.use_cases.sign_in import (
    has_owner,
    invite,
    join,
    list_people,
    look_at_invitation,
    offer_recovery,
    recover,
    remove_person,
    sign_in,
    sign_out,
)
from service.use_cases.solo import SOLO, ensure_solo
from tests.service.house import House, measured

WORDS = "correct horse battery"


def joined(house: House, login: str = "cay", role: str = "student") -> str:
    """The id of a new person."""
    secret = join(invite(role, house.ports), login.title(), login, WORDS, house.ports)  # type: ignore[arg-type]
    return person_with(secret, house.ports)[0].id


def test_an_invitation_makes_one_account_of_its_role_signed_in(house: House) -> None:
    code = invite("instructor", house.ports)
    person, kind = person_with(join(code, " Cay  Wood ", "Cay.W", WORDS, house.ports), house.ports)
    assert (person.name, person.role, kind) == ("Cay Wood", "instructor", "browser")
    assert [(each.name, login) for each, login in list_people(house.ports)] == [("Cay Wood", "cay.w")]
    with pytest.raises(NotFoundError):
        join(code, "Dee", "dee", WORDS, house.ports)


def test_an_invitation_stands_for_two_weeks_and_a_new_password_for_a_day(house: House) -> None:
    person = joined(house)
    code, way_back = invite("student", house.ports), offer_recovery(person, house.ports)
    house.later(days=1, seconds=1)
    with pytest.raises(NotFoundError):
        recover(way_back, WORDS, house.ports)
    house.later(days=13)
    with pytest.raises(NotFoundError):
        look_at_invitation(code, house.ports)


def test_a_code_opens_to_the_last_moment_of_its_time(house: House) -> None:
    code, way_back = invite("student", house.ports), offer_recovery(joined(house), house.ports)
    house.later(days=1)
    assert recover(way_back, WORDS, house.ports)
    house.later(days=13)
    assert look_at_invitation(code, house.ports).role == "student"
    house.later(seconds=1)
    with pytest.raises(NotFoundError):
        join(code, "Dee", "dee", WORDS, house.ports)


def test_codes_that_nobody_used_are_forgotten_when_one_is_offered(house: House) -> None:
    for _ in range(2):
        invite("student", house.ports)
        house.later(days=14, seconds=1)
    invite("student", house.ports)
    with house.engine.connect() as connection:
        assert connection.scalar(text("SELECT count(*) FROM invitations")) == 1


def test_of_two_who_join_at_once_with_one_login_the_second_is_told(house: House) -> None:
    code = invite("student", house.ports)
    with ThreadPoolExecutor() as pool:
        with house.ports.unit_of_work() as uow:
            uow.people.add(Person("first", "First", "student"))
            assert uow.accounts.add(Account("first", "cay", "hash"))
            joining = pool.submit(join, code, "Cay", "cay", WORDS, house.ports)
            wait([joining], 0.5)  # as far as it can get before this transaction ends
            uow.commit()
        with pytest.raises(MistakeError, match="already"):
            joining.result()
    assert [login for _, login in list_people(house.ports)] == ["cay"]
    assert look_at_invitation(code, house.ports).role == "student"


def test_a_mistake_does_not_use_the_invitation_up(house: House) -> None:
    joined(house, "cay")
    code = invite("student", house.ports)
    for name, login, password, why in (
        ("Dee", "cay", WORDS, "already"),
        ("Dee", "d", WORDS, "2 to 40 letters"),
        ("Dee", "dee wood", WORDS, "2 to 40 letters"),
        ("Dee", "d" * 41, WORDS, "2 to 40 letters"),
        ("Dee", "dee", "x" * 9, "10 to 200 characters"),
        ("Dee", "dee", "x" * 201, "10 to 200 characters"),
        (" ", "dee", WORDS, "Say the name"),
        ("D" * 81, "dee", WORDS, "80 characters at most"),
    ):
        with pytest.raises(MistakeError, match=why):
            join(code, name, login, password, house.ports)
    for longest in ((code, "D" * 80, "d" * 40, "x" * 200), (invite("student", house.ports), "D", "dd", "x" * 10)):
        assert join(*longest, house.ports)


def test_name_and_password_open_a_session_and_a_wrong_one_of_either_says_the_same(house: House) -> None:
    person = joined(house)
    assert person_with(sign_in(" CAY ", WORDS, house.ports), house.ports)[0].id == person
    said = []
    for login, password in (("cay", "wrong words here"), ("nobody", WORDS), ("cay\0", WORDS)):
        with pytest.raises(MistakeError) as caught:
            sign_in(login, password, house.ports)
        said.append(caught.value.sentence)
    assert len(set(said)) == 1


def test_sessions_that_are_over_are_forgotten_when_one_is_opened_and_phones_and_programs_are_not(house: House) -> None:
    person = joined(house)
    issue_token(person, "script", house.ports)
    house.later(days=30)
    sign_in("cay", WORDS, house.ports)
    assert [device.kind for device in list_devices(person, house.ports)].count("browser") == 2  # one on its last day
    house.later(seconds=1)
    joined(house, "dee")
    assert sorted(device.kind for device in list_devices(person, house.ports)) == ["browser", "program"]


def test_a_session_ends_when_signed_out_and_after_a_month(house: House) -> None:
    joined(house)
    first, second = (sign_in("cay", WORDS, house.ports) for _ in range(2))
    sign_out(first, house.ports)
    with pytest.raises(NotFoundError):
        person_with(first, house.ports)
    house.later(days=30)
    person_with(second, house.ports)
    house.later(seconds=1)
    with pytest.raises(NotFoundError):
        person_with(second, house.ports)


def test_a_new_password_ends_everything_that_was_open_with_the_old_one(house: House) -> None:
    person = joined(house)
    old = sign_in("cay", WORDS, house.ports)
    code = offer_recovery(person, house.ports)
    assert person_with(recover(code, "entirely other words", house.ports), house.ports)[0].id == person
    with pytest.raises(NotFoundError):
        person_with(old, house.ports)
    with pytest.raises(MistakeError):
        sign_in("cay", WORDS, house.ports)
    assert len(list_devices(person, house.ports)) == 1


def test_a_new_password_ends_phones_programs_and_every_code_that_was_not_used_yet(house: House) -> None:
    person, other = joined(house), joined(house, "dee")
    token, pairing = issue_token(person, "script", house.ports), offer_pairing(person, house.ports)
    earlier, code = offer_recovery(person, house.ports), offer_recovery(person, house.ports)
    others = offer_recovery(other, house.ports), offer_pairing(other, house.ports), invite("student", house.ports)
    recover(code, "entirely other words", house.ports)
    for attempt in (
        lambda: person_with(token, house.ports),
        lambda: accept_pairing(pairing, "Phone", house.ports),
        lambda: recover(earlier, "somebody else's words", house.ports),
    ):
        with pytest.raises(NotFoundError):
            attempt()
    assert person_with(accept_pairing(others[1], "Phone", house.ports), house.ports)[0].id == other
    assert len(list_devices(other, house.ports)) == 2
    assert [look_at_invitation(each, house.ports).person for each in (others[0], others[2])] == [other, ""]


def test_a_code_for_a_new_password_makes_no_account(house: House) -> None:
    code = offer_recovery(joined(house), house.ports)
    with pytest.raises(NotFoundError):
        join(code, "Dee", "dee", WORDS, house.ports)
    with pytest.raises(NotFoundError):
        offer_recovery("ann", house.ports)  # who has no account


def test_an_account_goes_with_its_boards_and_photos_and_leaves_those_of_others(house: House) -> None:
    person = joined(house)
    check = house.send(b"one", person)
    house.answer(measured())
    kept = house.send(b"two", "ann")
    remove_person(person, house.ports)
    assert list_people(house.ports) == []
    with pytest.raises(NotFoundError):
        look_at_board(person, check.board, house.ports)
    assert house.stored() == {kept.photo.name}


def test_codes_and_secrets_of_a_deleted_account_let_nobody_in(house: House) -> None:
    person = joined(house)
    session, token = sign_in("cay", WORDS, house.ports), issue_token(person, "script", house.ports)
    way_back, pairing = offer_recovery(person, house.ports), offer_pairing(person, house.ports)
    remove_person(person, house.ports)
    for attempt in (
        lambda: person_with(session, house.ports),
        lambda: person_with(token, house.ports),
        lambda: recover(way_back, WORDS, house.ports),
        lambda: join(way_back, "Cay", "cay", WORDS, house.ports),
        lambda: accept_pairing(pairing, "Phone", house.ports),
    ):
        with pytest.raises(NotFoundError):
            attempt()
    with pytest.raises(MistakeError):
        sign_in("cay", WORDS, house.ports)


def test_the_last_owner_stays_until_there_is_another(house: House) -> None:
    assert not has_owner(house.ports)
    first = joined(house, "cay", "owner")
    with pytest.raises(MistakeError, match="last owner"):
        remove_person(first, house.ports)
    joined(house, "dee", "owner")
    remove_person(first, house.ports)
    assert has_owner(house.ports)


def test_who_works_alone_has_no_account_that_could_be_deleted_and_keeps_the_log(house: House) -> None:
    ensure_solo(house.ports)
    board = house.send(b"one", SOLO).board
    joined(house, "cay", "owner")
    owner = joined(house, "dee", "owner")
    for heir in ("", owner):
        with pytest.raises(NotFoundError):
            remove_person(SOLO, house.ports, heir=heir)
    assert look_at_board(SOLO, board, house.ports).board.id == board


def test_the_log_holds_passwords_and_codes_as_hashes_alone(house: House) -> None:
    joined(house)
    code = invite("student", house.ports)
    with house.engine.connect() as connection:
        tables = [connection.execute(text(f"SELECT * FROM {table}")) for table in ("accounts", "invitations")]
        kept = " ".join(str(tuple(row)) for table in tables for row in table)
    assert "$argon2id$" in kept
    assert WORDS not in kept
    assert code not in kept


def test_the_librarys_own_parameters_make_hashes_that_are_salted_and_checked() -> None:
    passwords = Passwords()
    first, second = passwords.hash(WORDS), passwords.hash(WORDS)
    assert first != second
    assert passwords.verify(first, WORDS)
    assert not passwords.verify(first, WORDS + " ")
    assert not passwords.verify(None, "nobody's")
    assert not passwords.verify("no hash", WORDS)
