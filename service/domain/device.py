"""A phone or a program that may act for a person over the network, and the one-time codes that let phones in."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

Kind = Literal["phone", "program", "browser"]
"""A browser is one in which a person has signed in with a password."""

PAIRING_LASTS = timedelta(minutes=10)
SESSION_LASTS = timedelta(days=30)
SEEN_EVERY = timedelta(hours=1)
"""How often it is written down that a device was seen: not at every request."""


@dataclass(frozen=True)
class Device:
    """`secret_sha256` is of the secret that the device holds; the secret itself is kept nowhere else."""

    id: str
    person: str
    name: str
    kind: Kind
    secret_sha256: str
    paired_at: datetime
    seen_at: datetime


@dataclass(frozen=True)
class Pairing:
    """A code that pairs one phone with a person until `expires`, kept as its hash."""

    code_sha256: str
    person: str
    expires: datetime


def secret_hash(secret: str) -> str:
    """The hash that a random secret is kept as; it is too long to be guessed, so a fast hash will do."""
    return hashlib.sha256(secret.encode()).hexdigest()
