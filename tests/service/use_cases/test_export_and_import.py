"""Everything goes out and comes back: into an empty log, beside what is there, and never over it."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from service.domain.board import Details
from service.domain.check import Check, StoredPhoto, Told
from service.domain.mistakes import MistakeError
from service.domain.words import OF_FACE
from service.jobs.measuring import Bench, measure
from service.use_cases.answer_job import finish_job, take_job
from service.use_cases.export_log import export_csv, export_json
from service.use_cases.import_log import Brought, import_log
from service.use_cases.keep_log import BoardView, change_board, check_again, delete_board, look_at_board, note_fits
from tests.service.house import House, open_house
from tests.service.web.site import photo

pytestmark = pytest.mark.usefixtures("core")


def work(house: House) -> None:
    while (task := take_job("w", 60.0, house.ports)) is not None:
        assert finish_job(task, measure(task, Bench(house.ports.photos, house.data)), house.ports)


@pytest.fixture
def filled(tmp_path: Path) -> Any:
    """Ann's log: a measured board with a fit, a refused one with a face, and a photo that still waits."""
    with open_house(tmp_path, cleaning=True) as house:
        first = house.send(photo(1), name="good =1+1", details=Details("oak", 19.05, "fine rip", "plan", "two\nlines"))
        house.later(days=1)
        second = house.send(photo(2), name="cardless")
        house.send(photo(3), name="", board=second.board, view="face")
        work(house)
        note_fits("ann", first.board, {0: "seated", 2: "split"}, house.ports, "Light taps, then it split.")
        house.later(days=1)
        house.send(photo(4), name="good, waiting")
        yield house


def views(house: House, person: str = "ann") -> list[BoardView]:
    with house.ports.reading() as uow:
        boards = uow.boards.all_of(person)
    return [look_at_board(person, board.id, house.ports) for board in boards]


def exported(house: House) -> bytes:
    return "".join(export_json("ann", house.ports)).encode()


def forget_all(house: House) -> None:
    for view in views(house):
        delete_board("ann", view.board.id, house.ports)


def test_an_export_restores_a_log_that_was_lost_to_the_last_byte(filled: House) -> None:
    before, data = views(filled), exported(filled)
    photos = {name: filled.ports.photos.read(name) for name in filled.stored()}
    forget_all(filled)
    assert filled.stored() == set()
    assert import_log("ann", io.BytesIO(data), filled.ports) == Brought(3, 4, 0)
    assert views(filled) == before
    assert {name: filled.ports.photos.read(name) for name in filled.stored()} == photos
    assert json.loads(exported(filled))["boards"] == json.loads(data)["boards"]


def test_a_photo_that_waited_when_it_was_exported_is_measured_after_the_import(filled: House) -> None:
    data = exported(filled)
    forget_all(filled)
    import_log("ann", io.BytesIO(data), filled.ports)
    work(filled)
    assert views(filled)[2].board.standing == "start over"


def test_importing_twice_changes_nothing(filled: House) -> None:
    before, data = views(filled), exported(filled)
    assert import_log("ann", io.BytesIO(data), filled.ports) == Brought(0, 0, 3)
    assert views(filled) == before


def test_a_log_is_brought_to_another_person_without_touching_the_first(filled: House) -> None:
    before = views(filled)
    assert import_log("ben", io.BytesIO(exported(filled)), filled.ports) == Brought(3, 4, 0)
    assert views(filled) == before
    assert [view.board.name for view in views(filled, "ben")] == [view.board.name for view in before]
    assert {view.board.id for view in views(filled, "ben")}.isdisjoint(view.board.id for view in before)


