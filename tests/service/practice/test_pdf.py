"""Pages for print: what they hold, their size, and that nothing falls off them."""

from __future__ import annotations

import datetime as dt
import io
import re
from dataclasses import replace
from typing import Any

import numpy as np
import pypdfium2
import pytest
from PIL import Image

from service.domain.review import MOST_MARKS, Mark
from service.practice.entries import PracticeBoard, with_fits
from service.practice.pdf_board import board_pdf, headline
from service.practice.pdf_end import exaggeration
from service.practice.pdf_letters import font_of, printable
from service.practice.pdf_page import MARGIN_MM, PAPERS_MM, Paper, Sheet, fitted, fitted_lines
from service.practice.pdf_period import period_pdf
from service.practice.pdf_review import Said
from service.practice.say import day_name
from tests.service.practice.builders import Sawyer, board, boards_of, driven
from vision.answer.words import CAUTIONS

START, END = dt.date(2026, 1, 1), dt.date(2026, 12, 31)
POINT_MM = 25.4 / 72
SAID = Said(
    "Walls corrected by Instructor Wren on 2 Mar 2026: A knife line.",
    "Decision of Instructor Wren, 2 Mar 2026",
    "Pare",
    "The tool's own advice then: start over",
    "Well started.",
    (Mark(0.25, 0.5, "The saw left the line."), Mark(1.0, 0.0, "A clean corner.")),
)
MUCH = replace(
    SAID,
    remarks="Look at both faces before you go on. " * 40,
    marks=tuple(Mark(n / MOST_MARKS, 0.0, "Saw to the line, not beside it. " * 12) for n in range(MOST_MARKS)),
    caption="An earlier picture. " * 20,
)
WORDS: dict[str, str] = {"species": "sugar maple", "saw": "dovetail saw", "plan": "three tails", "advice": "start over"}


def pages_of(pdf: bytes) -> list[Any]:
    return list(pypdfium2.PdfDocument(pdf))


def text_of(pdf: bytes) -> str:
    """All words, line ends as spaces."""
    return " ".join(" ".join(page.get_textpage().get_text_bounded().split()) for page in pages_of(pdf))


def ink_box_mm(page: Any) -> tuple[float, float, float, float]:
    """Left, top, right and bottom end of what is printed, mm; one pixel is 0.254 mm."""
    ink = np.asarray(page.render(scale=100 / 72).to_pil().convert("L")) < 200
    rows, columns = np.flatnonzero(ink.any(axis=1)), np.flatnonzero(ink.any(axis=0))
    return tuple(float(0.254 * value) for value in (columns[0], rows[0], columns[-1] + 1, rows[-1] + 1))  # type: ignore[return-value]


def _found(words: Any, wanted: str) -> list[int]:
    """Where a text stands among the page's characters."""
    search = words.search(wanted, match_case=True, match_whole_word=True)
    return [hit[0] for hit in iter(search.get_next, None)]


def picture(width: int = 300, height: int = 200) -> bytes:
    file = io.BytesIO()
    Image.new("RGB", (width, height), (200, 40, 40)).save(file, "PNG")
    return file.getvalue()


@pytest.fixture(scope="module")
def log() -> list[PracticeBoard]:
    rng = np.random.default_rng(1)
    boards = boards_of(Sawyer(-0.3, 0.4), 30, rng, saw="old saw") + boards_of(
        Sawyer(), 70, rng, first=30, saw="new saw"
    )
    return [with_fits(each, fits) for each, fits in zip(boards, driven(boards, rng), strict=True)]


@pytest.mark.parametrize("paper", PAPERS_MM)
@pytest.mark.parametrize("tails", [1, 3, 10])
def test_a_board_is_one_page_and_nothing_lies_in_its_margins(paper: Paper, tails: int) -> None:
    (each,) = boards_of(Sawyer(0.3, -0.3, tails=tails, width_mm=60.0 * tails), 1, np.random.default_rng(2), **WORDS)
    (page,) = pages_of(board_pdf(each, picture=picture(200, 300), paper=paper, said=MUCH))
    width, height = (size * POINT_MM for size in page.get_size())
    assert (width, height) == pytest.approx(PAPERS_MM[paper], abs=0.01)  # points have two decimals
    left, top, right, bottom = ink_box_mm(page)
    assert min(left, top, width - right, height - bottom) > MARGIN_MM - 1.0  # pixels and line ends reach out a little


