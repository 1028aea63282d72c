"""The score of many photos together, as numbers for people and for JSON."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from vision.score.claims import Claim, coverage, errors_of
from vision.score.scoring import PhotoScore

CLAIMED = ("lean", "taper", "x_show", "thickness", "width")
POOLED = ("lean", "taper")
"""The claims that a board stands or falls with, taken together."""


@dataclass(frozen=True)
class Tally:
    """All photos' scores in one folder, split into those to measure and those to refuse."""

    measured: tuple[PhotoScore, ...]
    to_refuse: tuple[PhotoScore, ...]

    @property
    def refused(self) -> tuple[PhotoScore, ...]:
        """Photos that should have been measured but were not."""
        return tuple(score for score in self.measured if score.refusal is not None)

    def walls(self) -> dict[str, int]:
        """Walls that are there, found, missed (refused photos' included), and false ones."""
        keys = {"true": "true_walls", "found": "found", "missed": "missed", "false": "false"}
        return {key: sum(getattr(score, name) for score in self.measured) for key, name in keys.items()}

    def claims(self, *kinds: str) -> list[Claim]:
        """All claims of those kinds."""
        return [claim for score in self.measured for claim in score.claims if claim.what in kinds]

    def errors(self, kind: str) -> dict[str, float] | None:
        """The errors of one kind of claim; None when there is no claim."""
        return errors_of(self.claims(kind))

    def coverage(self, *kinds: str) -> float | None:
        """Share of the truths inside +-U; None when there is no claim."""
        return coverage(self.claims(*kinds))

    def verdicts(self) -> dict[str, int]:
        """Sockets judged: firm right, undecided, firm wrong, and the unsafe ones by either rule."""
        sockets = [socket for score in self.measured for socket in score.sockets]
        judged = {name: sum(s.judgement == name for s in sockets) for name in ("firm right", "undecided", "firm wrong")}
        unsafe = {"unsafe seats": sum(s.unsafe for s in sockets)}
        return judged | unsafe | {"unsafe seats by taper": sum(s.unsafe_by_taper for s in sockets)}

    def stages(self) -> dict[str, int]:
        """Photos measured, and those whose stage was told right."""
        told = [score.stage_right for score in self.measured if score.stage_right is not None]
        return {"told": len(told), "right": sum(told)}

    def largest_offset_mm(self) -> float:
        """The largest common offset taken out of a cleared board, by size, with its sign."""
        return max((score.offset_mm for score in self.measured), key=abs, default=0.0)

    def to_dict(self) -> dict[str, Any]:
        """The score as a JSON object; lengths in mm, angles in degrees, shares from 0 to 1."""
        return {
            "photos": len(self.measured),
            "walls": self.walls(),
            "stage": self.stages(),
            "errors": {kind: self.errors(kind) for kind in CLAIMED},
            "inside_u95": {kind: self.coverage(kind) for kind in CLAIMED} | {"lean and taper": self.coverage(*POOLED)},
            "verdicts": self.verdicts(),
            "largest_offset_mm": self.largest_offset_mm(),
            "refused": [{"photo": score.photo, "reason": score.refusal} for score in self.refused],
            "to_refuse": [_refusal_dict(score) for score in self.to_refuse],
            "each": [_photo_dict(score) for score in self.measured],
        }


def tally(scores: Sequence[PhotoScore]) -> Tally:
    """Scores of photos to measure and to refuse, told apart by their truths."""
    measured = tuple(score for score in scores if score.expect is None)
    return Tally(measured, tuple(score for score in scores if score.expect is not None))


def _photo_dict(score: PhotoScore) -> dict[str, Any]:
    """One photo's walls and worst errors."""
    worst = {f"worst_{kind}": _worst(score, kind) for kind in POOLED}
    walls = {"found": score.found, "missed": score.missed, "false": score.false}
    told = {"stage_right": score.stage_right, "offset_mm": score.offset_mm, "refusal": score.refusal}
    return {"photo": score.photo} | walls | told | worst


def _worst(score: PhotoScore, kind: str) -> float | None:
    return max((abs(claim.error) for claim in score.claims if claim.what == kind), default=None)


def _refusal_dict(score: PhotoScore) -> dict[str, Any]:
    return {
        "photo": score.photo,
        "expect": score.expect,
        "reason": score.refusal,
        "refused": score.refused_rightly,
        "reason_right": score.reason_right,
    }