def test_lost_files_do_not_break_an_export_off_and_the_rest_comes_back(filled: House) -> None:
    check = views(filled)[0].checks[0]
    assert check.answer is not None
    filled.ports.photos.remove([check.photo.name, check.answer.pictures.overlay])
    data = exported(filled)
    forget_all(filled)
    assert import_log("ann", io.BytesIO(data), filled.ports) == Brought(3, 4, 0)
    pictures = replace(check.answer.pictures, overlay="")
    again = replace(check, photo=StoredPhoto("", "JPEG"), answer=replace(check.answer, pictures=pictures))
    assert views(filled)[0].checks[0] == again
    board = views(filled)[0].board
    change_board("ann", board.id, board.name, replace(board.details, species="oak"), filled.ports)
    assert views(filled)[0].checks[0] == again  # nothing to measure anew, so its answer stays
    with pytest.raises(MistakeError, match="file of this photo was lost"):
        check_again("ann", again.id, Told("cleared"), filled.ports)
    forget_all(filled)
    assert filled.stored() == set()


def test_what_happens_to_boards_while_they_are_exported_breaks_nothing_off(filled: House) -> None:
    measured, gone, _ = views(filled)
    photos = filled.ports.photos

    class Meanwhile:
        """Reads the first file only when its photo was measured again and the next board deleted."""

        def read(self, name: str) -> bytes:
            if measured.checks[0].answer == look_at_board("ann", measured.board.id, filled.ports).checks[0].answer:
                delete_board("ann", gone.board.id, filled.ports)
                check_again("ann", measured.checks[0].id, Told("cleared"), filled.ports)
                work(filled)
            return photos.read(name)

    ports = replace(filled.ports, photos=Meanwhile())
    boards = json.loads("".join(export_json("ann", ports)))["boards"]  # type: ignore[arg-type]
    now = views(filled)
    assert [board["id"] for board in boards] == [view.board.id for view in now]
    assert {*boards[0]["files"]} == {*now[0].checks[0].stored_names}


def test_an_export_that_was_laid_out_anew_is_read_as_well(filled: House) -> None:
    data = json.dumps(json.loads(exported(filled)), indent=2).encode()
    forget_all(filled)
    assert import_log("ann", io.BytesIO(data), filled.ports) == Brought(3, 4, 0)


def test_an_empty_log_is_exported_and_imported(house: House) -> None:
    assert json.loads(exported(house))["boards"] == []
    assert import_log("ben", io.BytesIO(exported(house)), house.ports) == Brought()


@pytest.mark.parametrize(
    ("data", "why"),
    [
        (b"", "no export of Tailproof"),
        (b"\xff\xd8\xff\xe0", "no export of Tailproof"),
        (b"[1, 2]", "no export of Tailproof"),
        (b'{"format": "other", "version": 1, "boards": []}', "no export of Tailproof"),
        (b'{"format": "tailproof-log", "version": 2, "boards": []}', "newer Tailproof"),
        (b'{"format": "tailproof-log", "version": 1, "boards": [{"id": "x"}]}', "Board 1 of this export is damaged"),
        (b'{"format": "tailproof-log", "version": 1, "boards": [7]}', "Board 1 of this export is damaged"),
        (b"[" * 100_000, "no export of Tailproof"),
        (b"9" * 5_000, "no export of Tailproof"),
    ],
)
def test_what_is_no_export_is_refused_in_words(house: House, data: bytes, why: str) -> None:
    with pytest.raises(MistakeError, match=why):
        import_log("ann", io.BytesIO(data), house.ports)
    assert views(house) == []