def test_a_board_page_tells_sockets_numbers_advice_and_caution() -> None:
    each = board([-0.98, 0.09, -0.11, -0.93], notes="A knot near the left edge.", **WORDS)
    text = text_of(board_pdf(each, said=SAID))
    for words in (headline(each), "tail 2 right", "-0.93 ± 0.10", "left half pin", "sugar maple", "saw: dovetail saw"):
        assert words in text
    assert "Notes: A knot near the left edge." in text
    assert f"{SAID.by} Pare {SAID.beside} {SAID.remarks}" in text
    assert SAID.corrected in text
    for caution in CAUTIONS:
        assert caution in text


def test_comments_stand_beside_the_picture_by_the_numbers_of_their_marks() -> None:
    text = text_of(board_pdf(board([0.1, 0.2]), picture=picture(300, 300), said=SAID))
    for number, mark in enumerate(SAID.marks, start=1):
        assert f"{number} {mark.comment}" in text


def test_no_comment_is_dropped_without_a_word() -> None:
    text = text_of(board_pdf(board([0.1, 0.2]), picture=picture(300, 300), said=MUCH))
    told = text.count("Saw to the line")
    assert 0 < told < MOST_MARKS
    assert f"{MOST_MARKS - told} more comments in the log." in text


@pytest.mark.parametrize("on_picture", [True, False])
def test_marks_are_drawn_where_they_were_put_unless_their_picture_is_gone(on_picture: bool) -> None:
    """The left half of a red picture, 108 mm wide from the margin on, with one mark in the middle of it."""
    said = replace(SAID, marks=(Mark(0.25, 0.5, "Here."),), on_picture=on_picture)
    (page,) = pages_of(board_pdf(board([0.1, 0.2]), picture=picture(600, 300), said=said))
    shown = np.asarray(page.render(scale=100 / 72).to_pil().convert("RGB")).astype(int)
    red = (shown[..., 0] > 150) & (shown[..., 1] < 90)
    rows, columns = (np.flatnonzero(red.any(axis=axis)) for axis in (1, 0))
    row, column = rows[0] + np.ptp(rows) // 2, columns[0] + np.ptp(columns) // 4
    ring = red[row - 12 : row + 13, column - 12 : column + 13]  # three millimetres about it
    assert ring.all() != on_picture


def test_a_review_of_a_board_without_a_picture_is_told_all_the_same() -> None:
    text = text_of(board_pdf(board([0.1, 0.2]), said=SAID))
    assert f"1 {SAID.marks[0].comment}" in text


def test_the_fit_is_in_the_table_once_it_is_known() -> None:
    plain = board([0.1, 0.2])
    assert " fit " not in text_of(board_pdf(plain))
    assert " fit " in text_of(board_pdf(with_fits(plain, ["split", None])))
    assert "split" in text_of(board_pdf(with_fits(plain, ["split", None])))


@pytest.mark.parametrize("paper", PAPERS_MM)
def test_both_tables_have_room_beside_each_other_with_a_gap_between(paper: Paper) -> None:
    """The white column between them goes through from the headings down to the last row of both."""
    each = with_fits(board([0.1, 0.2, 0.3, 0.4]), ["not assembled"] * 3)
    (page,) = pages_of(board_pdf(each, paper=paper))
    words = page.get_textpage()
    lefts = [words.get_charbox(index)[0] * POINT_MM for index in _found(words, "wall")]
    ends = [
        words.get_charbox(index + len("not assembled") - 1)[2] * POINT_MM for index in _found(words, "not assembled")
    ]
    assert len(ends) == 3
    assert min(lefts) - max(ends) > 1.0


def test_numbers_are_in_inches_where_asked_for() -> None:
    text = text_of(board_pdf(board([0.5, -0.5]), units="inch"))
    assert "taper, in" in text
    assert "3 17/32 in wide" in text
    assert " mm" not in text


