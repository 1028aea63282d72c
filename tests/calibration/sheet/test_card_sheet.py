"""The printed sheet, measured on what comes out of each file: PDF through PDFium, PNG as it is, SVG as parsed."""

import io
import itertools
import math
import re
from xml.etree import ElementTree

import numpy as np
import pypdfium2
import pytest
from cv2 import aruco
from PIL import Image

from calibration.card import CARDS, DICTIONARY_NAME, MARKER_CELLS
from calibration.opencv_markers import marker_cells
from calibration.sheet.card_sheet import DPI, render_sheet
from calibration.sheet.layout import PAPERS_MM, PRINTER_MARGIN_MM, plan_sheet
from calibration.sheet.svg import SVG_NAMESPACE

PDF_DPI, PNG_DPI = 600, DPI

EDGE_MM = {"pdf": 0.005, "png": 0.007}
"""How true a drawn edge is: an eighth of a pixel at 600 dots per inch; at 300 the PNG's 1/16 pixel (0.0053 mm) and
half a grey level."""

DETECTED_MM = 0.03
"""OpenCV's corners on a raster without blur err by up to a third of a pixel; one is 0.085 mm at 300 dots per inch."""

ALL = list(itertools.product(CARDS, PAPERS_MM))


class Page:
    """A rasterised sheet: grey levels as an array, and how to read them by millimetres.

    PDFium stretches a page to whole pixels, up to 0.02 %; a PNG is as large as the resolution that it states.
    """

    def __init__(self, file_format, image, plan):
        self.levels = np.asarray(image, dtype=float)
        stretched = np.array([image.width / plan.width_mm, image.height / plan.height_mm])
        self.px_per_mm = stretched if file_format == "pdf" else np.full(2, PNG_DPI / 25.4)
        self.image, self.plan, self.tolerance_mm = image, plan, EDGE_MM[file_format]

    def patch(self, left, top, right, bottom):
        x0, x1 = (round(v * self.px_per_mm[0]) for v in (left, right))
        y0, y1 = (round(v * self.px_per_mm[1]) for v in (top, bottom))
        return self.levels[y0:y1, x0:x1]

    def edges_mm(self, start, end):
        """Where ink begins and ends along an upright or level line between two points, mm from the page's corner.

        A pixel that an edge crosses is as grey as its inked share: `before` and `after` are how far the pixels on
        either side of the half-way crossing stand from their full neighbours.
        """
        axis = 0 if start[1] == end[1] else 1
        across = int(start[1 - axis] * self.px_per_mm[1 - axis])
        line = self.levels[across] if axis == 0 else self.levels[:, across]
        first, last = (int(point[axis] * self.px_per_mm[axis]) for point in (start, end))
        dark = line[first:last] < 127.5
        at = np.flatnonzero(dark[1:] != dark[:-1]) + first
        before, after = (np.abs(line[at + side] - line[at + 3 * side - 1]) for side in (0, 1))
        return (at + 1 + (after - before) / 255) / self.px_per_mm[axis]


def rasterise(kind, paper, file_format):
    data, plan = render_sheet(kind, paper, file_format), plan_sheet(CARDS[kind], paper)
    if file_format == "png":
        return Page("png", Image.open(io.BytesIO(data)), plan)
    document = pypdfium2.PdfDocument(data)
    image = document[0].render(scale=PDF_DPI / 72, grayscale=True).to_pil().convert("L")
    document.close()
    return Page("pdf", image, plan)


@pytest.fixture(scope="module", params=[(*both, form) for both in ALL for form in EDGE_MM], ids="-".join)
def printed(request):
    kind, paper, file_format = request.param
    return CARDS[kind], rasterise(kind, paper, file_format)


def test_every_square_is_true_to_size_both_ways(printed):
    card, page = printed
    left, top = page.plan.squares_corner
    aside = (card.square_mm - card.marker_mm) / 4  # between the board's edge and the markers
    columns = page.edges_mm((left - 2, top + aside), (left + card.width_mm + 2, top + aside))
    rows = page.edges_mm((left + aside, top - 2), (left + aside, top + card.height_mm + 2))
    expected = np.arange(card.squares_x) * card.square_mm, np.arange(card.squares_y) * card.square_mm
    np.testing.assert_allclose(columns - left, expected[0], atol=page.tolerance_mm)
    np.testing.assert_allclose(rows - top, expected[1], atol=page.tolerance_mm)