FACE_WORDS = dict.fromkeys(OF_FACE.texts, "") | {name: [] for name in (*OF_FACE.lists, *OF_FACE.tables)}
DAMAGE = {
    "an id with a path in it": lambda board: board.update(id="../../etc"),
    "a day that is none": lambda board: board.update(created="yesterday"),
    "a missing file": lambda board: board.update(files={}),
    "a file that is no photo": lambda board: board.update(files=dict.fromkeys(board["files"], "PHN2Zz4=")),
    "a state that is none": lambda board: board["checks"][0].update(state="great"),
    "words that no page could show": lambda board: board["checks"][0]["answer"]["words"]["mm"].pop("sockets"),
    "numbers in place of words": lambda board: board["checks"][0]["answer"]["words"]["inch"].update(verdict=7),
    "an advice that is none": lambda board: board["checks"][0]["answer"]["result"].update(advice="great"),
    "a stage that is none": lambda board: board["checks"][0]["answer"]["result"].update(stage=None),
    "an answer of no time": lambda board: board["checks"][0]["answer"].update(answered_at=None),
    "a pin without its walls": lambda board: board["checks"][0]["answer"]["result"]["walls"].pop(),
    "a face that advises": lambda board: board["checks"][0].update(
        view="show", answer=board["checks"][0]["answer"] | {"words": dict.fromkeys(("mm", "inch"), FACE_WORDS)}
    ),
    "a digest that is none": lambda board: board["checks"][0].update(sent_sha256="a\0b"),
    "a kind of photo that is none": lambda board: board["checks"][0]["photo"].update(kind="JPEG of my own"),
    "a number that is none": lambda board: board["checks"][0]["answer"]["result"].update(settle_mm=float("nan")),
    "a fit that is none": lambda board: board["fits"][0].update(outcome="great"),
    "a fit told twice": lambda board: board["fits"].append(board["fits"][0]),
    "a socket without end": lambda board: board["fits"][0].update(socket=float("inf")),
    "a day before all days": lambda board: board.update(created="0001-01-01T00:00:00+23:59"),
    "a thickness beyond all numbers": lambda board: board["details"].update(thickness_mm=10**400),
    "a thickness that no board has": lambda board: board["details"].update(thickness_mm=1e9),
}


@pytest.mark.parametrize("damage", DAMAGE)
def test_a_damaged_board_is_named_and_nothing_of_it_is_kept(filled: House, damage: str) -> None:
    export = json.loads(exported(filled))
    forget_all(filled)
    DAMAGE[damage](export["boards"][0])
    with pytest.raises(MistakeError, match="Board 1 of this export is damaged"):
        import_log("ann", io.BytesIO(json.dumps(export).encode()), filled.ports)
    assert views(filled) == []


def test_the_table_has_a_row_for_every_wall_and_pin_with_the_results_own_numbers(filled: House) -> None:
    rows = list(csv.DictReader(io.StringIO("".join(export_csv("ann", filled.ports)))))
    check = views(filled)[0].checks[0]
    result = answer_of(check)
    good = [row for row in rows if row["board"] == check.board]
    assert [row["what"] for row in good] == ["photo"] + ["wall"] * 6 + ["pin"] * 4 + ["outcome"] * 2
    assert [float(row["lean_deg"]) for row in good[1:7]] == [wall["lean_deg"] for wall in result["walls"]]
    assert [float(row["taper_mm"]) for row in good[7:11]] == [socket["taper_mm"] for socket in result["sockets"]]
    assert [row["fitted"] for row in good[7:11]] == ["seated", "", "split", ""]
    assert [(row["number"], row["fitted"]) for row in good[11:]] == [("1", "seated"), ("3", "split")]
    assert {row["thickness_mm"] for row in good} == {"19.05"}
    others = [(row["what"], row["view"], row["state"], bool(row["verdict"])) for row in rows if row not in good]
    assert others == [
        ("photo", "end", "refused", True),
        ("photo", "face", "kept", False),
        ("photo", "end", "waiting", False),
    ]


def test_no_spreadsheet_takes_a_name_for_a_formula(house: House) -> None:
    from service.domain.measurement_table import table_rows

    good = house.send(photo(2), name="good")
    work(house)
    view = look_at_board("ann", good.board, house.ports)
    named = replace(view.board, name="=2+3", details=Details("@oak"))
    assert {(row[1], row[3]) for row in table_rows(named, view.checks, [])} == {("'=2+3", "'@oak")}


def answer_of(check: Check) -> dict[str, Any]:
    assert check.answer is not None
    return check.answer.result
