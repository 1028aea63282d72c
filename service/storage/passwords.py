"""Passwords as argon2id hashes, with the library's own current parameters."""

from __future__ import annotations

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError


class Passwords:
    """`ports.Hasher`. Checking a name that nobody has takes as long as checking one that somebody has."""

    def __init__(self, hasher: PasswordHasher | None = None) -> None:
        self._hasher = hasher or PasswordHasher()
        self._nobodys = ""

    def hash(self, password: str) -> str:
        """The hash to keep, with its salt and parameters."""
        return self._hasher.hash(password)

    def verify(self, kept: str | None, password: str) -> bool:
        """Whether the password is that of the hash; never for None."""
        self._nobodys = self._nobodys or self._hasher.hash("nobody's")
        try:
            return self._hasher.verify(kept or self._nobodys, password) and kept is not None
        except (VerificationError, InvalidHashError):
            return False
