"""Kept plans on disk: one JSON file in the data folder."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from service.errors import UsageError
from service.kept.kept_file import read_kept, write_kept
from vision.layout.plan import Plan
from vision.layout.plan_record import plans_from_dict, plans_to_dict

FILE_NAME = "plans.json"


@dataclass(frozen=True)
class PlanStore:
    """The plans kept in `folder`, which is made when the first is put. All methods raise UsageError, saying why.

    A file that is damaged or newer than this program is never written over.
    """

    folder: Path

    @property
    def path(self) -> Path:
        """The file that holds them."""
        return self.folder / FILE_NAME

    def list(self) -> tuple[Plan, ...]:
        """All kept plans, by name."""
        plans = self._read()
        return tuple(plans[name] for name in sorted(plans))

    def get(self, name: str) -> Plan | None:
        """The plan kept under `name`, or None."""
        return self._read().get(name)

    def put(self, plan: Plan) -> None:
        """Keep a plan under its name, in place of an older one of that name."""
        write_kept(self.path, plans_to_dict(self._read() | {plan.name: plan}))

    def forget(self, name: str) -> bool:
        """Remove a plan; whether there was one."""
        plans = self._read()
        if plans.pop(name, None) is None:
            return False
        write_kept(self.path, plans_to_dict(plans))
        return True

    def _read(self) -> dict[str, Plan]:
        return read_kept(self.path, plans_from_dict) or {}


def plan_named(name: str, store: PlanStore) -> Plan:
    """The plan kept under `name`. Raises UsageError, with the kept ones, when there is none."""
    found = store.get(name)
    if found is None:
        names = ", ".join(plan.name for plan in store.list()) or "none"
        raise UsageError(f"no plan is kept as {name!r}. Kept: {names}.")
    return found
