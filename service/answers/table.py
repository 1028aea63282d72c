"""The answer on the terminal: the verdict in one line, then walls, sockets, and what is doubtful."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence

from calibration.outcome import FLAGS, Refusal
from calibration.quantity import COVERAGE_FACTOR, Quantity, Source
from service.answers.paint import paint
from service.answers.wrapped import WIDTH, wrapped
from vision.answer.budget_words import LEAST_SHARE
from vision.answer.result import Report
from vision.answer.words import (
    CAUTIONS,
    Units,
    board_sentence,
    camera_sentence,
    format_error,
    format_plus_minus,
    format_size_u,
    off_square_sentences,
    print_sentence,
    socket_name,
    socket_sentence,
    wall_name,
)
from vision.end.report import Measurement, Wall
from vision.joint.seating import ANOTHER_PHOTO, Prediction, Socket

LEAST_SHIFT_MM = 0.005
"""A smaller sideways shift would be printed as nothing."""
_GAP = "  "


def report_text(report: Report, units: Units = "mm", *, colour: bool = False) -> str:
    """The whole answer for one photo, at most 80 columns wide."""
    measurement, prediction = report.measurement, report.prediction
    parts = [
        paint(headline(prediction), "bold", colour),
        _board_line(measurement, units),
        _walls_table(measurement, units),
        _sockets_table(prediction, units, colour),
        paragraphs(_pin_notes(prediction, units)),
        paragraphs(off_square_sentences(measurement.walls, units)),
        paragraphs(_open_sentences(prediction, units)),
        paragraphs(_doubts(measurement)),
        _wrap(print_sentence(measurement.print_cost)),
        _wrap(camera_sentence(measurement.card)),
    ]
    return "\n\n".join(part for part in parts if part)


def explanation_text(report: Report, units: Units = "mm") -> str:
    """What the photo's scale and the squareness of the walls are, where each number's uncertainty comes from, largest
    first, and what the prediction takes for granted."""
    measurement = report.measurement
    named = {"width": measurement.width, "thickness": measurement.thickness}
    named |= {f"lean, {wall_name(wall)}": wall.lean for wall in measurement.walls}
    budgets = [_wrap(budget_line(name, quantity, units)) for name, quantity in named.items()]
    parts = [_wrap(_scale_sentence(measurement)), _wrap(_zones_sentence(measurement.walls, units)), ""]
    parts += ["Where the uncertainty comes from (shares of the variance):", *budgets, ""]
    return "\n".join([*parts, paragraphs(report.prediction.assumptions)])


def _scale_sentence(measurement: Measurement) -> str:
    scale = Quantity(measurement.px_per_mm, {Source("plane"): measurement.px_per_mm_u95 / COVERAGE_FACTOR}, "px/mm")
    tilt = bare(format_plus_minus(measurement.camera_tilt))
    millimetre = bare(format_plus_minus(scale))
    return f"Where the end is, a millimetre on the card's plane is {millimetre} px; the camera is {tilt}° off square."


def _zones_sentence(walls: Sequence[Wall], units: Units) -> str:
    zones = (f"{_short_name(wall)} {format_error(wall.squareness_zone_mm, units)}" for wall in walls)
    return f"Squareness zone of each wall (ISO 1101), 1 mm at either face left out: {', '.join(zones)}."


def budget_line(name: str, quantity: Quantity, units: Units) -> str:
    """A number with the shares of its causes in the variance, largest first."""
    total = quantity.u**2 or 1.0
    shares = [(cause, part**2 / total) for cause, part in quantity.budget()]
    causes = ", ".join(f"{cause} {100 * share:.0f} %" for cause, share in shares if share >= LEAST_SHARE)
    return f"{name}: {format_plus_minus(quantity, units)}: {causes or 'none stated'}"


def refusal_text(refusal: Refusal, *, colour: bool = False) -> str:
    """Why a photo cannot be measured, and what to do."""
    return "\n".join([_wrap(refusal.message, colour=colour, style="bold"), _wrap(refusal.what_to_do)])


def headline(prediction: Prediction) -> str:
    """The verdict in one line of at most `WIDTH` columns: the pins by name, or only counted where that is too long."""
    sentence = board_sentence(prediction)
    if len(sentence) <= WIDTH:
        return sentence
    counts: Counter[str] = Counter(socket.verdict for socket in prediction.sockets if socket.verdict != "seats")
    words = (("splitting", "too tight"), ("loose", "loose"), ("too close to call", "too close to call"))
    first, *others = [(counts[verdict], word) for verdict, word in words if counts[verdict]]
    listed = [
        f"{first[0]} of {len(prediction.sockets)} pins {first[1]}",
        *(f"{count} {word}" for count, word in others),
    ]
    return f"{prediction.advice.capitalize()}: {', '.join(listed)}."


def caution_text() -> str:
    """What stands below every answer for people, once."""
    return paragraphs(CAUTIONS)


def table_text(head: Sequence[str], rows: Iterable[Sequence[str]], left: Sequence[int] = (0,)) -> list[str]:
    """Aligned lines: the columns in `left` to the left, the others to the right."""
    lines = [head, *rows]
    widths = [max(len(line[column]) for line in lines) for column in range(len(head))]
    return [_GAP.join(_cells(line, widths, left)).rstrip() for line in lines]


def bare(text: str) -> str:
    """A formatted number without the unit that its column names."""
    return text.rsplit(" ", 1)[0]


def length_unit(units: Units) -> str:
    """The unit of lengths in a column's head."""
    return "in" if units == "inch" else "mm"


