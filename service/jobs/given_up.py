"""What is said of a photo that no worker could work through."""

from __future__ import annotations

from service.domain.check import Answer
from service.texts import text


def gave_up() -> Answer:
    """The answer to it, without numbers."""
    words = {"message": text("job.gave_up"), "what_to_do": text("job.gave_up_what_to_do")}
    return Answer({}, {"mm": words, "inch": words})
