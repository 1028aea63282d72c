"""What a squeeze does to the wood: crushing between neighbours, or splitting a tail off its root.

Estimates by textbook mechanics. *Confined*: pin and tails share the squeeze as springs across the grain. *Free-sided*:
the pin is a wedge and the tail a stubby cantilever on its root at the baseline, in bending and shear, in series with
the pin's own spring; its energy release rate G is set against the wood's fracture energy. For slender tails and a
stiff pin G tends to Obreimoff's 3 E h^3 d^2 / (8 a^4) (Proc. R. Soc. A 127, 290, 1930). Millimetres, newtons, MPa.
"""

from __future__ import annotations

from dataclasses import dataclass

from vision.joint.species import Species

SHEAR_SHAPE = 1.2
"""Shear coefficient of a rectangular section (Timoshenko beam, energy form: 6/5)."""

N_PER_M = 1000.0
"""N/mm to N/m."""


@dataclass(frozen=True)
class Tail:
    """A tail as a cantilever: root to tip `depth_mm`, board thickness and tail width in mm."""

    depth_mm: float
    thickness_mm: float
    width_mm: float

    @property
    def inertia_mm4(self) -> float:
        """Second moment of area of the root section in bending across the grain: t h^3 / 12."""
        return self.thickness_mm * self.width_mm**3 / 12.0


def confined_pressure(squeeze_mm: float, pin_mm: float, tail_mm: float, wood: Species) -> float:
    """Pressure (MPa) of a pin and tails of one wood that share `squeeze_mm`: d / (b_pin / E_T + h_tail / E_T)."""
    return squeeze_mm * wood.modulus_t_mpa / (pin_mm + tail_mm)


def crush_ratio(squeeze_mm: float, pin_mm: float, tail_mm: float, wood: Species) -> float:
    """The confined pressure over the wood's compression strength across the grain."""
    return confined_pressure(squeeze_mm, pin_mm, tail_mm, wood) / wood.crush_mpa


def tail_compliance(tail: Tail, wood: Species) -> float:
    """Sideways movement of the tail's tip per force (mm/N): bending a^3/(3 E I) plus shear 1.2 a/(G t h)."""
    bending = tail.depth_mm**3 / (3.0 * wood.modulus_l_mpa * tail.inertia_mm4)
    return bending + SHEAR_SHAPE * tail.depth_mm / (wood.shear_lr_mpa * tail.thickness_mm * tail.width_mm)


def compliance_growth(tail: Tail, wood: Species) -> float:
    """The derivative of `tail_compliance` by crack length (1/N): a^2/(E I) + 1.2/(G t h)."""
    bending = tail.depth_mm**2 / (wood.modulus_l_mpa * tail.inertia_mm4)
    return bending + SHEAR_SHAPE / (wood.shear_lr_mpa * tail.thickness_mm * tail.width_mm)


def pin_compliance(tail: Tail, pin_mm: float, wood: Species) -> float:
    """Shortening of half the pin per force across it (mm/N): (b/2) / (E_T a t)."""
    return 0.5 * pin_mm / (wood.modulus_t_mpa * tail.depth_mm * tail.thickness_mm)


def wedge_force(overlap_mm: float, tail: Tail, pin_mm: float, wood: Species) -> float:
    """Force (N) between a pin and a tail that overlap by `overlap_mm` and give way as springs in series."""
    return overlap_mm / (tail_compliance(tail, wood) + pin_compliance(tail, pin_mm, wood))


def release_rate(overlap_mm: float, tail: Tail, pin_mm: float, wood: Species) -> float:
    """Energy release rate G (N/m) of a split along the grain at the tail's root: P^2/(2 t) dC/da."""
    force = wedge_force(overlap_mm, tail, pin_mm, wood)
    return N_PER_M * force * force / (2.0 * tail.thickness_mm) * compliance_growth(tail, wood)


def split_range(overlap_mm: float, tail: Tail, pin_mm: float, wood: Species) -> tuple[float, float]:
    """G over the wood's fracture energy, (least, greatest) over the bracket of published fracture energies."""
    rate = release_rate(overlap_mm, tail, pin_mm, wood)
    low, high = wood.fracture_n_per_m
    return rate / high, rate / low
