"""Where a worker measures."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from pathlib import Path

from service.use_cases.ports import PhotoStore


@dataclass(frozen=True)
class Bench:
    """The photos, the folder of kept prints and camera profiles, and what was `drawn` so far, JPEGs by name.

    Nothing is stored here: in the moment in which an answer is not written down yet, nobody holds its pictures, and
    whoever deletes the same photo elsewhere would take them away.
    """

    photos: PhotoStore
    data: Path
    drawn: dict[str, bytes] = field(default_factory=dict)

    def cleared(self) -> Bench:
        """The bench with nothing drawn."""
        return replace(self, drawn={})

    def keep(self, jpeg: bytes) -> str:
        """One more picture; its name."""
        name = self.photos.name_of(jpeg, "JPEG")
        self.drawn[name] = jpeg
        return name
