"""Where the walls are, roughly: saw cuts while the waste is in, the sides of the tails once it is out.

The end's surface shows itself at its face edges: a column of the strip belongs to it where both were seen. With the
waste in, the surface runs from side to side and the cuts are narrow, dark, upright and as long as the thickness. With
the waste out, the surface is the tails, and the gaps between them are the sockets.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from vision.end.report import SIDES, Side, narrowing
from vision.photo.strip import Light, brightest, shear_columns, smooth

Floats = NDArray[np.float64]

Run = tuple[float, float]
"""A stretch along x, (left, right) in mm."""

HALF_PIN_MM, HALF_PIN_SPREAD_MM = 6.5, 2.5
"""Width of a half pin at the end, and its spread (common practice, no source)."""
NARROWEST_SOCKET_MM = 1.3
"""A gap in the surface at least this wide is a socket, not a saw cut."""
WIDEST_SOCKET_MM = 12.0
"""A usual socket is slimmer: what lies farther off is no neighbour by itself."""
NARROWEST_TAIL_MM = 3.0
_LOCAL_COLUMNS, _SURELY_SEEN = 15, 0.85
"""Columns over which the far edge's share is taken, and the most that is believed of it."""
_LOOKS, _NEITHER = 4.0, 0.75
_DARKEST_LOOKS, _WOOD_LOOKS = 1.2, 0.9
"""Log odds for surface per light relative to the wood, from where it says nothing, at most; wood with the near edge
outweighs a far edge that does not show against a bench as light as it is."""
_CHANGE_ANYWHERE, _CHANGE_AT_STEP, _CLEAR_STEP = 8.0, 1.0, 0.10
"""Cost of the surface ending where the light does not step, and where it does; and what counts as a clear step."""
_NO_STEP, _LIKE_WOOD = 0.04, 0.95
"""A gap whose ends step no more than this, and as light as wood, is a face that does not show there."""
_LEANS = np.radians(np.arange(-3.6, 3.61, 0.4))
_DARK = 0.66
"""Light in a cut or a drawn line, relative to the wood around it, at most."""
PALE = 0.8
"""Light in a kerf that the sun reaches or that dust fills, relative to the wood, at most."""
SAME_SAW = 0.45
"""How far a kerf's width may be off the usual of its saw, in natural logarithms."""
MOST_OF_IT = 0.72
"""Share of the thickness, or of the depth on a face, along which a cut must be dark."""
NARROWEST_MARK_MM = 0.12
"""A dark mark slimmer than this is no cut."""
WIDEST_KERF_MM = 1.6
_ONE_CUT_MM = 0.75
"""Dark marks closer than this belong to one cut: the kerf and the lines drawn or knifed beside it."""


@dataclass(frozen=True)
class RoughWall:
    """A wall before its edge is measured: `x_mm` at mid thickness, `lean` (tangent), and the kerf beside it.

    `kerf_mm` is None once the waste is gone. The kerf lies to the right of a right wall and to the left of a left wall.
    """

    tail: int
    side: Side
    x_mm: float
    lean: float
    kerf_mm: float | None


@dataclass(frozen=True)
class Cut:
    """One dark upright mark across the end: its `left` and `right` edges (mm at mid thickness), lean and darkness."""

    left: float
    right: float
    lean: float
    light: float

    @property
    def middle(self) -> float:
        """Middle of the mark, mm."""
        return (self.left + self.right) / 2.0

    @property
    def width(self) -> float:
        """Width of the mark, mm."""
        return self.right - self.left


