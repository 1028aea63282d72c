"""The slopes that an assignment asks for, on the pages of a board, its review, its class, and for programs."""

from __future__ import annotations

import pytest

from service.kept.plan_store import PlanStore
from service.texts import text
from tests.service.jobs.test_told import PLAN
from tests.service.one_board import measure_one_board
from tests.service.web.site import page, photo
from tests.service.web.test_class import post, school
from tests.service.web.test_classes import Bench, bench, work_off

__all__ = ["bench", "school"]


@pytest.fixture(autouse=True)
def one_board(monkeypatch: pytest.MonkeyPatch, core: None) -> None:
    measure_one_board(monkeypatch)


def ask(bench: Bench, **said: str) -> None:
    """Change what the assignment says."""
    wanted = {"title": "Three tails", "gap": "0.2", **said}
    post(bench.wren, f"/assignments/{bench.assignment}/change", **wanted)
    work_off(bench.school)


def send_face(bench: Bench) -> None:
    file = {"photos": ("face.jpg", photo(77), "image/jpeg")}
    bench.juno.post("/photos", data={"board": bench.board, "view": "show"}, files=file)
    work_off(bench.school)


def shown(bench: Bench) -> dict[str, str]:
    """The pages on which slopes are told, as text."""
    pages = {f"/boards/{bench.board}": bench.juno, f"/review/{bench.board}": bench.wren}
    return {path: page(client.get(path)).text for path, client in pages.items()}


def test_without_slopes_asked_for_nothing_is_said(bench: Bench) -> None:
    send_face(bench)
    assert not any(text("work.slopes_seen") in told for told in shown(bench).values())
    assert bench.juno.get(f"/api/v1/boards/{bench.board}").json()["slopes"] is None


def test_without_a_face_the_pages_say_what_would_tell(bench: Bench) -> None:
    ask(bench, slope_steepest="1:6", slope_flattest="1:8")
    for told in shown(bench).values():
        assert "Slopes asked for: 1:6 to 1:8. No face of this board is measured" in told
        assert text("work.slopes_help") in told
    assert page(bench.juno.get(f"/boards/{bench.board}")).all("a", href="/help#face")


def test_with_a_face_every_cut_is_held_against_what_is_asked_for(bench: Bench) -> None:
    ask(bench, slope_steepest="1:3", slope_flattest="1:4")
    send_face(bench)
    for told in shown(bench).values():
        assert "Slopes asked for: 1:3 to 1:4. Of 6 cuts measured" in told
        assert text("work.slopes_help") not in told
        assert text("work.slopes_name", view="Show", side="left", tail=1) in told
    slopes = bench.juno.get(f"/api/v1/boards/{bench.board}").json()["slopes"]
    assert len(slopes["cuts"]) == 6
    assert {cut["word"] for cut in slopes["cuts"]} == {"outside"}
    summary = "Slopes asked for: 1:3 to 1:4. Over 1 board with a photo of a face, of 6 cuts 6 are outside."
    for path in (f"/classes/{bench.classroom.id}", f"/assignments/{bench.assignment}"):
        assert summary in page(bench.wren.get(path)).text
    progress = bench.wren.get(f"/api/v1/classes/{bench.classroom.id}/progress").json()
    assert progress["assignments"][0]["slopes"] == summary


def test_an_assignments_kept_plan_is_what_the_board_is_held_against(bench: Bench) -> None:
    PlanStore(bench.school.house.data).put(PLAN)
    assert text("plan.title") not in shown(bench)[f"/boards/{bench.board}"]
    ask(bench, plan=PLAN.name)
    assert text("plan.title") in shown(bench)[f"/boards/{bench.board}"]
    ask(bench, plan="the drawing on the wall")
    assert text("plan.title") not in shown(bench)[f"/boards/{bench.board}"]
