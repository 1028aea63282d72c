"""A sheet of A4 or Letter to draw on, in millimetres from the top left corner, y down; written as vector PDF."""

from __future__ import annotations

import io
from collections.abc import Sequence
from typing import TYPE_CHECKING, Literal

from calibration.units import MM_PER_INCH, POINTS_PER_MM
from service.practice.pdf_letters import font_of, printable
from vision.answer.palette import INK, MUTED, Colour, look_of, text_colour
from vision.answer.words import CAUTIONS

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

Paper = Literal["a4", "letter"]
Anchor = Literal["start", "middle", "end"]
Point = tuple[float, float]
PlacedBox = tuple[float, float, float, float]
"""Left, top, width and height, mm."""

PAPERS_MM: dict[Paper, tuple[float, float]] = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
"""ISO 216 and ANSI/ASME Y14.1."""
MARGIN_MM = 15.0
MM_PER_POINT = MM_PER_INCH / 72
LEADING = 1.3
"""Distance of lines over the size of the letters."""


class Sheet:
    """Pages of one paper, drawn one after the other; `save` ends the last and returns the PDF.

    Text sizes are in points. Letters that no font here has are written without their marks, or as `?`. Raises
    ValueError for another paper.
    """

    def __init__(self, title: str, paper: Paper) -> None:
        from reportlab.pdfgen.canvas import Canvas

        if paper not in PAPERS_MM:
            raise ValueError(f"paper must be one of {', '.join(PAPERS_MM)}, got {paper!r}")
        self.width, self.height = PAPERS_MM[paper]
        self.pages = 1
        self._file = io.BytesIO()
        size = (self.width * POINTS_PER_MM, self.height * POINTS_PER_MM)
        self._canvas: Canvas = Canvas(self._file, pagesize=size, invariant=True, pageCompression=1)
        self._canvas.setTitle(printable(title))
        self._begin()

    @property
    def left(self) -> float:
        """Left end of the printed area."""
        return MARGIN_MM

    @property
    def right(self) -> float:
        """Right end of the printed area."""
        return self.width - MARGIN_MM

    @property
    def bottom(self) -> float:
        """Lower end of the printed area."""
        return self.height - MARGIN_MM

    def next_page(self) -> None:
        """End this page and begin another."""
        self._canvas.showPage()
        self.pages += 1
        self._begin()

    def save(self) -> bytes:
        """The finished PDF."""
        self._canvas.save()
        return self._file.getvalue()

    def text(
        self, at: Point, words: str, size: float = 9.0, *, bold: bool = False, colour: Colour = INK,
        anchor: Anchor = "start",
    ) -> None:  # fmt: skip
        """One line, its baseline through `at`."""
        words = printable(words)
        self._fill(colour)
        self._canvas.setFont(font_of(words, bold), size * MM_PER_POINT)
        draw = {
            "start": self._canvas.drawString,
            "middle": self._canvas.drawCentredString,
            "end": self._canvas.drawRightString,
        }
        draw[anchor](at[0], self._up(at[1]), words)

    def paragraph(
        self, at: Point, width: float, words: str, size: float = 9.0, *, bold: bool = False, colour: Colour = INK,
        most: int = 99, anchor: Anchor = "start",
    ) -> float:  # fmt: skip
        """Words broken into at most so many lines, the first one's baseline through `at`; where the next line goes."""
        x, y = at
        for line in fitted_lines(words, width, size, bold=bold, most=most):
            self.text((x, y), line, size, bold=bold, colour=colour, anchor=anchor)
            y += size * MM_PER_POINT * LEADING
        return y

    def line(
        self, points: Sequence[Point], width: float = 0.2, *, colour: Colour = INK, dash: Point | None = None
    ) -> None:
        """A line through the points, `dash` as drawn and skipped length."""
        self._canvas.setStrokeColorRGB(*(channel / 255 for channel in colour))
        self._canvas.setLineWidth(width)
        self._canvas.setDash(*(list(dash), 0) if dash else ([], 0))
        path = self._canvas.beginPath()
        path.moveTo(points[0][0], self._up(points[0][1]))
        for x, y in points[1:]:
            path.lineTo(x, self._up(y))
        self._canvas.drawPath(path, stroke=1, fill=0)

    def area(self, points: Sequence[Point], colour: Colour, *, outline: Colour | None = None) -> None:
        """A filled polygon."""
        self._fill(colour)
        path = self._canvas.beginPath()
        path.moveTo(points[0][0], self._up(points[0][1]))
        for x, y in points[1:]:
            path.lineTo(x, self._up(y))
        path.close()
        self._canvas.drawPath(path, stroke=0, fill=1)
        if outline:
            self.line([*points, points[0]], colour=outline)

    def dot(self, at: Point, radius: float, colour: Colour, *, hollow: bool = False) -> None:
        """A round mark, filled or as a ring."""
        self._fill(colour)
        self._canvas.setStrokeColorRGB(*(channel / 255 for channel in colour))
        self._canvas.setLineWidth(0.3)
        self._canvas.setDash([], 0)
        self._canvas.circle(at[0], self._up(at[1]), radius, stroke=1, fill=0 if hollow else 1)

    def picture(self, data: bytes, box: PlacedBox, *, middle: bool = True) -> PlacedBox:
        """A picture file (PNG or JPEG) as large as fits in the box (left, top, width, height); the box that it fills.

        It stands in the middle of the box, or at its left.
        """
        from reportlab.lib.utils import ImageReader

        image = ImageReader(io.BytesIO(data))
        left, top, width, height = box
        columns, rows = image.getSize()
        scale = min(width / columns, height / rows)
        wide, high = columns * scale, rows * scale
        left += (width - wide) / 2 if middle else 0.0
        self._canvas.drawImage(image, left, self._up(top + high), wide, high, mask="auto")
        return left, top, wide, high

    def _begin(self) -> None:
        self._canvas.scale(POINTS_PER_MM, POINTS_PER_MM)
        self._canvas.setLineCap(1)
        self._canvas.setLineJoin(1)

    def _up(self, y: float) -> float:
        return self.height - y

    def _fill(self, colour: Colour) -> None:
        self._canvas.setFillColorRGB(*(channel / 255 for channel in colour))


