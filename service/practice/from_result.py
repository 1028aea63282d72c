"""From the result JSON of a check (`schema: 1`) to a board of the practice log."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from statistics import NormalDist
from typing import Any

from service.domain.measures import DEFAULT_GAP_LIMIT_MM, out_of_square_u95_mm
from service.practice.entries import Chances, Fit, PracticeBoard, PracticeSocket, PracticeWall

SCHEMA = 1
HALF_WIDTH = NormalDist().inv_cdf(0.975)
"""Standard deviations from the middle of a normal 95 % interval to its end."""


def from_result(
    result: Mapping[str, Any],
    *,
    identity: str,
    date: dt.date,
    person: str,
    species: str = "",
    saw: str = "",
    plan: str = "",
    assignment: str = "",
    notes: str = "",
    name: str = "",
) -> PracticeBoard:
    """The board that a result JSON describes, with what the person said of it.

    Raises ValueError for a refusal, for another schema, and for a key that is missing.
    """
    _check(result)
    try:
        return PracticeBoard(
            identity=identity,
            date=date,
            person=person,
            walls=tuple(_wall(wall, result["board"]) for wall in result["walls"]),
            sockets=tuple(practice_socket(socket) for socket in result["sockets"]),
            width_mm=result["board"]["width_mm"],
            thickness_mm=result["board"]["thickness_mm"],
            stage=result["stage"],
            advice=result["advice"],
            species=species,
            saw=saw,
            plan=plan,
            assignment=assignment,
            notes=notes,
            name=name,
        )
    except KeyError as error:
        raise ValueError(f"the result has no {error.args[0]!r}: schema {SCHEMA} asks for it") from None


def chances_of(socket: Mapping[str, Any]) -> Chances | None:
    """The probabilities that the result's 95 % intervals imply; None where an interval or a limit is not told.

    Gap and squeeze are taken as normal about their values, with the interval's half that faces the limit as 1.96
    standard deviations. A pin that is both too tight and too loose counts as splitting, the worse of the two; gap and
    squeeze are taken as independent.
    """
    keys = ("gap_interval_mm", "squeeze_interval_mm", "squeeze_limit_mm")
    if any(key not in socket for key in keys):
        return None
    splitting = chance_above(socket["squeeze_mm"], socket["squeeze_interval_mm"], socket["squeeze_limit_mm"])
    loose = chance_above(socket["gap_mm"], socket["gap_interval_mm"], _gap_limit_mm(socket)) * (1.0 - splitting)
    return Chances(1.0 - loose - splitting, loose, splitting)


def chance_above(value: float, interval: tuple[float, float], limit: float) -> float:
    """Probability that what was estimated as `value`, within the 95 % `interval`, lies above the `limit`."""
    low, high = interval
    spread = (high - value if limit > value else value - low) / HALF_WIDTH
    if spread <= 0.0:
        return float(value > limit)
    return 1.0 - NormalDist(value, spread).cdf(limit)


def _check(result: Mapping[str, Any]) -> None:
    if result.get("schema") != SCHEMA:
        raise ValueError(f"schema must be {SCHEMA}, got {result.get('schema')!r}")
    if not result.get("ok"):
        raise ValueError("a photo that was refused is not a board: there is nothing to log")


def _wall(wall: Mapping[str, Any], board: Mapping[str, float]) -> PracticeWall:
    middle_mm = (wall["x_show_mm"] + wall["x_transfer_mm"]) / 2
    return PracticeWall(
        tail=wall["tail"],
        side=wall["side"],
        position=min(max(middle_mm / board["width_mm"], 0.0), 1.0),
        lean_deg=wall["lean_deg"],
        lean_u95_deg=wall["lean_u95_deg"],
        out_of_square_mm=wall["out_of_square_mm"],
        out_of_square_u95_mm=out_of_square_u95_mm(wall, board["thickness_mm"]),
        flags=tuple(wall["flags"]),
    )


def _gap_limit_mm(socket: Mapping[str, Any]) -> float:
    """The policy that the verdict was given by; older results do not tell it."""
    return float(socket.get("gap_limit_mm", DEFAULT_GAP_LIMIT_MM))


def practice_socket(socket: Mapping[str, Any], fit: Fit | None = None) -> PracticeSocket:
    """A socket of a result JSON, with how it fitted. Raises KeyError for what is missing."""
    return PracticeSocket(
        kind=socket["kind"],
        taper_mm=socket["taper_mm"],
        taper_u95_mm=socket["taper_u95_mm"],
        gap_mm=socket["gap_mm"],
        squeeze_mm=socket["squeeze_mm"],
        verdict=socket["verdict"],
        gap_limit_mm=_gap_limit_mm(socket),
        squeeze_limit_mm=socket.get("squeeze_limit_mm"),
        chances=chances_of(socket),
        fit=fit,
    )
