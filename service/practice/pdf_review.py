"""What an instructor said of a board, for its page: numbered marks on the picture, and the words beside it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from service.domain.review import Mark
from service.practice.pdf_page import LEADING, MM_PER_POINT, PlacedBox, Point, Sheet, fitted_lines
from service.practice.say import counted
from vision.answer.palette import INK, MUTED, PAPER, Colour

DISC: Colour = (74, 29, 107)
"""As on the pages, where no verdict has this colour."""
RADIUS_MM = 2.3
COMMENT_PT = 8.5
INDENT_MM = 2.0 * RADIUS_MM + 1.5
GAP_MM = 1.8
MOST_LINES = (99, 8, 6, 5, 4, 3, 2, 1)
"""Lines of each comment at most, from all to the fewest."""
MOST_OF_REMARKS = 8


@dataclass(frozen=True)
class Said:
    """What people said of a board. `corrected` tells who placed walls by hand; `by` who decided and when, empty without
    a review; `beside` what the tool had advised then; `caption` what the picture is, if it is not the newest.
    Unless `on_picture` the picture that the marks were on is gone."""

    corrected: str = ""
    by: str = ""
    decision: str = ""
    beside: str = ""
    remarks: str = ""
    marks: tuple[Mark, ...] = ()
    caption: str = ""
    on_picture: bool = True


def draw_marks(sheet: Sheet, box: PlacedBox, marks: Sequence[Mark]) -> None:
    """Numbered discs on the picture that fills the box (left, top, width, height), each wholly on it."""
    left, top, width, height = box
    for number, mark in enumerate(marks, start=1):
        x = left + min(max(mark.x * width, RADIUS_MM), width - RADIUS_MM)
        y = top + min(max(mark.y * height, RADIUS_MM), height - RADIUS_MM)
        _disc(sheet, (x, y), number)


def draw_review(sheet: Sheet, at: Point, width: float, floor: float, said: Said) -> float:
    """The decision beside the tool's own advice, remarks, comments by number, down to `floor` at most; where it ends.

    Comments lose their last lines, and if need be the last comments go, but never without a word.
    """
    x, y = at
    y = sheet.paragraph((x, y + 3.0), width, said.by, 8.5, colour=MUTED, most=3)
    y = sheet.paragraph((x, y + 1.0), width, said.decision, 12.0, bold=True)
    y = sheet.paragraph((x, y), width, said.beside, 8.5, colour=MUTED, most=2)
    if said.remarks:
        y = sheet.paragraph((x, y + GAP_MM), width, said.remarks, 9.0, most=MOST_OF_REMARKS)
    return _comments(sheet, (x, y + GAP_MM), width, floor, said.marks)


def _comments(sheet: Sheet, at: Point, width: float, floor: float, marks: Sequence[Mark]) -> float:
    x, y = at
    room, line_mm = floor - y, COMMENT_PT * MM_PER_POINT * LEADING
    texts = _shortened([mark.comment for mark in marks], width - INDENT_MM, room)
    for number, lines in enumerate(texts, start=1):
        _disc(sheet, (x + RADIUS_MM, y), number)
        for line in lines:
            sheet.text((x + INDENT_MM, y + 1.0), line, COMMENT_PT, colour=INK)
            y += line_mm
        y += _high(lines) - len(lines) * line_mm
    more = len(marks) - len(texts)
    if more:
        sheet.text((x, y + 1.0), f"{counted(more, 'more comment')} in the log.", COMMENT_PT, colour=MUTED)
    return y


def _shortened(comments: Sequence[str], width: float, room: float) -> list[list[str]]:
    """The lines of as many comments as fit in the room, mm: all of them, each as long as that allows."""
    for most in MOST_LINES:
        texts = [fitted_lines(comment, width, COMMENT_PT, most=most) for comment in comments]
        if sum(map(_high, texts)) <= room:
            return texts
    count = max(int(room / _high([""])) - 1, 0)
    return texts[:count]


def _high(lines: Sequence[str]) -> float:
    """Room for a comment: no lower than its disc."""
    return max(len(lines) * COMMENT_PT * MM_PER_POINT * LEADING, 2.0 * RADIUS_MM) + GAP_MM


def _disc(sheet: Sheet, centre: Point, number: int) -> None:
    x, y = centre
    sheet.dot(centre, RADIUS_MM, PAPER)
    sheet.dot(centre, RADIUS_MM - 0.3, DISC)
    sheet.text((x, y + 0.95), str(number), 7.5, bold=True, colour=PAPER, anchor="middle")