def test_no_number_is_cut_in_inches_and_a_column_has_as_many_decimals_throughout() -> None:
    each = with_fits(board([0.5, -0.5, 1.2, -1.4]), ["not assembled"] * 3)
    walls = [replace(wall, out_of_square_u95_mm=0.03 + 0.04 * n) for n, wall in enumerate(each.walls)]
    for paper in PAPERS_MM:
        text = text_of(board_pdf(replace(each, walls=tuple(walls)), units="inch", paper=paper))
        pairs = re.findall(r"([+-]\d\.\d+) ± (\d\.\d+)", text)
        assert len(pairs) == 3 + 2 * 4  # the tapers; leans and what they amount to
        places = {len(part.partition(".")[2]) for pair in pairs for part in pair if part.strip("+-").startswith("0.0")}
        assert places == {4}
        assert "..." not in text


def test_long_names_are_wrapped_and_line_ends_of_notes_are_kept() -> None:
    name, person = (
        "A box of Zoë & Söhne (invented), " * 2 + "end",
        "Student with a name of a good many words, invented",
    )
    each = replace(board([0.1, 0.2], notes="First line.\nSecond line.\nThird line."), name=name, person=person)
    (page,) = pages_of(board_pdf(each))
    lines = page.get_textpage().get_text_bounded().splitlines()
    text = " ".join(" ".join(lines).split())
    assert name in text
    assert person in text
    assert [line for line in lines if line.endswith(" line.")] == ["Notes: First line.", "Second line.", "Third line."]


def test_signals_to_the_better_and_to_the_worse_have_marks_of_their_own() -> None:
    """Wine red is kept for the worse."""
    steady = [board([lean, -lean] * 2, number=n) for n, lean in enumerate([0.9, 1.1] * 6)]
    for last, worse in ((3.0, True), (0.0, False)):
        boards = [*steady, board([last, -last] * 2, number=12)]
        shown = pages_of(period_pdf(boards, person="a", start=START, end=END))[0].render(scale=2).to_pil()
        reds = (np.abs(np.asarray(shown.convert("RGB")).astype(int) - (126, 18, 60)) < 12).all(axis=2)
        assert reds.any() == worse


def test_the_picture_is_on_the_page_in_its_own_proportions() -> None:
    (page,) = pages_of(board_pdf(board([0.1, 0.2]), picture=picture(300, 150)))
    red = np.asarray(page.render(scale=100 / 72).to_pil().convert("RGB")).astype(int)
    inside = (red[..., 0] > 150) & (red[..., 1] < 90)
    rows, columns = (np.flatnonzero(inside.any(axis=axis)) for axis in (1, 0))
    assert (np.ptp(columns) + 1) / (np.ptp(rows) + 1) == pytest.approx(2.0, rel=0.02)  # two pixels of a hundred


def test_the_headline_says_why() -> None:
    assert headline(board([0.0, 0.0], advice="transfer")) == "Transfer the pins: both will seat."
    told = headline(board([1.5, 0.0], advice="start over"))
    assert told == "Start over: left half pin too tight."


def test_the_drawing_never_lets_walls_touch() -> None:
    for leans in ([0.01, 0.01], [3.0, -3.0, 3.0, -3.0], [30.0, -30.0]):
        each = board(leans)
        gaps = np.diff([0.0, *(wall.position * 90.0 for wall in each.walls), 90.0])
        largest = max(abs(wall.out_of_square_mm) for wall in each.walls)
        assert exaggeration(each) == 1 or exaggeration(each) * largest < min(gaps)


@pytest.mark.parametrize("paper", PAPERS_MM)
def test_a_period_has_advice_charts_comparisons_outcomes_and_every_board(
    log: list[PracticeBoard], paper: Paper
) -> None:
    pdf = period_pdf(log, person="Student 1", start=START, end=END, paper=paper)
    text = text_of(pdf)
    for words in ("100 boards", "Lean, mean size (degrees)", "What the charts say", "Predicted: loose", "Brier score"):
        assert words in text
    assert all(day_name(each.date) in text for each in log)
    for page in pages_of(pdf):
        width, height = (size * POINT_MM for size in page.get_size())
        left, top, right, bottom = ink_box_mm(page)
        assert min(left, top, width - right, height - bottom) > MARGIN_MM - 1.0  # as above


