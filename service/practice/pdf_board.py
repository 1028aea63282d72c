"""One board on one page: picture, sockets, numbers, what to do, and what to be careful of."""

from __future__ import annotations

from service.practice.entries import COVERAGE, PracticeBoard, PracticeSocket, PracticeWall
from service.practice.pdf_charts import Box
from service.practice.pdf_end import draw_end
from service.practice.pdf_page import Paper, Sheet, fitted
from service.practice.pdf_review import Said, draw_marks, draw_review
from service.practice.pdf_table import ROW_MM, Column, draw_table
from service.practice.say import decimal_places, listed
from vision.answer.palette import MUTED
from vision.answer.words import CAUTIONS, MM_PER_INCH, Units, format_error, format_size, socket_name

PICTURE_MM = (50.0, 125.0)
"""Height of the picture at least, and at most."""
END_MM = 34.0
PERSON_MM = 60.0
"""Room for the person's name beside the board's."""
LINES_MM = 9.5
"""Room for two lines of a note."""
BESIDE = 0.6
"""Of the width: the picture where a review stands beside it."""
GUTTER_MM = 6.0
SHORT_MM = 60.0
"""Height of a review that has no picture to stand beside."""
_ADVICE = {
    "transfer": "Transfer the pins",
    "pare": "Pare the tight walls before you transfer",
    "start over": "Start over",
    "photograph again": "Photograph again",
}
_REASONS = (("splitting", "too tight"), ("loose", "loose"), ("too close to call", "too close to call"))


def _socket_columns(units: Units, fitted: bool) -> list[Column]:
    unit = _unit(units)
    columns = [Column("", 4.0), Column("pin", 20.0), Column(f"taper, {unit}", 22.0), Column(f"gap, {unit}", 13.0)]
    last = [Column("fit", 20.0)] if fitted else []
    return [*columns, Column("squeeze", 14.0), Column("verdict", 27.0, marked=True), *last]


def _wall_columns(units: Units) -> list[Column]:
    return [Column("wall", 15.0), Column("lean, degrees", 19.0), Column(f"off square, {_unit(units)}", 22.0)]


def _unit(units: Units) -> str:
    return "in" if units == "inch" else "mm"


def board_pdf(
    board: PracticeBoard,
    *,
    picture: bytes | None = None,
    paper: Paper = "a4",
    units: Units = "mm",
    said: Said | None = None,
) -> bytes:
    """The board's page as PDF. `picture` is a PNG or JPEG file, on which the marks of what was `said` are put. Raises
    ValueError for another paper."""
    said = said or Said()
    sheet = Sheet(f"Board of {board.date.isoformat()}", paper)
    y = _heading(sheet, board, units, said.corrected)
    floor = _caution(sheet, board) - (LINES_MM if board.notes else 0.0) - 6.0
    width, end_mm = sheet.right - sheet.left, END_MM if picture else 1.6 * END_MM
    y = _shown(sheet, y, _picture_height(floor - y, board), picture, said)
    draw_end(sheet, Box(sheet.left, y, width, end_mm), board)
    y += end_mm + 3.0
    room = floor - y
    below = _tables(sheet, y, room, board, units)
    if board.notes:
        sheet.paragraph((sheet.left, below + 5.0), width, f"Notes: {board.notes}", 9.0, most=2)
    return sheet.save()


def headline(board: PracticeBoard) -> str:
    """The advice and what it rests on: `Start over: left half pin loose.`"""
    names = [
        (
            listed([socket_name(i, len(board.sockets)) for i, s in enumerate(board.sockets) if s.verdict == verdict]),
            word,
        )
        for verdict, word in _REASONS
        if any(socket.verdict == verdict for socket in board.sockets)
    ]
    why = "; ".join(f"{name} {word}" for name, word in names) or f"all {len(board.sockets)} will seat"
    return f"{_ADVICE.get(board.advice, board.advice or 'Measured')}: {why}."


def _heading(sheet: Sheet, board: PracticeBoard, units: Units, corrected: str) -> float:
    width = sheet.right - sheet.left
    sheet.text((sheet.right, 20.0), fitted(board.person, PERSON_MM, 10.0), 10.0, anchor="end")
    title = board.name or f"Tail board of {board.date.isoformat()}"
    sheet.text((sheet.left, 20.0), fitted(title, width - PERSON_MM - 4.0, 16.0, True), 16.0, bold=True)
    size = f"{format_size(board.width_mm, units)} wide, {format_size(board.thickness_mm, units)} thick"
    told = (("", board.species), ("saw: ", board.saw), ("plan: ", board.plan), ("assignment: ", board.assignment))
    words = [board.date.isoformat(), size, *(label + word for label, word in told if word)]
    y = sheet.paragraph((sheet.left, 26.0), width, " · ".join(words), 9.0, colour=MUTED, most=2)
    y = sheet.paragraph((sheet.left, y + 2.5), width, headline(board), 11.0, bold=True, most=3)
    return sheet.paragraph((sheet.left, y), width, corrected, 9.0, most=2) if corrected else y


