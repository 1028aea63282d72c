"""A kept print check: the readings, what they were taken with, when, and the shape that follows; as versioned data."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

import numpy as np

from calibration.kept_format import in_known_format
from calibration.prints.check import LENGTHS, Instrument, shape_from_readings
from calibration.prints.shape import PrintShape

FORMAT = 1
"""Version of the file of kept prints. Every version ever written stays readable."""
_NO_PRINTS = "these are not kept prints"


@dataclass(frozen=True)
class PrintRecord:
    """One measured print: its shape, the readings in mm by length, the instrument's name, the day, and a free note.

    The readings are empty for a shape that photos gave.
    """

    shape: PrintShape
    readings_mm: Mapping[str, tuple[float, ...]]
    instrument: str
    measured: date
    note: str = ""

    @property
    def name(self) -> str:
        """The name it is kept under."""
        return self.shape.name

    def to_dict(self) -> dict[str, Any]:
        """Data for JSON; `from_dict` undone."""
        shape = self.shape
        return {
            "x_scale": shape.x_scale,
            "y_scale": shape.y_scale,
            "skew_rad": shape.skew_rad,
            "covariance": np.asarray(shape.covariance).tolist(),
            "readings_mm": {length: list(self.readings_mm[length]) for length in LENGTHS},
            "instrument": self.instrument,
            "measured": self.measured.isoformat(),
            "note": self.note,
        }

    @classmethod
    def from_dict(cls, name: str, data: Mapping[str, Any]) -> PrintRecord:
        """The record kept under `name`. Raises ValueError when the data are not one."""
        try:
            covariance = np.array(data["covariance"], float)
            shape = PrintShape(data["x_scale"], data["y_scale"], data["skew_rad"], covariance, name)
            readings = {length: tuple(float(reading) for reading in data["readings_mm"][length]) for length in LENGTHS}
            return cls(shape, readings, str(data["instrument"]), date.fromisoformat(data["measured"]), data["note"])
        except (KeyError, TypeError, AttributeError) as error:
            raise ValueError(f"the print {name!r} is damaged") from error


def measured_print(
    name: str, readings_mm: Mapping[str, Sequence[float]], instrument: Instrument, *, on: date, note: str = ""
) -> PrintRecord:
    """The record of a print measured `on` that day. Raises what `shape_from_readings` raises."""
    shape = shape_from_readings(readings_mm, instrument, name)
    kept = {length: tuple(readings_mm[length]) for length in LENGTHS}
    return PrintRecord(shape, kept, instrument.name, on, note)


def prints_to_dict(prints: Mapping[str, PrintRecord]) -> dict[str, Any]:
    """The file of kept prints as data for JSON."""
    return {"format": FORMAT, "prints": {name: prints[name].to_dict() for name in sorted(prints)}}


def prints_from_dict(data: object) -> dict[str, PrintRecord]:
    """The kept prints by name. Raises NewerFormatError, or ValueError when the data are not kept prints."""
    prints = in_known_format(data, FORMAT, _NO_PRINTS).get("prints")
    if not isinstance(prints, dict):
        raise ValueError(_NO_PRINTS)
    return {name: PrintRecord.from_dict(name, each) for name, each in prints.items()}
