"""A layout against the trade's opinions: remarks, each with its rule, made only beyond the uncertainty.

A remark is no failure. Where the measurement does not carry a remark beyond U, none is made.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from calibration.quantity import Quantity, combine
from vision.answer.words import Units, format_error, format_plus_minus, format_size, socket_name
from vision.joint.strength import Strength
from vision.layout.rules import Rule
from vision.layout.shape import Option, Shape, bending_nm, root_over_glue, trade_off


@dataclass(frozen=True)
class Remark:
    """What was found, and the rule it departs from, both as sentences; `value` is what was held against the limit."""

    rule: str
    found: str
    words: str
    value: Quantity

    def to_dict(self) -> dict[str, Any]:
        """The remark's object in the result JSON."""
        value = {"value": round(self.value.value, 4), "u95": round(self.value.u95, 4)}
        return {"rule": self.rule, "found": self.found, "opinion": self.words, **value, "unit": self.value.unit}


@dataclass(frozen=True)
class Review:
    """A layout's remarks, the rules that are switched off, and the figures of section and glue."""

    shape: Shape
    wood: Strength
    remarks: tuple[Remark, ...]
    rules_off: tuple[str, ...]

    @property
    def options(self) -> tuple[Option, ...]:
        """How section and glue trade against each other with the number of tails."""
        return trade_off(self.shape)

    def to_dict(self) -> dict[str, Any]:
        """The object `layout` of the result JSON; the strengths are estimates."""
        shape, share, pull = self.shape, self.shape.share, root_over_glue(self.shape, self.wood)
        return {
            "remarks": [remark.to_dict() for remark in self.remarks],
            "rules_off": list(self.rules_off),
            "slope": {"run_over_rise": round(shape.slope.value, 4), "source": shape.slope_source},
            "depth_mm": round(shape.depth_mm, 4),
            "section": {"share": round(share.value, 4), "u95": round(share.u95, 4)},
            "estimate": {
                "wood": self.wood.wood,
                "bending_nm": round(bending_nm(shape, self.wood), 1),
                "root_over_glue": round(pull.value, 3),
                "root_over_glue_u95": round(pull.u95, 3),
            },
            "glue_mm2": round(shape.glue_mm2.value, 1),
            "glue_u95_mm2": round(shape.glue_mm2.u95, 1),
            "trade_off": [
                {"tails": each.tails, "share": round(each.share, 4), "glue_mm2": round(each.glue_mm2, 1)}
                for each in self.options
            ],
        }


def review_layout(shape: Shape, wood: Strength, rules: Sequence[Rule], units: Units = "mm") -> Review:
    """The remarks that the rules which are on make on a layout, in the rules' order."""
    on = [rule for rule in rules if rule.on]
    remarks = [remark for rule in on for remark in _CHECKS[rule.id](_Case(shape, wood, rule, units))]
    made = {remark.rule for remark in remarks}
    kept = tuple(remark for remark in remarks if _SAID_BY.get(remark.rule) not in made)
    return Review(shape, wood, kept, tuple(rule.id for rule in rules if not rule.on))


@dataclass(frozen=True)
class _Case:
    """One rule held against one layout."""

    shape: Shape
    wood: Strength
    rule: Rule
    units: Units

    def limit(self, name: str) -> float:
        return self.rule.limits[name]

    def remark(self, found: str, value: Quantity) -> Remark:
        return Remark(self.rule.id, found, self.rule.shown(lambda name, limit: _limit(name, limit, self.units)), value)

    def length(self, length: Quantity) -> str:
        return format_plus_minus(length, self.units)


Found = Iterable[Remark]


def _limit(name: str, value: float, units: Units) -> str:
    """A limit as people read it, by the unit in its name."""
    if name.endswith("_mm"):
        return format_size(value, units)
    return f"{100.0 * value:.0f} %" if name.endswith("_share") else f"{value:g}"


def _above(value: Quantity, limit: float) -> bool:
    return value.value - value.u95 > limit


def _below(value: Quantity, limit: float) -> bool:
    return value.value + value.u95 < limit


def _spread(parts: Sequence[Quantity]) -> Quantity:
    """The widest less the slimmest: what they share cancels."""
    return max(parts, key=lambda part: part.value) - min(parts, key=lambda part: part.value)


