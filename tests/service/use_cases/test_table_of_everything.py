"""The table holds everything measured and said of a board: faces, all photos together, reviews, corrections."""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from typing import Any

import pytest

from service.domain.review import Mark
from service.domain.wall_line import WallLine
from service.jobs.bench import Bench
from service.jobs.measuring import measure
from service.use_cases.answer_job import finish_job, take_job
from service.use_cases.correct_walls import correct_walls
from service.use_cases.export_log import export_csv
from service.use_cases.keep_log import look_at_board
from service.use_cases.review_board import Judgement, review_board
from service.use_cases.solo import SOLO, ensure_solo
from tests.service.house import House
from tests.service.one_board import measure_one_board
from tests.service.web.site import photo

Rows = list[dict[str, str]]


@pytest.fixture
def board(house: House, monkeypatch: pytest.MonkeyPatch, core: None) -> str:
    """A board alone on the service: two photos of its end, one of its show face, all together."""
    measure_one_board(monkeypatch)
    ensure_solo(house.ports)
    board = house.send(photo(1), SOLO).board
    for number, view in enumerate(("end", "show"), start=2):
        house.later(minutes=1)
        house.send(photo(number), SOLO, board=board, view=view)
    while (task := take_job("w", 60.0, house.ports)) is not None:
        assert finish_job(task, measure(task, Bench(house.ports.photos, house.data)), house.ports)
    return board


def rows_of(house: House, **wanted: str) -> Rows:
    rows = csv.DictReader(io.StringIO("".join(export_csv(SOLO, house.ports))))
    return [row for row in rows if wanted.items() <= row.items()]


def numbers(rows: Rows, name: str) -> list[float]:
    return [float(row[name]) for row in rows]


def result_of(house: House, board: str, view: str) -> dict[str, Any]:
    answers = [check.answer for check in look_at_board(SOLO, board, house.ports).checks if check.view == view]
    assert answers[0] is not None
    return answers[0].result


def test_every_cut_of_a_face_has_its_slope_and_where_it_stops(house: House, board: str) -> None:
    cuts, face = rows_of(house, what="cut"), result_of(house, board, "show")
    assert [(cut["number"], cut["side"]) for cut in cuts][:3] == [("1", "left"), ("1", "right"), ("2", "left")]
    assert {(cut["view"], cut["verdict"]) for cut in cuts} == {("show", "at the baseline")}
    for column in ("slope_deg", "slope_u95_deg", "past_baseline_mm", "stop_depth_mm"):
        assert numbers(cuts, column) == [kerf[column] for kerf in face["kerfs"]]
    assert numbers(cuts, "x_show_mm") == [kerf["x_at_end_mm"] for kerf in face["kerfs"]]


def test_every_photo_has_a_row_with_the_boards_sizes(house: House, board: str) -> None:
    photos = rows_of(house, what="photo")
    assert [(row["view"], row["state"]) for row in photos] == [("end", "measured")] * 2 + [("show", "measured")]
    assert numbers(photos[:1], "measured_thickness_mm") == [result_of(house, board, "end")["board"]["thickness_mm"]]
    line = result_of(house, board, "show")["baseline"]
    assert numbers(photos[2:], "baseline_depth_mm")[0] == pytest.approx(
        (line["depth_left_mm"] + line["depth_right_mm"]) / 2.0,
        abs=1e-4,  # lengths are told to 0.1 micrometre
    )


def test_all_photos_together_have_their_walls_and_pins_over_the_depth(house: House, board: str) -> None:
    together = look_at_board(SOLO, board, house.ports).together
    assert together is not None
    assert together.answer is not None
    told = together.answer.result
    deep = rows_of(house, what="pin", view="end and faces")
    assert numbers(deep, "gap_mm") == [socket["gap_mm"] for socket in told["board"]["in_depth"]["sockets"]]
    assert numbers(deep, "taper_baseline_mm") == [
        socket["by_depth"][-1]["taper_mm"] for socket in told["board"]["in_depth"]["sockets"]
    ]
    walls = rows_of(house, what="wall", view="end and faces")
    assert numbers(walls, "slope_show") == [wall["slope_show"] for wall in told["board"]["in_depth"]["walls"]]
    ends = rows_of(house, what="wall", view="all ends")
    assert numbers(ends, "lean_deg") == [wall["lean_deg"] for wall in told["end"]["walls"]]
    assert [(row["view"], row["advice"]) for row in rows_of(house, what="together")] == [
        ("all ends", told["end"]["advice"]),
        ("end and faces", told["board"]["advice"]),
    ]


def test_reviews_their_marks_and_corrections_are_there_with_who_and_when(house: House, board: str) -> None:
    check = look_at_board(SOLO, board, house.ports).checks[0]
    assert check.answer is not None
    marks = (Mark(0.125, 0.75, "=The saw left the line here."),)
    said = Judgement("pare", "Slower.", marks, check.id, check.answer.pictures.overlay)
    review_board(ensure_solo(house.ports), board, said, house.ports)
    walls = [WallLine(tuple(wall["show_px"]), tuple(wall["transfer_px"])) for wall in check.answer.result["walls"]]
    walls[0] = replace(walls[0], show_px=(walls[0].show_px[0] + 5.0, walls[0].show_px[1]), zoom=2.0)
    correct_walls(SOLO, check.id, walls, "A knife line.", house.ports)
    (review,), (mark,) = rows_of(house, what="review"), rows_of(house, what="mark")
    assert (review["by"], review["decision"], review["remarks"]) == ("Me", "pare", "Slower.")
    assert (mark["number"], mark["mark_x_percent"], mark["mark_y_percent"]) == ("1", "12.5", "75.0")
    assert mark["remarks"] == "'=The saw left the line here."
    (correction,) = rows_of(house, what="correction")
    assert (correction["by"], correction["remarks"], correction["state"]) == ("Me", "A knife line.", "waiting")
    assert correction["said_at"] == house.clock[0].isoformat()
