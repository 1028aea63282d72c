"""The uncertainty budget of one number: what each cause adds to U, largest first, and what would make U smaller.

Forecasts are worked out from the number's own parts: another photo by the rules of `sharing`, anything else by the
parts that it would replace or shrink. What each takes for granted stands in `budget_words.ACTS`.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache, partial
from typing import Any, Literal

from calibration.card import CARDS, MARGIN_MM
from calibration.outcome import WARNINGS
from calibration.prints.check import CALIPER, NOMINAL_MM, shape_from_readings
from calibration.prints.shape import UNCHECKED
from calibration.quantity import COVERAGE_FACTOR, Quantity, combine
from vision.end.report import Measurement, Wall
from vision.joint.seating import Prediction, Socket
from vision.together.sharing import Shot, as_seen, with_print_turned

Act = Literal[
    "second photo", "card set up anew", "card end for end", "card a quarter", "print check", "camera profile", "closer"
]

WORTH_WHILE = 0.97
"""A forecast is told when it leaves at most this share of U."""
PROFILE_SHARE = 0.6
"""What a camera profile leaves of the lens's part, about: in simulated ends (`calibration.camera.gain`) U of a lean
falls from 0.059 to 0.037 degrees; focus and the stabiliser still move the lens from photo to photo."""
CLOSER = 1.5
"""How much larger the end is in the forecast's picture, unless the picture has no room for it."""
LEAST_CLOSER = 1.15
"""A picture that can only be so little larger is no advice."""


@dataclass(frozen=True)
class Line:
    """One cause of a budget: its expanded contribution in the number's unit, and its share of U squared."""

    cause: str
    u95: float
    share: float


@dataclass(frozen=True)
class Forecast:
    """What U (in the number's unit) would be after one act of the person's.

    `times` is how many times as large the end is in a closer picture, None for any other act.
    """

    act: Act
    u95: float
    times: float | None = None

    def to_dict(self) -> dict[str, Any]:
        """The forecast's object in the result JSON."""
        enlarged = {} if self.times is None else {"times": self.times}
        return {"act": self.act, "u95": round(self.u95, 5)} | enlarged


@dataclass(frozen=True)
class Budget:
    """Where the uncertainty of one number comes from. `what` is the wall, pin or size; `number` what is told of it."""

    what: str
    number: str
    quantity: Quantity
    lines: tuple[Line, ...]
    forecasts: tuple[Forecast, ...]

    def to_dict(self) -> dict[str, Any]:
        """The budget's object in the result JSON, in mm and degrees."""
        return {
            "what": self.what,
            "number": self.number,
            "unit": self.quantity.unit,
            "value": round(self.quantity.value, 5),
            "u95": round(self.quantity.u95, 5),
            "contributions": [
                {"cause": line.cause, "u95": round(line.u95, 5), "share": round(line.share, 4)} for line in self.lines
            ],
            "forecasts": [each.to_dict() for each in self.forecasts],
        }


@dataclass(frozen=True)
class Taken:
    """What was done already or cannot be done, so that no forecast offers it; `closer` is the most that can be."""

    print_check: bool = False
    camera_profile: bool = False
    photos: int = 1
    closer: float = CLOSER

    @classmethod
    def of(cls, measurement: Measurement, photos: int) -> Taken:
        """What `photos` of an end had; one that was cut cannot have a camera profile."""
        cut = WARNINGS["photo_cut"] in measurement.warnings
        profile = cut or bool(measurement.card.profile)
        return cls(bool(measurement.print_cost.name), profile, photos, _room_for(measurement))


def _room_for(measurement: Measurement) -> float:
    """How many times as large the end can be, in tenths: card and end stay whole along the picture's longer side."""
    longest_mm = max(CARDS[measurement.card.kind].width_mm + 2.0 * MARGIN_MM, measurement.width.value)
    side_px = max(measurement.size_px)
    room = side_px / (longest_mm * measurement.px_per_mm) if side_px else CLOSER
    return min(CLOSER, math.floor(10.0 * room) / 10.0)


NOTHING_TAKEN = Taken()
"""One photo, print and camera unchecked."""


def budget_of(what: str, number: str, quantity: Quantity, taken: Taken = NOTHING_TAKEN) -> Budget:
    """The budget of one quantity, largest cause first."""
    total = quantity.u**2 or 1.0
    lines = tuple(Line(cause, COVERAGE_FACTOR * part, part**2 / total) for cause, part in quantity.budget() if part)
    return Budget(what, number, quantity, lines, forecasts(quantity, taken))


def forecasts(quantity: Quantity, taken: Taken = NOTHING_TAKEN) -> tuple[Forecast, ...]:
    """What would make U smaller by `WORTH_WHILE`, the best first."""
    found = [Forecast(act, after(quantity).u95) for act, after in _acts(taken).items()]
    if taken.closer >= LEAST_CLOSER:
        found.append(Forecast("closer", _closer(quantity, taken.closer).u95, taken.closer))
    found += _second_photos(quantity) if taken.photos == 1 else []
    worth = [each for each in found if each.u95 < WORTH_WHILE * quantity.u95]
    return tuple(sorted(worth, key=lambda each: each.u95))


def _second_photos(quantity: Quantity) -> list[Forecast]:
    """Second photos from the least trouble to the most; more trouble is only worth it for a smaller U."""
    kinds: tuple[tuple[Act, str, int], ...] = (
        ("second photo", "1", 0),
        ("card set up anew", "2", 0),
        ("card end for end", "2", 2),
        ("card a quarter", "2", 1),
    )
    kept: list[Forecast] = []
    for act, set_up, turn in kinds:
        u95 = with_second_photo(quantity, set_up=set_up, turn=turn).u95
        if all(u95 < WORTH_WHILE * simpler.u95 for simpler in kept):
            kept.append(Forecast(act, u95))
    return kept


