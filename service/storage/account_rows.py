"""Accounts and invitations as rows of one database session."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from sqlalchemy import delete, insert, select
from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session

from service.domain.account import Account, Invitation
from service.domain.mistakes import NotFoundError
from service.domain.person import Person
from service.storage.rows import person_of
from service.storage.tables import AccountRow, InvitationRow, PersonRow


class AccountRows:
    """`ports.Accounts` on a session."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def add(self, account: Account) -> bool:
        try:
            with self._session.begin_nested():
                self._session.execute(insert(AccountRow).values(**_values(account)))
        except IntegrityError:
            return False
        return True

    def put(self, account: Account) -> None:
        self._session.merge(AccountRow(**_values(account)))
        self._session.flush()

    def of_person(self, person_id: str) -> Account:
        row = self._session.scalar(select(AccountRow).where(AccountRow.person_id == person_id))
        if row is None:
            raise NotFoundError
        return Account(row.person_id, row.login, row.password_hash)

    def with_login(self, login: str) -> Account | None:
        if not login.isprintable():
            return None
        row = self._session.scalar(select(AccountRow).where(AccountRow.login == login))
        return None if row is None else Account(row.person_id, row.login, row.password_hash)

    def everyone(self) -> Sequence[tuple[Person, str]]:
        asked = select(PersonRow, AccountRow.login).join(AccountRow, AccountRow.person_id == PersonRow.id)
        return [(person_of(row), login) for row, login in self._session.execute(asked.order_by(PersonRow.name))]

    def add_invitation(self, invitation: Invitation) -> None:
        kept = {"code_sha256": invitation.code_sha256, "role": invitation.role, "expires": invitation.expires}
        self._session.add(InvitationRow(**kept, person_id=invitation.person or None))
        self._session.flush()

    def invitation(self, code_sha256: str) -> Invitation | None:
        row = self._session.scalar(select(InvitationRow).where(InvitationRow.code_sha256 == code_sha256))
        return None if row is None else Invitation(code_sha256, row.role, row.person_id or "", row.expires)  # type: ignore[arg-type]

    def take_invitation(self, code_sha256: str) -> Invitation | None:
        """Removed in the same statement: of two people with one code, one gets it."""
        taken = delete(InvitationRow).where(InvitationRow.code_sha256 == code_sha256)
        columns = (InvitationRow.role, InvitationRow.person_id, InvitationRow.expires)
        row = self._session.execute(taken.returning(*columns)).first()
        return None if row is None else Invitation(code_sha256, row.role, row.person_id or "", row.expires)

    def drop_stale_invitations(self, now: datetime) -> None:
        self._session.execute(delete(InvitationRow).where(InvitationRow.expires < now))

    def drop_recoveries(self, person_id: str) -> None:
        self._session.execute(delete(InvitationRow).where(InvitationRow.person_id == person_id))


def _values(account: Account) -> dict[str, str]:
    return {"person_id": account.person, "login": account.login, "password_hash": account.password_hash}
