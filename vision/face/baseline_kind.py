"""Which tool drew the baseline: a pencil, or a knife or gauge, told by colour and width, or left open.

Graphite lies on the wood and hides it behind its own neutral grey, so on yellowish wood a pencil line takes away less
blue than red. A cut takes its darkness from shade: what light leaves it has the wood's own colour, or a warmer one. So
the light that is missing in blue, over that missing in red, tells them apart, the better the more coloured the wood
is. A slim line is a little likelier cut, a broad one a little likelier drawn. A photo cannot tell a knife from a gauge,
and black ink looks like either.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from calibration.robust import robust_sigma

Floats = NDArray[np.float64]
BaselineKind = Literal["line", "pencil", "knife or gauge"]

SURE = 0.95
"""Chance from which a kind is named; below it the baseline is a `line`."""
_GREYS = np.linspace(0.08, 0.42, 35)
_GREY, _GREY_U = 0.25, 0.07
"""Light of graphite on wood over that of white paper: a soft and a hard pencil differ as much (from memory, no
source; 0.26 to 0.27 on three rendered faces)."""
_SHADE_U = 0.05
"""How far from one the ratio lies for a cut: light that comes back from its sides is warmer, sky light is bluer."""
_COLOUR_U = 0.03
"""What a phone's own colours leave in the ratio: half their resolution, and noise reduction."""
_PENCIL_MM, _CUT_MM, _WIDTH_SPREAD = 0.35, 0.2, 0.55
"""Usual widths of a pencil line and of a knife's or gauge's, and their spread as a natural logarithm (common practice,
no source)."""
_ANYTHING = 0.05
"""How likely beforehand, against a pencil, that the line is something else, such as coloured ink."""
_LARGEST = 2.0
"""The ratio of such a line may be anything up to this."""
_LINE_MM = 0.7
"""How far from the line's middle light is missing, blur and coarse colours included."""
_GROUPS = 12


class LineLook(NamedTuple):
    """How a baseline looks: the light it lacks in blue over that in red, with its standard uncertainty; `wood` (3,) is
    the wood beside it over white paper; `width_mm` that of the line."""

    blue_over_red: float
    u: float
    wood: Floats
    width_mm: float


def look_of_line(light: Floats, y: Floats, white: Floats, width_mm: float) -> LineLook:
    """The look of a line from light (pieces, rows, 3) across it at `y` (rows,) mm; `white` (3,) is that of the card."""
    beside = np.abs(y) > _LINE_MM
    design = np.stack([np.ones_like(y), y], axis=1)
    fits = np.einsum("ij,pjc->pic", np.linalg.pinv(design[beside]), light[:, beside])
    wood = np.maximum(np.einsum("yi,pic->pyc", design, fits), 1e-4)
    missing = (1.0 - light / wood)[:, ~beside].sum(axis=1)
    groups = np.array([group.sum(axis=0) for group in np.array_split(missing, _GROUPS) if len(group)])
    ratios = groups[:, 2] / np.maximum(groups[:, 0], 1e-4)
    middle = float(np.median(ratios))
    u = robust_sigma(ratios - middle) * math.sqrt(math.pi / 2.0 / len(ratios))
    return LineLook(middle, u, np.median(fits[:, 0], axis=0) / white, width_mm)


def chances(look: LineLook) -> dict[BaselineKind, float]:
    """The chance of each kind; `line` is that of anything else."""
    wide = math.log(look.width_mm)
    weights: dict[BaselineKind, float] = {
        "pencil": _pencil_density(look) * _normal(wide, math.log(_PENCIL_MM), _WIDTH_SPREAD),
        "knife or gauge": _normal(look.blue_over_red, 1.0, math.hypot(look.u, _COLOUR_U, _SHADE_U))
        * _normal(wide, math.log(_CUT_MM), _WIDTH_SPREAD),
        "line": _ANYTHING / _LARGEST * _normal(0.0, 0.0, _WIDTH_SPREAD),
    }
    total = sum(weights.values())
    return {kind: weight / total for kind, weight in weights.items()}


def named(by_chance: Mapping[BaselineKind, float]) -> BaselineKind:
    """The kind that is sure enough to be named, else `line`."""
    kind = max(by_chance, key=lambda each: by_chance[each])
    return kind if by_chance[kind] >= SURE else "line"


def _pencil_density(look: LineLook) -> float:
    """Density of the ratio under a pencil's line, over all greys that graphite may have."""
    red, _, blue = np.maximum(look.wood, 0.05)
    expected = (1.0 - _GREYS / blue) / np.maximum(1.0 - _GREYS / red, 0.05)
    weight = np.exp(-0.5 * ((_GREYS - _GREY) / _GREY_U) ** 2)
    u = math.hypot(look.u, _COLOUR_U)
    density = np.exp(-0.5 * ((look.blue_over_red - expected) / u) ** 2) / (u * math.sqrt(2.0 * math.pi))
    return float((weight * density).sum() / weight.sum())


def _normal(value: float, mean: float, u: float) -> float:
    return math.exp(-0.5 * ((value - mean) / u) ** 2) / (u * math.sqrt(2.0 * math.pi))
