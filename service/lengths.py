"""Lengths as people write them: 100.2, 100,2, 100.2mm, 3.945in or 3.945\"."""

from __future__ import annotations

import re

MM_PER_INCH = 25.4
_LENGTH = re.compile(r"\s*(\d+(?:[.,]\d*)?|[.,]\d+)\s*(mm|in|inch|inches|\")?\s*", re.IGNORECASE)


def length_mm(text: str) -> float:
    """The length in mm; a bare number is mm. Raises ValueError, saying what is asked for, unless it is above zero."""
    found = _LENGTH.fullmatch(text)
    value = float(found[1].replace(",", ".")) if found else 0.0
    if not found or value <= 0.0:
        raise ValueError(f"must be a length above zero, in mm or as 3.94in, got {text!r}")
    return value * (MM_PER_INCH if (found[2] or "mm").lower() != "mm" else 1.0)
