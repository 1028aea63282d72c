"""Copies among photos: a photo given twice says nothing that it did not say at first."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from pathlib import Path


def copies(paths: Sequence[Path]) -> dict[int, int]:
    """Every photo, by index, whose bytes an earlier one has, with that one; unreadable files are nobody's copies."""
    first: dict[str, int] = {}
    found = {}
    for index, path in enumerate(paths):
        try:
            digest = hashlib.sha256(path.read_bytes()).hexdigest()
        except OSError:
            continue
        if first.setdefault(digest, index) != index:
            found[index] = first[digest]
    return found