def cross_centre(page, name):
    """The middle of the arms that point away from the square, where nothing else is drawn."""
    x, y = page.plan.check_point(name)
    out_x, out_y = x + (2.8 if name in "BC" else -2.8), y + (2.8 if name in "AB" else -2.8)
    upright = page.edges_mm((x - 0.5, out_y), (x + 0.5, out_y))
    level = page.edges_mm((out_x, y - 0.5), (out_x, y + 0.5))
    assert len(upright) == len(level) == 2
    return upright.mean(), level.mean()


def test_bars_and_diagonals_of_the_print_check_are_true_to_size(printed):
    _, page = printed
    a, b, c, d = (cross_centre(page, name) for name in "ABCD")
    bars = [math.dist(a, b), math.dist(a, d), math.dist(b, c), math.dist(c, d)]
    np.testing.assert_allclose(bars, 100.0, atol=2 * page.tolerance_mm)
    np.testing.assert_allclose([math.dist(a, c), math.dist(b, d)], 100 * math.sqrt(2), atol=2 * page.tolerance_mm)


def test_the_blocks_of_both_bars_are_ten_millimetres(printed):
    _, page = printed
    x, y = page.plan.check_point("A")
    along = page.edges_mm((x + 5, y + 1), (x + 95, y + 1)) - x
    up = y - page.edges_mm((x - 1, y - 95), (x - 1, y - 5))[::-1]
    np.testing.assert_allclose(along, np.arange(10, 100, 10), atol=page.tolerance_mm)
    np.testing.assert_allclose(up, np.arange(10, 100, 10), atol=page.tolerance_mm)


def test_the_margin_round_the_squares_is_white(printed):
    card, page = printed
    left, top = page.plan.squares_corner
    right, bottom = left + card.width_mm, top + card.height_mm
    gap, wide = 0.1, 3.3  # a pixel off the squares; the cut line and its grey pixels begin 3.4 mm out
    sides = [
        page.patch(left - wide, top - wide, right + wide, top - gap),
        page.patch(left - wide, bottom + gap, right + wide, bottom + wide),
        page.patch(left - wide, top - wide, left - gap, bottom + wide),
        page.patch(right + gap, top - wide, right + wide, bottom + wide),
    ]
    assert min(side.min() for side in sides) == 255


def test_the_edge_of_the_paper_is_bare(printed):
    _, page = printed
    bare = page.levels.copy()
    x, y = (math.floor(PRINTER_MARGIN_MM * scale) for scale in page.px_per_mm)
    bare[y:-y, x:-x] = 255
    assert bare.min() == 255


def test_markers_show_every_cell_and_no_seam_between_dark_ones(printed):
    card, page = printed
    cell_mm = card.marker_mm / MARKER_CELLS
    for dark, corners in zip(marker_cells(card), card.marker_corner_points_mm, strict=True):
        x0, y0 = corners[0] + page.plan.squares_corner
        for row, column in np.ndindex(MARKER_CELLS, MARKER_CELLS):
            x, y = x0 + column * cell_mm, y0 + row * cell_mm
            inner = page.patch(x + 0.2, y + 0.2, x + cell_mm - 0.2, y + cell_mm - 0.2)
            assert set(inner.ravel()) == {0.0 if dark[row, column] else 255.0}
            if column + 1 < MARKER_CELLS and dark[row, column] and dark[row, column + 1]:
                assert page.patch(x + 0.2, y + 0.2, x + 2 * cell_mm - 0.2, y + cell_mm - 0.2).max() == 0
            if row + 1 < MARKER_CELLS and dark[row, column] and dark[row + 1, column]:
                assert page.patch(x + 0.2, y + 0.2, x + cell_mm - 0.2, y + 2 * cell_mm - 0.2).max() == 0


def detect(card, page):
    dictionary = aruco.getPredefinedDictionary(getattr(aruco, DICTIONARY_NAME))
    size = (card.squares_x, card.squares_y)
    board = aruco.CharucoBoard(size, card.square_mm, card.marker_mm, dictionary, np.array(card.marker_ids))
    scale = PNG_DPI / (page.px_per_mm[0] * 25.4)
    image = page.image.resize([round(scale * length) for length in page.image.size], Image.Resampling.BOX)
    corners, corner_ids, _, marker_ids = aruco.CharucoDetector(board).detectBoard(np.asarray(image))
    px_per_mm = page.px_per_mm * np.array(image.size) / page.image.size
    return corners, corner_ids, marker_ids, px_per_mm


def test_opencv_finds_every_corner_of_the_right_card_in_its_place(printed):
    card, page = printed
    corners, corner_ids, marker_ids, px_per_mm = detect(card, page)
    assert sorted(marker_ids.ravel()) == list(card.marker_ids)
    assert corner_ids.ravel().tolist() == list(range(len(card.corner_points_mm)))
    found_mm = (corners.reshape(-1, 2) + 0.5) / px_per_mm - page.plan.squares_corner
    np.testing.assert_allclose(found_mm, card.corner_points_mm, atol=DETECTED_MM)


