"""The board's answer on the terminal: verdict, do the photos agree, walls and sockets in depth."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from calibration.outcome import Refusal
from calibration.quantity import Quantity
from service.answers.paint import paint
from service.answers.table import LEAST_SHIFT_MM, bare, length_unit, paragraphs, table_text
from vision.answer.words import Units, format_error, format_plus_minus, format_size, socket_name
from vision.board.joint_in_depth import DeepSocket
from vision.board.judge import BoardReport
from vision.board.walls import BoardWall
from vision.board.words import (
    NAMES,
    agreement_sentences,
    deep_sentence,
    past_baseline_sentences,
    report_sentence,
    slope_text,
    unseen_sentence,
)
from vision.face.report import FaceView


def board_text(
    report: BoardReport,
    refused: Mapping[FaceView, Refusal],
    units: Units = "mm",
    *,
    colour: bool = False,
    explain: bool = False,
) -> str:
    """The whole answer, at most 80 columns wide."""
    parts = [
        paint(paragraphs([report_sentence(report)]), "bold", colour),
        paragraphs([_board_sentence(report, units)]),
        paragraphs([*_refused_sentences(refused), *agreement_sentences(report, units)]),
        "\n".join(_walls_table(report.shape.walls)),
        "\n".join(_sockets_table(report, units, colour)),
        paragraphs(_notes(report, units)),
        paragraphs(_doubts(report)),
        paragraphs(report.joint.prediction.assumptions) if explain else "",
    ]
    return "\n\n".join(part for part in parts if part)


def _board_sentence(report: BoardReport, units: Units) -> str:
    shape = report.shape
    width, thickness, depth = (format_size(size.value, units) for size in (shape.width, shape.thickness, shape.depth))
    return f"Board {width} wide, {thickness} thick, baseline {depth} from the end."


def _refused_sentences(refused: Mapping[FaceView, Refusal]) -> list[str]:
    return [
        f"The photo of {NAMES[view]} could not be measured: {why.message} {why.what_to_do}"
        for view, why in refused.items()
    ]


def _walls_table(walls: Sequence[BoardWall]) -> list[str]:
    head = ("Wall", "lean at end °", "at baseline °", "slope on show", "on transfer")
    return table_text(head, [_wall_row(wall) for wall in walls])


def _wall_row(wall: BoardWall) -> tuple[str, ...]:
    leans = (_number(wall.lean_at(depth)) for depth in (0.0, wall.depth_mm))
    slopes = (slope_text(wall.slope_at(y)) for y in (0.0, wall.thickness_mm))
    return (f"tail {wall.tail + 1} {wall.side}", *leans, *slopes)


def _sockets_table(report: BoardReport, units: Units, colour: bool) -> Iterator[str]:
    unit = length_unit(units)
    head = ("Pin", f"taper at end {unit}", "at baseline", "gap", "squeeze", "mean", "verdict")
    rows = [_socket_row(deep, len(report.joint.sockets), units) for deep in report.joint.sockets]
    verdicts = ["", *(deep.socket.verdict for deep in report.joint.sockets)]
    for line, verdict in zip(table_text(head, rows, left=(0, 6)), verdicts, strict=True):
        yield line.removesuffix(verdict) + paint(verdict, verdict, colour) if verdict else line


def _socket_row(deep: DeepSocket, sockets: int, units: Units) -> tuple[str, ...]:
    socket = deep.socket
    name = socket_name(socket.index, sockets).removeprefix("pin between ")
    tapers = (_number(deep.slices[at].taper, units) for at in (0, -1))
    lengths = (socket.gap.value, socket.squeeze.value, socket.squeeze_mean.value)
    return (name, *tapers, *(bare(format_error(x, units)) for x in lengths), socket.verdict)


def _notes(report: BoardReport, units: Units) -> list[str]:
    """What is behind the table, and what would settle what is open."""
    prediction, sockets = report.joint.prediction, report.joint.sockets
    shift = format_error(abs(prediction.settle_mm), units)
    direction = "right" if prediction.settle_mm > 0 else "left"
    notes = ["Gap and squeeze are the worst anywhere in the socket, mean is the squeeze's mean over the walls."]
    if abs(prediction.settle_mm) >= LEAST_SHIFT_MM:
        notes.append(f"The pin board is taken to settle sideways, {shift} to the {direction}.")
    troubled = [deep for deep in sockets if deep.socket.verdict != "seats"]
    notes += [deep_sentence(deep, len(sockets), units) for deep in troubled]
    return [*notes, *prediction.what_would_settle, *past_baseline_sentences(report.faces, units)]


def _doubts(report: BoardReport) -> list[str]:
    """What an unseen face leaves open, and every photo's own warnings."""
    views = [("end", report.end.warnings), *((face.view, face.warnings) for face in report.faces)]
    warnings = [
        f"Note on {'the end' if view == 'end' else f'the {view} face'}: {kind.message} {kind.what_to_do}"
        for view, kinds in views
        for kind in kinds
    ]
    return [*filter(None, [unseen_sentence(report)]), *warnings]


def _number(quantity: Quantity, units: Units = "mm") -> str:
    """Value and U without the unit, which the column names."""
    return bare(format_plus_minus(quantity, units))
