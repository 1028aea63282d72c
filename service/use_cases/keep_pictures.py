"""The pictures of an answer are stored in the transaction that writes it down, under the lock of all stored files."""

from __future__ import annotations

from dataclasses import replace

from service.domain.check import Answer
from service.use_cases.ports import Ports


def with_pictures_stored(answer: Answer, ports: Ports) -> Answer:
    """The answer as it is kept, from now on; whoever calls it holds the lock (`lock_photos`) until it is written down.

    A twin of the photo makes the same pictures: those that its deletion has just removed are stored again.
    """
    for data in answer.files.values():
        ports.photos.put(data, "JPEG")
    return replace(answer, answered_at=ports.now(), files={})