@dataclass(frozen=True)
class EndStrip:
    """The end's surface, straightened: `light` (rows, columns, 3) relative to the wood, at `x` and `y` (mm).

    `wood` (3,) is the linear light of that wood, where it is kept.
    """

    light: Light
    x: Floats
    y: Floats
    wood: Floats | None = None

    @property
    def unit(self) -> float:
        """Columns per mm."""
        return float(1.0 / (self.x[1] - self.x[0]))

    @cached_property
    def brightest(self) -> Light:
        """Light of the brightest channel, (rows, columns)."""
        return brightest(self.light)

    @cached_property
    def steps(self) -> Floats:
        """Mean step of light across every upright line, (lean, column): positive when brighter on the left."""
        return _steps(self)

    def sheared(self, values: Light, lean: float) -> Light:
        """`values` (rows, columns) shifted row by row so that lines of that lean (tangent) become upright."""
        return shear_columns(values, lean * self.unit * float(self.y[1] - self.y[0]))

    def between(self, left: float, right: float) -> EndStrip:
        """The part between two places along x (mm)."""
        inside = (self.x >= left) & (self.x <= right)
        return replace(self, light=self.light[:, inside], x=self.x[inside])

    def turned(self, thickness_mm: float) -> EndStrip:
        """The same surface in a frame turned half round, with the far face's edge as its show face."""
        return replace(self, light=self.light[::-1, ::-1], x=-self.x[::-1], y=thickness_mm - self.y[::-1])


def surface_runs(x: Floats, near: NDArray[np.bool_], far: NDArray[np.bool_], light: Floats, steps: Floats) -> list[Run]:
    """Runs (left, right) in mm where the end's surface lies, from the columns `x` (n,) whose face edges were seen.

    `near` and `far` (n,) tell which columns show the near and the far edge; `light` (n,) is the light there relative to
    the wood, and `steps` (n,) how much it steps all along the thickness, for a surface ends at upright edges. Two
    states, surface or not, by the most likely path.
    """
    looks = np.clip(_LOOKS * (light - _NEITHER), -_DARKEST_LOOKS, _WOOD_LOOKS)
    evidence = faces_evidence(near, far) + looks
    change = _CHANGE_ANYWHERE - (_CHANGE_ANYWHERE - _CHANGE_AT_STEP) * np.minimum(steps / _CLEAR_STEP, 1.0)
    joined: list[tuple[int, int]] = []
    for first, last in stretches(_likeliest_states(evidence, change)):
        before = joined[-1][1] if joined else first
        slim = x[first] - x[before] < NARROWEST_SOCKET_MM
        if joined and (slim or _goes_on_between(light, steps, before, first)):
            joined[-1] = (joined[-1][0], last)
        else:
            joined.append((first, last))
    runs = [(float(x[first]), float(x[last])) for first, last in joined]
    return [run for run in runs if run[1] - run[0] >= NARROWEST_TAIL_MM]


def _goes_on_between(light: Floats, steps: Floats, before: int, after: int) -> bool:
    """Whether the surface goes on from column `before` to column `after`, though its faces do not show between them."""
    return bool(max(steps[before], steps[after]) < _NO_STEP and np.median(light[before + 1 : after]) > _LIKE_WOOD)


def own_runs(runs: list[Run], sides: Run) -> list[Run]:
    """The runs without those farther off than a socket is wide that lie beyond the `sides` of the wood: a jaw's."""
    own = [run for run in runs if run[1] > sides[0] and run[0] < sides[1]]
    while own and (beside := [run for run in runs if run not in own and _socket_beside(run, own)]):
        own = sorted([*own, *beside])
    return own or runs


def _socket_beside(run: Run, own: list[Run]) -> bool:
    return max(run[0] - own[-1][1], own[0][0] - run[1]) < WIDEST_SOCKET_MM


def faces_evidence(near: NDArray[np.bool_], far: NDArray[np.bool_]) -> Floats:
    """Log odds (n,) for surface in columns where the `near` and the `far` face edge (n,) were seen, or were not."""
    seen = _seen_on_surface(near, far)
    evidence = np.asarray(np.where(near, np.log(0.97 / 0.35), np.log(0.03 / 0.65)), float)
    return evidence + np.where(near, np.where(far, np.log(seen / 0.1), np.log((1.0 - seen) / 0.9)), 0.0)


