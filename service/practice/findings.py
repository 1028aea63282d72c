"""One sentence on what to work on next, from the numbers, with the evidence beside it.

Candidates are ranked by how much of each is beyond doubt, in millimetres over the board's thickness. What to do about
them is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from service.practice.candidates import FEWEST, Candidate, candidates_of
from service.practice.columns import Columns, columns_of
from service.practice.comparing import ALL_OTHERS, Comparison
from service.practice.entries import PracticeBoard
from service.practice.estimates import Estimate
from service.practice.progress import Progress, progress_of_all
from service.practice.say import amount, counted, plus_minus
from service.practice.series import ABS_LEAN, series_of
from vision.answer.words import Units

RECENT = 10
"""The latest boards that the advice rests on: what someone does now, not last year."""
ORDER = ("left", "right", "spread", "position", "species", "saw")
"""Which goes first when two weigh the same."""


@dataclass(frozen=True)
class Finding:
    """Something to work on: the fact, what to do, and the numbers. `size_mm` is how much of it is beyond doubt."""

    kind: str
    fact: str
    what_to_do: str
    evidence: tuple[str, ...]
    size_mm: float

    def to_dict(self) -> dict[str, Any]:
        """For a page."""
        return {
            "kind": self.kind,
            "fact": self.fact,
            "what_to_do": self.what_to_do,
            "evidence": list(self.evidence),
            "size_mm": self.size_mm,
        }


@dataclass(frozen=True)
class WhatNext:
    """The sentence, its evidence, and every finding, the weightiest first."""

    sentence: str
    evidence: tuple[str, ...]
    findings: tuple[Finding, ...]
    boards: int

    def to_dict(self) -> dict[str, Any]:
        """For a page."""
        return {
            "sentence": self.sentence,
            "evidence": list(self.evidence),
            "findings": [finding.to_dict() for finding in self.findings],
            "boards": self.boards,
        }


def what_next(boards: Sequence[PracticeBoard] | Columns, *, units: Units = "mm") -> WhatNext:
    """What to work on next, from the latest `RECENT` boards of one person (any order)."""
    whole = boards if isinstance(boards, Columns) else columns_of(boards)
    if whole.count < FEWEST:
        return _too_few(whole.count)
    columns = whole.last(RECENT)
    findings = find_faults(columns)
    progress = progress_of_all(whole)[0]
    if not findings:
        return _nothing_firm(columns, progress, units)
    best = findings[0]
    evidence = (*best.evidence, *_progress_evidence(progress, units))
    return WhatNext(f"{best.fact} {best.what_to_do}", evidence, tuple(findings), columns.count)


def find_faults(columns: Columns) -> list[Finding]:
    """Everything that is firmly off in one person's boards, the weightiest first, one of each kind."""
    thickness_mm = sum(board.thickness_mm for board in columns.boards) / max(columns.count, 1)
    candidates = candidates_of(columns)
    firm = [each for each in candidates if each.estimate.firm_size > 0.0 and _is_fault(each)]
    findings = [_leaning(firm, candidates, thickness_mm), *(_other(each, thickness_mm) for each in firm)]
    ranked = sorted((each for each in findings if each), key=lambda each: (-each.size_mm, ORDER.index(each.kind)))
    weightiest: dict[str, Finding] = {}
    for finding in ranked:
        weightiest.setdefault(finding.kind, finding)
    return list(weightiest.values())


def _is_fault(candidate: Candidate) -> bool:
    """Being squarer in one wood than in others is none."""
    return candidate.kind not in ("species", "saw") or _is_worse_group(candidate)


def _is_worse_group(candidate: Candidate) -> bool:
    """Of two groups only one is compared, so the difference counts both ways; of more, only the worse one."""
    comparison = candidate.comparison
    return comparison is not None and (candidate.estimate.value > 0.0 or comparison.other != ALL_OTHERS)


def _leaning(firm: Sequence[Candidate], candidates: Sequence[Candidate], thickness_mm: float) -> Finding | None:
    """What the two sides do, as one finding."""
    sides: dict[str, Estimate] = {each.kind: each.estimate for each in candidates if each.kind in ("left", "right")}
    off = [each for each in firm if each.kind in sides]
    if not off:
        return None
    worst = max(off, key=lambda each: each.size_mm(thickness_mm))
    evidence = (_evidence(f"{kind.capitalize()} walls, mean lean", sides[kind]) for kind in sides)
    fact, what_to_do = _side_words(worst, off, sides)
    return Finding(worst.kind, fact, what_to_do, (*evidence, _DIRECTION), worst.size_mm(thickness_mm))


_DIRECTION = "Directions are seen from above the end, going from the show face to the transfer face."


def _side_words(worst: Candidate, off: Sequence[Candidate], sides: Mapping[str, Estimate]) -> tuple[str, str]:
    other = "left" if worst.kind == "right" else "right"
    lean = f"Your {worst.kind} walls lean {_lean_words(worst.estimate)}"
    if len(off) < 2:
        rest = f"; your {other} walls are square as far as the measurement shows." if other in sides else "."
        return lean + rest, _ONE_SIDE.format(side=worst.kind)
    if sides["left"].value * sides["right"].value > 0.0:
        return f"All your walls lean one way: {_lower(lean)}, your {other} walls {_lean_words(sides[other])}.", _ONE_WAY
    return f"{lean}, your {other} walls {_lean_words(sides[other])}: {_taper_words(sides)}.", _BOTH


