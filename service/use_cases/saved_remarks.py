"""Remarks that an instructor keeps to use again: added, picked, removed."""

from __future__ import annotations

from collections.abc import Sequence

from service.domain.mistakes import MistakeError
from service.domain.person import Person
from service.domain.saved_remark import MOST_SAVED, SavedRemark, remark_text
from service.texts import text
from service.use_cases.ports import Ports


def saved_remarks(asking: Person, ports: Ports) -> Sequence[SavedRemark]:
    """This person's own, by text."""
    with ports.reading() as uow:
        return uow.saved_remarks.of_person(asking.id)


def save_remark(asking: Person, typed: str, ports: Ports) -> SavedRemark:
    """Keep a remark; one that is kept already is not kept twice. Raises MistakeError."""
    wanted = remark_text(typed)
    with ports.unit_of_work() as uow:
        known = uow.saved_remarks.of_person(asking.id)
        same = next((remark for remark in known if remark.text.casefold() == wanted.casefold()), None)
        if same is not None:
            return same
        if len(known) >= MOST_SAVED:
            raise MistakeError("text", text("review.too_many_saved", most=MOST_SAVED))
        remark = SavedRemark(ports.new_id(), asking.id, wanted)
        uow.saved_remarks.add(remark)
        uow.commit()
    return remark


def remove_remark(asking: Person, remark_id: str, ports: Ports) -> None:
    """Keep it no longer; reviews that say it stay. Raises NotFoundError."""
    with ports.unit_of_work() as uow:
        uow.saved_remarks.remove(asking.id, remark_id)
        uow.commit()
