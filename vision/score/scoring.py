"""How well one photo was measured: its walls matched to the truth, the errors, and the verdicts judged.

Walls match by tail and side within `MATCH_MM` of their place half-way through the board. With the waste cleared the
board's edges are only estimated, so one common offset is taken out before matching, and reported.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, NamedTuple

import numpy as np

from calibration.outcome import REFUSALS, Refusal
from calibration.quantity import Quantity
from vision.answer.result import Report
from vision.end.report import Measurement, Wall
from vision.joint.seating import Limits, Prediction, Socket, predict_seating
from vision.score.claims import Claim
from vision.score.truth import TrueWall, Truth

MATCH_MM = 1.0
LARGEST_OFFSET_MM = 5.0
"""How far the estimated edge of a cleared board may be out before its walls no longer count as found."""

Judgement = Literal["firm right", "undecided", "firm wrong"]


@dataclass(frozen=True)
class SocketScore:
    """One socket's verdict against the truth's. `unsafe`: firmly `seats`, though the truth misses a limit.

    `unsafe_by_taper` says the same by the taper alone, without the model of how the boards settle.
    """

    verdict: str
    judgement: Judgement
    unsafe: bool
    unsafe_by_taper: bool


@dataclass(frozen=True)
class PhotoScore:
    """One photo against its truth. A refused photo has all its walls missed and no claims.

    `offset_mm` was taken out before matching (0 at the sawn stage). `refusal` is the reason when there was one.
    """

    photo: str
    true_walls: int
    found: int
    missed: int
    false: int
    stage_right: bool | None = None
    claims: tuple[Claim, ...] = ()
    sockets: tuple[SocketScore, ...] = ()
    offset_mm: float = 0.0
    refusal: str | None = None
    expect: str | None = None

    @property
    def refused_rightly(self) -> bool:
        """Whether a photo that nobody should measure was refused."""
        return self.expect is not None and self.refusal is not None

    @property
    def reason_right(self) -> bool:
        """Whether it was refused for the reason that was expected."""
        return self.refusal is not None and self.refusal == expected_reason(self.expect or "")


def expected_reason(expect: str) -> str | None:
    """The refusal that `expect` means: the longest reason whose words all stand in it; None if there is none."""
    words = set(expect.replace(":", " ").split())
    fitting = [reason for reason in REFUSALS if set(reason.split("_")) <= words]
    return max(fitting, key=len, default=None)


class Match(NamedTuple):
    """A measured wall and the true one that it is."""

    wall: Wall
    true: TrueWall


def score_photo(truth: Truth, result: Report | Refusal, limits: Limits | None = None) -> PhotoScore:
    """The score of one photo's result. Verdicts are judged with `limits` and the truth's own walls and wood.

    Of a photo to be refused only that is scored: its end may not even make up whole tails.
    """
    count = len(truth.walls)
    if isinstance(result, Refusal):
        return PhotoScore(truth.photo, count, 0, count, 0, refusal=result.reason, expect=truth.expect)
    if truth.expect is not None:
        return PhotoScore(truth.photo, count, 0, count, 0, expect=truth.expect)
    measurement = result.measurement
    offset_mm = common_offset(measurement.walls, truth.walls) if measurement.stage == "cleared" else 0.0
    matches = match_walls(measurement.walls, truth.walls, offset_mm)
    return PhotoScore(
        truth.photo,
        count,
        len(matches),
        count - len(matches),
        len(measurement.walls) - len(matches),
        measurement.stage == truth.stage,
        (*_board_claims(measurement, truth), *_wall_claims(matches), *_taper_claims(result, truth, matches)),
        _socket_scores(result.prediction, truth, matches, limits or Limits()),
        offset_mm,
    )


def match_walls(walls: Sequence[Wall], truths: Sequence[TrueWall], offset_mm: float = 0.0) -> list[Match]:
    """The measured walls that are true ones: same tail and side, and less than `MATCH_MM` away less the offset."""
    named = {(true.tail, true.side): true for true in truths}
    pairs = ((wall, named.get((wall.tail, wall.side))) for wall in walls)
    return [
        Match(wall, true)
        for wall, true in pairs
        if true is not None and abs(_x_mid_mm(wall) - offset_mm - true.x_mid_mm) < MATCH_MM
    ]


def common_offset(walls: Sequence[Wall], truths: Sequence[TrueWall]) -> float:
    """The median place of the measured walls against the true ones of the same name (mm); 0 if that is far out."""
    named = {(true.tail, true.side): true.x_mid_mm for true in truths}
    shifts = [_x_mid_mm(w) - named[w.tail, w.side] for w in walls if (w.tail, w.side) in named]
    offset_mm = float(np.median(shifts)) if shifts else 0.0
    return offset_mm if abs(offset_mm) <= LARGEST_OFFSET_MM else 0.0


def _x_mid_mm(wall: Wall) -> float:
    return (wall.x_show.value + wall.x_transfer.value) / 2.0


def _board_claims(measurement: Measurement, truth: Truth) -> tuple[Claim, ...]:
    return (
        Claim.of("width", measurement.width, truth.width_mm),
        Claim.of("thickness", measurement.thickness, truth.thickness_mm),
    )


def _wall_claims(matches: Sequence[Match]) -> list[Claim]:
    leans = [Claim.of("lean", match.wall.lean, match.true.lean_deg) for match in matches]
    return leans + [Claim.of("x_show", match.wall.x_show, match.true.x_show_mm) for match in matches]


def _taper_claims(report: Report, truth: Truth, matches: Sequence[Match]) -> list[Claim]:
    sockets = _paired_sockets(report.prediction, truth, matches)
    tapers = true_tapers_mm(truth.walls)
    return [Claim.of("taper", socket.taper, tapers[socket.index]) for socket in sockets]


def true_tapers_mm(truths: Sequence[TrueWall]) -> list[float]:
    """Width at the show face less width at the transfer face of every socket, the board's edges taken square."""
    outs = [0.0, *(true.x_show_mm - true.x_transfer_mm for true in truths), 0.0]
    return [right - left for left, right in zip(outs[0::2], outs[1::2], strict=True)]


