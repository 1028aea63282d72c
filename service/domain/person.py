"""A person who keeps boards, and what the service remembers for them."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from service.domain.board import Details

Role = Literal["student", "instructor", "owner"]
Units = Literal["mm", "inch"]


@dataclass(frozen=True)
class Person:
    """`remembered` are those details of the last board that are offered for the next one."""

    id: str
    name: str
    role: Role = "owner"
    units: Units = "mm"
    remembered: Details = field(default_factory=Details)