def usual_light(strip: EndStrip, x: Floats) -> Floats:
    """Median light (n,) over the thickness at each place `x` (n,), relative to the wood; 0.75 where unknown."""
    return np.interp(x, strip.x, np.median(strip.brightest, axis=0), left=0.75, right=0.75)


def step_strength(strip: EndStrip, x: Floats) -> Floats:
    """Strongest step of light (n,) along any upright line near each place `x` (n,)."""
    best = np.abs(strip.steps).max(axis=0)
    reach = max(1, round(0.35 * strip.unit))
    around = np.lib.stride_tricks.sliding_window_view(np.pad(best, reach), 2 * reach + 1).max(axis=1)
    return np.interp(x, strip.x, around, left=0.0, right=0.0)


def _seen_on_surface(near: NDArray[np.bool_], far: NDArray[np.bool_]) -> float:
    """How often the far edge is seen where there is surface: its usual share in the better half of the end."""
    together = far[near].astype(float)
    if len(together) < _LOCAL_COLUMNS:
        return 0.5
    local = np.convolve(together, np.full(_LOCAL_COLUMNS, 1.0 / _LOCAL_COLUMNS), mode="valid")
    return float(np.clip(np.percentile(local, 60), 0.1, _SURELY_SEEN))


def _likeliest_states(evidence: Floats, change: Floats) -> NDArray[np.bool_]:
    """Viterbi's path through two states: `evidence` (n,) is the second's log odds, `change` (n,) a switch's cost."""
    outside, inside = 0.0, 0.0
    entered, left = np.zeros(len(evidence), bool), np.zeros(len(evidence), bool)
    for index, (odds, cost) in enumerate(zip(evidence.tolist(), change.tolist(), strict=True)):
        entered[index], left[index] = outside - cost > inside, inside - cost > outside
        outside, inside = max(outside, inside - cost), max(inside, outside - cost) + odds
    surface = inside > outside
    path = np.zeros(len(evidence), bool)
    for index in range(len(evidence) - 1, -1, -1):
        path[index] = surface
        surface = not entered[index] if surface else bool(left[index])
    return path


def find_cuts(strip: EndStrip, *, darkest: float = _DARK) -> list[Cut]:
    """Dark upright marks as long as the thickness, left to right: kerfs, and lines that look like them.

    A mark is at most `darkest` as light as the wood around it.
    """
    light = smooth(strip.brightest, 0.04 * strip.unit, 1)
    wood = wood_around(light, strip.unit)
    dark = (light < darkest * wood).astype(np.float32)
    share = np.array([strip.sheared(dark, float(np.tan(lean))).mean(axis=0) for lean in _LEANS])
    best = share.max(axis=0)
    return [
        _cut(strip, light / wood, share, first, last)
        for first, last in stretches(best >= MOST_OF_IT)
        if (last - first + 1) / strip.unit >= NARROWEST_MARK_MM
    ]


def wood_around(light: Light, unit: float) -> Light:
    """Light of the bare wood near each sample: a high percentile in blocks along x, smoothed."""
    block = max(8, int(4.0 * unit))
    edges = list(range(0, light.shape[1], block))
    centres = np.array([min(edge + block / 2.0, light.shape[1] - 1) for edge in edges])
    levels = np.array([np.percentile(light[:, edge : edge + block], 60) for edge in edges])
    return np.interp(np.arange(light.shape[1]), centres, levels).astype(np.float32)[None, :]