def _paired_sockets(prediction: Prediction, truth: Truth, matches: Sequence[Match]) -> list[Socket]:
    """The measured sockets whose walls are all matched, and which the truth bounds in the same way."""
    found = {(match.true.tail, match.true.side) for match in matches}
    tails = len(truth.walls) // 2
    if len(prediction.sockets) != tails + 1:
        return []
    return [socket for socket in prediction.sockets if _bounds(socket.index, tails) <= found]


def _bounds(index: int, tails: int) -> set[tuple[int, str]]:
    left = {(index - 1, "right")} if index > 0 else set()
    return left | ({(index, "left")} if index < tails else set())


def _socket_scores(
    prediction: Prediction, truth: Truth, matches: Sequence[Match], limits: Limits
) -> tuple[SocketScore, ...]:
    sockets = _paired_sockets(prediction, truth, matches)
    if not sockets:
        return ()
    true_sockets, tapers = predict_truth(truth, limits).sockets, true_tapers_mm(truth.walls)
    return tuple(
        _socket_score(socket.verdict, true_sockets[socket.index], tapers[socket.index], limits) for socket in sockets
    )


def predict_truth(truth: Truth, limits: Limits) -> Prediction:
    """What the model says of the true walls, known without uncertainty."""
    return predict_seating(
        [true.as_wall() for true in truth.walls],
        Quantity(truth.width_mm),
        Quantity(truth.thickness_mm),
        species=truth.species,
        limits=limits,
    )


def _socket_score(verdict: str, true: Socket, taper_mm: float, limits: Limits) -> SocketScore:
    loose, tight = true.gap.value > limits.gap_mm, true.squeeze.value > true.squeeze_limit_mm
    right = {"loose": loose, "splitting": tight, "seats": not (loose or tight)}.get(verdict)
    judgement: Judgement = "undecided" if right is None else "firm right" if right else "firm wrong"
    off_taper = taper_mm > limits.gap_mm or taper_mm < -true.squeeze_limit_mm
    seats = verdict == "seats"
    return SocketScore(verdict, judgement, seats and (loose or tight), seats and off_taper)
