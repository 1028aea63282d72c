"""The page of a board of practice cuts: what it holds, and that nothing falls off it."""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import replace

import pytest

from service.jobs.drill_words import drill_words
from service.practice.pdf_cuts import PracticePage, cuts_pdf
from service.practice.pdf_page import MARGIN_MM, PAPERS_MM, Paper
from service.practice.pdf_review import Said
from tests.service.practice.test_pdf import MUCH, SAID, ink_box_mm, pages_of, picture, text_of
from tests.vision.drills import made_drill
from vision.answer.words import Units
from vision.drill.result import DrillResult

SLACK_MM = 0.6
"""Two pixels of the drawn page and the width of a line."""


def made(cuts: int = 8, units: Units = "mm", **more: str) -> PracticePage:
    result = DrillResult.of("", made_drill([0.6 + 0.05 * (-1) ** turn for turn in range(cuts)]))
    told = ["oak", "saw: the old one"]
    page = PracticePage("id-1", "Scrap", dt.date(2026, 3, 2), "Ann", told, "", drill_words(result, units))
    return replace(page, **more)  # type: ignore[arg-type]


def printed(page: PracticePage, paper: Paper = "a4", said: Said = Said(), *, drawn: bool = True) -> bytes:  # noqa: B008
    return cuts_pdf(page, picture=picture(1200, 1000) if drawn else None, paper=paper, said=said)


@pytest.mark.parametrize("paper", PAPERS_MM)
@pytest.mark.parametrize("cuts", [1, 8, 40, 90])
@pytest.mark.parametrize("said", [Said(), MUCH])
def test_it_is_one_page_and_nothing_lies_in_its_margins(paper: Paper, cuts: int, said: Said) -> None:
    pages = pages_of(printed(made(cuts, notes="Slower. " * 60), paper, said))
    assert len(pages) == 1
    left, top, right, bottom = ink_box_mm(pages[0])
    width, height = PAPERS_MM[paper]
    assert left >= MARGIN_MM - SLACK_MM
    assert top >= MARGIN_MM - SLACK_MM
    assert right <= width - MARGIN_MM + SLACK_MM
    assert bottom <= height - MARGIN_MM + SLACK_MM


def test_it_tells_what_to_work_on_every_cut_and_every_figure_with_its_uncertainty() -> None:
    page = made()
    words = text_of(printed(page))
    assert "Work on your lean" in words
    for cut in page.words["cuts"]:
        assert cut["lean"] in words
    for figure in page.words["figures"]:
        assert figure["name"] in words
        assert figure["value"] in words
    assert re.search(r"(?<!not )firm \(p < 0\.001\)", words)
    assert "not firm (p = " in words
    assert "Saws and chisels cut hands" in words
    assert "oak" in words


def test_lengths_are_in_inches_where_the_words_are() -> None:
    words = text_of(printed(made(units="inch")))
    assert " in over the thickness" in words
    assert " mm" not in words


def test_more_cuts_than_a_page_holds_are_counted_and_not_dropped_without_a_word() -> None:
    assert "more, on the board's page" in text_of(printed(made(90)))
    assert "more, on the board's page" not in text_of(printed(made(30)))


def test_what_an_instructor_decided_stands_beside_the_picture() -> None:
    words = text_of(printed(made(), said=replace(SAID, decision="Practise more")))
    assert "Practise more" in words
    assert "The saw left the line." in words
