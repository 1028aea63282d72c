"""`tailproof print-check` as people use it, the store of prints, and the checks that use a kept one."""

from __future__ import annotations

import io
import json
from datetime import date
from pathlib import Path

import numpy as np
import pytest

from calibration.prints.check import CALIPER
from calibration.prints.known import Known
from calibration.prints.record import measured_print
from calibration.prints.shape import UNCHECKED
from service.cli import main
from service.errors import UsageError
from service.kept.data_folder import data_folder
from service.kept.print_store import PrintStore, print_named
from service.lengths import length_mm
from tests.vision.photos import measurement
from vision.end.report import Measurement, Stage
from vision.photo.photo import Photo

LENGTHS = ("--ab", "100.8", "--ad", "99.6", "--ac", "141.3", "--bd", "142.1")
READINGS = {"AB": [100.8], "AD": [99.6], "AC": [141.3], "BD": [142.1]}


def keep(folder: Path, *more: str) -> int:
    return main(["print-check", *LENGTHS, "--data", str(folder), *more])


@pytest.fixture
def seen(monkeypatch: pytest.MonkeyPatch) -> list[Known]:
    """What every check in the test was told to know."""
    seen_so_far: list[Known] = []

    def measure(image: Photo, *, stage: Stage | None, card_side: str, known: Known, told: object) -> Measurement:
        seen_so_far.append(known)
        return measurement(stage=stage or "sawn")

    monkeypatch.setattr("service.measuring.checking.measure_end", measure)
    return seen_so_far


def test_a_measured_print_is_kept_and_used_by_checks(folder: Path, tmp_path: Path, seen: list[Known]) -> None:
    assert keep(tmp_path / "kept", "--with", "caliper", "--note", "A4, matt") == 0
    assert main(["check", str(folder / "good-1.jpg"), "--data", str(tmp_path / "kept")]) == 0
    assert seen[0].print.name == "default"
    # Least squares moves AB by a share of the closure, which is below the caliper's 0.1 mm.
    assert seen[0].print.x_scale == pytest.approx(1.008, abs=1e-3)


def test_a_print_is_chosen_by_name_and_none_means_none(folder: Path, tmp_path: Path, seen: list[Known]) -> None:
    keep(tmp_path, "--print", "shop")
    for name in ("shop", "none"):
        main(["check", str(folder / "good-1.jpg"), "--data", str(tmp_path), "--print", name])
    main(["check", str(folder / "good-1.jpg"), "--data", str(tmp_path)])
    assert [known.print.name for known in seen] == ["shop", "", ""]
    assert seen[1].print is seen[2].print is UNCHECKED


def test_an_unknown_print_names_the_kept_ones(folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    keep(tmp_path, "--print", "shop")
    assert main(["check", str(folder / "good-1.jpg"), "--data", str(tmp_path), "--print", "shed"]) == 2
    assert "no print is kept as 'shed'. Kept: shop." in capsys.readouterr().err


def test_the_environment_moves_the_data_folder_and_the_option_goes_before_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("TAILPROOF_DATA", str(tmp_path / "there"))
    assert main(["print-check", *LENGTHS]) == 0
    assert (tmp_path / "there" / "prints.json").is_file()
    assert data_folder(tmp_path, {"TAILPROOF_DATA": "elsewhere"}) == tmp_path
    assert data_folder(None, {}).name.lower() == "tailproof"


def test_prints_are_listed_and_forgotten(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    data = ("--data", str(tmp_path))
    main(["print-check", "--list", *data])
    assert "No print is kept" in capsys.readouterr().out
    keep(tmp_path, "--print", "shop", "--note", "laser, A4")
    main(["print-check", "--list", *data])
    assert "rule read to 0.5 mm, laser, A4" in capsys.readouterr().out
    assert main(["print-check", "--forget", "shop", *data]) == 0
    assert main(["print-check", "--forget", "shop", *data]) == 2
    assert PrintStore(tmp_path).list() == ()


def test_repeated_readings_and_inches_are_understood(tmp_path: Path) -> None:
    assert keep(tmp_path, "--ab", "3.9685in", "--with", "0.2") == 0
    record = PrintStore(tmp_path).get("default")
    assert record is not None
    assert record.readings_mm["AB"] == pytest.approx((100.8, 100.8), abs=1e-3)  # 3.9685 inches, as printed
    assert record.instrument == "rule read to 0.2 mm"


@pytest.mark.parametrize(
    ("text", "expected"),
    [("100", 100.0), ("100,5", 100.5), (" 100.5 mm", 100.5), ("4in", 101.6), ('4"', 101.6), (".5 inch", 12.7)],
)
def test_lengths_are_read_as_people_write_them(text: str, expected: float) -> None:
    assert length_mm(text) == pytest.approx(expected, abs=1e-12)


@pytest.mark.parametrize("text", ["", "0", "-3", "nan", "1e3", "100 cm", "1.2.3", 400 * "9"])
def test_what_is_no_length_says_so(text: str) -> None:
    with pytest.raises(ValueError, match="must be a length above zero"):
        length_mm(text)


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (("--ab", "100"), "the print check needs all of AB, AD, AC, BD: AD, AC, BD missing."),
        ((*LENGTHS, "--ab", "120"), "the readings of AB differ by 19.2 mm: one was misread."),
        (("--ab", "120", *LENGTHS[2:]), "Most likely AB was misread: 120.0 mm"),
        (("--ab", "96", "--ad", "96", "--ac", "135.8", "--bd", "135.8"), "4.0 % out of size: print again at 100 %."),
        (
            ("--ab", "10.0", "--ad", "10.0", "--ac", "14.14", "--bd", "14.15"),
            "all four lengths are about a tenth of what they should be. They look like centimetres: give them in mm.",
        ),
        ((*LENGTHS, "--with", "micrometer"), "--with takes rule, caliper, or what a rule is read to"),
        ((*LENGTHS, "--with", "7"), "a rule is read to between 0 and 1 mm, got 7."),
        ((*LENGTHS, "--print", "none"), "'none' means no print; choose another name."),
        ((), "give all four lengths, in mm: --ab, --ad, --ac and --bd."),
    ],
)
def test_what_makes_no_print_is_refused_in_a_sentence(
    arguments: tuple[str, ...], message: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["print-check", *arguments, "--data", str(tmp_path)]) == 2
    assert message in capsys.readouterr().err
    assert not (tmp_path / "prints.json").exists()


