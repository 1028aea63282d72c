"""The print check: from the measured bars and diagonals of the sheet to the printed card's shape, with its uncertainty.

The sheet carries a square A, B, C, D (A bottom left, counter-clockwise) of two bars and two diagonals. Four lengths
determine three numbers, by least squares; the fourth is a check on the readings.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from calibration.prints.shape import PARAMETERS, UNCHECKED, PrintShape
from calibration.sheet.layout import CHECK_CORNERS, CHECK_MM
from calibration.units import MM_PER_INCH

Floats = NDArray[np.float64]

LENGTHS = ("AB", "AD", "AC", "BD")
"""The two bars and the two diagonals, each named by its ends."""
_SPANS = CHECK_MM * np.array([np.subtract(CHECK_CORNERS[name[1]], CHECK_CORNERS[name[0]]) for name in LENGTHS])
NOMINAL_MM: dict[str, float] = dict(zip(LENGTHS, np.linalg.norm(_SPANS, axis=1).tolist(), strict=True))
"""What each length measures on a print that is true to size."""

LARGEST_SCALE_ERROR, LARGEST_SKEW_DEG = 0.03, 1.0
"""Beyond these a sheet was fitted to the page, or fed askew: correcting it would only hide that."""
_BOUNDS = np.array([[0.2, 0.2, -1.0], [5.0, 5.0, 1.0]])
"""No reading, however wrong, is followed beyond these."""
_CONTRADICTION = 2.576
"""Standard deviations of the closure beyond which readings contradict one another: one in a hundred does by chance."""
_OTHER_UNITS = {
    10.0: ("a tenth", "centimetres: give them in mm"),
    MM_PER_INCH: ("1/25.4", "inches: add the unit, as in 3.94in, or give them in mm"),
}
"""By how many mm such a unit has: what part of their size lengths in it seem to be, and what to do."""
_UNIT_TOLD = 0.1
"""Relative distance from another unit within which lengths are taken to be in it."""
_REPEATS = 5.0
"""Standard uncertainties of a length that two readings of it are apart at most: four half-widths of an end's."""
ELSEWHERE_U = 0.0005 / np.sqrt(3.0)
ELSEWHERE_SKEW_U = np.radians(0.02) / np.sqrt(3.0)
"""How far the card's own scales and right angle depart from those of the square beside it, paper that has since grown
or shrunk included: within 0.05 mm in 100 and 0.02 degrees, rectangular (common practice, no source)."""


@dataclass(frozen=True)
class Instrument:
    """What the lengths were measured with.

    `end_u_mm` is the standard uncertainty of placing or reading one of a length's two ends, `scale_u` the relative one
    of the instrument itself, which all four lengths share.
    """

    name: str
    end_u_mm: float
    scale_u: float

    @property
    def length_u_mm(self) -> float:
        """Standard uncertainty (mm) of one length from its two ends."""
        return self.end_u_mm * float(np.sqrt(2.0))


RULE_SCALE_U = 0.001 / np.sqrt(3.0)
"""Steel rule: within 0.1 mm in 100 mm, rectangular (class I of the European directive on length measures, 0.1 mm and
0.1 mm a metre; from memory)."""


def rule(read_to_mm: float) -> Instrument:
    """A rule whose ends are each read to the nearest `read_to_mm`: rectangular (JCGM 100:2008, 4.3.7; F.2.2.1).

    Raises ValueError unless that lies above 0 and at most at 1 mm.
    """
    if not 0.0 < read_to_mm <= 1.0:
        raise ValueError(f"a rule is read to between 0 and 1 mm, got {read_to_mm:g}")
    return Instrument(f"rule read to {read_to_mm:g} mm", read_to_mm / 2.0 / float(np.sqrt(3.0)), RULE_SCALE_U)


RULE = rule(0.5)
"""A rule read by eye to half a millimetre; through a loupe it is read to 0.2 mm."""
CALIPER = Instrument("caliper", 0.1 / float(np.sqrt(3.0)), 0.0003 / float(np.sqrt(3.0)))
"""A caliper's points set by eye on the middle of printed lines 0.2 mm wide, within half their width; its own error
within 0.03 mm in 100 mm; both rectangular (common practice, no source)."""


class PrintRefused(ValueError):  # noqa: N818 - it says what is wrong with a print or its readings
    """Readings that make no print: they contradict one another, or the print should not be used."""


def shape_from_readings(
    readings_mm: Mapping[str, Sequence[float]], instrument: Instrument, name: str = ""
) -> PrintShape:
    """The print's shape from the readings (mm) of each of `LENGTHS`, by generalised least squares.

    Readings of one length are averaged; their scatter adds to the instrument's uncertainty, which does not average out.
    Raises ValueError when a length is missing or not above zero, PrintRefused when the readings are in another unit or
    contradict one another, or the print is too far from true to be corrected.
    """
    _check_complete(readings_mm)
    _check_unit(readings_mm)
    _check_repeats(readings_mm, instrument)
    lengths = np.array([np.mean(readings_mm[length]) for length in LENGTHS])
    spread = np.array([_mean_u(readings_mm[length]) for length in LENGTHS])
    own = np.diag(instrument.length_u_mm**2 + spread**2)
    covariance = own + instrument.scale_u**2 * np.outer(lengths, lengths)
    shape, of_fit = _least_squares(lengths, covariance)
    _check_closure(lengths, covariance, shape)
    _check_plausible(shape)
    elsewhere = np.diag([ELSEWHERE_U**2, ELSEWHERE_U**2, ELSEWHERE_SKEW_U**2])
    x_scale, y_scale, skew_rad = shape.tolist()
    return PrintShape(x_scale, y_scale, skew_rad, of_fit + elsewhere, name)


