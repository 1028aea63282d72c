"""What an instructor typed about an assignment, as values of the domain."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from datetime import UTC, date, datetime, timedelta
from typing import Annotated, Literal

from fastapi import Form

from service.domain.assignment import Assignment, Policy
from service.domain.mistakes import MistakeError
from service.domain.person import Units
from service.texts import text
from service.web.forms import Typed, typed_or_known_mm

NEVER = datetime(1970, 1, 1, tzinfo=UTC)
"""Of an assignment that is not kept yet: its moment is noted when it is."""
A_DAY_LASTS_ON = timedelta(hours=12)
"""So long after its end in UTC a day is over everywhere; where a school is, the service does not know."""


@dataclass(frozen=True)
class AssignmentForm:
    """The fields of an assignment as typed; a limit that is left empty is the usual one."""

    title: Typed = ""
    what_to_cut: Typed = ""
    species: Typed = ""
    plan: Typed = ""
    due: Typed = ""
    gap: Typed = ""
    squeeze_softwood: Typed = ""
    squeeze_hardwood: Typed = ""
    slope_steepest: Typed = ""
    slope_flattest: Typed = ""
    paring: Annotated[Literal["yes", "no"], Form()] = "no"
    edition: Typed = ""

    def assignment(self, classroom: str, units: Units, known: Assignment | None = None) -> Assignment:
        """An assignment of that class, or one in place of a known one. Raises MistakeError, with the field."""
        typed = (self.title, self.what_to_cut, self.species, self.plan)
        title, what_to_cut, species, plan = (each.replace("\r\n", "\n").strip() for each in typed)
        identity = known.id if known else ""
        said = Assignment(identity, classroom, " ".join(title.split()), NEVER, what_to_cut, species, plan)
        policy = self.policy(units, known.policy if known else Policy())
        return replace(said, due=_day(self.due), policy=policy)

    def new_assignment(self, classroom: str, units: Units, now: datetime) -> Assignment:
        """An assignment of that class whose last day is not over yet. Raises MistakeError, with the field."""
        assignment = self.assignment(classroom, units)
        if assignment.due is not None and assignment.due < (now - A_DAY_LASTS_ON).date():
            raise MistakeError("due", text("work.day_over"))
        return assignment

    def policy(self, units: Units, known: Policy) -> Policy:
        """The limits. Raises MistakeError, naming the field.

        The form has shown the `known` ones. There is no field for what half pins take: that stays.
        """
        limits = (
            _length(self.gap, "gap", units, known.gap_mm),
            _length(self.squeeze_softwood, "squeeze_softwood", units, known.squeeze_softwood_mm),
            _length(self.squeeze_hardwood, "squeeze_hardwood", units, known.squeeze_hardwood_mm),
        )
        slopes = _slope(self.slope_steepest, "slope_steepest"), _slope(self.slope_flattest, "slope_flattest")
        try:
            return Policy(*limits, known.half_pin_factor, self.paring == "yes", *slopes)
        except MistakeError as error:
            field = error.field.removesuffix("_mm").removesuffix("_n")
            raise MistakeError(field, error.sentence) from error

    def values(self) -> dict[str, str]:
        """As typed, to be shown again beside what was wrong."""
        return {field.name: getattr(self, field.name) for field in fields(self)}


def form_values(assignment: Assignment | None, shown: object) -> dict[str, str]:
    """What a form for that assignment, or for a new one, begins with; `shown(size_mm)` writes a length."""
    if assignment is None:
        return AssignmentForm().values()
    policy = assignment.policy
    lengths = (policy.gap_mm, policy.squeeze_softwood_mm, policy.squeeze_hardwood_mm)
    gap, softwood, hardwood = (shown(length) for length in lengths)  # type: ignore[operator]
    said = AssignmentForm(
        assignment.title,
        assignment.what_to_cut,
        assignment.species,
        assignment.plan,
        assignment.due.isoformat() if assignment.due else "",
        gap,
        softwood,
        hardwood,
        _ratio(policy.slope_steepest_n),
        _ratio(policy.slope_flattest_n),
        "yes" if policy.paring_allowed else "no",
        assignment.edition,
    )
    return said.values()


def _ratio(n: float | None) -> str:
    return "" if n is None else f"1:{n:g}"


def _length(typed: str, field: str, units: Units, known_mm: float) -> float:
    size_mm = typed_or_known_mm(typed, units, known_mm, field, text(f"work.{field}"))
    return float(getattr(Policy(), f"{field}_mm")) if size_mm is None else size_mm


def _slope(typed: str, field: str) -> float | None:
    """The n of `1:n`, `1/n` or `n`; None for nothing."""
    if not typed.strip():
        return None
    bare = typed.strip().replace(" ", "").replace(",", ".")
    for opening in ("1:", "1/"):
        bare = bare.removeprefix(opening)
    try:
        return float(bare)
    except ValueError as error:
        raise MistakeError(field, text("work.no_slope", field=text(f"work.{field}"), typed=typed[:40])) from error


def _day(typed: str) -> date | None:
    if not typed.strip():
        return None
    try:
        return date.fromisoformat(typed.strip())
    except ValueError as error:
        raise MistakeError("due", text("work.no_day", typed=typed[:40])) from error