def page_foot(sheet: Sheet) -> None:
    """Page number and cautions, at the foot of a page of several."""
    y = sheet.bottom - 6.0
    sheet.line([(sheet.left, y - 4.0), (sheet.right, y - 4.0)], 0.2, colour=MUTED)
    sheet.paragraph((sheet.left, y), sheet.right - sheet.left - 14.0, " ".join(CAUTIONS), 6.5, most=3)
    sheet.text((sheet.right, sheet.bottom), f"page {sheet.pages}", 7.0, colour=MUTED, anchor="end")


def verdict_mark(sheet: Sheet, centre: Point, verdict: str, radius: float = 1.6) -> None:
    """The verdict's shape, colour and sign, as on the drawn result."""
    look = look_of(verdict)
    x, y = centre
    if look.shape == "circle":
        sheet.dot(centre, radius, look.colour)
    else:
        sheet.area([(x + radius * dx, y + radius * dy) for dx, dy in _SHAPES[look.shape]], look.colour, outline=INK)
    lower = 0.35 if look.shape != "triangle" else 0.55
    sheet.text(
        (x, y + lower * radius), look.sign, 2.2 * radius, bold=True, colour=text_colour(look.colour), anchor="middle"
    )


_SHAPES: dict[str, tuple[Point, ...]] = {
    "diamond": ((0.0, -1.25), (1.25, 0.0), (0.0, 1.25), (-1.25, 0.0)),
    "triangle": ((0.0, -1.2), (1.25, 0.95), (-1.25, 0.95)),
    "square": ((-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)),
}


def fitted_lines(words: str, width: float, size: float, *, bold: bool = False, most: int = 99) -> list[str]:
    """Words broken to a width in mm, and where a line was ended; what would need more lines ends in dots.

    A word that is too long is broken.
    """
    from reportlab.lib.utils import simpleSplit

    typed = "\n".join(printable(line) for line in words.splitlines())
    lines = list(simpleSplit(typed, font_of(typed, bold), size * MM_PER_POINT, width))
    lines = [piece for line in lines for piece in _broken(line, width, size, bold)]
    return lines if len(lines) <= most else [*lines[: most - 1], fitted(" ".join(lines[most - 1 :]), width, size, bold)]


def fitted(words: str, width: float, size: float, bold: bool = False) -> str:
    """Words cut to a width in mm, with three dots where something is missing."""
    words = printable(words)
    if text_width(words, size, bold) <= width:
        return words
    while words and text_width(words + "...", size, bold) > width:
        words = words[:-1]
    return words.rstrip() + "..."


def _broken(line: str, width: float, size: float, bold: bool) -> list[str]:
    pieces = []
    while text_width(line, size, bold) > width and len(line) > 1:
        cut = next(
            end for end in range(len(line) - 1, 0, -1) if end == 1 or text_width(line[:end], size, bold) <= width
        )
        pieces.append(line[:cut])
        line = line[cut:]
    return [*pieces, line]


def text_width(words: str, size: float, bold: bool = False) -> float:
    """How wide printable words are, mm."""
    from reportlab.pdfbase.pdfmetrics import stringWidth

    return float(stringWidth(words, font_of(words, bold), size * MM_PER_POINT))
