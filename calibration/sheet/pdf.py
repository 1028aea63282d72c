"""Write a drawing as a one-page vector PDF."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING

from calibration.sheet.drawing import Area, Drawing, Text
from calibration.units import POINTS_PER_MM

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas


def text_width_mm(text: Text) -> float:
    """Length of the text as the PDF sets it, mm."""
    from reportlab.pdfbase.pdfmetrics import stringWidth

    return float(stringWidth(text.words, _font(text), text.size_mm))


def write_pdf(drawing: Drawing) -> bytes:
    """The drawing as PDF, the same bytes each time; it asks viewers to print it without scaling."""
    from reportlab.pdfgen.canvas import Canvas

    file = io.BytesIO()
    page = (drawing.width_mm * POINTS_PER_MM, drawing.height_mm * POINTS_PER_MM)
    canvas = Canvas(file, pagesize=page, invariant=True, pageCompression=1)
    canvas.setTitle(drawing.title)
    canvas.setViewerPreference("PrintScaling", "None")
    canvas.scale(POINTS_PER_MM, POINTS_PER_MM)
    for shape in drawing.shapes:
        _draw(canvas, shape, drawing.height_mm)
    canvas.save()
    return file.getvalue()


def _draw(canvas: Canvas, shape: Area | Text, page_height_mm: float) -> None:
    canvas.setFillGray(shape.grey)
    if isinstance(shape, Text):
        _draw_text(canvas, shape, page_height_mm)
    else:
        _draw_area(canvas, shape, page_height_mm)


def _draw_area(canvas: Canvas, area: Area, page_height_mm: float) -> None:
    path = canvas.beginPath()
    for (x, y), *rest in area.loops:
        path.moveTo(x, page_height_mm - y)
        for next_x, next_y in rest:
            path.lineTo(next_x, page_height_mm - next_y)
        path.close()
    canvas.drawPath(path, stroke=0, fill=1, fillMode=0)


def _draw_text(canvas: Canvas, text: Text, page_height_mm: float) -> None:
    canvas.saveState()
    canvas.translate(text.at[0], page_height_mm - text.at[1])
    canvas.rotate(90 if text.upward else 0)
    canvas.setFont(_font(text), text.size_mm)
    draw = {"start": canvas.drawString, "middle": canvas.drawCentredString, "end": canvas.drawRightString}
    draw[text.anchor](0, 0, text.words)
    canvas.restoreState()


def _font(text: Text) -> str:
    """One of the fonts that every PDF viewer has (ISO 32000-1, 9.6.2.2)."""
    return "Helvetica-Bold" if text.bold else "Helvetica"
