"""Woods: how stiff, how hard and how ready to split each is, with the source of every constant.

Clear wood at 12 % moisture. Strength and stiffness: Wood Handbook (FPL-GTR-282, 2021), Table 5-3a. Elastic ratios:
its Table 5-1. Fracture energy: a bracket from first cracking (mode I toughness, Table 5-10, turned into energy after
Sih, Paris and Irwin, 1965) to the whole work of fracture with fibre bridging. Where no value was found, the stand-in
is named in the wood's `sources`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal, NamedTuple

Group = Literal["softwood", "hardwood"]

TRUE_OVER_APPARENT_STIFFNESS = 1.1
"""E_L over the tabulated modulus of elasticity of a 14:1 beam (Table 5-3a, footnote c: shear is left out)."""

BRIDGING_FACTOR = 2.0
"""Work of fracture over initiation energy where only the latter is known: the spread of published values, rounded."""

MOISTURE_FACTOR = 1.12
"""Mass at 12 % moisture over the ovendry mass that the handbook's specific gravity counts."""


@dataclass(frozen=True)
class Species:
    """Constants of one wood. Moduli and strengths in MPa, fracture energy in N/m (= J/m2) as [low, high].

    `sources` says for every constant where it comes from, and what stands in where no value was found.
    """

    name: str
    group: Group
    specific_gravity: float
    modulus_l_mpa: float
    modulus_t_mpa: float
    shear_lr_mpa: float
    crush_mpa: float
    fracture_n_per_m: tuple[float, float]
    sources: Mapping[str, str]

    @property
    def stand_ins(self) -> tuple[str, ...]:
        """The sources that say a constant was borrowed from another wood."""
        return tuple(text for text in self.sources.values() if "stand-in" in text)


class _Ratios(NamedTuple):
    """E_T / E_L and G_LR / E_L."""

    tangential: float
    shear_lr: float
    source: str


class _Fracture(NamedTuple):
    """Fracture energy bracket, N/m."""

    low: float
    high: float
    source: str


class _Row(NamedTuple):
    """One wood as tabulated: specific gravity, modulus of elasticity (MPa), compression strength across (kPa)."""

    name: str
    also: tuple[str, ...]
    group: Group
    specific_gravity: float
    modulus_mpa: float
    crush_kpa: float
    ratios: _Ratios
    fracture: _Fracture


_TABLE_5_3A = "FPL-GTR-282 Table 5-3a, 12 % moisture"
_TABLE_5_3B = "FPL-GTR-282 Table 5-3b (psi, converted), 12 % moisture"
_TABLE_5_1 = "FPL-GTR-282 Table 5-1"
_FROM_MEMORY = "Wood Handbook Table 5-1, from memory"
_CONVERTED = frozenset({"eastern white pine", "red maple", "silver maple", "black walnut", "American beech"})


def _bridged_softwood(specific_gravity: float) -> float:
    """Work of fracture of a softwood, N/m: 1.04 rho - 146, rho in kg/m3 (Larsen and Gustafsson 1990, from memory)."""
    return 1.04 * 1000.0 * MOISTURE_FACTOR * specific_gravity - 146.0


def _softwood_fracture(initiation: float, specific_gravity: float, source: str) -> _Fracture:
    return _Fracture(
        initiation,
        _bridged_softwood(specific_gravity),
        f"low: {source}; high: 1.04 rho - 146, Larsen and Gustafsson 1990, from memory",
    )


def _hardwood_fracture(initiation: float, source: str) -> _Fracture:
    return _Fracture(initiation, BRIDGING_FACTOR * initiation, f"low: {source}; high: twice that")


_TL = "K_Ic (TL), Wood Handbook Table 5-10"
_SUGAR_MAPLE = _Ratios(0.065, 0.111, _TABLE_5_1)
_RED_MAPLE = _Ratios(0.067, 0.133, _FROM_MEMORY)
_DOUGLAS_FIR = _Ratios(0.050, 0.064, _TABLE_5_1)
_WESTERN_WHITE_PINE = _Ratios(0.038, 0.052, f"stand-in: western white pine, {_FROM_MEMORY}")
_MAPLE_CRACK = _hardwood_fracture(156.0, f"{_TL}, 480 kPa m^0.5")
_OAK_CRACK = _hardwood_fracture(92.0, f"{_TL}, 410 kPa m^0.5, from memory")
_GENERIC_CRACK = _Fracture(150.0, 300.0, "stand-in: generic hardwood, the middle of the published values")


def _as_stand_in(values: _Ratios, wood: str) -> _Ratios:
    return values._replace(source=f"stand-in: {wood}, {values.source}")


def _crack_as_stand_in(values: _Fracture, wood: str) -> _Fracture:
    return values._replace(source=f"stand-in: {wood}, {values.source}")


