"""Lengths of other units in mm."""

from __future__ import annotations

MM_PER_INCH = 25.4
"""Exact, by the international yard and pound agreement of 1959."""
POINTS_PER_MM = 72 / MM_PER_INCH
"""A PDF point is 1/72 inch (ISO 32000-1, 8.3.2.3)."""
