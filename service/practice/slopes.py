"""The slopes that faces show, held against those that an assignment asks for: a statement, no verdict on the joint.

A slope is within, or outside, only by more than its uncertainty (ISO 14253-1), as with every limit.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal, get_args

from service.domain.assignment import Policy
from service.domain.check import FACES, Check
from service.domain.together import Together
from service.practice.say import counted
from vision.face.words import ratio_text
from vision.joint.decision import Estimate, decide

SlopeWord = Literal["within", "outside", "too close to call"]
WORDS: tuple[SlopeWord, ...] = get_args(SlopeWord)
_EXACT = "That a slope is exactly {} no measurement can tell, only that it is not."
_DOUBT = "The other photos contradict that of the {} face, so none of its cuts can be called."


@dataclass(frozen=True)
class SlopeSeen:
    """One cut of a face: run over rise with its expanded uncertainty, and how that stands to what is asked for."""

    view: str
    tail: int
    side: str
    slope: float
    u95: float
    word: SlopeWord

    @property
    def told(self) -> str:
        """As people say it, with the ends of the interval: `1:6.9 (1:6.5 to 1:7.4)`."""
        return f"{ratio_text(self.slope)} ({ratio_text(self.slope + self.u95)} to {ratio_text(self.slope - self.u95)})"


@dataclass(frozen=True)
class Slopes:
    """What is asked for, and the slopes of a board's faces. `doubted` are faces whose photo the others contradict."""

    policy: Policy
    cuts: tuple[SlopeSeen, ...]
    doubted: tuple[str, ...] = ()

    @property
    def sentence(self) -> str:
        """How many cuts are what."""
        asked = f"Slopes asked for: {self.policy.slope}."
        if not self.cuts:
            return f"{asked} No face of this board is measured: a photo of the show or the transfer face would tell."
        exact = f" {_EXACT.format(self.policy.slope)}" if _is_exact(self.policy) else ""
        doubt = "".join(f" {_DOUBT.format(view)}" for view in self.doubted)
        return f"{asked} Of {counted(len(self.cuts), 'cut')} measured {_counts(self.cuts)}.{exact}{doubt}"


def slopes_of(checks: Sequence[Check], policy: Policy, together: Together | None = None) -> Slopes | None:
    """Those of the newest measured photo of each face; None where any slope will do."""
    if not policy.slope:
        return None
    newest = {check.view: check for check in checks if check.view in FACES and check.state == "measured"}
    doubted = tuple(view for view in FACES if view in newest and _is_doubted(view, together))
    cuts = [cut for view in FACES if view in newest for cut in _seen(newest[view], policy, view in doubted)]
    return Slopes(policy, tuple(cuts), doubted)


def class_sentence(boards: Iterable[Sequence[Check]], policy: Policy) -> str:
    """How the slopes of an assignment's boards came out; empty where any will do or no face is measured."""
    found = [slopes for checks in boards if (slopes := slopes_of(checks, policy)) and slopes.cuts]
    if not found:
        return ""
    cuts = [cut for slopes in found for cut in slopes.cuts]
    boards_seen = f"{counted(len(found), 'board')} with a photo of a face"
    return f"Slopes asked for: {policy.slope}. Over {boards_seen}, of {counted(len(cuts), 'cut')} {_counts(cuts)}."


def slope_word(slope: float, u95: float, policy: Policy) -> SlopeWord:
    """Whether that slope, run over rise, is one that the policy asks for; `u95` is its expanded uncertainty."""
    seen = Estimate(slope, slope - u95, slope + u95), Estimate(-slope, -slope - u95, -slope + u95)
    steepest, flattest = policy.slope_steepest_n, policy.slope_flattest_n
    limits = 1.0 / steepest if steepest else None, -1.0 / flattest if flattest else None
    decided = [decide(each, limit) for each, limit in zip(seen, limits, strict=True) if limit is not None]
    if "missed" in decided:
        return "outside"
    return "too close to call" if "undecided" in decided else "within"


def _seen(check: Check, policy: Policy, doubted: bool) -> list[SlopeSeen]:
    """The cuts of one face; none of a result that an import brought damaged."""
    result: Mapping[str, Any] = check.answer.result if check.answer else {}
    try:
        return [_cut(kerf, check.view, policy, doubted) for kerf in result.get("kerfs", ())]
    except (KeyError, TypeError, ValueError):
        return []


def _cut(kerf: Mapping[str, Any], view: str, policy: Policy, doubted: bool) -> SlopeSeen:
    slope, u95 = float(kerf["slope"]), float(kerf["slope_u95"])
    word = slope_word(slope, u95, policy)
    told = "too close to call" if doubted else word
    return SlopeSeen(view, int(kerf["tail"]), str(kerf["side"]), slope, u95, told)


def _is_doubted(view: str, together: Together | None) -> bool:
    """Whether the board's photos together name this face as the one to doubt, or do not know which."""
    answer = together.answer if together and together.state == "ready" else None
    board = (answer.result.get("board") if answer else None) or {}
    return board.get("agreement", {}).get("doubt") in (view, "either")


def _is_exact(policy: Policy) -> bool:
    return policy.slope_steepest_n is not None and policy.slope_steepest_n == policy.slope_flattest_n


def _counts(cuts: Sequence[SlopeSeen]) -> str:
    """`4 are within, 1 is outside, 1 is too close to call`."""
    number = Counter(cut.word for cut in cuts)
    return ", ".join(f"{number[word]} {'is' if number[word] == 1 else 'are'} {word}" for word in WORDS if number[word])
