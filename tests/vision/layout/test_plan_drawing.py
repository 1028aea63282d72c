"""The drawn plan, measured on what comes out of the PDF: every line in its place, full size, nothing off the paper."""

from __future__ import annotations

import io
import re

import numpy as np
import pypdfium2
import pytest
from numpy.typing import NDArray
from PIL import Image

from calibration.sheet.card_sheet import render_drawing
from calibration.sheet.drawing import Text
from calibration.sheet.layout import PAPERS_MM, PRINTER_MARGIN_MM
from vision.layout.plan import Plan
from vision.layout.plan_drawing import SCALE_MM, draw_plan, fits_paper, page_mm, places_on

DPI = 600
LINE_TOLERANCE_MM = 0.015
"""A line 0.15 mm broad is 3.5 pixels at 600 dots per inch; its centroid is true to a third of a pixel of 0.042 mm."""

PLANS = {
    "drawer": (Plan(90.5, 17.5, 3, 6.4, 1.8, 1 / 6, 17.5, "drawer"), "a4"),
    "wide": (Plan(203.0, 19.0, 7, 8.0, 5.0, 1 / 8, 14.0, "wide"), "letter"),
}


class Printed:
    """A rasterised plan: how much ink is where. PDFium stretches a page to whole pixels, up to 0.02 %."""

    def __init__(self, plan: Plan, paper: str) -> None:
        self.plan, self.at = plan, places_on(plan, paper)  # type: ignore[arg-type]
        document = pypdfium2.PdfDocument(render_drawing(draw_plan(plan, paper), "pdf"))  # type: ignore[arg-type]
        image = document[0].render(scale=DPI / 72, grayscale=True).to_pil().convert("L")
        document.close()
        self.levels = np.asarray(image, float)
        self.px_per_mm = np.array([image.width, image.height]) / page_mm(plan, paper)  # type: ignore[arg-type]

    def lines_mm(self, y_mm: float, left_mm: float, right_mm: float) -> NDArray[np.float64]:
        """Centres of the dark lines that a level line at `y_mm` of the page crosses, mm from the page's left edge."""
        first, last = (int(x * self.px_per_mm[0]) for x in (left_mm, right_mm))
        ink = 255.0 - self.levels[int(y_mm * self.px_per_mm[1]), first:last]
        ink = np.where(ink > 0.2 * 255.0, ink, 0.0)  # the waste's grey is 0.12
        edges = np.flatnonzero(np.diff((ink > 0.0).astype(int), prepend=0, append=0))
        spans = zip(edges[0::2], edges[1::2], strict=True)
        centres = [np.average(np.arange(start, stop), weights=ink[start:stop]) for start, stop in spans]
        return (np.array(centres) + 0.5 + first) / self.px_per_mm[0]


@pytest.fixture(scope="module", params=PLANS)
def printed(request: pytest.FixtureRequest) -> Printed:
    return Printed(*PLANS[request.param])


def places(printed: Printed, y_mm: float) -> NDArray[np.float64]:
    """Where the lines lie along the board at that height of the page, its two sides left out."""
    at, width = printed.at, printed.plan.width_mm
    found = printed.lines_mm(y_mm, at.left - 1.0, at.left + width + 1.0) - at.left
    assert found[[0, -1]] == pytest.approx([0.0, width], abs=LINE_TOLERANCE_MM)
    return found[1:-1]


def test_lines_at_the_end_are_where_the_plan_has_them(printed: Printed) -> None:
    expected = [line.x_end_mm for line in printed.plan.lines]
    middle = (printed.at.end_top + printed.at.end_bottom) / 2
    assert places(printed, middle) == pytest.approx(expected, abs=LINE_TOLERANCE_MM)


@pytest.mark.parametrize("face", ["show", "transfer"])
@pytest.mark.parametrize("part", [0.2, 0.5, 0.8])
def test_lines_slope_from_the_end_to_the_baseline_on_both_faces(printed: Printed, face: str, part: float) -> None:
    down = part * printed.plan.depth_mm
    y = printed.at.end_top - down if face == "show" else printed.at.end_bottom + down
    expected = [x + part * (root - x) for *_, x, root in printed.plan.lines]
    # The row of pixels lies up to half a pixel from y: at 1:6 that moves a line by less than 0.004 mm.
    assert places(printed, y) == pytest.approx(expected, abs=LINE_TOLERANCE_MM + 0.004)


