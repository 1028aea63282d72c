"""The JSON of classes and assignments: what goes in and what comes out, as OpenAPI describes it."""

from __future__ import annotations

from datetime import date, datetime
from typing import Annotated, Literal

from pydantic import Field

from service.domain.assignment import FLATTEST_N, LARGEST_LIMIT_MM, LONGEST_PLAN, STEEPEST_N, Assignment, Policy
from service.domain.board import LONGEST_NAME, LONGEST_TEXT
from service.domain.classroom import As, Classroom, Membership
from service.domain.join_code import LONGEST_TYPED
from service.domain.person import Person
from service.practice.class_view import Distribution
from service.use_cases.look_at_class import AssignmentView, ClassView, Student
from service.web.api_models import TYPED, BoardModel, Model, Short
from service.web.class_forms import NEVER

Limit = Annotated[float, Field(gt=0.0, le=LARGEST_LIMIT_MM)]
Ratio = Annotated[float | None, Field(ge=STEEPEST_N, le=FLATTEST_N)]
Named = Annotated[
    str, Field(min_length=1, max_length=LONGEST_NAME, pattern=r"^[^\x00-\x1f]*[^\x00-\x20\s][^\x00-\x1f]*$")
]
"""A name: one line, and not of spaces alone."""
Key = Annotated[str, Field(max_length=32, pattern=r"^[A-Za-z0-9_-]*$")]


class ClassWanted(Model):
    """A class to make or to rename."""

    name: Named


class CodeTyped(Model):
    """A join code as typed or said: `Walnut Mallet 407` will do."""

    code: Annotated[str, Field(max_length=LONGEST_TYPED, pattern=TYPED)]


class ClassModel(Model):
    """A class as the one who asks is in it; `join_code` is empty for students and while nobody may join."""

    id: str
    name: str
    as_: Annotated[As, Field(alias="as")]
    join_code: str
    created: datetime
    shows_all: bool

    @classmethod
    def of(cls, classroom: Classroom, membership: Membership) -> ClassModel:
        """From values of the domain."""
        code = classroom.join_code if membership.as_ == "instructor" else ""
        named = {"id": classroom.id, "name": classroom.name, "created": classroom.created, "join_code": code}
        return cls.model_validate(named | {"as": membership.as_, "shows_all": membership.shows_all})


class MemberModel(Model):
    """Somebody in a class."""

    id: str
    name: str
    as_: Annotated[As, Field(alias="as")]
    joined: datetime
    shows_all: bool

    @classmethod
    def of(cls, person: Person, membership: Membership) -> MemberModel:
        """From values of the domain."""
        named = {"id": person.id, "name": person.name, "joined": membership.joined}
        return cls.model_validate(named | {"as": membership.as_, "shows_all": membership.shows_all})


class SomebodyModel(Model):
    """A person by id."""

    person: Key


class ShowsAllModel(Model):
    """Whether a student shows a class's instructors all boards."""

    shows_all: bool


class ClosedModel(Model):
    """Whether nothing more may be handed in."""

    closed: bool


class PolicyModel(Model):
    """By what a class judges; lengths in mm, a slope of 1:n by its n, null for any."""

    gap_mm: Limit = Policy.gap_mm
    squeeze_softwood_mm: Limit = Policy.squeeze_softwood_mm
    squeeze_hardwood_mm: Limit = Policy.squeeze_hardwood_mm
    half_pin_factor: Annotated[float, Field(gt=0.0, le=1.0)] = Policy.half_pin_factor
    paring_allowed: bool = Policy.paring_allowed
    slope_steepest_n: Ratio = None
    slope_flattest_n: Ratio = None

    def policy(self) -> Policy:
        """As a value of the domain. Raises MistakeError."""
        return Policy(**self.model_dump())


