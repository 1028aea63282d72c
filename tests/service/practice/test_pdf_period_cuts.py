"""The practice cuts of a period, printed: by the statistics of the trends, in a section of their own."""

from __future__ import annotations

import datetime as dt
import math

import numpy as np
import pytest

from service.domain.practice_cuts import CutFigures, LoggedCuts
from service.practice.cuts import CUTS_LEAN, CUTS_SCATTER, cuts_progress, cuts_trends
from service.practice.pdf_page import MARGIN_MM, PAPERS_MM, Paper
from service.practice.pdf_period import period_pdf
from service.practice.say import day_name, pair
from tests.service.practice.builders import Sawyer, boards_of
from tests.service.practice.test_pdf import END, POINT_MM, START, ink_box_mm, pages_of, text_of

FIRST = dt.datetime(2026, 3, 3, 9, tzinfo=dt.UTC)
MEAN_U_DEG, SD_U_DEG = 0.06, 0.04


def sawn(leans_deg: list[float], sd_deg: float = 0.3) -> list[LoggedCuts]:
    """A board a day, with those mean leans."""
    figures = [CutFigures(lean, MEAN_U_DEG, sd_deg, SD_U_DEG) for lean in leans_deg]
    begun = (FIRST + dt.timedelta(days=number) for number in range(len(figures)))
    numbered = enumerate(zip(begun, figures, strict=True))
    return [LoggedCuts(f"c{number}", f"Scrap {number}", day, each) for number, (day, each) in numbered]


def printed(cuts: list[LoggedCuts], boards: int = 0, paper: Paper = "a4") -> bytes:
    log = boards_of(Sawyer(), boards, np.random.default_rng(3))
    return period_pdf(log, None, cuts, person="Student 1", start=START, end=END, paper=paper)


def improving(count: int = 12) -> list[LoggedCuts]:
    return sawn([0.9 - 0.07 * number for number in range(count)])


def test_the_section_has_how_many_the_means_the_progress_and_every_board_as_the_trends_have_them() -> None:
    cuts = improving()
    text = text_of(printed(cuts, boards=5))
    assert "5 boards · 12 boards of practice cuts" in text
    assert "Practice cuts 12 boards, 3 Mar 2026 to 14 Mar 2026" in text
    lean, scatter = (cuts_trends(cuts)[metric.name].series.values for metric in (CUTS_LEAN, CUTS_SCATTER))
    assert f"Mean lean off what was meant: {lean.mean():.2f} degrees, mean of 12 boards." in text
    assert f"Standard deviation: {scatter.mean():.2f} degrees, mean of 12 boards." in text
    for progress in cuts_progress(cuts):
        assert progress.sentence().removeprefix("Practice cuts: ")[1:] in text
    assert "ean lean off what was meant: better. It was 0.73" in text
    assert all(f"{day_name(board.date)} {board.name}" in text for board in cuts)
    assert f"Scrap 3 {pair(cuts[3].figures.mean_deg, 2 * MEAN_U_DEG)} {pair(0.3, 2 * SD_U_DEG)}" in text


def test_without_practice_cuts_there_is_no_word_of_them() -> None:
    assert "ractice cuts" not in text_of(printed([], boards=4))


def test_only_those_of_the_period_are_in_it() -> None:
    cuts = improving()
    pdf = period_pdf([], None, cuts, person="a", start=cuts[2].date, end=cuts[4].date)
    text = text_of(pdf)
    assert "3 boards of practice cuts" in text
    assert [board.name for board in cuts if f"{board.name} " in text] == ["Scrap 2", "Scrap 3", "Scrap 4"]


def test_a_period_of_practice_cuts_alone_begins_with_them_and_does_not_miss_other_boards() -> None:
    (page,) = pages_of(printed(improving()))
    words = " ".join(page.get_textpage().get_text_bounded().split())
    assert "12 boards of practice cuts" in words
    assert "Too few boards to say what to work on" not in words
    assert "0 boards" not in words


@pytest.mark.parametrize("paper", PAPERS_MM)
@pytest.mark.parametrize("count", [1, 2, 3, 21, 22, 23, 24, 130])
def test_however_many_there_are_all_are_listed_and_nothing_lies_in_a_margin(paper: Paper, count: int) -> None:
    pdf = printed(sawn([0.3] * count), paper=paper)
    words = f"{text_of(pdf)} "
    assert all(f" Scrap {number} " in words for number in range(count))
    for page in pages_of(pdf):
        assert "Saws and chisels" in page.get_textpage().get_text_bounded()
        width, height = (size * POINT_MM for size in page.get_size())
        left, top, right, bottom = ink_box_mm(page)
        assert min(left, top, width - right, height - bottom) > MARGIN_MM - 1.0  # pixels and line ends reach out


def test_a_board_with_a_single_cut_is_listed_without_numbers() -> None:
    single = CutFigures(math.nan, MEAN_U_DEG, math.nan, math.nan)
    alone = [LoggedCuts("c0", "One cut", FIRST, single)]
    assert "One cut" in text_of(printed(alone))
    assert "Mean lean off what was meant: too few boards to compare yet; 6 more will do." in text_of(printed(alone))
    text = text_of(printed([*alone, *sawn([0.4, 0.5])]))
    assert "Mean lean off what was meant: 0.45 degrees, mean of 2 boards." in text