_ONE_SIDE = "Saw {side} walls alone on scrap, and look across the end at the line on the far side before each stroke."
_ONE_WAY = "Look at your stance: saw, forearm and elbow in one plane that is square to the face."
_BOTH = "Square a line across the end for every wall, and let the saw follow it before it goes down the face."


def _lean_words(estimate: Estimate) -> str:
    way = "right" if estimate.value > 0.0 else "left"
    return f"{plus_minus(abs(estimate.value), estimate.half_width, 'deg')} to the {way}"


def _taper_words(sides: Mapping[str, Estimate]) -> str:
    """A tail's left wall is its socket's right wall: leaning right on the way to the transfer face it widens there."""
    tight = sides["left"].value > sides["right"].value
    return "sockets come out tight at the show face" if tight else "sockets come out loose at the show face"


def _lower(text: str) -> str:
    return text[:1].lower() + text[1:]


def _other(candidate: Candidate, thickness_mm: float) -> Finding | None:
    if candidate.kind in ("left", "right"):
        return None
    size_mm = candidate.size_mm(thickness_mm)
    if candidate.kind == "spread":
        return _spread_finding(candidate, size_mm)
    return _compared_finding(candidate, size_mm)


def _spread_finding(candidate: Candidate, size_mm: float) -> Finding:
    told = plus_minus(candidate.estimate.value, candidate.estimate.half_width, "deg")
    return Finding(
        "spread",
        f"Your walls differ from one to the next by {told}, beyond what the measurement itself scatters.",
        "Slow down: the same stance, start and stroke for every wall, ten in a row on scrap.",
        (_evidence("Spread of walls about their side's mean, less the measurement's", candidate.estimate),),
        size_mm,
    )


_TO_DO = {
    "position": "Move along the board so that you stand alike to every wall. Check the card too: {caveat}",
    "species": "Take more time over that wood: a finer start, less pressure.",
    "saw": "Check that saw for set and straightness before you blame your hand.",
}


def _name(comparison: Comparison) -> str:
    return f"{comparison.what}, {comparison.group} less {comparison.other}"


def _compared_finding(candidate: Candidate, size_mm: float) -> Finding:
    comparison = candidate.comparison
    if comparison is None:
        raise ValueError(f"candidate {candidate.kind} must carry its comparison")
    told = plus_minus(abs(candidate.estimate.value), candidate.estimate.half_width, "deg")
    advice = _TO_DO[candidate.kind].format(caveat=_lower(comparison.caveat))
    return Finding(
        candidate.kind,
        _compared_fact(candidate, told),
        advice,
        (_evidence(_name(comparison), candidate.estimate),),
        size_mm,
    )


def _compared_fact(candidate: Candidate, told: str) -> str:
    comparison, above = candidate.comparison, candidate.estimate.value > 0.0
    if comparison is None:
        raise ValueError(f"candidate {candidate.kind} must carry its comparison")
    if candidate.kind == "position":
        way = "right" if above else "left"
        return f"Walls in the {comparison.group} lean {told} further to the {way} than the others."
    worse, better = (comparison.group, comparison.other) if above else (comparison.other, comparison.group)
    preposition = "In" if candidate.kind == "species" else "With the saw"
    return f"{preposition} {worse} your walls are {told} further off square than with {better}."


def _evidence(name: str, estimate: Estimate) -> str:
    told = plus_minus(estimate.value, estimate.half_width, "deg")
    return f"{name}: {told} over {' and '.join(counted(count, 'board') for count in estimate.counts)}."


def _progress_evidence(progress: Progress, units: Units) -> tuple[str, ...]:
    return (progress.sentence(units),) if progress.verdict != "too few" else ()


def _too_few(boards: int) -> WhatNext:
    sentence = f"Too few boards to say what to work on: {boards} so far, {FEWEST - boards} more will do."
    return WhatNext(sentence, (), (), boards)


_GO_ON = "Keep going as you do."
_LOOK_BACK = "But it was better before: ask what has changed since your first boards."


def _nothing_firm(columns: Columns, progress: Progress, units: Units) -> WhatNext:
    """Square as far as can be seen, or too few boards to see it."""
    series = series_of(columns, ABS_LEAN)
    size, u95 = float(series.values.mean()), 2.0 * float(series.u.mean())
    sentence = (
        f"Nothing stands out that the measurement can show: over your latest {counted(columns.count, 'board')}"
        f" your walls are {amount(size, 'deg')} off square on average, and a single one is known to"
        f" {amount(u95, 'deg')}. {_LOOK_BACK if progress.verdict == 'worse' else _GO_ON}"
    )
    return WhatNext(sentence, _progress_evidence(progress, units), (), columns.count)