def stretches(flags: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """First and last index of every row of neighbouring `flags` (n,) that are set."""
    change = np.diff(np.concatenate([[False], flags, [False]]).astype(int))
    return [(int(a), int(b) - 1) for a, b in zip(np.nonzero(change == 1)[0], np.nonzero(change == -1)[0], strict=True)]


def _cut(strip: EndStrip, relative: Light, share: Floats, first: int, last: int) -> Cut:
    """Lean by the steepest agreement, edges where the upright mean crosses half-way to the wood."""
    window = share[:, first : last + 1]
    lean_index = int(np.argmax((window**4).sum(axis=1)))
    lean = float(np.tan(_LEANS[lean_index]))
    margin = int(0.5 * strip.unit)
    low, high = max(0, first - margin), min(relative.shape[1], last + margin + 1)
    profile = strip.sheared(relative, lean)[:, low:high].mean(axis=0)
    return Cut(float(strip.x[first]), float(strip.x[last]), lean, float(profile.min()))


def kerfs_of(cuts: list[Cut]) -> list[Cut]:
    """The kerf of every group of dark marks that lie close together: the darkest of them, by depth and width."""
    groups: list[list[Cut]] = []
    for cut in cuts:
        if cut.width > WIDEST_KERF_MM:
            continue
        if groups and cut.left - groups[-1][-1].right < _ONE_CUT_MM:
            groups[-1].append(cut)
        else:
            groups.append([cut])
    kerfs = [max(group, key=lambda cut: (1.0 - cut.light) * cut.width) for group in groups]
    return _like_one_saw(kerfs)


def log_widths(cuts: list[Cut]) -> Floats:
    """Logarithms of the widths (n,); a mark one column wide has none to speak of."""
    return np.log(np.maximum([cut.width for cut in cuts], 1e-6))


def _like_one_saw(kerfs: list[Cut]) -> list[Cut]:
    """Without marks much slimmer or paler than the rest: drawn lines that were never sawn."""
    if not kerfs:
        return kerfs
    weight = np.array([(1.0 - cut.light) * cut.width for cut in kerfs])
    usual = np.median(np.sort(weight)[len(weight) // 2 :])
    return [cut for cut, size in zip(kerfs, weight, strict=True) if size > 0.4 * usual]


def walls_of_kerfs(kerfs: list[Cut]) -> list[RoughWall]:
    """Walls beside an even number of kerfs, left to right: right edge of the first, left edge of the second, ..."""
    walls = []
    for index, cut in enumerate(kerfs):
        side: Side = "left" if index % 2 == 0 else "right"
        x = cut.right if side == "left" else cut.left
        walls.append(RoughWall(index // 2, side, x, cut.lean, cut.width))
    return walls


def walls_of_tails(strip: EndStrip, tails: list[Run]) -> list[RoughWall]:
    """Walls near the ends of the tails' surface, left to right: where the light steps all along the thickness."""
    walls = []
    for index, tail in enumerate(tails):
        for side, x in zip(SIDES, tail, strict=True):
            place, lean = _strongest_step(strip, x, -narrowing(side))
            walls.append(RoughWall(index, side, place, lean, None))
    return walls


def _steps(strip: EndStrip) -> Floats:
    light = strip.brightest
    gap, width = max(1, round(0.06 * strip.unit)), max(2, round(0.4 * strip.unit))
    total = np.cumsum(np.pad(light, ((0, 0), (1, 0))), axis=1, dtype=np.float64)
    mean = (total[:, width:] - total[:, :-width]) / width
    step = np.zeros(light.shape, np.float32)
    reach = width + gap
    step[:, reach : light.shape[1] - reach] = (mean[:, : -2 * reach + width] - mean[:, 2 * reach - width :])[
        :, : light.shape[1] - 2 * reach
    ]
    clipped = np.clip(step, -0.25, 0.25)
    return np.array([strip.sheared(clipped, float(np.tan(lean))).mean(axis=0) for lean in _LEANS])


def _strongest_step(strip: EndStrip, x: float, outward: float) -> tuple[float, float]:
    distance = strip.x - x
    likely = np.exp(-0.5 * (distance / 0.8) ** 2) * (np.abs(distance) < 2.2)
    strength = np.maximum(strip.steps * outward, 0.0) * likely
    lean, column = np.unravel_index(int(strength.argmax()), strength.shape)
    if strength[lean, column] < 0.01:
        return x, 0.0
    return float(strip.x[column]), float(np.tan(_LEANS[lean]))
