"""The command line: what it prints where, its exit statuses, and that nothing ends in a traceback."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from itertools import product
from pathlib import Path

import jsonschema
import pytest

from service.cli import main
from tests.vision.answer.test_result import SCHEMA

pytestmark = pytest.mark.usefixtures("core")

Capture = pytest.CaptureFixture[str]


def run(*arguments: str | Path) -> int:
    return main([str(argument) for argument in arguments])


def usage_error(capsys: Capture, *arguments: str | Path) -> str:
    """The complaint of a command that cannot be carried out; checks its status and that stdout stays empty."""
    try:
        status: object = run(*arguments)
    except SystemExit as error:
        status = error.code
    captured = capsys.readouterr()
    assert status == 2
    assert captured.out == ""
    return captured.err


def test_a_measured_photo_ends_with_zero_and_its_verdict_first(folder: Path, capsys: Capture) -> None:
    assert run("check", folder / "good-1.jpg") == 0
    captured = capsys.readouterr()
    assert captured.out.startswith("Start over: ")
    assert "clamp the work" in captured.out
    assert captured.err == ""


def test_a_refused_photo_ends_with_three_and_says_what_to_do(folder: Path, capsys: Capture) -> None:
    assert run("check", folder / "cardless.jpg") == 3
    out = capsys.readouterr().out
    assert out.startswith("No card was found in the photo.\nLay the printed card")
    assert "clamp the work" not in out  # nothing was measured by which anybody would work


def test_a_file_that_cannot_be_read_is_named_and_a_folder_is_told_as_one(folder: Path, capsys: Capture) -> None:
    assert run("check", folder / "gone.jpg") == 3
    assert capsys.readouterr().out.startswith("The file could not be read. (gone.jpg: No such file or directory.)\n")
    assert run("check", folder) == 3
    told = " ".join(capsys.readouterr().out.split())
    assert "is a folder: name the photos in it, such as" in told
    assert told.replace(" ", "").count(str(folder)) == 2  # what is wrong, and what to write instead


def test_one_photo_as_json_is_one_object_by_the_schema(folder: Path, capsys: Capture) -> None:
    assert run("check", folder / "good-1.jpg", "--json") == 0
    value = json.loads(capsys.readouterr().out)
    jsonschema.validate(value, SCHEMA)
    assert "file" not in value


def test_several_as_json_are_one_line_each_past_the_bad_ones(folder: Path, capsys: Capture) -> None:
    names = ["good-1.jpg", "notes.txt", "gone.jpg", "cardless.jpg", "good-2.jpg"]
    assert run("check", "--json", *(folder / name for name in names)) == 3
    captured = capsys.readouterr()
    values = [json.loads(line) for line in captured.out.splitlines()]
    for value in values:
        jsonschema.validate(value, SCHEMA)
    assert [Path(value["file"]).name for value in values] == names
    reasons = [value["refusal"]["reason"] if not value["ok"] else None for value in values]
    assert reasons == [None, "not_an_image", "unreadable_file", "no_card", None]
    assert "[2/5] notes.txt" in captured.err


def test_photos_may_stand_on_either_side_of_the_options(folder: Path, capsys: Capture) -> None:
    assert run("check", folder / "good-1.jpg", "--json", folder / "good-2.jpg") == 0
    lines = capsys.readouterr().out.splitlines()
    assert [Path(json.loads(line)["file"]).name for line in lines] == ["good-1.jpg", "good-2.jpg"]


@pytest.mark.parametrize("arguments", [("check", "a.jpg", "--wide", "b.jpg"), ("score", "photos", "more")])
def test_what_no_job_accepts_is_named(arguments: tuple[str, ...], capsys: Capture) -> None:
    assert f"unrecognized arguments: {' '.join(arguments[2:])}" in usage_error(capsys, *arguments)


def test_several_for_people_are_headed_by_their_names_and_cautioned_once(folder: Path, capsys: Capture) -> None:
    assert run("check", folder / "good-1.jpg", folder / "gone.jpg", folder / "good-2.jpg") == 3
    out = capsys.readouterr().out
    assert out.index("good-1.jpg\n==========") < out.index("good-2.jpg\n==========")
    assert out.count("clamp the work") == 1


def test_a_fault_of_the_program_is_told_without_a_traceback_and_the_rest_goes_on(folder: Path, capsys: Capture) -> None:
    assert run("check", folder / "fault.jpg", folder / "good-1.jpg") == 1
    captured = capsys.readouterr()
    assert "fault.jpg: a fault in the program (ZeroDivisionError: on purpose), not in your photo." in captured.err
    assert "Traceback" not in captured.err
    assert "Start over" in captured.out


def test_stage_is_passed_on(folder: Path, capsys: Capture) -> None:
    run("check", folder / "good-1.jpg", "--json", "--stage", "cleared")
    assert json.loads(capsys.readouterr().out)["stage"] == "cleared"


def test_limits_and_paring_are_passed_on(folder: Path, capsys: Capture) -> None:
    """With 5 mm of either allowed, the same board passes."""
    run("check", folder / "good-1.jpg", "--json", "--gap-limit", "5", "--squeeze-limit", "5")
    assert json.loads(capsys.readouterr().out)["advice"] == "transfer"


def test_inches_are_printed_when_asked_for(folder: Path, capsys: Capture) -> None:
    run("check", folder / "good-1.jpg", "--units", "inch")
    assert (
        "Board 3 17/32 in (3.5433 ± 0.0016 in) wide, 3/4 in (0.748 ± 0.002 in) thick" in capsys.readouterr().out
    )  # 90 mm by 19 mm


def test_an_explanation_is_added_when_asked_for(folder: Path, capsys: Capture) -> None:
    run("check", folder / "good-1.jpg", "--explain")
    assert "Where the uncertainty comes from" in capsys.readouterr().out


@pytest.mark.parametrize(
    "arguments", [[], ["check"], ["check", "a.jpg", "--units", "ell"], ["saw"], ["card", "--kind", "x"]]
)
def test_a_wrong_command_ends_with_two_and_shows_the_usage(arguments: list[str], capsys: Capture) -> None:
    assert "usage: tailproof" in usage_error(capsys, *arguments)


@pytest.mark.parametrize("value", ["0", "-1", "wide", "nan", "inf"])
def test_a_limit_must_be_a_length(value: str, capsys: Capture) -> None:
    assert "must be a length above zero, in mm or as 3.94in" in usage_error(
        capsys, "check", "a.jpg", "--gap-limit", value
    )


def test_an_unknown_wood_is_answered_with_the_known_ones(folder: Path, capsys: Capture) -> None:
    message = usage_error(capsys, "check", folder / "good-1.jpg", "--species", "balsa")
    assert "'balsa' is not in the table" in message
    assert "cherry" in message


def test_the_version_is_told(capsys: Capture) -> None:
    with pytest.raises(SystemExit, match="0"):
        run("--version")
    assert capsys.readouterr().out.startswith("tailproof ")


def test_an_overlay_is_written_and_may_be_written_again(folder: Path) -> None:
    for _ in range(2):
        assert run("check", folder / "good-1.jpg", "--overlay", folder / "drawn.png") == 0
    assert (folder / "drawn.png").read_bytes().startswith(b"\x89PNG")


def test_overlays_of_several_go_to_a_folder_or_a_pattern(folder: Path) -> None:
    photos = [folder / "good-1.jpg", folder / "cardless.jpg", folder / "good-2.jpg"]
    (folder / "drawn").mkdir()
    run("check", *photos, "--overlay", folder / "drawn")
    run("check", *photos, "--overlay", str(folder / "drawn" / "{name}-seen.jpg"))
    names = sorted(path.name for path in (folder / "drawn").iterdir())
    assert names == ["good-1-overlay.png", "good-1-seen.jpg", "good-2-overlay.png", "good-2-seen.jpg"]


def test_one_overlay_file_for_several_photos_is_refused(folder: Path, capsys: Capture) -> None:
    message = usage_error(capsys, "check", folder / "good-1.jpg", folder / "good-2.jpg", "--overlay", folder / "x.png")
    assert "{name}" in message


def test_the_photo_is_never_overwritten(folder: Path, capsys: Capture) -> None:
    before = (folder / "good-1.jpg").read_bytes()
    for target in (folder / "good-1.jpg", folder / "good-2.jpg", folder / "." / "good-1.jpg"):
        assert "would be overwritten" in usage_error(capsys, "check", folder / "good-1.jpg", "--overlay", target)
    assert (folder / "good-1.jpg").read_bytes() == before


@pytest.mark.parametrize(("name", "start"), [("c.pdf", b"%PDF"), ("c.svg", b"<"), ("c.png", b"\x89PNG")])
def test_a_card_is_written_as_its_name_says(tmp_path: Path, name: str, start: bytes, capsys: Capture) -> None:
    assert run("card", "-o", tmp_path / name) == 0
    assert (tmp_path / name).read_bytes().startswith(start)
    assert "100 %" in capsys.readouterr().out


def test_a_card_may_be_written_again(tmp_path: Path) -> None:
    assert [run("card", "-o", tmp_path / "c.png") for _ in range(2)] == [0, 0]


def test_a_card_without_a_name_gets_one(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    assert run("card", "--kind", "long", "--paper", "letter") == 0
    assert [path.name for path in tmp_path.iterdir()] == ["tailproof-card-long-letter.pdf"]


@pytest.mark.parametrize("name", ["c.docx", "good-1.jpg", "card", "-"])
def test_a_card_of_another_kind_of_file_is_refused(folder: Path, name: str, capsys: Capture) -> None:
    assert "written as .pdf, .png or .svg" in usage_error(capsys, "card", "-o", folder / name)


def test_a_card_is_not_written_into_a_file_of_another_kind(folder: Path, capsys: Capture) -> None:
    assert "written as .png, not" in usage_error(capsys, "card", "--format", "png", "-o", folder / "card.pdf")


def test_a_card_does_not_overwrite_a_photo(folder: Path, tmp_path: Path, capsys: Capture) -> None:
    photo = tmp_path / "photo.png"
    photo.write_bytes((folder / "good-1.jpg").read_bytes())
    assert "would be overwritten" in usage_error(capsys, "card", "--format", "png", "-o", photo)


def test_a_folder_that_is_not_there_is_named(folder: Path, capsys: Capture) -> None:
    message = usage_error(capsys, "card", "-o", folder / "nowhere" / "card.pdf")
    assert "there is no folder" in message


def test_ctrl_c_ends_quietly(monkeypatch: pytest.MonkeyPatch, capsys: Capture) -> None:
    def interrupted(options: object) -> int:
        raise KeyboardInterrupt

    monkeypatch.setattr("service.commands.card_job.run_card", interrupted)
    assert run("card") == 130
    assert capsys.readouterr().err == "tailproof: stopped.\n"


def test_a_fault_anywhere_is_told_and_logged_only_for_debug(monkeypatch: pytest.MonkeyPatch, capsys: Capture) -> None:
    def broken(options: object) -> int:
        raise RuntimeError("on purpose")

    monkeypatch.setattr("service.commands.card_job.run_card", broken)
    assert run("card") == 1
    assert "Traceback" not in capsys.readouterr().err


@pytest.mark.parametrize(
    ("arguments", "why"),
    [
        (("--past-limit", "0.5"), "--past-limit is for photos of a face"),
        (("--line-limit", "0.5"), "--line-limit is for lines of a plan"),
        (("--view", "show", "--gap-limit", "0.5"), "--gap-limit is for photos of the end"),
        (("--view", "show", "--rules", "own.json"), "--rules is for photos of the end"),
        (("--baseline-depth", "0.001"), "sockets are 1 to 200 mm deep"),
    ],
)
def test_an_option_that_would_say_nothing_is_refused(arguments: tuple[str, ...], why: str, capsys: Capture) -> None:
    assert why in usage_error(capsys, "check", "a.jpg", *arguments)


@pytest.mark.parametrize("job", [("repeat", "folder"), ("board", "--end", "a.jpg", "--show", "b.jpg")])
def test_a_limit_for_faces_is_offered_to_checks_of_faces_alone(job: tuple[str, ...], capsys: Capture) -> None:
    assert "unrecognized arguments: --past-limit" in usage_error(capsys, *job, "--past-limit", "0.5")


@pytest.mark.parametrize(
    "arguments",
    [
        *[("serve", "--seconds", "nan"), ("serve", "--memory", "1"), ("serve", "--workers", "0")],
        *[("serve", "--port", "99999"), ("plan", "--tails", "2.5")],
    ],
)
def test_numbers_out_of_reason_are_refused_with_their_range(arguments: tuple[str, ...], capsys: Capture) -> None:
    assert "must be a whole number from" in usage_error(capsys, *arguments)


@pytest.mark.parametrize(
    "address",
    [
        *["", "boards.example", "ftp://boards.example/", "https://", "https://boards.example/tails/"],
        *["https://ada@boards.example/", "https://boards.example/?a", "https://boards.example:99999/", "https://[/"],
    ],
)
def test_an_address_that_is_no_whole_site_is_refused(address: str, capsys: Capture) -> None:
    assert "must be the address of a whole site" in usage_error(capsys, "serve", "--class", "--address", address)


def test_a_web_server_in_front_goes_with_accounts_alone(tmp_path: Path, capsys: Capture) -> None:
    assert run("serve", "--address", "https://boards.example", "--data", tmp_path / "none") == 2
    assert "--address goes with --class" in capsys.readouterr().err
    assert not (tmp_path / "none").exists()


@pytest.mark.parametrize("name", ["", "two\nlines", "\udcff", 81 * "a"])
def test_a_name_that_could_not_be_listed_is_refused(name: str, capsys: Capture) -> None:
    assert "must be a name on one line" in usage_error(capsys, "print-check", "--print", name)


@pytest.mark.parametrize("job", ["plan", "print-check", "camera"])
def test_listing_and_forgetting_are_two_requests(job: str, capsys: Capture) -> None:
    assert "not allowed with" in usage_error(capsys, job, "--list", "--forget", "old")


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a device that is always full")
@pytest.mark.parametrize(
    ("arguments", "unbuffered"),
    [
        *product([("--version",), ("rules",), ("check", "nothing.jpg")], ["", "1"]),
        (("check", "--help"), ""),  # argparse swallows what an unbuffered stream says
    ],
)
def test_a_full_disk_is_no_fault_of_the_program(arguments: tuple[str, ...], unbuffered: str) -> None:
    line, environment = [sys.executable, "-m", "service", *arguments], os.environ | {"PYTHONUNBUFFERED": unbuffered}
    with Path("/dev/full").open("w") as full:
        done = subprocess.run(
            line, env=environment, stdout=full, stderr=subprocess.PIPE, text=True, check=False, timeout=60
        )
    assert done.returncode == 2
    assert "the output could not be written" in done.stderr
    assert "Traceback" not in done.stderr


def test_a_library_that_the_system_lacks_is_named_with_what_helps(
    monkeypatch: pytest.MonkeyPatch, capsys: Capture
) -> None:
    def missing(options: object) -> int:
        raise ImportError("libGL.so.1: cannot open shared object file: No such file or directory")

    monkeypatch.setattr("service.commands.card_job.run_card", missing)
    assert run("card") == 2
    told = capsys.readouterr().err
    assert told.startswith("tailproof: libGL.so.1 is missing, which OpenCV needs of the system.")
    assert "apt-get install libgl1" in told


def command(*arguments: str | Path, **environment: str) -> subprocess.CompletedProcess[bytes]:
    """The command in a process of its own."""
    line = [sys.executable, "-m", "service", *map(str, arguments)]
    return subprocess.run(line, capture_output=True, env=os.environ | environment, check=False, timeout=60)


def test_a_terminal_that_lacks_letters_gets_them_spelt(folder: Path) -> None:
    done = command("check", folder / "notes.txt", folder / "gr\u00fcn.jpg", PYTHONIOENCODING="ascii")
    assert done.returncode == 3
    assert b"gr?n.jpg" in done.stdout
    assert b"Traceback" not in done.stderr


def test_a_reader_that_leaves_early_is_no_fault(folder: Path) -> None:
    line = [sys.executable, "-m", "service", "check", *[str(folder / "notes.txt")] * 400]
    with subprocess.Popen(line, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as process:
        assert process.stdout is not None
        assert process.stderr is not None
        process.stdout.readline()
        process.stdout.close()
        errors = process.stderr.read()
        process.wait(timeout=60)
    assert b"Traceback" not in errors
    assert b"fault" not in errors
    assert process.returncode == 141


def test_debug_shows_where_a_fault_happened(folder: Path, capsys: Capture, caplog: pytest.LogCaptureFixture) -> None:
    assert run("check", folder / "fault.jpg", "--debug") == 1
    assert "ZeroDivisionError" in caplog.text
    assert "Traceback" in caplog.text


def test_help_comes_without_loading_the_photo_libraries() -> None:
    code = "import sys, service.cli as c; c.build_parser().format_help(); print(*sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, timeout=60)
    assert "argparse" in done.stdout.split()
    assert not {"cv2", "numpy", "PIL"} & set(done.stdout.split())
