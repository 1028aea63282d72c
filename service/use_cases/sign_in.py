"""Accounts by invitation: joining, signing in and out, a new password, and leaving with everything."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from service.domain.account import (
    INVITATION_LASTS,
    RECOVERY_LASTS,
    Account,
    Invitation,
    check_password,
    clean_login,
    clean_name,
)
from service.domain.device import SESSION_LASTS, Device, secret_hash
from service.domain.mistakes import MistakeError, NotFoundError
from service.domain.person import Person, Role
from service.texts import text
from service.use_cases.forget_photos import forget_photos
from service.use_cases.keep_class import enter_class, instructed_alone, make_instructor
from service.use_cases.ports import Ports, UnitOfWork
from service.use_cases.solo import SOLO


def invite(role: Role, ports: Ports) -> str:
    """A code with which one new person of that role joins; it stands for two weeks."""
    return _offer(Invitation("", role, "", ports.now() + INVITATION_LASTS), ports)


def offer_recovery(person: str, ports: Ports) -> str:
    """A code that gives this person a new password; it stands for a day. Raises NotFoundError."""
    with ports.reading() as uow:
        role = uow.people.get(person).role
        uow.accounts.of_person(person)
    return _offer(Invitation("", role, person, ports.now() + RECOVERY_LASTS), ports)


def look_at_invitation(code: str, ports: Ports) -> Invitation:
    """What a code is for. Raises NotFoundError for one that is used, old or wrong."""
    with ports.reading() as uow:
        invitation = uow.accounts.invitation(secret_hash(code))
    if invitation is None or invitation.expires < ports.now():
        raise NotFoundError
    return invitation


def join(code: str, name: str, login: str, password: str, ports: Ports) -> str:
    """A new person, signed in: the secret of the session. Raises NotFoundError and MistakeError."""
    new = _clean(name, login, password, ports)
    with ports.unit_of_work() as uow:
        invitation = _take(uow, code, ports)
        if invitation.person:
            raise NotFoundError
        person = _add_person(uow, new, invitation.role, ports)
        secret = _open_session(uow, person.id, ports)
        uow.commit()
    return secret


def join_with_class(class_code: str, name: str, login: str, password: str, ports: Ports) -> str:
    """A new student of the class with that join code, signed in. Raises NotFoundError and MistakeError."""
    new = _clean(name, login, password, ports)
    with ports.unit_of_work() as uow:
        person = _add_person(uow, new, "student", ports)
        enter_class(uow, person.id, class_code, ports)
        secret = _open_session(uow, person.id, ports)
        uow.commit()
    return secret


def recover(code: str, password: str, ports: Ports) -> str:
    """A new password; whoever was signed in with the old one, or holds another code, is not let in any more.

    Raises NotFoundError and MistakeError.
    """
    check_password(password)
    hashed = ports.hasher.hash(password)
    with ports.unit_of_work() as uow:
        invitation = _take(uow, code, ports)
        account = uow.accounts.of_person(invitation.person)
        uow.accounts.put(Account(account.person, account.login, hashed))
        uow.accounts.drop_recoveries(account.person)
        uow.devices.remove_all(account.person)
        secret = _open_session(uow, account.person, ports)
        uow.commit()
    return secret


def sign_in(login: str, password: str, ports: Ports) -> str:
    """The secret of a new session. Raises MistakeError, the same for a wrong name as for a wrong password."""
    with ports.reading() as uow:
        account = uow.accounts.with_login(login.strip().lower())
    if not ports.hasher.verify(account.password_hash if account else None, password) or account is None:
        raise MistakeError("password", text("account.wrong"))
    with ports.unit_of_work() as uow:
        secret = _open_session(uow, account.person, ports)
        uow.commit()
    return secret


def sign_out(secret: str, ports: Ports) -> None:
    """This session is over. Raises NotFoundError."""
    with ports.unit_of_work() as uow:
        uow.devices.remove(uow.devices.with_secret(secret_hash(secret)).id)
        uow.commit()


def list_people(ports: Ports) -> Sequence[tuple[Person, str]]:
    """Everyone with an account, by name, each with the name to sign in with."""
    with ports.reading() as uow:
        return uow.accounts.everyone()


def remove_person(person: str, ports: Ports, *, heir: str = "") -> None:
    """An account is gone, with its boards and photos. What it decided and corrected of others' boards stays, nameless.

    The classes that nobody else instructs go to the `heir`. Raises NotFoundError, also for the one person of solo mode,
    who has no account, and MistakeError for the last owner, or without an heir for the last instructor of a class.
    """
    if person == SOLO:
        raise NotFoundError
    with ports.unit_of_work() as uow:
        if uow.people.get(person).role == "owner" and _owners(uow) == 1:
            raise MistakeError("person", text("account.last_owner"))
        _bequeath(uow, person, heir, ports)
        names = _files_of(uow, person)
        uow.corrections.forget(person)
        uow.reviews.forget(person)
        uow.people.remove(person)
        uow.commit()
    forget_photos(names, ports)


def _files_of(uow: UnitOfWork, person: str) -> set[str]:
    """The stored photos and pictures of this person's boards, also those that marks were put on."""
    boards = [board.id for board in uow.boards.all_of(person)]
    checks, together = uow.checks.of_boards(boards), [uow.together.of_board(board) for board in boards]
    marked = {review.picture for review in uow.reviews.of_owner(person) if review.picture}
    drawn = {name for each in together if each for name in each.stored_names}
    return {name for check in checks for name in check.stored_names} | marked | drawn


