"""One board on one page: picture, sockets, numbers, what to do, and what to be careful of."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from calibration.said import decimal_places, listed
from calibration.units import MM_PER_INCH
from service.practice.entries import COVERAGE, PracticeBoard, PracticeSocket, PracticeWall
from service.practice.pdf_charts import Box
from service.practice.pdf_end import draw_end
from service.practice.pdf_page import LEADING, MM_PER_POINT, Paper, Sheet, fitted
from service.practice.pdf_review import Said, draw_marks, draw_review
from service.practice.pdf_table import CELL_GAP_MM, ROW_MM, Column, as_wide_as_needed, draw_table, row_height
from service.practice.say import day_name
from vision.answer.palette import MUTED
from vision.answer.words import CAUTIONS, Units, all_of, format_error, format_size, socket_name

PICTURE_MM = (50.0, 125.0)
"""Height of the picture at least, and at most."""
END_MM = 34.0
PERSON_MM = 60.0
"""Room for the person's name beside the board's."""
LINES_MM = 9.5
"""Room for two lines of a note."""
NOTE_LINE_MM = 9.0 * MM_PER_POINT * LEADING
BESIDE = 0.6
"""Of the width: the picture where a review stands beside it."""
GUTTER_MM = 6.0
BETWEEN_MM = 4.0
"""Room between the two tables."""
MOST_SPARE_MM = 2.5
KEPT_UNITS = " Sizes in the picture are in the units it was drawn in."
SHORT_MM = 60.0
"""Height of a review that has no picture to stand beside."""
_ADVICE = {
    "transfer": "Transfer the pins",
    "pare": "Pare the tight walls before you transfer",
    "start over": "Start over",
    "photograph again": "Photograph again",
}
Table = tuple[list[Column], list[list[str]]]
"""The columns and the rows."""
_REASONS = (("splitting", "too tight"), ("loose", "loose"), ("too close to call", "too close to call"))


def _socket_columns(units: Units, fitted: bool) -> list[Column]:
    unit = _unit(units)
    headings = ["", "pin", f"taper, {unit}", f"gap, {unit}", f"squeeze, {unit}"]
    last = [Column("fit")] if fitted else []
    return [*map(Column, headings), Column("verdict", marked=True), *last]


def _wall_columns(units: Units) -> list[Column]:
    return [Column("wall"), Column("lean, degrees"), Column(f"off square, {_unit(units)}")]


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
    sheet = Sheet(f"Board of {day_name(board.date)}", paper)
    y = _heading(sheet, board, units, said.corrected)
    floor = draw_caution(sheet, CAUTIONS, _reading(board, drawn=picture is not None))
    floor -= (LINES_MM if board.notes else 0.0) + 6.0
    width, end_mm = sheet.right - sheet.left, END_MM if picture else 1.6 * END_MM
    y = draw_shown(sheet, y, _picture_height(floor - y, board), picture, said)
    draw_end(sheet, Box(sheet.left, y, width, end_mm), board)
    y += end_mm + 3.0
    room = floor - y
    below = _tables(sheet, y, room, board, units)
    if board.notes:
        lines = max(int((floor + LINES_MM - below - 5.0) / NOTE_LINE_MM), 2)
        sheet.paragraph((sheet.left, below + 5.0), width, f"Notes: {board.notes}", 9.0, most=lines)
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
    why = "; ".join(f"{name} {word}" for name, word in names) or f"{all_of(len(board.sockets))} will seat"
    return f"{_ADVICE.get(board.advice, board.advice or 'Measured')}: {why}."


def _heading(sheet: Sheet, board: PracticeBoard, units: Units, corrected: str) -> float:
    title = board.name or f"Tail board of {day_name(board.date)}"
    size = f"{format_size(board.width_mm, units)} wide, {format_size(board.thickness_mm, units)} thick"
    words = [day_name(board.date), size, *labelled(board.species, board.saw, board.plan, board.assignment)]
    y = draw_head(sheet, title, board.person, words, headline(board))
    return sheet.paragraph((sheet.left, y), sheet.right - sheet.left, corrected, 9.0, most=2) if corrected else y


def labelled(species: str, saw: str, plan: str, assignment: str) -> list[str]:
    """What is said of a board, as far as it is, for the line below its name."""
    told = (("", species), ("saw: ", saw), ("plan: ", plan), ("assignment: ", assignment))
    return [label + word for label, word in told if word]


def draw_head(sheet: Sheet, title: str, person: str, words: Sequence[str], answer: str) -> float:
    """Name and person side by side, what is said of the board, and the answer; where that ends."""
    width = sheet.right - sheet.left
    person_end = sheet.paragraph((sheet.right, 20.0), PERSON_MM, person, 10.0, most=3, anchor="end")
    title_end = sheet.paragraph((sheet.left, 20.0), width - PERSON_MM - 4.0, title, 16.0, bold=True, most=3)
    y = max(person_end + 1.5, title_end - 1.3)
    y = sheet.paragraph((sheet.left, y), width, " · ".join(words), 9.0, colour=MUTED, most=2)
    return sheet.paragraph((sheet.left, y + 2.5), width, answer, 11.0, bold=True, most=3)


def draw_shown(sheet: Sheet, y: float, height: float, picture: bytes | None, said: Said) -> float:
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
    fitted = any(socket.fit for socket in board.sockets)
    tables = [
        (_socket_columns(units, fitted), _socket_rows(board.sockets, units, fitted)),
        (_wall_columns(units), _wall_rows(board.walls, units)),
    ]
    row_mm = row_height(len(board.walls), min(room, (len(board.walls) + 1) * ROW_MM))
    row_mm, (pins, leans) = _side_by_side(tables, row_mm, sheet.right - sheet.left - BETWEEN_MM)
    at = (sheet.right - sum(column.width for column in leans), y)
    end = draw_table(sheet, (sheet.left, y), pins, tables[0][1], row_mm)
    return max(end, draw_table(sheet, at, leans, tables[1][1], row_mm))


def _side_by_side(tables: Sequence[Table], row_mm: float, width: float) -> tuple[float, list[list[Column]]]:
    """Height of a row, at most `row_mm`, in which the tables fit beside each other, and their columns.

    Words go with the height, gaps do not; what is left over widens every column a little.
    """
    columns = [column for each in tables for column in as_wide_as_needed(*each, row_mm)]
    gaps = CELL_GAP_MM * len(columns)
    words = sum(column.width for column in columns) - gaps
    row_mm *= min(1.0, (width - gaps) / words)
    spare = min(max((width - gaps - words) / len(columns), 0.0), MOST_SPARE_MM)
    return row_mm, [
        [replace(column, width=column.width + spare) for column in as_wide_as_needed(*each, row_mm)] for each in tables
    ]


def _socket_rows(sockets: Sequence[PracticeSocket], units: Units, fitted: bool) -> list[list[str]]:
    tapers = _lengths([(socket.taper_mm, socket.taper_u95_mm) for socket in sockets], units)
    return [
        [
            str(index + 1),
            socket_name(index, len(sockets)).replace("pin between tails", "tails"),
            taper,
            *(format_error(size, units).split()[0] for size in (socket.gap_mm, socket.squeeze_mm)),
            socket.verdict,
            *([socket.fit or ""] if fitted else []),
        ]
        for index, (socket, taper) in enumerate(zip(sockets, tapers, strict=True))
    ]


def _wall_rows(walls: Sequence[PracticeWall], units: Units) -> list[list[str]]:
    """The leans with their uncertainties, and what they amount to."""
    leans = _column([(wall.lean_deg, wall.lean_u95_deg) for wall in walls])
    offs = _lengths([(wall.out_of_square_mm, wall.out_of_square_u95_mm) for wall in walls], units)
    names = [f"tail {wall.tail + 1} {wall.side}" for wall in walls]
    return [list(row) for row in zip(names, leans, offs, strict=True)]


def _lengths(pairs: Sequence[tuple[float, float]], units: Units) -> list[str]:
    scale = MM_PER_INCH if units == "inch" else 1.0
    return _column([(value_mm / scale, u95_mm / scale) for value_mm, u95_mm in pairs])


def _column(pairs: Sequence[tuple[float, float]]) -> list[str]:
    """Numbers with their uncertainties, all with as many decimals as the surest of them has."""
    places = max((decimal_places(u95) for _, u95 in pairs), default=0)
    return [f"{round(value, places) + 0.0:+.{places}f} ± {u95:.{places}f}" for value, u95 in pairs]


def _picture_height(room: float, board: PracticeBoard) -> float:
    """What tables and drawing leave of the room, within limits."""
    least, most = PICTURE_MM
    return min(max(room - END_MM - 8.0 - (len(board.walls) + 1) * ROW_MM, least), most)


def _reading(board: PracticeBoard, *, drawn: bool) -> str:
    """How to read the numbers."""
    return (
        f"± is the 95 % uncertainty (k = {COVERAGE:g}). Lean is positive to the right, from show to transfer face;"
        f" taper is positive where the socket is wider at the show face.{KEPT_UNITS if drawn else ''}"
        f" Board {board.identity}."
    )


def draw_caution(sheet: Sheet, cautions: Sequence[str], reading: str) -> float:
    """Cautions and how to read the numbers, at the foot; where they begin."""
    width = sheet.right - sheet.left
    top = sheet.bottom - 20.0
    sheet.line([(sheet.left, top - 4.0), (sheet.right, top - 4.0)], 0.2, colour=MUTED)
    y = sheet.paragraph((sheet.left, top), width, " ".join(cautions), 7.5, bold=True)
    sheet.paragraph((sheet.left, y + 0.8), width, reading, 7.0, colour=MUTED, most=3)
    return top - 4.0
