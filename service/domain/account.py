"""Accounts of a class: a name to sign in with, a password that only its hash is kept of, and invitations."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime, timedelta

from service.domain.mistakes import MistakeError, check_text
from service.domain.person import Role

INVITATION_LASTS = timedelta(days=14)
RECOVERY_LASTS = timedelta(days=1)
SHORTEST_PASSWORD, LONGEST_PASSWORD = 10, 200
"""NIST SP 800-63B asks for 8 at least and no rules of composition (from memory); we ask for a little more."""
LONGEST_NAME = 80
_LOGIN = re.compile(r"[a-z0-9][a-z0-9._-]{1,39}")


@dataclass(frozen=True)
class Account:
    """What a person signs in with."""

    person: str
    login: str
    password_hash: str


@dataclass(frozen=True)
class Invitation:
    """A one-time code, kept as its hash: for a new person of that role, or to give `person` a new password."""

    code_sha256: str
    role: Role
    person: str
    expires: datetime


def clean_login(typed: str) -> str:
    """The name to sign in with, in small letters. Raises MistakeError for one that cannot be."""
    login = typed.strip().lower()
    if not _LOGIN.fullmatch(login):
        raise MistakeError("login", "The name to sign in with has 2 to 40 letters, digits, dots, dashes; no spaces.")
    return login


def check_password(password: str) -> None:
    """Raise MistakeError unless this may be a password."""
    if not SHORTEST_PASSWORD <= len(password) <= LONGEST_PASSWORD:
        lengths = f"{SHORTEST_PASSWORD} to {LONGEST_PASSWORD} characters"
        raise MistakeError("password", f"A password has {lengths}. A few words do well.")


def clean_name(typed: str) -> str:
    """A person's name as shown. Raises MistakeError when it is empty or too long."""
    name = " ".join(typed.split())
    check_text("name", name, LONGEST_NAME)
    if not name:
        raise MistakeError("name", "Say the name that your instructor shall see.")
    return name
