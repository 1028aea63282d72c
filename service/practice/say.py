"""Numbers as people read them: no more digits than the uncertainty allows, millimetres or inches, degrees."""

from __future__ import annotations

from datetime import date

from calibration.said import decimal_places, fixed
from calibration.units import MM_PER_INCH
from vision.answer.words import Units

_NAMES = {"deg": "degrees", "mm": "mm", "in": "in", "d": "days"}
PLACES = {"deg": 2, "mm": 2, "in": 3, "d": 1}
"""Decimals of a number told without its uncertainty."""


def plus_minus(value: float, u95: float, unit: str, units: Units = "mm") -> str:
    """`0.41 ± 0.12 degrees`; lengths in the units asked for."""
    value, u95, unit = _converted(value, u95, unit, units)
    return f"{pair(value, u95)} {_NAMES[unit]}"


def pair(value: float, u95: float) -> str:
    """`0.41 ± 0.12`."""
    places = decimal_places(u95)
    return f"{fixed(value, places)} ± {fixed(u95, places)}"


def amount(value: float, unit: str, units: Units = "mm") -> str:
    """`0.41 degrees`, with the decimals usual for the unit."""
    value, _, unit = _converted(value, 0.0, unit, units)
    return f"{fixed(value, PLACES[unit])} {_NAMES[unit]}"


def counted(number: int, noun: str) -> str:
    """`1 board`, `2 boards`."""
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"


def unit_name(unit: str, units: Units = "mm") -> str:
    """`degrees`, `mm`, `in` or `days`."""
    return _NAMES[_converted(0.0, 0.0, unit, units)[2]]


def shown(value: float, unit: str, units: Units = "mm") -> float:
    """A number in the unit that it is shown in."""
    return _converted(value, 0.0, unit, units)[0]


def plain(value: float, unit: str, units: Units = "mm") -> str:
    """`0.41`, with the decimals usual for the unit."""
    value, _, unit = _converted(value, 0.0, unit, units)
    return fixed(value, PLACES[unit])


def day_name(day: date) -> str:
    """`27 Nov 2026`: the one way that people read a day, on pages and in print."""
    return f"{day.day} {day:%b %Y}"


def period_name(first: date, last: date) -> str:
    """`3 Nov 2026 to 27 Nov 2026`; one day is said once."""
    return day_name(first) if first == last else f"{day_name(first)} to {day_name(last)}"


def _converted(value: float, u95: float, unit: str, units: Units) -> tuple[float, float, str]:
    if unit == "mm" and units == "inch":
        return value / MM_PER_INCH, u95 / MM_PER_INCH, "in"
    return value, u95, unit
