"""The result in words a student understands, in millimetres or inches.

People count from one: the first tail from the left is "tail 1" in every sentence, though data counts it as 0.
Errors read as hundredths of a millimetre or thousandths of an inch, board sizes as tenths or as 1/32 of an inch.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Literal, get_args

from calibration.quantity import Quantity
from calibration.said import decimal_places, fixed, listed
from calibration.units import MM_PER_INCH
from vision.end.report import CardView, Measurement, PrintCost, Wall
from vision.joint.seating import Prediction, Socket, Verdict, wall_overlap

Units = Literal["mm", "inch"]

THIRTY_SECONDS = 32

CAUTIONS = (
    "Saws and chisels cut hands: clamp the work, keep both hands behind the edge and wear eye protection.",
    "Never force a tight joint: stop when it binds. Wood splits without warning, and each blow drives the split on.",
    "The advice is an estimate from a photo. Your instructor, the rules of your shop and the maker's instructions for"
    " each tool come first.",
)
"""What every result for people says about safety."""


def format_error(error_mm: float, units: Units = "mm") -> str:
    """A small length: `0.21 mm`, or in thousandths `0.008 in`. Raises ValueError for other units."""
    _check_units(units)
    return f"{fixed(error_mm / MM_PER_INCH, 3)} in" if units == "inch" else f"{fixed(error_mm, 2)} mm"


def format_size(size_mm: float, units: Units = "mm") -> str:
    """A board's size: `83.8 mm`, or to the nearest 1/32 `3 5/16 in`. Raises ValueError for other units."""
    _check_units(units)
    return f"{_mixed_fraction(size_mm / MM_PER_INCH)} in" if units == "inch" else f"{size_mm:.1f} mm"


def format_plus_minus(quantity: Quantity, units: Units = "mm") -> str:
    """Value and expanded uncertainty, `0.136 ± 0.021 mm`: no more digits than the uncertainty allows."""
    shown = _in_units(quantity, units)
    places = decimal_places(shown.u95)
    return f"{fixed(shown.value, places)} ± {fixed(shown.u95, places)} {shown.unit}"


def format_size_u(size: Quantity, units: Units = "mm") -> str:
    """A board's size with its uncertainty: `83.79 ± 0.06 mm`, or `3 5/16 in (3.299 ± 0.002 in)`."""
    exact = format_plus_minus(size, units)
    return f"{format_size(size.value, units)} ({exact})" if units == "inch" else exact


def wall_name(wall: Wall) -> str:
    """`right wall of tail 2`, the tails counted from one."""
    return f"{wall.side} wall of tail {wall.tail + 1}"


def is_off_square(wall: Wall) -> bool:
    """Whether the wall is out of square by more than its uncertainty."""
    return abs(wall.out_of_square.value) > wall.out_of_square.u95


def wall_sentence(wall: Wall, units: Units = "mm") -> str:
    """Which way the wall leans and by how much, at the show face where it matters; or how square it is."""
    if not is_off_square(wall):
        bound = abs(wall.out_of_square.value) + wall.out_of_square.u95
        return f"The {wall_name(wall)} is square as far as this photo shows, within {format_error(bound, units)}."
    into = wall_overlap(wall).value > 0.0
    direction = "into the socket" if into else "away from the socket"
    return f"The {wall_name(wall)} leans {_size(wall, units)} {direction} at the show face."


def off_square_sentences(walls: Sequence[Wall], units: Units = "mm") -> list[str]:
    """A sentence for every wall that is off square, from left to right."""
    return [wall_sentence(wall, units) for wall in walls if is_off_square(wall)]


def correction_sentences(measurement: Measurement, units: Units = "mm") -> list[str]:
    """What a person changed of the walls that the program found, from left to right; none for the program's own."""
    placed = sorted(measurement.corrections.placed.items())
    told = [_placed_sentence(measurement.walls[index], was, units) for index, was in placed]
    return told + [
        f"What the program took for the {wall_name(wall)} does not count as one."
        for wall in measurement.corrections.left_out
    ]


def _placed_sentence(wall: Wall, was: Wall | None, units: Units) -> str:
    opening = f"The {wall_name(wall)} was placed by hand"
    if was is None:
        return f"{opening}, where the program had found none."
    show, transfer = wall.x_show.value - was.x_show.value, wall.x_transfer.value - was.x_transfer.value
    return f"{opening}: {_moved(show, units)} at the show face, {_moved(transfer, units)} at the transfer face."


def _moved(by_mm: float, units: Units) -> str:
    if format_error(abs(by_mm), units) == format_error(0.0, units):
        return "where it was"
    return f"{format_error(abs(by_mm), units)} to the {'right' if by_mm >= 0.0 else 'left'}"


def socket_name(index: int, sockets: int) -> str:
    """`left half pin`, `pin between tails 1 and 2`, ..., `right half pin`."""
    if index == 0:
        return "left half pin"
    return "right half pin" if index == sockets - 1 else f"pin between tails {index} and {index + 1}"


def socket_sentence(socket: Socket, sockets: int, units: Units = "mm") -> str:
    """What the pin of this socket (of so many `sockets`) will do, and why."""
    name = f"The {socket_name(socket.index, sockets)}"
    lengths = (socket.gap.value, socket.squeeze.value, socket.squeeze_limit_mm)
    gap, squeeze, most = (format_error(length, units) for length in lengths)
    sentences: dict[Verdict, str] = {
        "seats": f"{name} will seat: gap {gap}, squeeze {squeeze}.",
        "loose": f"{name} will be loose: a gap of {gap} will show.",
        "splitting": f"{name} is too tight: a squeeze of {squeeze}, where {most} is allowed,"
        " may crush or split the wood.",
        "too close to call": f"{name} is too close to call: gap {gap}, squeeze {squeeze}. {_left_open(socket, units)}",
    }
    both = f" On its other side a gap of {gap} will show." if socket.too_tight and socket.too_loose else ""
    return sentences[socket.verdict] + both


