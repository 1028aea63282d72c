"""The measured values of a repeatability study: taken from results, and kept as a table that needs no photos."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from calibration.quantity import COVERAGE_FACTOR, Quantity
from calibration.study.gauge_study import Reading
from vision.answer.result import Report

LEAN, TAPER, HALF_TAPER = "lean", "taper", "half-pin taper"
UNITS = {LEAN: "deg", TAPER: "mm", HALF_TAPER: "mm"}

COLUMNS = ("board", "person", "photo", "quantity", "part", "unit", "value", "u95", "u95_photo")
REQUIRED = ("person", "part", "value")

_PRINT_CAUSE = "print"
"""The causes that every photo of one card shares begin with this word."""


@dataclass(frozen=True)
class Value:
    """One quantity of one part in one photo, in `unit`. `u95` is the U that the program claims, `u95_photo` its share
    that is new in every photo; None when nothing is claimed."""

    board: str
    person: str
    photo: str
    quantity: str
    part: str
    unit: str
    value: float
    u95: float | None = None
    u95_photo: float | None = None

    @property
    def reading(self) -> Reading:
        """The value as the statistics take it."""
        u = None if self.u95_photo is None else self.u95_photo / COVERAGE_FACTOR
        part = f"{self.board}: {self.part}" if self.board else self.part
        return Reading(part, self.person, self.photo, self.value, u)


def values_of(report: Report, board: str, person: str, photo: str) -> Iterator[Value]:
    """Every wall's lean and every socket's taper; half pins apart, since their datum does not cancel."""

    def value(quantity: str, part: str, found: Quantity) -> Value:
        unit = UNITS[quantity]
        return Value(board, person, photo, quantity, part, unit, found.value, found.u95, _photo_u95(found))

    for wall in report.measurement.walls:
        yield value(LEAN, f"tail {wall.tail + 1} {wall.side}", wall.lean)
    sockets = report.prediction.sockets
    for socket in sockets[1:-1]:
        yield value(TAPER, f"tails {socket.index} and {socket.index + 1}", socket.taper)
    for side, socket in (("left", sockets[0]), ("right", sockets[-1])):
        yield value(HALF_TAPER, f"{side} half pin", socket.taper)


def _photo_u95(quantity: Quantity) -> float:
    """U without the causes that all photos of one printed card share: a study with one card cannot show those."""
    own = {source: part for source, part in quantity.parts.items() if not source.cause.startswith(_PRINT_CAUSE)}
    return Quantity(quantity.value, own, quantity.unit).u95


def to_csv(values: Iterable[Value]) -> str:
    """The table, one line a value."""
    file = io.StringIO()
    writer = csv.DictWriter(file, COLUMNS, lineterminator="\n")
    writer.writeheader()
    writer.writerows({name: _cell(getattr(value, name)) for name in COLUMNS} for value in values)
    return file.getvalue()


def from_csv(text: str) -> list[Value]:
    """The values of a table with at least the columns person, part and value.

    Without a photo every line counts as a photo of its own; without a quantity all are the same. Raises ValueError,
    in a sentence for people, for a table that cannot be read so.
    """
    reader = csv.DictReader(io.StringIO(text.removeprefix("\ufeff")))
    try:
        values = _values(reader)
    except csv.Error as error:
        line = reader.line_num
        raise ValueError(f"line {line} is no line of a table ({error}): is a quotation mark missing?") from error
    if not values:
        raise ValueError("the table has no lines below its first")
    return values


def _values(reader: csv.DictReader[str]) -> list[Value]:
    missing = [name for name in REQUIRED if name not in (reader.fieldnames or ())]
    if missing:
        raise ValueError(f"the table has no column {missing[0]!r}; it needs {', '.join(REQUIRED)} in its first line")
    return [_value(row, reader.line_num) for row in reader]


def _value(row: Mapping[str, str | None], line: int) -> Value:
    given = {name: (row.get(name) or "").strip() for name in COLUMNS}
    if not (given["person"] and given["part"]):
        raise ValueError(f"line {line} does not say which part, or whose measurement it is")
    value = _number(given["value"], "value", line)
    if value is None:
        raise ValueError(f"line {line} has no value")
    claims = (_number(given[name], name, line) for name in ("u95", "u95_photo"))
    names = (given["board"], given["person"], given["photo"] or f"line {line}", given["quantity"] or "value")
    return Value(*names, given["part"], given["unit"], value, *claims)


def _number(text: str, name: str, line: int) -> float | None:
    """The number in a cell, None in an empty one."""
    if not text:
        return None
    try:
        number = float(text)
    except ValueError:
        number = math.nan
    if not math.isfinite(number) or (name != "value" and number < 0.0):
        raise ValueError(f"line {line}: {name} is {text!r}, which is not a number it could be; use a decimal point")
    return number


def _cell(value: str | float | None) -> str:
    if isinstance(value, float):
        return f"{value:.6f}"
    return value or ""
