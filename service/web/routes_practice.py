"""The pages that look back: trends, predictions against outcomes, and what is printed."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import replace
from typing import Annotated, Literal

from fastapi import APIRouter, Depends, Request
from starlette.responses import Response

from service.domain.person import Person, Units
from service.practice.calibration_table import EVENTS
from service.practice.cuts import CUTS_LEAN, CUTS_METRICS
from service.practice.pdf_board import board_pdf
from service.practice.pdf_cuts import cuts_pdf
from service.practice.pdf_page import Paper
from service.use_cases.look_at_outcomes import look_at_outcomes
from service.use_cases.look_at_trends import look_at_trends
from service.use_cases.print_log import (
    BoardToPrint,
    CutsToPrint,
    PeriodToPrint,
    board_to_print,
    period_to_print,
    signature,
)
from service.web.desk import Asking, AtDesk
from service.web.practice_drawing import reliability_drawing
from service.web.practice_forms import WINDOWS, LookBackForm, TrendsForm
from service.web.practice_page import Charts, TrendsPage

router = APIRouter(include_in_schema=False)
AskedPaper = Literal["", "a4", "letter"]
MOST_FILE_WORDS = 60


@router.get("/trends")
def trends_page(request: Request, desk: AtDesk, person: Asking, form: Annotated[TrendsForm, Depends()]) -> Response:
    """Charts, comparisons, progress, and what to work on next."""
    view = look_at_trends(person, form.wanted(person.id), form.window, desk.ports)
    if view.cuts and not view.log and form.charted.name not in CUTS_METRICS:
        form = replace(form, metric=CUTS_LEAN.name)
    charted = {**view.trends, **view.cuts_trends}[form.charted.name]
    charts = Charts(charted, person.units, [*view.log, *view.cuts])
    page = TrendsPage(view, person.units, charts)
    known = {"person": person, "here": "log", "form": form, "page": page, "windows": WINDOWS}
    return desk.templates.TemplateResponse(request, "trends.html", known)


@router.get("/outcomes")
def outcomes_page(request: Request, desk: AtDesk, person: Asking, form: Annotated[LookBackForm, Depends()]) -> Response:
    """Predictions against outcomes, and limits of one's own."""
    view = look_at_outcomes(person, form.wanted(person.id), desk.ports)
    tables = view.card.tables if view.card else {}
    drawings = [(event, reliability_drawing(tables[event])) for event in EVENTS if event in tables]
    known = {"person": person, "here": "log", "form": form, "view": view, "drawings": drawings}
    known |= {"students": [(student.name, card) for student, card in view.students]}
    return desk.templates.TemplateResponse(request, "outcomes.html", known)


@router.get("/boards/{board}/report.pdf")
def board_report(desk: AtDesk, person: Asking, board: str, paper: AskedPaper = "") -> Response:
    """One board on one page."""
    return board_file(board_to_print(person, board, desk.ports), person, paper)


@router.get("/practice.pdf")
def period_report(
    desk: AtDesk, person: Asking, form: Annotated[LookBackForm, Depends()], paper: AskedPaper = ""
) -> Response:
    """The boards of a period: what to work on, charts, predictions against outcomes, practice cuts, a list."""
    return period_file(period_to_print(person, form.wanted(person.id), desk.ports), person, paper)


def board_file(found: BoardToPrint | CutsToPrint, person: Person, paper: AskedPaper) -> Response:
    """A board as PDF; without a paper asked for, on the one of the person's units."""
    board, on = found.board, _paper(paper, person.units)
    if isinstance(found, CutsToPrint):
        pages = cuts_pdf(found.board, picture=found.picture, paper=on, said=found.said)
    else:
        pages = board_pdf(found.board, picture=found.picture, paper=on, units=person.units, said=found.said)
    return _pdf(pages, "-".join(filter(None, ("tailproof-board", board.date.isoformat(), file_words(board.name)))))


def period_file(found: PeriodToPrint, person: Person, paper: AskedPaper) -> Response:
    """A period as PDF."""
    from service.practice.pdf_period import period_pdf

    who, units = signature(person), person.units
    asked, days = (found.boards, found.driven, found.cuts), (found.start, found.end)
    pages = period_pdf(*asked, person=who, start=days[0], end=days[1], paper=_paper(paper, units), units=units)
    return _pdf(pages, f"tailproof-practice-{found.start.isoformat()}-{found.end.isoformat()}")


def file_words(name: str) -> str:
    """A name as part of a file's name: its letters without marks and its digits, joined by dashes."""
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    return "-".join(re.findall(r"[a-z0-9]+", plain))[:MOST_FILE_WORDS].strip("-")


def _paper(asked: AskedPaper, units: Units) -> Paper:
    return asked or ("letter" if units == "inch" else "a4")


def _pdf(pages: bytes, name: str) -> Response:
    named = {"content-disposition": f'inline; filename="{name}.pdf"'}
    return Response(pages, media_type="application/pdf", headers=named)