def has_owner(ports: Ports) -> bool:
    """Whether anybody can invite the others."""
    with ports.reading() as uow:
        return _owners(uow) > 0


def _owners(uow: UnitOfWork) -> int:
    return sum(person.role == "owner" for person, _ in uow.accounts.everyone())


def _bequeath(uow: UnitOfWork, person: str, heir: str, ports: Ports) -> None:
    for classroom in instructed_alone(uow, person):
        if not heir or heir == person:
            raise MistakeError("person", text("class.nobody_else", name=classroom.name))
        make_instructor(uow, classroom.id, heir, ports)


@dataclass(frozen=True)
class _New:
    """A person to be, as typed, and the hash of the password."""

    name: str
    login: str
    password_hash: str


def _clean(name: str, login: str, password: str, ports: Ports) -> _New:
    """Hashing takes its time: it is done before any transaction. Raises MistakeError."""
    login, name = clean_login(login), clean_name(name)
    check_password(password)
    return _New(name, login, ports.hasher.hash(password))


def _add_person(uow: UnitOfWork, new: _New, role: Role, ports: Ports) -> Person:
    person = Person(ports.new_id(), new.name, role)
    uow.people.add(person)
    if not uow.accounts.add(Account(person.id, new.login, new.password_hash)):
        raise MistakeError("login", text("account.login_taken"))
    return person


def _offer(invitation: Invitation, ports: Ports) -> str:
    code = ports.new_secret()
    kept = Invitation(secret_hash(code), invitation.role, invitation.person, invitation.expires)
    with ports.unit_of_work() as uow:
        uow.accounts.drop_stale_invitations(ports.now())
        uow.accounts.add_invitation(kept)
        uow.commit()
    return code


def _take(uow: UnitOfWork, code: str, ports: Ports) -> Invitation:
    """Use a code up; undone with the transaction when what follows fails. Raises NotFoundError."""
    invitation = uow.accounts.take_invitation(secret_hash(code))
    if invitation is None or invitation.expires < ports.now():
        raise NotFoundError
    return invitation


def _open_session(uow: UnitOfWork, person: str, ports: Ports) -> str:
    secret, now = ports.new_secret(), ports.now()
    uow.devices.drop_stale_sessions(now - SESSION_LASTS)
    uow.devices.add(Device(ports.new_id(), person, text("account.session"), "browser", secret_hash(secret), now, now))
    return secret
