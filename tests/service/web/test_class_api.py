"""The API does with classes and assignments what their pages do, and stands whatever it is sent."""

from __future__ import annotations

import json
from typing import Any

import schemathesis
from hypothesis import given
from starlette.testclient import TestClient

from service.domain.person import Role
from service.use_cases.pair_device import issue_token
from tests.service.web.test_api import TRIED
from tests.service.web.test_class import School, school
from tests.service.web.test_classes import send, work_off

__all__ = ["school"]
V1 = "/api/v1"


def program(school: School, role: Role, login: str) -> TestClient:
    """A program that acts for a new person of that role."""
    school.member(role, login)
    with school.house.ports.reading() as uow:
        account = uow.accounts.with_login(login)
    assert account is not None
    browser = school.browser()
    browser.headers["authorization"] = f"Bearer {issue_token(account.person, 'program', school.house.ports)}"
    return browser


def test_a_class_from_its_making_to_its_end(school: School) -> None:
    wren, juno = program(school, "instructor", "wren"), program(school, "student", "juno")
    made = wren.post(f"{V1}/classes", json={"name": "Monday bench"}).json()
    assert (made["name"], made["as"], made["shows_all"]) == ("Monday bench", "instructor", False)
    address = f"{V1}/classes/{made['id']}"
    joined = juno.post(f"{V1}/classes/join", json={"code": made["join_code"].replace("-", " ")}).json()
    assert (joined["id"], joined["as"], joined["join_code"]) == (made["id"], "student", "")
    assert wren.put(address, json={"name": "Tuesday bench"}).json()["name"] == "Tuesday bench"
    assert [each["name"] for each in juno.get(f"{V1}/classes").json()] == ["Tuesday bench"]
    assert juno.put(f"{address}/shows-all", json={"shows_all": True}).json() == {"shows_all": True}
    members = wren.get(f"{address}/members").json()
    assert [(each["name"], each["as"], each["shows_all"]) for each in members] == [
        ("juno", "student", True),
        ("wren", "instructor", False),
    ]
    renewed = wren.post(f"{address}/code").json()["join_code"]
    assert renewed not in ("", made["join_code"])
    assert wren.delete(f"{address}/code").status_code == 204
    assert wren.get(address).json()["join_code"] == ""
    assert juno.delete(f"{address}/members/{members[1]['id']}").status_code == 404
    assert juno.delete(f"{address}/members/{members[0]['id']}").status_code == 204
    assert juno.get(address).status_code == 404
    assert wren.delete(address).status_code == 204
    assert wren.get(f"{V1}/classes").json() == []


def test_an_assignment_from_its_setting_to_the_classs_progress(school: School) -> None:
    wren, juno = program(school, "instructor", "wren"), program(school, "student", "juno")
    made = wren.post(f"{V1}/classes", json={"name": "Monday bench"}).json()
    juno.post(f"{V1}/classes/join", json={"code": made["join_code"]})
    address = f"{V1}/classes/{made['id']}"
    wanted = {"title": "Three tails", "due": "2026-03-31", "policy": {"gap_mm": 0.2, "slope_steepest_n": 6.0}}
    work = wren.post(f"{address}/assignments", json=wanted).json()
    assert (work["title"], work["due"], work["closed"]) == ("Three tails", "2026-03-31", False)
    assert (work["policy"]["gap_mm"], work["policy"]["squeeze_softwood_mm"]) == (0.2, 0.15)
    offered = juno.get(f"{V1}/assignments").json()
    assert ([each["id"] for each in offered["assignments"]], offered["last"]) == ([work["id"]], None)
    board = juno.post(f"{V1}/boards", json={"name": "good"}).json()
    handed = juno.put(f"{V1}/boards/{board['id']}/assignment", json={"assignment": work["id"]}).json()
    assert (handed["assignment"], handed["assignment_title"]) == (work["id"], "Three tails")
    second = send(juno, 1, assignment=work["id"]).headers["location"].rsplit("/", 1)[1]
    work_off(school)
    assert juno.get(f"{V1}/assignments").json()["last"] == work["id"]
    seen = wren.get(f"{V1}/assignments/{work['id']}/boards").json()
    assert {each["id"] for each in seen["students"][0]["boards"]} == {board["id"], second}
    told = wren.get(f"{address}/progress").json()
    assert [(each["name"], each["word"]) for each in told["students"]] == [("juno", "too few")]
    assert (told["assignments"][0]["boards"], told["assignments"][0]["outcome"]["unit"]) == (2, "deg")
    assert juno.get(f"{address}/progress").status_code == 404
    exported = json.loads(wren.get(f"{address}/export.json").text)
    assert {each["id"] for each in exported["boards"]} == {board["id"], second}
    assert len(wren.get(f"{address}/export.csv").text.splitlines()) == 3
    one = f"{V1}/assignments/{work['id']}"
    assert wren.put(one, json=wanted | {"title": "Four tails"}).json()["title"] == "Four tails"
    assert wren.put(f"{one}/closed", json={"closed": True}).json()["closed"]
    assert juno.put(f"{V1}/boards/{second}/assignment", json={"assignment": None}).json()["assignment"] is None
    assert juno.put(f"{V1}/boards/{second}/assignment", json={"assignment": work["id"]}).status_code == 404
    assert wren.delete(one).status_code == 204
    assert juno.get(f"{V1}/boards/{board['id']}").json()["assignment_title"] == "Four tails"


def test_two_programs_share_a_class(school: School) -> None:
    wren, moss = program(school, "instructor", "wren"), program(school, "instructor", "moss")
    made = wren.post(f"{V1}/classes", json={"name": "Monday bench"}).json()
    with school.house.ports.reading() as uow:
        account = uow.accounts.with_login("moss")
    assert account is not None
    address = f"{V1}/classes/{made['id']}"
    assert wren.post(f"{address}/instructors", json={"person": account.person}).status_code == 204
    assert moss.get(address).json()["join_code"] == made["join_code"]
    assert wren.post(f"{address}/instructors", json={"person": "nobodys"}).status_code == 404


def test_students_make_no_classes(school: School) -> None:
    reply = program(school, "student", "juno").post(f"{V1}/classes", json={"name": "Mine"})
    assert (reply.status_code, reply.json()["message"]) == (403, "Your role does not allow this.")


def test_the_api_of_classes_keeps_its_promises_whatever_it_is_sent(school: School) -> None:
    """As `test_api` tries the rest: an instructor with a class and an assignment, by schemathesis."""
    wren = program(school, "instructor", "wren")
    made = wren.post(f"{V1}/classes", json={"name": "Monday bench"}).json()
    wren.post(f"{V1}/classes/{made['id']}/assignments", json={"title": "Three tails"})
    here = {"host": "localhost", "authorization": wren.headers["authorization"]}
    schema = schemathesis.openapi.from_asgi("/api/openapi.json", wren.app, headers=here)
    found = [result.ok() for result in schema.get_all_operations()]  # type: ignore[union-attr]
    operations = [each for each in found if "/classes" in each.path or "/assignment" in each.path]
    assert len(operations) >= 20
    for operation in operations:

        @TRIED
        @given(case=operation.as_strategy())
        def try_it(case: Any) -> None:
            case.call_and_validate(headers=here)

        try_it()
