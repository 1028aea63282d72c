"""Assignments on the pages: what is wrong with one, changing it, and whether tight walls are pared."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.service.web.site import page
from tests.service.web.test_class import post, school
from tests.service.web.test_classes import Bench, bench, send, work_off

__all__ = ["bench", "school"]


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"title": ""}, "needs a title"),
        ({"title": "x", "gap": "a lot"}, "Widest gap to be seen must be a length above zero"),
        ({"title": "x", "squeeze_softwood": "-3"}, "Largest squeeze in softwood must be a length above zero"),
        ({"title": "x", "squeeze_hardwood": "9"}, "The largest squeeze in hardwood lies above 0 and up to 2 mm"),
        ({"title": "x", "slope_steepest": "steep"}, "Steepest slope: steep is no slope"),
        ({"title": "x", "slope_flattest": "1:20"}, "The flattest slope lies between 1:3 and 1:12"),
        ({"title": "x", "slope_steepest": "1:8", "slope_flattest": "1:6"}, "1:6 before 1:8"),
        ({"title": "x", "due": "soon"}, "soon is no day"),
        ({"title": "x", "due": "2026-02-27"}, "This day is over already"),
    ],
)
def test_what_is_wrong_with_an_assignment_is_said_and_what_was_typed_stays(
    bench: Bench, typed: dict[str, str], said: str
) -> None:
    reply = post(bench.wren, f"/classes/{bench.classroom.id}/assignments", **typed)
    assert reply.status_code == 422
    shown = page(reply)
    assert said in shown.text
    for name, value in typed.items():
        assert shown.all("input", name=name)[0]["value"] == value


def test_an_assignment_is_changed_in_inches_closed_and_deleted(bench: Bench) -> None:
    address = f"/assignments/{bench.assignment}"
    post(bench.wren, "/settings", units="inch")
    form = page(bench.wren.get(f"{address}/change"))
    assert form.all("input", name="gap")[0]["value"] == "0.008"
    typed = {"title": "Four tails", "gap": "0.01", "slope_steepest": "1:6", "paring": "yes", "due": "2026-03-01"}
    assert post(bench.wren, f"{address}/change", **typed).headers["location"] == address
    shown = page(bench.juno.get(address)).text
    for told in ("Four tails", "0.25 mm", "1:6 or flatter", "allowed", "1 Mar 2026", "late: 2 Mar 2026"):
        assert told in shown, told
    post(bench.wren, f"{address}/close", closed="yes")
    assert not page(bench.juno.get(address)).all("a", href=f"/?assignment={bench.assignment}")
    assert send(bench.juno, 5, assignment=bench.assignment).status_code == 404
    post(bench.wren, f"{address}/close", closed="no")
    assert send(bench.juno, 5, assignment=bench.assignment).status_code == 303
    post(bench.wren, f"{address}/remove")
    assert bench.juno.get(address).status_code == 404


def test_what_the_form_does_not_change_stays_as_exact_as_it_was_told(bench: Bench) -> None:
    told = {"gap_mm": 0.2, "squeeze_softwood_mm": 0.15, "squeeze_hardwood_mm": 0.12, "half_pin_factor": 0.75}
    one = f"/assignments/{bench.assignment}"
    policy = bench.wren.get(f"/api/v1{one}").json()["policy"] | told
    assert bench.wren.put(f"/api/v1{one}", json={"title": "Three tails", "policy": policy}).status_code == 200
    post(bench.wren, "/settings", units="inch")
    form = page(bench.wren.get(f"{one}/change"))
    assert "At a half pin 75 % of the squeeze is allowed." in form.text
    shown = {given["name"]: given["value"] for given in form.all("input") if given.get("name") and "value" in given}
    kept = {name: shown[name] for name in ("gap", "squeeze_softwood", "squeeze_hardwood")}
    assert post(bench.wren, f"{one}/change", title="Four tails", **kept).status_code == 303
    assert bench.wren.get(f"/api/v1{one}").json()["policy"] == policy
    post(bench.wren, "/settings", units="mm")
    assert "Largest squeeze at a half pin 0.11 mm in softwood, 0.09 mm in hardwood" in page(bench.juno.get(one)).text


def test_past_assignments_stand_folded_below_those_at_work(bench: Bench) -> None:
    address = f"/classes/{bench.classroom.id}"
    post(bench.wren, f"/assignments/{bench.assignment}/close", closed="yes")
    assert "Past assignments" not in page(bench.wren.get(address)).text  # the only one stays in sight
    post(bench.wren, f"{address}/assignments", title="Five tails")
    shown = page(bench.wren.get(address)).text
    assert shown.index("Five tails") < shown.index("Past assignments: 1")


def test_of_two_pages_of_one_assignment_the_later_does_not_overwrite_what_the_earlier_saved(bench: Bench) -> None:
    address = f"/assignments/{bench.assignment}"
    opened = page(bench.wren.get(f"{address}/change")).all("input", name="edition")[0]["value"]
    post(bench.wren, f"{address}/close", closed="yes")  # no part of the form
    assert post(bench.wren, f"{address}/change", title="Four tails", edition=opened).headers["location"] == address
    reply = post(bench.wren, f"{address}/change", title="Five tails", edition=opened)
    assert reply.status_code == 422
    shown = page(reply)
    assert "changed elsewhere after the page was opened" in shown.text
    assert shown.all("input", name="title")[0]["value"] == "Five tails"
    assert "Four tails" in page(bench.juno.get(address)).text


def tight_board(bench: Bench, paring: str) -> str:
    """The usual board of the tests at a limit of 1.5 mm for gaps: what is left is one pin that is too tight."""
    typed = {"title": "Loose rules", "gap": "1.5", "species": "maple", "paring": paring}
    work = post(bench.wren, f"/classes/{bench.classroom.id}/assignments", **typed).headers["location"]
    number, assignment = len(paring), work.rsplit("/", 1)[1]
    board = send(bench.juno, number, assignment=assignment, species="maple").headers["location"]
    work_off(bench.school)
    return board


@pytest.mark.parametrize(("paring", "advice"), [("no", "start over"), ("yes", "pare")])
def test_the_assignment_says_whether_tight_walls_are_pared_and_one_advice_stands_everywhere(
    bench: Bench, paring: str, advice: str
) -> None:
    board = tight_board(bench, paring)
    shown = page(bench.juno.get(board))
    assert advice.capitalize() in shown.text
    assert "start over, or ask your instructor" not in shown.text
    assert bench.juno.get(f"/api/v1{board}").json()["standing"] == advice
    listed = page(bench.juno.get("/boards", params={"standing": advice}))
    assert listed.all("a", href=board)


def test_an_older_answer_that_advises_paring_where_it_is_not_allowed_says_so(bench: Bench) -> None:
    board = tight_board(bench, "no")
    with bench.school.house.ports.unit_of_work() as uow:
        (check,) = uow.checks.of_boards([board.rsplit("/", 1)[1]])
        assert check.answer is not None
        older = replace(check.answer, result=check.answer.result | {"advice": "pare"})
        uow.checks.put(replace(check, answer=older))
        uow.commit()
    assert "start over, or ask your instructor" in page(bench.juno.get(board)).text
