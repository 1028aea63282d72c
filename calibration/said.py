"""Numbers and lists as people read them."""

from __future__ import annotations

import math
from collections.abc import Sequence

MOST_PLACES = 4
"""Decimals shown at most: a tenth of a micrometre, well below what a photo can tell."""


def decimal_places(uncertainty: float) -> int:
    """Decimals that show an uncertainty with one digit, or two where it starts with a one (rounding to 2 is coarse)."""
    if not uncertainty > 0.0:
        return MOST_PLACES
    exponent = math.floor(math.log10(uncertainty))
    leading = uncertainty / 10.0**exponent
    return min(max(-exponent + (1 if leading < 1.95 else 0), 0), MOST_PLACES)


def fixed(value: float, places: int) -> str:
    """`value` with so many decimals, never a negative zero."""
    return f"{round(value, places) + 0.0:.{places}f}"


def listed(names: Sequence[str]) -> str:
    """`a`, `a and b`, `a, b and c`; a comma parts them where they hold an `and` of their own.

    Raises ValueError for none.
    """
    if not names:
        raise ValueError("names must not be empty")
    *others, last = names
    comma = "," if any(" and " in name for name in names) else ""
    return f"{', '.join(others)}{comma} and {last}" if others else last


def numbered(name: str, numbers: Sequence[int]) -> str:
    """`cut 3`, `cuts 1 and 2`, `cuts 1, 3 and 5 to 8`: ascending numbers, rows of three and more by their ends.

    Raises ValueError for none.
    """
    rows: list[list[int]] = []
    for number in numbers:
        if rows and number == rows[-1][-1] + 1:
            rows[-1].append(number)
        else:
            rows.append([number])
    said = [part for row in rows for part in ([f"{row[0]} to {row[-1]}"] if len(row) > 2 else map(str, row))]
    return f"{name}{'s' if len(numbers) > 1 else ''} {listed(said)}"