def lengths_of(shape: Floats) -> Floats:
    """The four `LENGTHS` (4,) in mm on a print of this (x scale, y scale, skew in rad) (3,)."""
    x_scale, y_scale, skew_rad = shape.tolist()
    return np.asarray(np.linalg.norm(PrintShape(x_scale, y_scale, skew_rad).true_points(_SPANS), axis=1))


def _least_squares(lengths: Floats, covariance: Floats, used: Sequence[int] = ()) -> tuple[Floats, Floats]:
    """(x scale, y scale, skew) (3,) and its covariance (3, 3) by Gauss-Newton, from the lengths at `used` (all)."""
    rows = list(used or range(len(LENGTHS)))
    shape = np.array([1.0, 1.0, 0.0])
    weight = np.linalg.inv(covariance[np.ix_(rows, rows)])
    for _ in range(20):
        jacobian = _jacobian(shape)[rows]
        normal = jacobian.T @ weight @ jacobian
        step = np.linalg.solve(normal, jacobian.T @ weight @ (lengths - lengths_of(shape))[rows])
        shape = np.clip(shape + step, *_BOUNDS)
        if np.abs(step).max() < 1e-12:
            break
    return shape, np.asarray(np.linalg.inv(normal))


def _jacobian(shape: Floats) -> Floats:
    """d(lengths)/d(shape), (4, 3), by central differences."""
    step = 1e-5
    columns = [(lengths_of(shape + h) - lengths_of(shape - h)) / (2.0 * step) for h in step * np.eye(PARAMETERS)]
    return np.column_stack(columns)


def _mean_u(readings: Sequence[float]) -> float:
    """Standard deviation of the mean of repeated readings (JCGM 100:2008, 4.2.3); zero for a single one."""
    return float(np.std(readings, ddof=1) / np.sqrt(len(readings))) if len(readings) > 1 else 0.0


def _check_repeats(readings_mm: Mapping[str, Sequence[float]], instrument: Instrument) -> None:
    """Raises PrintRefused when readings of one length differ by more than an instrument so read can make them."""
    for length in LENGTHS:
        apart_mm = max(readings_mm[length]) - min(readings_mm[length])
        if apart_mm > _REPEATS * instrument.length_u_mm:
            raise PrintRefused(
                f"the readings of {length} differ by {apart_mm:.1f} mm: one was misread. Measure it again"
            )


def _check_complete(readings_mm: Mapping[str, Sequence[float]]) -> None:
    missing = [length for length in LENGTHS if not readings_mm.get(length)]
    if missing:
        raise ValueError(f"the print check needs all of {', '.join(LENGTHS)}: {', '.join(missing)} missing")
    for length in LENGTHS:
        wrong = [reading for reading in readings_mm[length] if not 0.0 < reading < float("inf")]
        if wrong:
            raise ValueError(f"{length} must be a length in mm above zero, got {wrong[0]:g}")


def _check_unit(readings_mm: Mapping[str, Sequence[float]]) -> None:
    """Raises PrintRefused when all lengths are what they would be in another unit."""
    sizes = np.array([np.median(readings_mm[length]) / NOMINAL_MM[length] for length in LENGTHS])
    for unit_mm, (part, advice) in _OTHER_UNITS.items():
        if np.abs(sizes * unit_mm - 1.0).max() < _UNIT_TOLD:
            raise PrintRefused(f"all four lengths are about {part} of what they should be. They look like {advice}")


def _check_closure(lengths: Floats, covariance: Floats, shape: Floats) -> None:
    """Raises PrintRefused when the four lengths make no parallelogram, naming the likeliest culprit.

    One check cannot tell which reading is wrong. But prints are nearly true to size: the reading without which the
    other three make the most ordinary print is the likeliest.
    """
    left = lengths - lengths_of(shape)
    if left @ np.linalg.solve(covariance, left) < _CONTRADICTION**2:
        return
    rest = [[index for index in range(len(LENGTHS)) if index != dropped] for dropped in range(len(LENGTHS))]
    without = [_least_squares(lengths, covariance, used)[0] for used in rest]
    culprit = int(np.argmin([_strangeness(each) for each in without]))
    due_mm = lengths_of(without[culprit])[culprit]
    raise PrintRefused(
        "the four lengths contradict one another: the sides of a square decide what its diagonals add up to. Most"
        f" likely {LENGTHS[culprit]} was misread: {lengths[culprit]:.1f} mm, where the other three ask for"
        f" {due_mm:.1f} mm. Measure it again"
    )


def _strangeness(shape: Floats) -> float:
    """Squared distance of a shape from a true print, in standard deviations of unchecked ones."""
    return float(np.sum((shape - [1.0, 1.0, 0.0]) ** 2 / np.diag(UNCHECKED.covariance)))


def _check_plausible(shape: Floats) -> None:
    worst = float(np.abs(shape[:2] - 1.0).max())
    skew_deg = float(np.degrees(abs(shape[2])))
    if worst > LARGEST_SCALE_ERROR:
        raise PrintRefused(f"the print is {100.0 * worst:.1f} % out of size: print again at 100 %")
    if skew_deg > LARGEST_SKEW_DEG:
        raise PrintRefused(f"the print is {skew_deg:.1f} degrees out of square: print again at 100 %")
