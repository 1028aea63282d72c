"""Which version this is."""

from __future__ import annotations

from importlib import metadata


def version() -> str:
    """The installed distribution's version, or `unknown` when run from a bare copy of the sources."""
    try:
        return metadata.version("tailproof")
    except metadata.PackageNotFoundError:
        return "unknown"
