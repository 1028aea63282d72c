"""What was told of board and photo, and what is kept of print and cameras, as settings of a check."""

from __future__ import annotations

from pathlib import Path

from calibration.prints.known import Known, told_size
from calibration.prints.shape import UNCHECKED, PrintShape
from service.domain.assignment import Assignment
from service.errors import UsageError
from service.kept.camera_store import CameraStore
from service.kept.print_store import PrintStore, print_named
from service.measuring.camera_choice import Cameras
from service.measuring.checking import CheckSettings
from service.use_cases.answer_job import Task
from vision.joint.seating import Limits
from vision.joint.species import find_species
from vision.walls.placed import ToldWall


def settings_of(task: Task, data: Path) -> CheckSettings:
    """The settings for a task's photo, with what is kept in the folder `data`, as far as it can be used."""
    told, details = task.check.told, task.board.details
    size = told_size("thickness", details.thickness_mm) if details.thickness_mm else None
    return CheckSettings(
        stage=told.stage,
        card_side=told.card_side,
        species=_species(details.species),
        limits=_limits(task.assignment),
        known=Known(print=_print(details.print, PrintStore(data)), thickness=size),
        cameras=Cameras(kept=CameraStore(data).usable()[0]),
        walls=tuple(ToldWall(wall.show_px, wall.transfer_px, wall.zoom) for wall in told.walls),
    )


def _print(name: str, store: PrintStore) -> PrintShape:
    """The measured print by that name; the one that is kept for whoever names none, else an unchecked one."""
    try:
        known = name and store.get(name) is not None
        return print_named(name if known else None, store)
    except UsageError:
        return UNCHECKED


def _limits(assignment: Assignment | None) -> Limits:
    """The class's own, so that one advice stands everywhere."""
    if assignment is None:
        return Limits()
    policy = assignment.policy
    return Limits(
        policy.gap_mm,
        policy.squeeze_softwood_mm,
        policy.squeeze_hardwood_mm,
        policy.half_pin_factor,
        policy.paring_allowed,
    )


def _species(name: str) -> str | None:
    """The wood by a name that the tables know; any other is only the person's own note."""
    try:
        return find_species(name).name
    except ValueError:
        return None