def test_opencv_does_not_take_one_card_for_the_other(printed):
    card, page = printed
    (other,) = (each for each in CARDS.values() if each is not card)
    corners, *_ = detect(other, page)
    assert corners is None or len(corners) == 0


@pytest.mark.parametrize(("kind", "paper"), ALL)
def test_the_pdf_is_one_page_of_the_papers_size_that_asks_not_to_be_scaled(kind, paper):
    data, plan = render_sheet(kind, paper, "pdf"), plan_sheet(CARDS[kind], paper)
    document = pypdfium2.PdfDocument(data)
    assert len(document) == 1
    size_mm = np.array(document[0].get_size()) * 25.4 / 72
    assert document.get_metadata_value("Title") == f"Tailproof {kind} card"
    document.close()
    np.testing.assert_allclose(size_mm, (plan.width_mm, plan.height_mm), atol=0.001)  # PDFs give 1/10000 point
    assert re.search(rb"/PrintScaling\s*/None", data)


@pytest.mark.parametrize(("kind", "paper"), ALL)
def test_the_png_states_its_resolution_so_that_it_prints_true_to_size(kind, paper):
    image = Image.open(io.BytesIO(render_sheet(kind, paper, "png")))
    plan = plan_sheet(CARDS[kind], paper)
    size_mm = np.array(image.size) / image.info["dpi"] * 25.4
    np.testing.assert_allclose(size_mm, (plan.width_mm, plan.height_mm), atol=0.05)  # half a pixel of 0.085 mm


def svg_loops(root):
    for path in root.iter(f"{{{SVG_NAMESPACE}}}path"):
        for loop in path.get("d").split("Z")[:-1]:
            yield np.array(re.findall(r"-?[\d.]+", loop), dtype=float).reshape(-1, 2)


@pytest.mark.parametrize(("kind", "paper"), ALL)
def test_the_svg_has_every_square_in_its_place_in_millimetres(kind, paper):
    root = ElementTree.fromstring(render_sheet(kind, paper, "svg"))
    card, plan = CARDS[kind], plan_sheet(CARDS[kind], paper)
    assert (root.get("width"), root.get("height")) == (f"{plan.width_mm:g}mm", f"{plan.height_mm:g}mm")
    assert root.get("viewBox") == f"0 0 {plan.width_mm:g} {plan.height_mm:g}"
    spans = [(loop.min(axis=0) - plan.squares_corner, np.ptp(loop, axis=0)) for loop in svg_loops(root)]
    squares = {tuple(corner.round(3)) for corner, size in spans if np.allclose(size, card.square_mm, atol=2e-4)}
    sized = {tuple(corner.round(3)) for corner, size in spans if np.allclose(size, card.marker_mm, atol=2e-4)}
    markers = {(x, y) for x, y in sized if 0 < x < card.width_mm and 0 < y < card.height_mm}
    assert squares == {(x * card.square_mm, y * card.square_mm) for x, y in card.black_squares}
    assert markers == {tuple(corner) for corner in card.marker_corner_points_mm[:, 0].round(3).tolist()}


@pytest.mark.parametrize(("kind", "paper"), ALL)
def test_the_svg_holds_its_words_to_the_length_that_was_laid_out(kind, paper):
    root = ElementTree.fromstring(render_sheet(kind, paper, "svg"))
    texts = list(root.iter(f"{{{SVG_NAMESPACE}}}text"))
    assert {"A", "B", "C", "D", "Print", "Check", "Glue and cut"} <= {text.text for text in texts}
    assert all(float(text.get("textLength")) > 0 for text in texts)


@pytest.mark.parametrize("file_format", ["pdf", "svg", "png"])
def test_the_same_sheet_is_the_same_file_each_time(file_format):
    assert render_sheet("short", "a4", file_format) == render_sheet("short", "a4", file_format)


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (("wide", "a4", "pdf"), "kind must be one of short, long, got 'wide'"),
        (("short", "a3", "pdf"), "paper must be one of a4, letter, got 'a3'"),
        (("short", "a4", "bmp"), "file_format must be one of pdf, svg, png, got 'bmp'"),
    ],
)
def test_a_sheet_we_do_not_offer_is_refused_by_the_name_of_the_parameter(arguments, message):
    with pytest.raises(ValueError, match=message):
        render_sheet(*arguments)
