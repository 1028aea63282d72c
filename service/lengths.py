"""Lengths as people write them: 100.2, 100,2, 100.2mm, 3.945in, 3.945\", 3 9/16in or 3/4\"."""

from __future__ import annotations

import re

from calibration.units import MM_PER_INCH

_LENGTH = re.compile(r"\s*(\d{1,6}(?:[.,]\d*)?|[.,]\d+)\s*(mm|in|inch|inches|\")?\s*", re.IGNORECASE)
_FRACTION = re.compile(r"\s*(?:(\d{1,6})\s+)?(\d{1,6})/(\d{1,6})\s*(?:in|inch|inches|\")\s*", re.IGNORECASE)
"""Lengths have six digits at most: the last are those of a kilometre."""


def length_mm(text: str) -> float:
    """The length in mm; a bare number is mm. Raises ValueError, saying what is asked for, unless it is above zero."""
    fraction = _FRACTION.fullmatch(text)
    if fraction and int(fraction[2]) and int(fraction[3]):
        return (int(fraction[1] or 0) + int(fraction[2]) / int(fraction[3])) * MM_PER_INCH
    found = _LENGTH.fullmatch(text)
    value = float(found[1].replace(",", ".")) if found else 0.0
    if not found or value <= 0.0:
        raise ValueError(f"must be a length above zero, in mm or as 3.94in, got {text!r}")
    return value * (MM_PER_INCH if (found[2] or "mm").lower() != "mm" else 1.0)
