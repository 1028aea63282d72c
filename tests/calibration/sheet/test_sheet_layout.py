"""Everything on the sheet has its place: on the paper, off the white margin, clear of its neighbours."""

import itertools

import numpy as np
import pytest

from calibration.card import CARDS, MARGIN_MM
from calibration.opencv_markers import marker_cells
from calibration.sheet.drawing import Text
from calibration.sheet.layout import PAPERS_MM, PRINTER_MARGIN_MM, draw_sheet, plan_sheet
from calibration.sheet.pdf import text_width_mm

ASCENT, DESCENT = 0.73, 0.22
"""Helvetica's tallest letters above and deepest below the baseline, in ems (rounded up from its font metrics)."""

LINE_HALF_MM = 0.1
"""Half the widest line drawn: a cut line may lean that much over the edge it marks."""


def boxes(shape):
    """Left, top, right, bottom in mm of a text, or of each loop of an area."""
    if isinstance(shape, Text):
        return [text_box(shape)]
    return [(*np.min(loop, axis=0), *np.max(loop, axis=0)) for loop in shape.loops]


def all_boxes(shapes):
    return [each for shape in shapes for each in boxes(shape)]


def edge_boxes(area):
    """Left, top, right, bottom in mm of every edge of an area: what its outline passes through."""
    ends = [pair for loop in area.loops for pair in zip(loop, loop[1:] + loop[:1], strict=True)]
    return [(*np.min(pair, axis=0), *np.max(pair, axis=0)) for pair in ends]


def text_box(text):
    (x, y), size, length = text.at, text.size_mm, text_width_mm(text)
    before = {"start": 0.0, "middle": 0.5, "end": 1.0}[text.anchor] * length
    if text.upward:
        return x - ASCENT * size, y - length + before, x + DESCENT * size, y + before
    return x - before, y - ASCENT * size, x - before + length, y + DESCENT * size


def overlap(a, b):
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


@pytest.fixture(params=itertools.product(CARDS, PAPERS_MM), ids="-".join)
def sheet(request):
    kind, paper = request.param
    card = CARDS[kind]
    return card, plan_sheet(card, paper), draw_sheet(card, paper, marker_cells(card))


def test_nothing_comes_nearer_to_the_papers_edge_than_a_printer_reaches(sheet):
    _, plan, drawing = sheet
    left, top, right, bottom = np.array(all_boxes(drawing.shapes)).T
    assert min(left.min(), top.min()) >= PRINTER_MARGIN_MM
    assert right.max() <= plan.width_mm - PRINTER_MARGIN_MM
    assert bottom.max() <= plan.height_mm - PRINTER_MARGIN_MM


def test_no_words_run_into_other_words_or_shapes(sheet):
    _, _, drawing = sheet
    texts = [shape for shape in drawing.shapes if isinstance(shape, Text)]
    edges = [edge for shape in drawing.shapes if not isinstance(shape, Text) for edge in edge_boxes(shape)]
    clashes = [(a.words, b.words) for a, b in itertools.combinations(texts, 2) if overlap(text_box(a), text_box(b))]
    clashes += [(text.words, edge) for text in texts for edge in edges if overlap(text_box(text), edge)]
    assert clashes == []


def test_nothing_stands_in_the_white_margin(sheet):
    card, plan, drawing = sheet
    left, top = plan.squares_corner
    right, bottom = left + card.width_mm, top + card.height_mm
    edge, rounding = MARGIN_MM - LINE_HALF_MM, 1e-9
    whole = (left - edge, top - edge, right + edge, bottom + edge)
    near = np.array([each for each in all_boxes(drawing.shapes) if overlap(each, whole)])
    assert len(near) >= card.squares_x * card.squares_y
    assert near[:, :2].min(axis=0) == pytest.approx((left, top), abs=rounding)
    assert near[:, 2:].max(axis=0) == pytest.approx((right, bottom), abs=rounding)


def test_the_card_once_cut_out_names_itself_and_the_edge_for_the_show_face(sheet):
    card, plan, drawing = sheet
    left, top, right, bottom = plan.cut_box(card)
    texts = [(shape.words, text_box(shape)) for shape in drawing.shapes if isinstance(shape, Text)]
    kept = [words for words, box in texts if left < box[0] and top < box[1] and box[2] < right and box[3] < bottom]
    assert any(card.kind in words and f"{card.square_mm:g} mm" in words for words in kept)
    assert any("arrows" in words and "show face" in words for words in kept)


def test_the_squares_come_close_to_the_show_face_edge(sheet):
    card, plan, _ = sheet
    bottom_margin_mm = plan.cut_box(card)[3] - plan.squares_corner[1] - card.height_mm
    assert bottom_margin_mm == pytest.approx(MARGIN_MM, abs=1e-9)
    assert 3.0 <= bottom_margin_mm <= 4.0


def test_the_long_card_turns_the_paper_and_the_short_card_does_not():
    for paper, (width, height) in PAPERS_MM.items():
        assert (plan_sheet(CARDS["short"], paper).width_mm, plan_sheet(CARDS["long"], paper).width_mm) == (
            width,
            height,
        )


def test_an_unknown_paper_is_refused():
    with pytest.raises(ValueError, match="paper must be one of a4, letter"):
        plan_sheet(CARDS["short"], "a3")
