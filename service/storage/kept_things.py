"""The names of what is kept in the data folder beside the log: plans and measured prints of the card."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from service.errors import UsageError
from service.kept.plan_store import PlanStore
from service.kept.print_store import PrintStore


@dataclass(frozen=True)
class KeptThings:
    """`ports.Kept` in a folder; a file that cannot be read holds no names."""

    data: Path

    def plans(self) -> Sequence[str]:
        return _names(PlanStore(self.data))

    def prints(self) -> Sequence[str]:
        return _names(PrintStore(self.data))


def _names(store: PlanStore | PrintStore) -> Sequence[str]:
    try:
        return [each.name for each in store.list()]
    except UsageError:
        return []