def _left_open(socket: Socket, units: Units) -> str:
    """Which limits the pin may keep or miss: all that is possible, and what is allowed."""
    limits = (
        ("gap", socket.gap_possible_mm, socket.gap_limit_mm),
        ("squeeze", socket.squeeze_possible_mm, socket.squeeze_limit_mm),
    )
    spans = [f"the {what} {_span(*ends, most_mm, units)}" for what, ends, most_mm in limits if ends[1] >= most_mm]
    return f"{', and '.join(spans)}.".capitalize()


def _span(low_mm: float, high_mm: float, limit_mm: float, units: Units) -> str:
    """`may be anything from 0.00 to 0.09 mm, where 0.08 mm is allowed`, in decimals that tell both ends from limit."""
    unit_mm, unit, fewest = (MM_PER_INCH, "in", 3) if units == "inch" else (1.0, "mm", 2)
    lengths = [length_mm / unit_mm for length_mm in (low_mm, high_mm, limit_mm)]
    told_apart = (n for n in (fewest, fewest + 1) if len({fixed(length, n) for length in lengths}) == len(lengths))
    places = next(told_apart, fewest)
    low, high, limit = (fixed(length, places) for length in lengths)
    return f"may be anything from {low} to {high} {unit}, where {limit} {unit} is allowed"


def board_sentence(prediction: Prediction) -> str:
    """The verdict for the board in one line, advice first."""
    if prediction.advice == "transfer":
        return f"Transfer the pins: {all_of(len(prediction.sockets))} will seat."
    if prediction.advice == "photograph again":
        return f"Photograph again: {_undecided(prediction)} too close to call."
    opening = "Pare the tight walls before you transfer" if prediction.advice == "pare" else "Start over"
    return f"{opening}: {_failures(prediction)}."


def all_of(count: int) -> str:
    """`both`, or `all 3`."""
    return "both" if count == 2 else f"all {count}"


def _failures(prediction: Prediction) -> str:
    kinds: tuple[tuple[Verdict, str], ...] = (("splitting", "too tight"), ("loose", "loose"))
    found = [(_with_verdict(prediction, verdict), word) for verdict, word in kinds]
    return "; ".join(f"{listed(names)} {word}" for names, word in found if names)


def _undecided(prediction: Prediction) -> str:
    names = _with_verdict(prediction, "too close to call")
    return f"{listed(names)} {'is' if len(names) == 1 else 'are'}"


def _with_verdict(prediction: Prediction, verdict: Verdict) -> list[str]:
    sockets = prediction.sockets
    return [socket_name(socket.index, len(sockets)) for socket in sockets if socket.verdict == verdict]


def _size(wall: Wall, units: Units) -> str:
    return format_error(abs(wall.out_of_square.value), units)


def _check_units(units: str) -> None:
    if units not in get_args(Units):
        raise ValueError(f"units must be one of {', '.join(get_args(Units))}, got {units!r}")


def _in_units(quantity: Quantity, units: Units) -> Quantity:
    """A length in the units asked for; an angle or a ratio as it is."""
    _check_units(units)
    return quantity.scaled(1.0 / MM_PER_INCH, "in") if (quantity.unit, units) == ("mm", "inch") else quantity


LEAST_SHARE = 0.01
"""A smaller share of U would be told as nothing."""
AT_THE_COMMAND_LINE = "`tailproof print-check` saves most of it."
ON_A_PAGE = (
    "The owner of this computer, or the instructor, can save most of it: tailproof print-check measures the print."
)
"""How the print is measured, for who sits at the computer and for who may read on a phone."""


def print_sentence(cost: PrintCost, cure: str = AT_THE_COMMAND_LINE) -> str:
    """Which kept print was used, if any, and what of U it costs that the print is not known exactly; then the cure."""
    of_lean = f"up to {_percent(cost.lean_share)} of U of a lean"
    of_width = f"{_percent(cost.width_share)} of U of the width"
    parts = ((of_lean, cost.lean_share), (of_width, cost.width_share))
    shares = " and ".join(words for words, share in parts if share >= LEAST_SHARE)
    if cost.name:
        return f"Print {cost.name!r}: what its check leaves open costs {shares or 'next to nothing'}."
    return f"Print not checked: that costs {f'{shares}. {cure}' if shares else 'next to nothing.'}"


def _percent(share: float) -> str:
    return f"{100.0 * share:.0f} %"


def camera_sentence(card: CardView) -> str:
    """Which camera profile was used, if any."""
    return f"Camera profile {card.profile!r} was used." if card.profile else ""


def _mixed_fraction(inches: float) -> str:
    """Inches to the nearest 1/32, as a whole number and a fraction in lowest terms."""
    parts = round(abs(inches) * THIRTY_SECONDS)
    whole, rest = divmod(parts, THIRTY_SECONDS)
    common = math.gcd(rest, THIRTY_SECONDS)
    fraction = f"{rest // common}/{THIRTY_SECONDS // common}" if rest else ""
    sign = "-" if inches < 0 and parts else ""
    return sign + (" ".join(filter(None, [str(whole) if whole else "", fraction])) or "0")
