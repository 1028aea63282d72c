"""The service's English, in one place: `english.toml`, by section and key, ready to be translated."""

from __future__ import annotations

import tomllib
from functools import cache
from pathlib import Path
from typing import Any

FILE = Path(__file__).with_name("english.toml")


@cache
def texts() -> dict[str, dict[str, str]]:
    """All texts by section and key."""
    read: dict[str, dict[str, Any]] = tomllib.loads(FILE.read_text(encoding="utf-8"))
    return read


def text(key: str, **values: object) -> str:
    """The text of `section.key`, with values in its braces. Raises KeyError for a key that is not there."""
    section, name = key.split(".")
    return texts()[section][name].format(**values)
