"""`tailproof demo`: a small invented school is filled in, and every page of it opens for those who may see it."""

from __future__ import annotations

import argparse
import re
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from service.cli import main
from service.commands.demo_job import run_demo
from service.demo.fill import fill
from service.demo.school import School, Task, read_school
from service.errors import UsageError
from service.status import Status
from service.use_cases.ports import Ports
from service.web.app import create_app
from tests.service.house import House, open_house
from tests.service.web.site import HERE, page

PASSWORD = "walnut-mallet-407"
MOST_PAGES = 120
"""Of one person; more are the same pages of other boards."""


def small(school: School) -> School:
    """Two students of the first class, two tasks of a board each: one long ago, one of these days; and one scrap."""
    course = school.courses[0]
    tasks = [_one_board(course.tasks[0], (20, 12)), _one_board(course.tasks[1], (4, 1))]
    learners = [learner for learner in school.learners if learner.login in ("juno", "sage")]
    learners = [replace(learner, scraps=min(learner.scraps, 1)) for learner in learners]
    courses = [replace(course, students=["juno", "sage"], tasks=tasks)]
    return replace(school, learners=learners, courses=courses, samples=[])


def _one_board(task: Task, days: tuple[int, int]) -> Task:
    return replace(task, boards=1, days=days)


@pytest.fixture(scope="module")
def filled(tmp_path_factory: pytest.TempPathFactory) -> Iterator[House]:
    with open_house(tmp_path_factory.mktemp("demo"), cleaning=True) as house:
        told: list[tuple[int, int]] = []
        fill(small(read_school()), PASSWORD, house.ports, house.data, lambda done, of: told.append((done, of)))
        assert told[-1] == (len(told), len(told))
        yield house


@pytest.fixture
def browser(filled: House) -> Iterator[TestClient]:
    app = create_app(filled.ports, filled.data, for_class=True)
    with TestClient(app, base_url="http://localhost:8017", client=HERE) as client:
        yield client


def sign_in(browser: TestClient, login: str) -> None:
    reply = browser.post("/sign-in", data={"login": login, "password": PASSWORD})
    assert reply.url.path == "/", reply.text


def opened(browser: TestClient) -> set[str]:
    """Every page that links lead to from the first one; each opens."""
    seen, ahead = {"/"}, ["/"]
    while ahead and len(seen) < MOST_PAGES:
        reply = browser.get(ahead.pop(0))
        assert reply.status_code == 200, f"{reply.url}: {reply.status_code}"
        if reply.headers["content-type"].startswith("text/html"):
            new = _links(reply) - seen
            seen |= new
            ahead += sorted(new)
    return seen


def _links(reply: object) -> set[str]:
    shown = page(reply)  # type: ignore[arg-type]
    links = {link.get("href", "").partition("#")[0] for link in shown.all("a")}
    pictures = {picture.get("src", "") for picture in shown.all("img")}
    return {link for link in links | pictures if link.startswith("/")}


def boards_of(ports: Ports, login: str) -> list[str]:
    with ports.reading() as uow:
        account = uow.accounts.with_login(login)
        assert account is not None
        return [board.standing for board in uow.boards.all_of(account.person)]


@pytest.mark.parametrize("login", ["wren", "reed", "juno", "sage"])
def test_every_page_opens_for_instructors_and_students(browser: TestClient, login: str) -> None:
    sign_in(browser, login)
    found = opened(browser)
    assert {"/boards", "/classes", "/settings", "/help"} <= found
    assert any(path.startswith("/classes/") for path in found)
    assert any(path.startswith("/boards/") for path in found)


def test_every_board_was_really_measured(filled: House) -> None:
    for login, boards in (("juno", 5), ("sage", 2)):
        standings = boards_of(filled.ports, login)
        assert len(standings) == boards
        assert set(standings) <= {"transfer", "pare", "start over", "photograph again", "practice cuts"}
        assert standings.count("practice cuts") == (1 if login == "juno" else 0)


def test_old_boards_are_reviewed_and_new_ones_wait(browser: TestClient) -> None:
    sign_in(browser, "wren")
    boards = browser.get("/api/v1/classes").json()
    assert [each["name"] for each in boards] == ["Evening bench (invented)"]
    queue = page(browser.get("/review"))
    assert "try 1" in queue.text


def test_the_demonstration_refuses_a_folder_that_holds_something(tmp_path: Path) -> None:
    (tmp_path / "log.sqlite3").write_bytes(b"somebody's log")
    with pytest.raises(UsageError, match="holds something already"):
        run_demo(argparse.Namespace(data=tmp_path))
    assert (tmp_path / "log.sqlite3").read_bytes() == b"somebody's log"


def test_the_command_line_says_so_in_one_sentence(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "notes.txt").write_text("mine")
    assert main(["demo", "--data", str(tmp_path), "--port", "0"]) == Status.USAGE
    assert "name another --data" in capsys.readouterr().err


def test_it_fills_serves_tells_whom_to_sign_in_as_and_leaves_nothing_behind(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """The whole command with a small school; whoever answers looks whether all is there and stops at once."""
    school, served = small(read_school()), []

    def answer(ports: Ports, data: Path, *others: object) -> None:
        served.append((data, boards_of(ports, "juno")))

    monkeypatch.setattr("service.demo.school.read_school", lambda: school)
    monkeypatch.setattr("service.commands.serve_job._answer", answer)
    assert main(["demo", "--port", "0"]) == Status.MEASURED
    ((data, boards),) = served
    assert len(boards) == 5
    assert "waiting" not in boards
    assert not data.exists()
    said = capsys.readouterr().out
    assert "nobody in it is real" in said
    assert "juno, sage" in said
    assert re.search(r"password: [a-z]+-[a-z]+-\d{3}", said)