def _acts(taken: Taken) -> dict[Act, Callable[[Quantity], Quantity]]:
    acts: dict[Act, Callable[[Quantity], Quantity]] = {}
    if not taken.print_check:
        acts["print check"] = _print_checked
    if not taken.camera_profile:
        acts["camera profile"] = lambda quantity: _shrunk(quantity, {"lens": PROFILE_SHARE})
    return acts


def with_second_photo(quantity: Quantity, *, set_up: str, turn: int) -> Quantity:
    """The mean of this quantity with that of a second photo just like it, the card turned by `turn` quarters.

    What is each photo's own falls by the root of two, what both share stays, what changes its sign with the card
    cancels: the covariance between the two does it (JCGM 100:2008, 5.2.2).
    """
    first = as_seen(quantity, Shot("1"))
    second = as_seen(with_print_turned(quantity, turn), Shot("2", set_up=set_up, turn=turn))
    return combine([(0.5, first), (0.5, second)])


def _print_checked(quantity: Quantity) -> Quantity:
    """Print parts as a caliper on bars and diagonals would leave them."""
    return _shrunk(quantity, print_check_leaves())


@cache
def print_check_leaves() -> dict[str, float]:
    """What a print check with a caliper leaves of each print part, were the print found true to size."""
    readings = {name: [length_mm] for name, length_mm in NOMINAL_MM.items()}
    checked = shape_from_readings(readings, CALIPER).covariance
    allowed = UNCHECKED.covariance
    scale, skew = (math.sqrt(checked[row, row] / allowed[row, row]) for row in (0, 2))
    return {"print scale": scale, "print skew": skew}


def _closer(quantity: Quantity, times: float) -> Quantity:
    """What is found in the picture to a share of a pixel, seen so many times as large."""
    walls = ("wall edge place", "wall edge direction", "placed by hand")
    causes = (*walls, "board side", "face edges", "datum direction", "card corners")
    return _shrunk(quantity, dict.fromkeys(causes, 1.0 / times))


def _shrunk(quantity: Quantity, factors: Mapping[str, float]) -> Quantity:
    """The quantity with the parts of some causes multiplied."""
    return quantity.parts_times(lambda source: factors.get(source.cause, 1.0))


def find_budgets(
    measurement: Measurement, prediction: Prediction, what: str | None = None, taken: Taken = NOTHING_TAKEN
) -> tuple[Budget, ...]:
    """The budgets of a wall (`tail 2 right`), a socket (`socket 3`), `width` or `thickness`, counted from one.

    Without `what`: of the socket that decides the advice, or comes nearest to a limit, and of its walls' leans. Raises
    ValueError, naming what there is, for anything else.
    """
    if what is None:
        socket = deciding_socket(prediction)
        walls = measurement.walls[max(0, 2 * socket.index - 1) : 2 * socket.index + 1]
        return (*_of_socket(socket, taken), *(_of_wall(wall, taken)[0] for wall in walls))
    named = _named(measurement, prediction, taken)
    key = " ".join(what.lower().split())
    if key not in named:
        raise ValueError(f"there is no {what!r} in this result: name one of {', '.join(named)}")
    return named[key]()


def _named(
    measurement: Measurement, prediction: Prediction, taken: Taken
) -> dict[str, Callable[[], tuple[Budget, ...]]]:
    """Everything that has a budget, by the name a person gives it."""
    walls = {f"tail {wall.tail + 1} {wall.side}": partial(_of_wall, wall, taken) for wall in measurement.walls}
    sockets = {f"socket {socket.index + 1}": partial(_of_socket, socket, taken) for socket in prediction.sockets}
    sizes = {"width": measurement.width, "thickness": measurement.thickness}
    return {**walls, **sockets, **{name: partial(_of_size, name, size, taken) for name, size in sizes.items()}}


def _of_wall(wall: Wall, taken: Taken) -> tuple[Budget, ...]:
    name = f"tail {wall.tail + 1} {wall.side}"
    return (
        budget_of(name, "lean", wall.lean, taken),
        budget_of(name, "off square", wall.out_of_square, taken),
    )


def _of_socket(socket: Socket, taken: Taken) -> tuple[Budget, ...]:
    return (budget_of(f"socket {socket.index + 1}", "taper", socket.taper, taken),)


def _of_size(name: str, size: Quantity, taken: Taken) -> tuple[Budget, ...]:
    return (budget_of("board", name, size, taken),)


def deciding_socket(prediction: Prediction) -> Socket:
    """Of the sockets that the advice rests on, the one whose gap or squeeze reaches farthest past its limit."""
    return max(_behind_advice(prediction), key=lambda socket: _reach(socket, prediction))


def _behind_advice(prediction: Prediction) -> Sequence[Socket]:
    """The failing sockets, else the undecided ones, else all."""
    failing = [socket for socket in prediction.sockets if socket.too_loose or socket.too_tight]
    undecided = [socket for socket in prediction.sockets if socket.verdict == "too close to call"]
    return failing or undecided or prediction.sockets


def _reach(socket: Socket, prediction: Prediction) -> float:
    """The upper ends of gap and squeeze over their limits, whichever is larger."""
    gap_mm, squeeze_mm = socket.gap_possible_mm[1], socket.squeeze_possible_mm[1]
    return max(gap_mm / prediction.limits.gap_mm, squeeze_mm / socket.squeeze_limit_mm)