class AssignmentWanted(Model):
    """An assignment to set or to change."""

    title: Named
    what_to_cut: Annotated[str, Field(max_length=LONGEST_TEXT, pattern=TYPED)] = ""
    species: Short = ""
    plan: Annotated[str, Field(max_length=LONGEST_PLAN, pattern=TYPED)] = ""
    due: date | None = None
    policy: PolicyModel = PolicyModel()

    def assignment(self, classroom: str, known: str = "") -> Assignment:
        """As a value of the domain, without a moment. Raises MistakeError."""
        said = self.title.strip(), NEVER, self.what_to_cut, self.species, self.plan, self.due
        return Assignment(known, classroom, *said, policy=self.policy.policy())


class AssignmentModel(Model):
    """An assignment of a class."""

    id: str
    classroom: str
    title: str
    created: datetime
    what_to_cut: str
    species: str
    plan: str
    due: date | None
    closed: bool
    policy: PolicyModel

    @classmethod
    def of(cls, assignment: Assignment) -> AssignmentModel:
        """From a value of the domain."""
        return cls.model_validate(assignment, from_attributes=True)


class OpenModel(Model):
    """The assignments that can be handed in to, newest first; `last` is the one used last, if it is open."""

    assignments: list[AssignmentModel]
    last: str | None


class HandInModel(Model):
    """The assignment that a board is handed in to; null for none."""

    assignment: Key | None


class OutcomeModel(Model):
    """How an assignment came out: mean size of lean (degrees) of each person's latest board, by person's id."""

    metric: str
    unit: str
    values: dict[str, float]
    five: Annotated[list[float], Field(min_length=5, max_length=5)]
    advice: dict[str, int]
    sentence: str

    @classmethod
    def of(cls, outcome: Distribution | None) -> OutcomeModel | None:
        """From a value of the practice log."""
        return None if outcome is None else cls.model_validate(outcome.to_chart())


class StandingModel(Model):
    """How a student stands in a class, with the latest boards."""

    person: str
    name: str
    word: Literal["improving", "stuck", "steady", "getting worse", "too few"]
    sentence: str
    failing: int
    looked_at: int
    boards: list[BoardModel]

    @classmethod
    def of(cls, student: Student) -> StandingModel:
        """From a use case's view."""
        standing = student.standing
        return cls(
            person=student.person.id,
            name=student.person.name,
            word=standing.word,
            sentence=standing.progress.sentence(whose="their"),
            failing=standing.failing,
            looked_at=standing.looked_at,
            boards=[BoardModel.of(board) for board in student.boards],
        )


class WorkModel(Model):
    """An assignment, how many boards of how many people there are, and how it came out."""

    assignment: AssignmentModel
    boards: int
    people: int
    outcome: OutcomeModel | None
    slopes: Annotated[str, Field(description="how the slopes of its boards came out, if a face of any is measured")]


class ProgressModel(Model):
    """A class at a glance, for its instructors: who needs help comes first."""

    sentences: list[str]
    students: list[StandingModel]
    assignments: list[WorkModel]

    @classmethod
    def of(cls, view: ClassView) -> ProgressModel:
        """From a use case's view."""
        work = [
            WorkModel(
                assignment=AssignmentModel.of(each.assignment),
                boards=each.boards,
                people=each.people,
                outcome=OutcomeModel.of(each.outcome),
                slopes=each.slopes,
            )
            for each in view.work
        ]
        students = [StandingModel.of(student) for student in view.students]
        return cls(sentences=list(view.sentences), students=students, assignments=work)


class HandedInModel(Model):
    """One student's latest boards for an assignment, newest first, and how many there are in all."""

    person: str
    name: str
    boards: list[BoardModel]
    total: int


class AllHandedInModel(Model):
    """The boards for an assignment by student; for a student their own alone. `missing` are ids of those to come."""

    students: list[HandedInModel]
    missing: list[str]

    @classmethod
    def of(cls, view: AssignmentView) -> AllHandedInModel:
        """From a use case's view."""
        students = [
            HandedInModel(
                person=each.person.id,
                name=each.person.name,
                boards=[BoardModel.of(board) for board in each.boards],
                total=each.total,
            )
            for each in view.handed_in
        ]
        return cls(students=students, missing=[person.id for person in view.missing])