def test_a_period_tells_what_was_decided_and_which_walls_were_corrected() -> None:
    boards = [board([0.1, 0.2], number=n, advice="start over") for n in range(2)]
    boards[1] = replace(boards[1], decision="photograph again", corrected=True)
    text = text_of(period_pdf(boards, person="a", start=START, end=END))
    assert "start over* photograph again" in text
    assert "* by walls that were corrected by hand" in text
    assert "*" not in text_of(period_pdf(boards[:1], person="a", start=START, end=END))


def test_charts_are_vectors() -> None:
    """No picture in the file: what is drawn is paths and text."""
    boards = boards_of(Sawyer(), 12, np.random.default_rng(3))
    for page in pages_of(period_pdf(boards, person="a", start=START, end=END)):
        kinds = [item.type for item in page.get_objects()]
        assert pypdfium2.raw.FPDF_PAGEOBJ_IMAGE not in kinds
        assert pypdfium2.raw.FPDF_PAGEOBJ_PATH in kinds


def test_a_period_holds_its_first_and_last_day_and_no_other() -> None:
    boards = [board([0.1, 0.2], number=n) for n in range(6)]
    pdf = period_pdf(boards, person="a", start=boards[1].date, end=boards[3].date)
    assert "3 boards" in text_of(pdf)
    assert day_name(boards[4].date) not in text_of(pdf)


@pytest.mark.parametrize("count", [0, 1, 2, 3])
def test_few_boards_make_a_page_that_says_so(count: int) -> None:
    boards = boards_of(Sawyer(), count, np.random.default_rng(4))
    text = text_of(period_pdf(boards, person="a", start=START, end=END))
    assert ("Too few boards to say what to work on" in text) == (count < 3)


def test_the_same_boards_make_the_same_bytes() -> None:
    boards = boards_of(Sawyer(), 4, np.random.default_rng(5))
    assert period_pdf(boards, person="a", start=START, end=END) == period_pdf(boards, person="a", start=START, end=END)


def test_other_papers_are_refused() -> None:
    with pytest.raises(ValueError, match="paper must be one of a4, letter, got 'a5'"):
        Sheet("x", "a5")  # type: ignore[arg-type]


@pytest.mark.parametrize("name", ["Łukasz Żak", "Ἀλέξανδρος Παπαδόπουλος", "Þórbjörg", "Nguyễn Thị Yến", "Иван Ёлкин"])
def test_names_are_written_in_their_own_letters(name: str) -> None:
    boards = boards_of(Sawyer(), 4, np.random.default_rng(5))
    written = period_pdf(boards, person=name, start=START, end=END)
    assert name in text_of(written)
    assert period_pdf(boards, person=name, start=START, end=END) == written


def test_letters_that_no_font_has_become_question_marks_and_usual_ones_need_no_font_of_ours() -> None:
    assert printable("Zoë Müller ± 0.1°") == "Zoë Müller ± 0.1°"
    assert font_of(printable("Zoë Müller \u22120.1°"), bold=True) == "Helvetica-Bold"
    assert printable("学生\x07") == "???"
    assert printable("שלום") == "????"


def test_a_long_name_leaves_the_title_its_place() -> None:
    boards = boards_of(Sawyer(), 4, np.random.default_rng(5))
    text = text_of(period_pdf(boards, person="Longname " * 20, start=START, end=END))
    assert "Practice log" in text
    assert text.count("Longname") < 15


def test_long_words_are_broken_and_long_texts_end_in_dots() -> None:
    lines = fitted_lines("x" * 300, 50.0, 9.0)
    assert "".join(lines) == "x" * 300
    assert all(fitted(line, 50.0, 9.0) == line for line in lines)
    assert fitted_lines("many words " * 50, 50.0, 9.0, most=2)[1].endswith("...")