def _cells(line: Sequence[str], widths: Sequence[int], left: Sequence[int]) -> list[str]:
    pairs = enumerate(zip(line, widths, strict=True))
    return [cell.ljust(width) if column in left else cell.rjust(width) for column, (cell, width) in pairs]


def _board_line(measurement: Measurement, units: Units) -> str:
    width, thickness = (format_size_u(size, units) for size in (measurement.width, measurement.thickness))
    scale = f"{measurement.px_per_mm:.1f} px/mm, camera {measurement.camera_tilt.value:.0f}° off square"
    return _wrap(f"Board {width} wide, {thickness} thick, {measurement.stage}. Photo: {scale}.")


def _walls_table(measurement: Measurement, units: Units) -> str:
    unit = length_unit(units)
    head = ("Wall", "lean °", f"off square {unit}", f"x show {unit}", "kerf")
    return "\n".join(table_text(head, [_wall_row(wall, units) for wall in measurement.walls]))


def _wall_row(wall: Wall, units: Units) -> tuple[str, ...]:
    kerf = "-" if wall.kerf_mm is None else bare(format_error(wall.kerf_mm, units))
    lengths = (bare(format_plus_minus(quantity, units)) for quantity in (wall.out_of_square, wall.x_show))
    name = f"{_short_name(wall)}{' *' if wall.flags else ''}"
    return (name, bare(format_plus_minus(wall.lean)), *lengths, kerf)


def _short_name(wall: Wall) -> str:
    return f"tail {wall.tail + 1} {wall.side}"


def _sockets_table(prediction: Prediction, units: Units, colour: bool) -> str:
    unit = length_unit(units)
    head = ("Pin", f"taper {unit}", "gap", "squeeze", "crush", "split", "verdict")
    lines = table_text(head, [_socket_row(socket, prediction, units) for socket in prediction.sockets], left=(0, 6))
    verdicts = ["", *(socket.verdict for socket in prediction.sockets)]
    return "\n".join(_painted(line, verdict, colour) for line, verdict in zip(lines, verdicts, strict=True))


def _socket_row(socket: Socket, prediction: Prediction, units: Units) -> tuple[str, ...]:
    name = socket_name(socket.index, len(prediction.sockets)).removeprefix("pin between ")
    gap, squeeze = (bare(format_error(each.value, units)) for each in (socket.gap, socket.squeeze))
    ratios = (f"{socket.crush_ratio:.1f}", f"{socket.split_index:.1f}")
    return (name, bare(format_plus_minus(socket.taper, units)), gap, squeeze, *ratios, socket.verdict)


def _pin_notes(prediction: Prediction, units: Units) -> list[str]:
    """How to read the pins' table."""
    shift = format_error(abs(prediction.settle_mm), units)
    direction = "right" if prediction.settle_mm > 0 else "left"
    notes = ["Crush and split: above 1 the wood may give way. They are an estimate, the verdict rests on the limits."]
    if abs(prediction.settle_mm) >= LEAST_SHIFT_MM:
        notes.append(f"The pin board is taken to settle sideways, {shift} to the {direction}.")
    return notes


def _painted(line: str, verdict: str, colour: bool) -> str:
    return line.removesuffix(verdict) + paint(verdict, verdict, colour) if verdict else line


def _open_sentences(prediction: Prediction, units: Units) -> list[str]:
    """What the pins will do where they will not simply seat, and what would settle the rest."""
    count = len(prediction.sockets)
    troubled = [socket for socket in prediction.sockets if socket.verdict != "seats"]
    settling = [text.replace(ANOTHER_PHOTO, f"{ANOTHER_PHOTO} (`--same-end`)") for text in prediction.what_would_settle]
    return [*(socket_sentence(socket, count, units) for socket in troubled), *settling]


def _doubts(measurement: Measurement) -> list[str]:
    """The photo's warnings, then each kind of flag with the walls that carry it."""
    flags = dict.fromkeys(flag for wall in measurement.walls for flag in wall.flags)
    warnings = [f"Note: {kind.message} {kind.what_to_do}" for kind in measurement.warnings]
    return warnings + [_flag_sentence(flag, measurement.walls) for flag in flags]


def _flag_sentence(flag: str, walls: Sequence[Wall]) -> str:
    names = ", ".join(wall_name(wall) for wall in walls if flag in wall.flags)
    return f"* {names}: {FLAGS[flag].message} {FLAGS[flag].what_to_do}"


def paragraphs(sentences: Iterable[str]) -> str:
    """Sentences one below the other, each wrapped to `WIDTH` columns."""
    return "\n".join(_wrap(sentence) for sentence in sentences)


def _wrap(sentence: str, *, colour: bool = False, style: str = "bold") -> str:
    return "\n".join(paint(line, style, colour) for line in wrapped(sentence))
