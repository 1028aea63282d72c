"""What a truth file's JSON object holds under its keys. Each raises ValueError, naming what is missing or wrong."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any


def anything(data: Mapping[str, Any], key: str) -> Any:
    """What stands under `key`."""
    if key not in data:
        raise ValueError(f"the truth file has no {key!r}")
    return data[key]


def number(data: Mapping[str, Any], key: str) -> float:
    """The finite number under `key`, which may be written as a text."""
    value = anything(data, key)
    try:
        told = float(value)
    except (TypeError, ValueError, OverflowError):
        told = math.nan
    if not math.isfinite(told):
        raise ValueError(f"the truth file's {key!r} must be a number, got {value!r}")
    return told


def size(data: Mapping[str, Any], key: str) -> float:
    """The length above zero under `key`."""
    told = number(data, key)
    if not told > 0.0:
        raise ValueError(f"the truth file's {key!r} must be above zero, got {data[key]!r}")
    return told


def text(data: Mapping[str, Any], key: str) -> str:
    """The text under `key`."""
    value = anything(data, key)
    if not isinstance(value, str) or not value:
        raise ValueError(f"the truth file's {key!r} must be a text, got {value!r}")
    return value


def one_of(data: Mapping[str, Any], key: str, words: tuple[str, ...]) -> Any:
    """The word under `key`, one of `words`."""
    if anything(data, key) not in words:
        raise ValueError(f"the truth file's {key} must be {' or '.join(words)}, got {data[key]!r}")
    return data[key]


def part(data: Mapping[str, Any], key: str) -> Mapping[str, Any]:
    """The object under `key`."""
    value = anything(data, key)
    if not isinstance(value, Mapping):
        raise ValueError(f"the truth file is not in the format expected: {key!r} must be an object, got {value!r}")
    return value


def parts(data: Mapping[str, Any], key: str) -> list[Mapping[str, Any]]:
    """The objects in the list under `key`."""
    value = anything(data, key)
    if not isinstance(value, list) or not all(isinstance(each, Mapping) for each in value):
        raise ValueError(f"the truth file is not in the format expected: {key!r} must be a list of objects")
    return value