class _Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


def test_a_person_at_a_terminal_is_asked_and_may_mistype(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("sys.stdin", _Terminal("100.8\n99,6\nabout 141\n141.3\n142.1\n"))
    assert main(["print-check", "--with", "caliper", "--data", str(tmp_path)]) == 0
    assert "AC (true to size: 141.4 mm): must be a length above zero" in capsys.readouterr().out
    record = PrintStore(tmp_path).get("default")
    assert record is not None
    assert record.readings_mm == {key: tuple(value) for key, value in READINGS.items()}


def test_a_person_who_stops_half_way_keeps_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("sys.stdin", _Terminal("100.8\n"))
    assert main(["print-check", "--data", str(tmp_path)]) == 2
    assert "nothing was kept" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("{ broken", "is not a JSON file .* Correct it, or move it away"),
        ('{"format": 1, "prints": {"a": {}}}', "cannot be used: the print 'a' is damaged. Correct it, or move it away"),
        ('{"format": 2, "prints": {}}', "is written in format 2, .* Install the newer version"),
    ],
)
def test_a_file_that_cannot_be_read_is_told_of_and_not_destroyed(text: str, message: str, tmp_path: Path) -> None:
    store = PrintStore(tmp_path)
    store.path.write_text(text, encoding="utf-8")
    record = measured_print("a", READINGS, CALIPER, on=date(2026, 3, 14))
    for act in (store.list, lambda: store.get("a"), lambda: store.put(record), lambda: store.forget("a")):
        with pytest.raises(UsageError, match=message):
            act()
    assert store.path.read_text(encoding="utf-8") == text
    assert print_named("none", store) is UNCHECKED


def test_a_write_that_fails_leaves_the_old_file_and_no_scraps(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    store = PrintStore(tmp_path)
    store.put(measured_print("a", READINGS, CALIPER, on=date(2026, 3, 14)))
    before = store.path.read_text(encoding="utf-8")

    def fail(source: str, target: Path) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.replace", fail)
    with pytest.raises(UsageError, match="could not be written"):
        store.put(measured_print("b", READINGS, CALIPER, on=date(2026, 3, 14)))
    assert store.path.read_text(encoding="utf-8") == before
    assert [path.name for path in tmp_path.iterdir()] == ["prints.json"]


def test_a_second_print_stands_beside_the_first_and_a_new_one_replaces_its_namesake(tmp_path: Path) -> None:
    store = PrintStore(tmp_path / "new" / "folder")
    for name, day in (("b", 1), ("a", 2), ("b", 3)):
        store.put(measured_print(name, READINGS, CALIPER, on=date(2026, 3, day)))
    assert [(record.name, record.measured.day) for record in store.list()] == [("a", 2), ("b", 3)]
    np.testing.assert_array_equal(store.list()[1].shape.covariance, store.list()[0].shape.covariance)


def test_the_result_says_what_the_print_costs(folder: Path, core: None, capsys: pytest.CaptureFixture[str]) -> None:
    main(["check", str(folder / "good-1.jpg")])
    assert "Print not checked" in capsys.readouterr().out
    main(["check", str(folder / "good-1.jpg"), "--json"])
    assert json.loads(capsys.readouterr().out)["print"] == {"name": None, "share_of_u": 0.0, "share_of_width_u": 0.0}
