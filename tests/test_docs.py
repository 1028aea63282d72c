"""The documentation says everything that the program can say, and what it shows is what the program does."""

from __future__ import annotations

import argparse
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from calibration.card import CARDS
from calibration.outcome import FLAGS, REFUSALS, WARNINGS, Kind
from service.cli import build_parser, main
from vision.joint.species import SPECIES

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = " ".join((ROOT / "DEVELOPERS.md").read_text(encoding="utf-8").split())
SAMPLES_README = (ROOT / "sample_images" / "README.md").read_text(encoding="utf-8")
PHOTOS = {".jpg", ".heic"}

EVERYTHING = [*REFUSALS.values(), *WARNINGS.values(), *FLAGS.values()]


def jobs() -> dict[str, argparse.ArgumentParser]:
    actions = build_parser()._actions
    return next(dict(action.choices) for action in actions if isinstance(action, argparse._SubParsersAction))


def options() -> Iterator[str]:
    """Every option of every job, in full."""
    for parser in jobs().values():
        names = (name for action in parser._actions for name in action.option_strings)
        yield from (name for name in names if name.startswith("--"))


def shell_blocks() -> list[str]:
    return re.findall(r"```sh\n(.*?)```", README, flags=re.DOTALL)


def shown_answer() -> str:
    return re.findall(r"```text\n(.*?)```", README, flags=re.DOTALL)[0]


@pytest.mark.parametrize("kind", EVERYTHING, ids=lambda kind: kind.reason)
def test_readme_tells_every_refusal_warning_and_flag_in_the_programs_own_words(kind: Kind) -> None:
    assert f"| `{kind.reason}` | {kind.message} | {kind.what_to_do} |" in README


def test_readme_tells_of_nothing_the_program_does_not_say() -> None:
    rows = re.findall(r"^\| `([a-z]+(?:_[a-z]+)+|rough)` \|", README, flags=re.MULTILINE)
    assert set(rows) <= {kind.reason for kind in EVERYTHING}


@pytest.mark.parametrize("job", sorted(jobs()))
def test_readme_shows_every_command(job: str) -> None:
    assert f"tailproof {job} " in README


@pytest.mark.parametrize("option", sorted(set(options()) - {"--help"}))
def test_readme_explains_every_option(option: str) -> None:
    assert re.search(rf"`{option}[ `]", README)


def test_readme_commands_are_ones_the_program_accepts() -> None:
    lines = [line for block in shell_blocks() for line in block.splitlines() if line.startswith("tailproof ")]
    assert len(lines) >= len(jobs())
    for line in lines:
        words = line.split("#")[0].replace("...", "").split()
        build_parser().parse_args(words[1:])


def test_readmes_example_answers_as_shown(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    command = re.search(r"tailproof (check sample_images/\S+)", shell_blocks()[0])
    assert command is not None
    monkeypatch.chdir(ROOT)
    assert main(command.group(1).split()) == 0
    assert capsys.readouterr().out.startswith(shown_answer())


def test_the_tests_ask_for_the_same_system_as_the_program_and_for_what_the_browsers_driver_needs() -> None:
    """A library that OpenCV needs and only one of the two installs would be missing on half of the machines."""
    program, tests = (re.findall(r"install -y (.*?) > /dev/null", block) for block in shell_blocks()[:2])
    assert program != []
    assert tests == [f"{program[0]} libatomic1"]


@pytest.mark.parametrize("link", sorted(set(re.findall(r"\]\(([^)#:]+)\)", README + DEVELOPERS))))
def test_links_lead_somewhere(link: str) -> None:
    assert (ROOT / link).exists()


@pytest.mark.parametrize("page", ["README.md", "DEVELOPERS.md", "sample_images/README.md"])
def test_no_chapter_stands_twice_and_no_line_is_long(page: str) -> None:
    prose = re.sub(r"```.*?```", "", (ROOT / page).read_text(encoding="utf-8"), flags=re.DOTALL).splitlines()
    headings = [line for line in prose if line.startswith("#")]
    assert len(headings) == len(set(headings)) > 0
    assert [line for line in prose if len(line) > 120 and not line.startswith("|")] == []


def test_every_sample_photo_is_described_and_has_its_truth() -> None:
    photos = [path for path in (ROOT / "sample_images").iterdir() if path.suffix in PHOTOS]
    assert len(photos) >= 10
    for photo in photos:
        assert f"`{photo.name}`" in SAMPLES_README
        assert photo.with_suffix(".json").is_file()


def test_the_sample_photos_are_small_enough_to_clone() -> None:
    """20 MB is the most a repository should carry as pictures."""
    assert sum(path.stat().st_size for path in (ROOT / "sample_images").rglob("*") if path.is_file()) < 20e6


@pytest.mark.parametrize("room", ["calibration", "vision", "service"])
def test_developers_guide_lists_every_module(room: str) -> None:
    for path in (ROOT / room).rglob("[a-z]*.py"):
        name = path.relative_to(ROOT / room)
        numbered = name.parent.name == "versions"  # migrations, named for their step
        told = {f"`{name}`", f"`{name.name}`"} if "practice" in name.parts else {f"`{name}`"}
        assert numbered or any(each in DEVELOPERS for each in told), f"{room}/{name} has no line in DEVELOPERS.md"


def test_developers_guide_names_every_card_and_wood() -> None:
    for name in (*CARDS, *SPECIES):
        assert name in DEVELOPERS