def _shown(sheet: Sheet, y: float, height: float, picture: bytes | None, said: Said) -> float:
    """The picture with its marks, and what was decided beside it; where both end."""
    width, reviewed = sheet.right - sheet.left, bool(said.by)
    if picture is None:
        return draw_review(sheet, (sheet.left, y), width, y + SHORT_MM, said) + 2.0 if reviewed else y
    box = sheet.left, y, width * (BESIDE if reviewed else 1.0), height - (4.0 if said.caption else 0.0)
    placed = sheet.picture(picture, box, middle=not reviewed)
    draw_marks(sheet, placed, said.marks if said.on_picture else ())
    left, below = placed[0] + placed[2] + GUTTER_MM, y + placed[3]
    if said.caption:
        sheet.text((sheet.left, below + 3.5), fitted(said.caption, placed[2], 7.5), 7.5, colour=MUTED)
        below += 4.0
    beside = draw_review(sheet, (left, y), sheet.right - left, y + height, said) if reviewed else y
    return max(below, beside) + 3.0


def _tables(sheet: Sheet, y: float, room: float, board: PracticeBoard, units: Units) -> float:
    """Sockets on the left, walls on the right; where the longer table ends."""
    count, fitted = len(board.sockets), any(socket.fit for socket in board.sockets)
    sockets = [_socket_row(i, count, socket, units, fitted) for i, socket in enumerate(board.sockets)]
    walls, columns = [_wall_row(wall, units) for wall in board.walls], _wall_columns(units)
    at = (sheet.right - sum(column.width for column in columns), y)
    room = min(room, (len(walls) + 1) * ROW_MM)
    end = draw_table(
        sheet, (sheet.left, y), _socket_columns(units, fitted), sockets, room=room * (count + 1) / (len(walls) + 1)
    )
    return max(end, draw_table(sheet, at, columns, walls, room=room))


def _socket_row(index: int, count: int, socket: PracticeSocket, units: Units, fitted: bool) -> list[str]:
    return [
        str(index + 1),
        socket_name(index, count).replace("pin between tails", "tails"),
        _pair(socket.taper_mm, socket.taper_u95_mm, units),
        *(format_error(size, units).split()[0] for size in (socket.gap_mm, socket.squeeze_mm)),
        socket.verdict,
        *([socket.fit or ""] if fitted else []),
    ]


def _wall_row(wall: PracticeWall, units: Units) -> list[str]:
    """The lean with its uncertainty, and what it amounts to."""
    lean = _told(wall.lean_deg, wall.lean_u95_deg)
    return [f"tail {wall.tail + 1} {wall.side}", lean, _pair(wall.out_of_square_mm, wall.out_of_square_u95_mm, units)]


def _pair(value_mm: float, u95_mm: float, units: Units) -> str:
    scale = MM_PER_INCH if units == "inch" else 1.0
    return _told(value_mm / scale, u95_mm / scale)


def _told(value: float, u95: float) -> str:
    places = decimal_places(u95)
    return f"{round(value, places) + 0.0:+.{places}f} ± {u95:.{places}f}"


def _picture_height(room: float, board: PracticeBoard) -> float:
    """What tables and drawing leave of the room, within limits."""
    least, most = PICTURE_MM
    return min(max(room - END_MM - 8.0 - (len(board.walls) + 1) * ROW_MM, least), most)


def _caution(sheet: Sheet, board: PracticeBoard) -> float:
    """Cautions and how to read the numbers, at the foot; where they begin."""
    width = sheet.right - sheet.left
    reading = (
        f"± is the 95 % uncertainty (k = {COVERAGE:g}). Lean is positive to the right, from show to transfer face;"
        f" taper is positive where the socket is wider at the show face. Board {board.identity}."
    )
    top = sheet.bottom - 20.0
    sheet.line([(sheet.left, top - 4.0), (sheet.right, top - 4.0)], 0.2, colour=MUTED)
    y = sheet.paragraph((sheet.left, top), width, " ".join(CAUTIONS), 7.5, bold=True)
    sheet.paragraph((sheet.left, y + 0.8), width, reading, 7.0, colour=MUTED, most=3)
    return top - 4.0