def _symmetry(case: _Case) -> Found:
    walls, width = case.shape.walls, case.shape.width
    pairs = zip(walls[: len(walls) // 2], reversed(walls), strict=False)
    offs = [combine([(1.0, left), (1.0, right), (-1.0, width)]) for left, right in pairs]
    worst = max(offs, key=lambda off: abs(off.value))
    worst = worst if worst.value > 0.0 else -worst
    if _above(worst, case.limit("most_mm")):
        yield case.remark(f"The two halves are {case.length(worst)} off being mirror images.", worst)


def _even(parts: str) -> Callable[[_Case], Found]:
    def check(case: _Case) -> Found:
        widths: tuple[Quantity, ...] = getattr(case.shape, parts)
        if len(widths) > 1 and _above(spread := _spread(widths), case.limit("most_mm")):
            yield case.remark(f"The {parts} differ in width by {case.length(spread)}.", spread)

    return check


def _half_pins(case: _Case) -> Found:
    if not case.shape.pins:
        return
    widest = max(case.shape.pins, key=lambda pin: pin.value).scaled(case.limit("least_times"))
    for side, half in zip(("left", "right"), case.shape.half_pins, strict=True):
        if _below(less := half - widest, 0.0):
            found = f"The {side} half pin is {case.length(half)} wide, {case.length(-less)} less than that."
            yield case.remark(found, half)


def _slim_pins(case: _Case) -> Found:
    wide = [(name, pin) for name, pin in _inner_pins(case) if _above(pin, case.limit("most_mm"))]
    if wide:
        name, pin = max(wide, key=lambda each: each[1].value)
        others = f", and {len(wide) - 1} more are wider than that" if len(wide) > 1 else ""
        yield case.remark(f"The {name} is {case.length(pin)} wide{others}.", pin)


def _pin_and_kerf(case: _Case) -> Found:
    kerf_mm = case.shape.kerf_mm
    for name, pin in _inner_pins(case):
        if kerf_mm is not None and _below(pin, case.limit("least_times") * kerf_mm):
            kerf = format_error(kerf_mm, case.units)
            yield case.remark(f"The {name} is {case.length(pin)} wide, the kerf {kerf}.", pin)


def _inner_pins(case: _Case) -> list[tuple[str, Quantity]]:
    sockets = len(case.shape.pins) + 2
    return [(socket_name(index, sockets), pin) for index, pin in enumerate(case.shape.pins, start=1)]


def _slope_steep(case: _Case) -> Found:
    steep = [each for each in _slopes(case) if _above(each[1], 1.0 / case.limit("steepest_n"))]
    if steep:
        yield case.remark(_slopes_sentence(steep), max((slope for _, slope in steep), key=lambda slope: slope.value))


def _slope_flat(case: _Case) -> Found:
    flat = [each for each in _slopes(case) if _below(each[1], 1.0 / case.limit("flattest_n"))]
    if flat:
        yield case.remark(_slopes_sentence(flat), min((slope for _, slope in flat), key=lambda slope: slope.value))


def _slopes(case: _Case) -> list[tuple[str, Quantity]]:
    """The slopes that are known: those seen on a face, else the plan's; a slope that was only taken is not judged."""
    if case.shape.slope_source == "plan":
        return [("as planned", case.shape.slope)]
    sides = ("left", "right")
    slopes = enumerate(case.shape.slopes)
    return [(f"at the {sides[wall % 2]} of tail {wall // 2 + 1}", slope) for wall, slope in slopes]


def _slopes_sentence(slopes: Sequence[tuple[str, Quantity]]) -> str:
    return f"The slope is {', '.join(f'{_one_in(slope)} {where}' for where, slope in slopes)}."


def _one_in(slope: Quantity) -> str:
    return f"1:{1.0 / slope.value:.1f}" if slope.value > 0.0 else "the wrong way"


def _section(case: _Case) -> Found:
    share = case.shape.share
    if _below(share, case.limit("least_share")):
        yield case.remark(f"At the baseline {_percent(share)} of the width is left.", share)


def _weak_link(case: _Case) -> Found:
    pull = root_over_glue(case.shape, case.wood)
    if _below(pull, case.limit("least_times")):
        times = f"{pull.value:.1f} ± {pull.u95:.1f} times"
        yield case.remark(f"The tails' roots bear an estimated {times} what the glue bears.", pull)


def _percent(share: Quantity) -> str:
    return format_plus_minus(share.scaled(100.0, "%"))


_SAID_BY = {"slope_usual": "slope_steep"}
"""Rules whose remark says nothing more once that of another rule is made."""

_CHECKS: Mapping[str, Callable[[_Case], Found]] = {
    "symmetry": _symmetry,
    "even_tails": _even("tails"),
    "even_pins": _even("pins"),
    "half_pins": _half_pins,
    "slim_pins": _slim_pins,
    "pin_and_kerf": _pin_and_kerf,
    "slope_steep": _slope_steep,
    "slope_usual": _slope_steep,
    "slope_flat": _slope_flat,
    "section": _section,
    "weak_link": _weak_link,
}
