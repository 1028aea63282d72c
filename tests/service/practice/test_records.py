"""The log out and in again: JSON without loss, CSV that opens anywhere and runs nothing."""

from __future__ import annotations

import csv
import io
import json

import numpy as np
import pytest

from service.practice.entries import PracticeBoard, with_fits
from service.practice.records import FORMAT, VERSION, export_dict, export_json, import_dict, import_json
from service.practice.spreadsheet import csv_tables
from tests.service.practice.builders import Sawyer, board, boards_of, driven

VERSION_1 = """{"format": "tailproof practice log", "version": 1, "boards": [{"identity": "7", "date": "2026-03-04",
 "person": "student 1", "walls": [
  {"tail": 0, "side": "left", "position": 0.1, "lean_deg": -0.98, "lean_u95_deg": 0.12, "out_of_square_mm": -0.27,
   "out_of_square_u95_mm": 0.03, "flags": ["rough"]},
  {"tail": 0, "side": "right", "position": 0.9, "lean_deg": 0.1, "lean_u95_deg": 0.2, "out_of_square_mm": 0.02,
   "out_of_square_u95_mm": 0.05, "flags": []}],
 "sockets": [{"kind": "half", "taper_mm": 0.27, "taper_u95_mm": 0.03, "gap_mm": 0.2, "squeeze_mm": 0.0,
   "verdict": "loose", "gap_limit_mm": 0.1, "squeeze_limit_mm": 0.04,
   "chances": {"seats": 0.0, "loose": 1.0, "splitting": 0.0}, "fit": "loose"},
  {"kind": "half", "taper_mm": 0.0, "taper_u95_mm": 0.03, "gap_mm": 0.0, "squeeze_mm": 0.0, "verdict": "seats",
   "gap_limit_mm": 0.1, "squeeze_limit_mm": null, "chances": null, "fit": null}],
 "width_mm": 74.4, "thickness_mm": 15.6, "stage": "sawn", "advice": "start over", "species": "oak", "saw": "",
 "plan": "", "assignment": "box", "notes": "knotty"}]}"""
"""A file of version 1 as it was written; it must stay readable for ever."""


@pytest.fixture
def boards() -> list[PracticeBoard]:
    rng = np.random.default_rng(1)
    plain = boards_of(
        Sawyer(), 5, rng, species="oak", saw="bow saw", notes='said "no", then\nyes; naïve 学', plan="3 tails"
    )
    return [with_fits(each, fits) for each, fits in zip(plain, driven(plain, rng), strict=True)]


def test_an_export_restores_every_board_exactly(boards: list[PracticeBoard]) -> None:
    assert import_json(export_json(boards)) == boards
    assert import_dict(export_dict([])) == []


def test_a_file_of_version_1_stays_readable() -> None:
    (restored,) = import_json(VERSION_1)
    assert (restored.notes, restored.walls[0].flags, restored.sockets[0].fit) == ("knotty", ("rough",), "loose")
    assert json.loads(export_json([restored])) == json.loads(VERSION_1)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("not json", "this is not JSON"),
        ("[]", "this is no tailproof practice log"),
        ('{"format": "tailproof practice log"}', "version must be 1 to 1, got None"),
        ('{"format": "tailproof practice log", "version": 99, "boards": []}', "a newer Tailproof wrote this log"),
        ('{"format": "tailproof practice log", "version": 1}', "has no list of boards"),
        ('{"format": "tailproof practice log", "version": 1, "boards": [{}]}', "board 1 of the log has no 'date'"),
        ('{"format": "tailproof practice log", "version": 1, "boards": [3]}', "board 1 of the log cannot be read"),
    ],
)
def test_what_is_no_log_is_refused_with_a_sentence(text: str, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        import_json(text)


@pytest.mark.parametrize("key", ["walls", "sockets", "date", "thickness_mm", "person"])
def test_a_damaged_board_is_refused_by_its_number(boards: list[PracticeBoard], key: str) -> None:
    for damage in (None, "x", [{}]):
        record = export_dict(boards)
        record["boards"][2][key] = damage
        if (key, damage) != ("person", damage):
            with pytest.raises(ValueError, match="board 3 of the log"):
                import_dict(record)


def test_a_record_says_its_format_and_version(boards: list[PracticeBoard]) -> None:
    record = json.loads(export_json(boards))
    assert (record["format"], record["version"]) == (FORMAT, VERSION)


def rows_of(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text, newline="")))


def test_csv_has_a_row_for_every_board_wall_and_socket(boards: list[PracticeBoard]) -> None:
    tables = csv_tables(boards)
    assert {name: len(rows_of(text)) for name, text in tables.items()} == {
        "boards.csv": 5,
        "walls.csv": 30,
        "sockets.csv": 20,
    }


def test_csv_keeps_numbers_and_texts(boards: list[PracticeBoard]) -> None:
    tables = csv_tables(boards)
    first = rows_of(tables["boards.csv"])[0]
    assert (first["notes"], first["date"], float(first["width_mm"])) == (boards[0].notes, "2026-03-02", 90.0)
    wall, socket = rows_of(tables["walls.csv"])[7], rows_of(tables["sockets.csv"])[5]
    assert float(wall["lean_deg"]) == boards[1].walls[1].lean_deg
    assert (wall["identity"], wall["tail"], wall["side"]) == (boards[1].identity, "1", "right")
    assert float(socket["chance_loose"]) == boards[1].sockets[1].chances.loose  # type: ignore[union-attr]
    assert (socket["socket"], socket["fit"]) == ("2", boards[1].sockets[1].fit)


def test_what_is_not_known_is_an_empty_cell() -> None:
    (restored,) = import_json(VERSION_1)
    second = rows_of(csv_tables([restored])["sockets.csv"])[1]
    assert (second["chance_seats"], second["squeeze_limit_mm"], second["fit"]) == ("", "", "")


@pytest.mark.parametrize("note", ["=1+1", "+1", "-1", "@SUM(A1)", "\tx"])
def test_no_text_becomes_a_formula_but_negative_numbers_stay_numbers(note: str) -> None:
    tables = csv_tables([board([-0.5, 0.2], notes=note)])
    assert rows_of(tables["boards.csv"])[0]["notes"] == "'" + note
    assert float(rows_of(tables["walls.csv"])[0]["lean_deg"]) == -0.5
