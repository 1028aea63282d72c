"""Where a worker measures."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from service.use_cases.ports import PhotoStore


@dataclass(frozen=True)
class Bench:
    """The photos, and the folder of kept prints and camera profiles."""

    photos: PhotoStore
    data: Path
