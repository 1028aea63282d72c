"""A board of practice cuts on one page: what to work on, its picture, the cuts in the order cut, and the figures."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from service.practice.pdf_board import KEPT_UNITS, draw_caution, draw_head, draw_shown
from service.practice.pdf_page import Paper, Sheet
from service.practice.pdf_review import Said
from service.practice.pdf_table import LEAST_ROW_MM, ROW_MM, Column, as_wide_as_needed, draw_table, row_height
from service.practice.say import day_name
from vision.answer.palette import MUTED
from vision.answer.words import CAUTIONS

PICTURE_MM = (55.0, 125.0)
"""Height of the picture at least, and at most."""
NOTES_MM = 9.5
BETWEEN_MM = 5.0
MOST_SENTENCES = 3
"""Lines of what is asked about the cuts."""
_CUTS = (
    ("cut", "name"),
    ("from left", "place"),
    ("meant", "meant"),
    ("lean", "lean"),
    ("spacing", "spacing"),
    ("zone", "zone"),
    ("bow", "bow"),
    ("kerf", "kerf"),
    ("edge", "edge"),
)
"""Headings, and what the words of a cut call it."""
_FIGURES = (("all cuts together", "name"), ("", "value"), ("", "firm"))


@dataclass(frozen=True)
class PracticePage:
    """What is printed of practice cuts: `words` are those of their answer (`jobs/drill_words`), in one unit.

    `told` is what is said of the board, such as its wood.
    """

    identity: str
    name: str
    date: date
    person: str
    told: Sequence[str]
    notes: str
    words: Mapping[str, Any]


def cuts_pdf(board: PracticePage, *, picture: bytes | None, paper: Paper, said: Said) -> bytes:
    """The page as PDF, drawn like that of any other board. Raises ValueError for another paper."""
    sheet = Sheet(f"Practice cuts of {day_name(board.date)}", paper)
    words = board.words
    told = [day_name(board.date), words["board"], *board.told]
    title = board.name or f"Practice cuts of {day_name(board.date)}"
    y = draw_head(sheet, title, board.person, told, words["verdict"])
    floor = draw_caution(sheet, (CAUTIONS[0], CAUTIONS[-1]), _reading(board, drawn=picture is not None))
    floor -= NOTES_MM if board.notes else 0.0
    below = (len(words["figures"]) + 1) * ROW_MM + 2.0 * BETWEEN_MM
    least, most = PICTURE_MM
    room = floor - y - below - (len(words["cuts"]) + 1) * ROW_MM
    y = draw_shown(sheet, y, min(max(room, least), most), picture, said)
    for sentence in words["strayed"]:
        y = sheet.paragraph((sheet.left, y + 3.0), sheet.right - sheet.left, sentence, 9.0, most=MOST_SENTENCES)
    y = _table(sheet, y, _CUTS, words["cuts"], floor - y - below) + BETWEEN_MM
    y = _table(sheet, y, _FIGURES, words["figures"], floor - y)
    if board.notes:
        sheet.paragraph((sheet.left, y + 5.0), sheet.right - sheet.left, f"Notes: {board.notes}", 9.0, most=2)
    return sheet.save()


def _table(
    sheet: Sheet, y: float, named: Sequence[tuple[str, str]], rows: Sequence[Mapping[str, str]], room: float
) -> float:
    """Those rows, lower where there are many; what has no room even so is counted below them. Where it ends."""
    fitting = max(int(room / LEAST_ROW_MM) - 2, 1)
    shown = rows if len(rows) <= fitting + 1 else rows[:fitting]
    cells = [[row[key] for _, key in named] for row in shown]
    row_mm = row_height(len(shown), room)
    columns = as_wide_as_needed([Column(heading) for heading, _ in named], cells, row_mm)
    y = draw_table(sheet, (sheet.left, y), _spread(columns, sheet.right - sheet.left), cells, row_mm)
    if len(shown) == len(rows):
        return y
    left_out = f"and {len(rows) - len(shown)} more, on the board's page"
    sheet.text((sheet.left, y + LEAST_ROW_MM - 0.8), left_out, 6.5, colour=MUTED)
    return y + LEAST_ROW_MM


def _spread(columns: Sequence[Column], width: float) -> list[Column]:
    """The columns over the whole width, all widened alike or, where there is too little of it, narrowed."""
    scale = min(width / sum(column.width for column in columns), 1.6)
    return [Column(column.heading, column.width * scale) for column in columns]


def _reading(board: PracticePage, *, drawn: bool) -> str:
    return (
        "± is the 95 % uncertainty; firm means that a figure differs from zero by more than it. To the right is"
        " positive, on the way to the transfer face. Zone: the width that holds the cut in the direction that was"
        f" meant. Edge: which of the cut's was measured, or both.{KEPT_UNITS if drawn else ''} Board {board.identity}."
    )
