"""How strong each wood of `species` is in bending and in shear along the grain, for what a layout leaves standing.

Clear wood at 12 % moisture: Wood Handbook (FPL-GTR-282, 2021), Table 5-3b, in lbf/in2 as printed. Single boards scatter
by the coefficients of variation of its Table 5-6 (from memory); knots and short grain are not in any of it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import NamedTuple

from vision.joint.species import SPECIES

MPA_PER_PSI = 6.894757e-3
BENDING_SCATTER, SHEAR_SCATTER = 0.16, 0.14
"""Coefficients of variation of bending strength and of shear strength along the grain (Table 5-6, from memory)."""


class _Printed(NamedTuple):
    """Modulus of rupture and shear strength along the grain, psi."""

    bending_psi: float
    shear_psi: float


_TABLE_5_3B = {
    "eastern white pine": _Printed(8600.0, 900.0),
    "Douglas-fir, coast": _Printed(12400.0, 1130.0),
    "Douglas-fir, interior north": _Printed(13100.0, 1400.0),
    "yellow-poplar": _Printed(10100.0, 1190.0),
    "black cherry": _Printed(12300.0, 1700.0),
    "sugar maple": _Printed(15800.0, 2330.0),
    "red maple": _Printed(13400.0, 1850.0),
    "silver maple": _Printed(8900.0, 1480.0),
    "northern red oak": _Printed(14300.0, 1780.0),
    "white oak": _Printed(15200.0, 2000.0),
    "black walnut": _Printed(14600.0, 1370.0),
    "white ash": _Printed(15400.0, 1910.0),
    "American beech": _Printed(14900.0, 2010.0),
}


@dataclass(frozen=True)
class Strength:
    """Bending strength (modulus of rupture) and shear strength along the grain of clear wood, MPa.

    `named` is False for the stand-in of a wood that was not named: the weakest of all in bending, and as
    weak in bending against shear as the worst.
    """

    wood: str
    bending_mpa: float
    shear_mpa: float
    named: bool = True


STRENGTHS: Mapping[str, Strength] = {
    name: Strength(name, MPA_PER_PSI * row.bending_psi, MPA_PER_PSI * row.shear_psi)
    for name, row in _TABLE_5_3B.items()
}


def strength_of(wood: str) -> Strength:
    """The strength of a wood by its name in `species.SPECIES`; of any other name, the worst of all."""
    if wood in SPECIES:
        return STRENGTHS[wood]
    woods = STRENGTHS.values()
    bending_mpa = min(each.bending_mpa for each in woods)
    return Strength(wood, bending_mpa, bending_mpa * max(each.shear_mpa / each.bending_mpa for each in woods), False)