_ROWS = (
    _Row(
        "eastern white pine",
        ("pine", "white pine"),
        "softwood",
        *(0.35, 8549.0, 3034.0),
        _WESTERN_WHITE_PINE,
        _softwood_fracture(80.0, 0.35, f"stand-in: western white pine, {_TL}, 250 kPa m^0.5"),
    ),
    _Row(
        "Douglas-fir, coast",
        ("douglas fir", "fir"),
        "softwood",
        *(0.48, 13400.0, 5500.0),
        _DOUGLAS_FIR,
        _softwood_fracture(71.0, 0.48, f"{_TL}, 320 kPa m^0.5"),
    ),
    _Row(
        "Douglas-fir, interior north",
        (),
        "softwood",
        *(0.48, 12300.0, 5300.0),
        _as_stand_in(_DOUGLAS_FIR, "Douglas-fir, coast"),
        _softwood_fracture(71.0, 0.48, f"stand-in: Douglas-fir, coast, {_TL}, 320 kPa m^0.5"),
    ),
    _Row(
        "yellow-poplar",
        ("poplar", "tulip poplar", "tulipwood"),
        "hardwood",
        *(0.42, 10900.0, 3400.0),
        _Ratios(0.043, 0.075, _TABLE_5_1),
        _hardwood_fracture(260.0, f"{_TL}, 517 kPa m^0.5, from memory"),
    ),
    _Row(
        "black cherry",
        ("cherry",),
        "hardwood",
        *(0.50, 10300.0, 4800.0),
        _Ratios(0.086, 0.147, _FROM_MEMORY),
        _GENERIC_CRACK,
    ),
    _Row(
        "sugar maple",
        ("maple", "hard maple"),
        "hardwood",
        *(0.63, 12600.0, 10100.0),
        _SUGAR_MAPLE,
        _MAPLE_CRACK,
    ),
    _Row(
        "red maple",
        ("soft maple",),
        "hardwood",
        *(0.54, 11307.0, 6895.0),
        _RED_MAPLE,
        _crack_as_stand_in(_MAPLE_CRACK, "sugar maple"),
    ),
    _Row(
        "silver maple",
        (),
        "hardwood",
        *(0.47, 7860.0, 5102.0),
        _as_stand_in(_RED_MAPLE, "red maple"),
        _crack_as_stand_in(_MAPLE_CRACK, "sugar maple"),
    ),
    _Row(
        "northern red oak",
        ("oak", "red oak"),
        "hardwood",
        *(0.63, 12500.0, 7000.0),
        _Ratios(0.082, 0.089, _TABLE_5_1),
        _OAK_CRACK,
    ),
    _Row(
        "white oak",
        (),
        "hardwood",
        *(0.68, 12300.0, 7400.0),
        _Ratios(0.072, 0.086, _TABLE_5_1),
        _crack_as_stand_in(_OAK_CRACK, "northern red oak"),
    ),
    _Row(
        "black walnut",
        ("walnut",),
        "hardwood",
        *(0.55, 11583.0, 6964.0),
        _Ratios(0.056, 0.085, _FROM_MEMORY),
        _GENERIC_CRACK,
    ),
    _Row(
        "white ash",
        ("ash",),
        "hardwood",
        *(0.60, 12000.0, 8000.0),
        _Ratios(0.080, 0.109, _FROM_MEMORY),
        _GENERIC_CRACK,
    ),
    _Row(
        "American beech",
        ("beech",),
        "hardwood",
        *(0.64, 11900.0, 7000.0),
        _as_stand_in(_SUGAR_MAPLE, "sugar maple"),
        _GENERIC_CRACK,
    ),
)


def _species(row: _Row) -> Species:
    modulus_l = TRUE_OVER_APPARENT_STIFFNESS * row.modulus_mpa
    table = _TABLE_5_3B if row.name in _CONVERTED else _TABLE_5_3A
    return Species(
        name=row.name,
        group=row.group,
        specific_gravity=row.specific_gravity,
        modulus_l_mpa=modulus_l,
        modulus_t_mpa=row.ratios.tangential * modulus_l,
        shear_lr_mpa=row.ratios.shear_lr * modulus_l,
        crush_mpa=row.crush_kpa / 1000.0,
        fracture_n_per_m=(row.fracture.low, row.fracture.high),
        sources={
            "specific_gravity": table,
            "modulus_l_mpa": f"1.1 times the modulus of elasticity, {table}",
            "modulus_t_mpa": f"E_T/E_L: {row.ratios.source}",
            "shear_lr_mpa": f"G_LR/E_L: {row.ratios.source}",
            "crush_mpa": f"compression across the grain at the proportional limit, {table}",
            "fracture_n_per_m": row.fracture.source,
        },
    )


SPECIES: Mapping[str, Species] = {row.name: _species(row) for row in _ROWS}


def _key(name: str) -> str:
    return " ".join(name.lower().replace("-", " ").replace("_", " ").replace(",", " ").split())


_NAMES = {_key(name): row.name for row in _ROWS for name in (row.name, *row.also)}


def known_woods() -> tuple[str, ...]:
    """Every name that `find_species` takes, in alphabetical order."""
    return tuple(sorted(_NAMES))


def find_species(name: str) -> Species:
    """The wood called `name` (capitals and hyphens don't matter). Raises ValueError with the known names if unknown."""
    key = _key(name)
    if key not in _NAMES:
        raise ValueError(f"species {name!r} is not in the table; it knows {', '.join(known_woods())}")
    return SPECIES[_NAMES[key]]


def worst_of_all() -> Species:
    """A wood as stiff, as soft under pressure and as ready to split as the worst in the table: for a wood not named."""
    woods = SPECIES.values()
    why = "the worst of all woods in the table, for a wood not named"
    return Species(
        name="unknown wood",
        group="hardwood",
        specific_gravity=max(wood.specific_gravity for wood in woods),
        modulus_l_mpa=max(wood.modulus_l_mpa for wood in woods),
        modulus_t_mpa=max(wood.modulus_t_mpa for wood in woods),
        shear_lr_mpa=max(wood.shear_lr_mpa for wood in woods),
        crush_mpa=min(wood.crush_mpa for wood in woods),
        fracture_n_per_m=(
            min(wood.fracture_n_per_m[0] for wood in woods),
            min(wood.fracture_n_per_m[1] for wood in woods),
        ),
        sources=dict.fromkeys(next(iter(woods)).sources, why),
    )