def test_baselines_lie_the_depth_from_the_folds(printed: Printed) -> None:
    at, plan = printed.at, printed.plan
    column = int((at.left + plan.lines[0].x_baseline_mm + 2.0) * printed.px_per_mm[0])
    for y, distance in ((at.show_baseline, plan.depth_mm), (at.transfer_baseline, -plan.depth_mm)):
        fold = at.end_top if distance > 0 else at.end_bottom
        row = int(y * printed.px_per_mm[1])
        ink = 255.0 - printed.levels[row - 6 : row + 7, column]
        found = (np.average(np.arange(row - 6, row + 7), weights=ink) + 0.5) / printed.px_per_mm[1]
        assert fold - found == pytest.approx(distance, abs=LINE_TOLERANCE_MM)


def test_the_dividers_can_be_set_by_two_marks_one_step_apart(printed: Printed) -> None:
    left, step = printed.at.left, printed.plan.step_mm
    marks = printed.lines_mm(printed.at.marks + 5.0, left - 1.0, left + step + 1.0)
    assert marks - left == pytest.approx([0.0, step], abs=LINE_TOLERANCE_MM)


def test_the_scale_is_fifty_millimetres_long(printed: Printed) -> None:
    left, length = printed.at.left, SCALE_MM["mm"]
    blocks = printed.lines_mm(printed.at.marks + 18.0, left - 1.0, left + length + 1.0) - left
    assert blocks == pytest.approx([5.0, 25.0, 45.0], abs=LINE_TOLERANCE_MM)
    row = printed.levels[int((printed.at.marks + 18.0) * printed.px_per_mm[1])]
    dark = np.sum(255.0 - row) / 255.0 / printed.px_per_mm[0]
    assert dark == pytest.approx(30.0, abs=2 * LINE_TOLERANCE_MM)


def test_waste_is_grey_and_wood_is_white(printed: Printed) -> None:
    y = int((printed.at.end_top + 3.0) * printed.px_per_mm[1])
    for kind, level in (("tail", 255), ("pin", 224), ("half pin", 224)):
        x = 0.0
        for part in printed.plan.parts:
            if part.kind == kind:
                column = int((printed.at.left + x + part.end_mm / 2) * printed.px_per_mm[0])
                assert printed.levels[y, column] == pytest.approx(level, abs=1)
            x += part.end_mm


def test_the_edge_of_the_paper_is_bare(printed: Printed) -> None:
    bare = printed.levels.copy()
    x, y = (int(PRINTER_MARGIN_MM * scale) for scale in printed.px_per_mm)
    bare[y:-y, x:-x] = 255
    assert bare.min() == 255


def test_the_page_is_the_paper_and_asks_not_to_be_scaled() -> None:
    plan, paper = PLANS["wide"]
    data = render_drawing(draw_plan(plan, "letter"), "pdf")
    document = pypdfium2.PdfDocument(data)
    size_mm = np.array(document[0].get_size()) * 25.4 / 72
    document.close()
    assert size_mm == pytest.approx(PAPERS_MM[paper][::-1], abs=0.001)  # landscape; PDFs give 1/10000 point
    assert re.search(rb"/PrintScaling\s*/None", data)


def test_a_board_wider_than_the_paper_gets_a_page_as_large_as_it_needs() -> None:
    plan = Plan(400.0, 20.0, 9, 10.0, 6.0, 1 / 8, 20.0)
    assert not fits_paper(plan, "a4")
    assert page_mm(plan, "a4")[0] > 400.0
    assert fits_paper(PLANS["drawer"][0], "a4")
    with pytest.raises(ValueError, match="paper must be one of a4, letter, got 'a5'"):
        page_mm(plan, "a5")  # type: ignore[arg-type]


def test_every_line_is_labelled_with_its_place_in_either_unit() -> None:
    plan = PLANS["drawer"][0]
    for units, expected in (("mm", {"6.4", "31.1", "84.1"}), ("inch", {"1/4", "1 7/32", "3 5/16"})):
        drawing = draw_plan(plan, units=units)  # type: ignore[arg-type]
        words = {shape.words for shape in drawing.shapes if isinstance(shape, Text)}
        assert expected <= words


@pytest.mark.parametrize("file_format", ["svg", "png"])
def test_it_can_be_written_in_the_other_formats(file_format: str) -> None:
    data = render_drawing(draw_plan(PLANS["drawer"][0]), file_format, 200)  # type: ignore[arg-type]
    if file_format == "svg":
        assert b'width="210mm"' in data
    else:
        image = Image.open(io.BytesIO(data))
        assert np.array(image.size) / 200 * 25.4 == pytest.approx(PAPERS_MM["a4"], abs=0.07)  # half a pixel
