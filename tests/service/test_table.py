"""The answer for people: what it says first, its width, its colours."""

from __future__ import annotations

from dataclasses import replace

import pytest

from calibration.outcome import REFUSALS, WARNINGS, refuse
from service.answers.paint import paint, wants_colour
from service.answers.table import WIDTH, caution_text, explanation_text, headline, refusal_text, report_text, table_text
from tests.vision.photos import report
from vision.answer.result import Report


def flagged() -> Report:
    made = report()
    walls = (replace(made.measurement.walls[0], flags=("tear_out",)), *made.measurement.walls[1:])
    return replace(made, measurement=replace(made.measurement, walls=walls, warnings=(WARNINGS["soft_photo"],)))


@pytest.mark.parametrize("units", ["mm", "inch"])
def test_no_line_is_wider_than_eighty_columns(units: str) -> None:
    text = report_text(flagged(), units) + "\n" + caution_text()  # type: ignore[arg-type]
    assert max(map(len, text.splitlines())) <= WIDTH


@pytest.mark.parametrize("pairs", [0, 1, 4])
def test_the_verdict_is_one_line_however_many_pins_fail(pairs: int) -> None:
    """Between each pair of tails a pin 0.6 mm too tight, then one as loose."""
    into_mm = (0.0, *(mm for _ in range(pairs) for mm in (0.3, 0.3, -0.3, -0.3)), 0.0)
    line = headline(report(into_mm).prediction)
    assert len(line) <= WIDTH
    assert report_text(report(into_mm)).startswith(line + "\n")
    if pairs == 4:
        assert line == "Start over: 4 of 10 pins too tight, 4 loose."


@pytest.mark.parametrize("reason", sorted(REFUSALS))
def test_every_refusal_fits_as_well(reason: str) -> None:
    text = refusal_text(refuse(reason).refusal)
    assert max(map(len, text.splitlines())) <= WIDTH
    assert REFUSALS[reason].what_to_do.split()[0] in text


def test_every_wall_and_socket_has_its_row() -> None:
    text = report_text(report())
    for name in ("tail 1 left ", "tail 3 right ", "left half pin", "tails 2 and 3"):
        assert any(line.startswith(name) for line in text.splitlines())


def test_a_flagged_wall_is_marked_and_explained() -> None:
    text = report_text(flagged())
    assert "\ntail 1 left *  " in text
    assert "* left wall of tail 1: Part of this wall is torn or chipped." in text


def test_warnings_are_told_with_what_to_do() -> None:
    text = " ".join(report_text(flagged()).split())
    assert "Note: The photo is a little soft. A sharper photo would make" in text


def wide(text: str) -> str:
    """The text in one line."""
    return " ".join(text.split())


def test_the_boards_size_is_told_with_its_uncertainty() -> None:
    assert "Board 90.00 ± 0.04 mm wide, 19.00 ± 0.06 mm thick, sawn." in wide(report_text(report()))
    told = "Board 3 17/32 in (3.5433 ± 0.0016 in) wide, 3/4 in (0.748 ± 0.002 in) thick, sawn."
    assert told in wide(report_text(report(), "inch"))


def test_walls_off_square_are_told_in_words() -> None:
    assert "The right wall of tail 1 leans 0.30 mm into the socket at the show face." in report_text(report())


def test_the_sideways_shift_is_told_with_its_direction() -> None:
    assert "The pin board is taken to settle sideways, " in report_text(report((0.3, 0.0, 0.3, 0.0, 0.3, 0.0)))
    assert "settle sideways" not in report_text(report((0.0,) * 6))


def test_another_photo_of_the_end_is_offered_with_the_option_that_takes_it() -> None:
    text = " ".join(report_text(report((0.0,) * 6, u_mm=0.2)).split())
    assert "another photo of the same end (`--same-end`)." in text


def test_the_explanation_names_causes_largest_first_and_assumptions() -> None:
    text = explanation_text(report())
    assert (
        "Where the end is, a millimetre on the card's plane is 12.00 ± 0.03 px; the camera is 2.0 ± 0.2° off square."
        in wide(text)
    )
    zones = "tail 1 left 0.00 mm, tail 1 right 0.30 mm, tail 2 left 0.30 mm"
    assert f"Squareness zone of each wall (ISO 1101), 1 mm at either face left out: {zones}" in wide(text)
    assert "width: 90.00 ± 0.04 mm: board edge 100 %" in text
    assert "lean, left wall of tail 1: " in text
    assert "The pins are taken as scribed from the transfer face" in text
    assert max(map(len, text.splitlines())) <= WIDTH


def test_columns_line_up() -> None:
    lines = table_text(("name", "mm"), [("a", "1.0"), ("long name", "12.0")])
    assert lines == ["name         mm", "a           1.0", "long name  12.0"]


def test_without_colour_there_is_no_escape() -> None:
    assert "\x1b" not in report_text(report())


def test_colour_changes_nothing_but_the_colour() -> None:
    painted = report_text(report(), colour=True)
    assert "\x1b[35msplitting\x1b[0m" in painted
    plain = painted
    for code in ("\x1b[1m", "\x1b[33m", "\x1b[35m", "\x1b[36m", "\x1b[0m"):
        plain = plain.replace(code, "")
    assert plain == report_text(report())


class Terminal:
    """A stream that says whether it is a terminal."""

    def __init__(self, is_terminal: bool) -> None:
        self.is_terminal = is_terminal

    def isatty(self) -> bool:
        return self.is_terminal


@pytest.mark.parametrize(
    ("is_terminal", "environ", "wanted"),
    [(True, {}, True), (False, {}, False), (True, {"NO_COLOR": "1"}, False), (True, {"TERM": "dumb"}, False)],
)
def test_colour_is_for_terminals_that_do_not_object(is_terminal: bool, environ: dict[str, str], wanted: bool) -> None:
    assert wants_colour(Terminal(is_terminal), environ) is wanted  # type: ignore[arg-type]


def test_an_unknown_style_is_a_mistake() -> None:
    with pytest.raises(KeyError, match="plaid"):
        paint("words", "plaid", True)
