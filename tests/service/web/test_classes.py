"""The pages of classes and assignments, and every route of them with everybody who has no business there."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

import pytest
from httpx2 import Response
from starlette.testclient import TestClient

from service.domain.classroom import Classroom
from service.texts import text
from service.use_cases.keep_class import list_classes
from service.use_cases.pair_device import issue_token
from service.web.policy import COOKIE, NEEDED
from tests.service.web.site import page, photo
from tests.service.web.test_class import WORDS, School, post, school
from tests.service.web.test_policy import UNREACHED, filled, routes_of

__all__ = ["school"]
FEW = {"classroom", "assignment"}
"""What the paths of classes name."""


@dataclass(frozen=True)
class Bench:
    """Wren's class with one assignment, to which Juno handed in one board; Moss and Kit have nothing to do with it."""

    school: School
    wren: TestClient
    juno: TestClient
    moss: TestClient
    kit: TestClient
    classroom: Classroom
    assignment: str
    board: str
    check: str

    @property
    def ids(self) -> dict[str, str]:
        """To fill paths with."""
        named = {"classroom": self.classroom.id, "assignment": self.assignment, "board": self.board}
        return named | {"check": self.check, "someone": self.person("juno")}

    def person(self, login: str) -> str:
        """The id of who signs in like that."""
        with self.school.house.ports.reading() as uow:
            account = uow.accounts.with_login(login)
            assert account is not None
            return account.person


@pytest.fixture
def bench(school: School) -> Bench:
    wren, moss = school.member("instructor", "wren"), school.member("instructor", "moss")
    juno, kit = school.member("student", "juno"), school.member("student", "kit")
    made = post(wren, "/classes/new", name="Monday bench").headers["location"]
    code = join_code(wren.get(made))
    assert post(juno, "/classes/join", code=code.replace("-", " ")).headers["location"] == made
    work = post(wren, f"{made}/assignments", title="Three tails", gap="0.2").headers["location"]
    assignment = work.rsplit("/", 1)[1]
    board = send(juno, assignment=assignment).headers["location"].rsplit("/", 1)[1]
    work_off(school)
    check = juno.get(f"/api/v1/boards/{board}").json()["checks"][0]["id"]
    return Bench(school, wren, juno, moss, kit, _class_of(school, code), assignment, board, check)


def _class_of(school: School, code: str) -> Classroom:
    with school.house.ports.reading() as uow:
        found = uow.classes.with_code(code)
    assert found is not None
    return found


def join_code(reply: Response) -> str:
    found = re.search(r"<code>([a-z]+-[a-z]+-\d{3})</code>", reply.text)
    assert found is not None, reply.text
    return found.group(1)


def send(browser: TestClient, number: int = 0, name: str = "good", **fields: str) -> Response:
    files = {"photos": ("a.jpg", photo(number), "image/jpeg")}
    return browser.post("/photos", data={"name": name, **fields}, files=files)


def work_off(school: School) -> None:
    from tests.service.web.site import Site

    Site(school.browser(), school.house).work()


def test_an_instructor_makes_a_class_and_a_student_hands_in_and_is_seen(bench: Bench) -> None:
    shown = page(bench.wren.get(f"/classes/{bench.classroom.id}"))
    assert "Boards handed in: 1, by 1 of 1 students" in shown.text
    assert shown.all("a", href=f"/boards/{bench.board}")
    own = f"?classroom={bench.classroom.id}&student={bench.person('juno')}"
    assert shown.all("a", href=f"/review{own}")
    assert shown.all("a", href=f"/review{own}&show=reviewed")
    assert page(bench.wren.get(f"/review{own}")).all("a", href=f"/review/{bench.board}{own}")
    work = page(bench.wren.get(f"/assignments/{bench.assignment}"))
    assert work.all("a", href=f"/boards/{bench.board}")
    assert "0.20 mm" in work.text
    board = page(bench.wren.get(f"/boards/{bench.board}"))
    assert "A board of juno." in board.text
    assert "Judged by the limits of Three tails." in board.text
    assert [form["action"] for form in board.all("form") if "review" not in form["action"]] == []
    for picture in board.all("img"):
        assert bench.wren.get(picture["src"]).status_code == 200


def test_the_student_sees_the_work_and_where_the_board_went(bench: Bench) -> None:
    listed = page(bench.juno.get(f"/classes/{bench.classroom.id}"))
    assert listed.all("a", href=f"/?assignment={bench.assignment}")
    assert listed.all("a", href=f"/boards/{bench.board}")
    assert bench.classroom.join_code not in listed.text
    board = page(bench.juno.get(f"/boards/{bench.board}"))
    assert "Handed in to Three tails" in board.text
    assert board.all("form", action=f"/boards/{bench.board}/assignment")
    first = page(bench.juno.get("/"))
    assert {"value": bench.assignment, "selected": ""}.items() <= first.all("option", value=bench.assignment)[0].items()


def test_others_find_nothing_on_any_route_of_the_class(bench: Bench) -> None:
    """An instructor of another class, a student of none and the owner, on every path that names a class or its work."""
    owner = bench.school.member("owner", "olive")
    tried = 0
    for browser, role in ((bench.moss, "instructor"), (bench.kit, "student"), (owner, "owner")):
        for method, path in routes_of(bench.school.house):
            if not FEW & set(UNREACHED.findall(path)):
                continue
            reply = browser.request(method, filled(path, **bench.ids), **body(method, path))
            assert reply.status_code in ((403, 404) if role == "student" else (404,)), f"{role} {method} {path}"
            tried += 1
    assert tried > 100
    assert bench.wren.get(f"/classes/{bench.classroom.id}").status_code == 200
    assert bench.juno.get(f"/boards/{bench.board}").status_code == 200


def test_a_student_of_the_class_runs_none_of_it(bench: Bench) -> None:
    allowed = {"GET /classes/{classroom}", "GET /assignments/{assignment}", "POST /classes/{classroom}/show-all"}
    allowed |= {"GET /api/v1/classes/{classroom}", "PUT /api/v1/classes/{classroom}/shows-all"}
    allowed |= {"GET /api/v1/classes/{classroom}/assignments", "GET /api/v1/assignments/{assignment}"}
    allowed |= {"GET /api/v1/assignments/{assignment}/boards"}
    ids = bench.ids | {"someone": bench.person("wren")}
    for method, path in routes_of(bench.school.house):
        if not FEW & set(UNREACHED.findall(path)) or path == "/classes/{classroom}/leave":
            continue
        reply = bench.juno.request(method, filled(path, **ids), **body(method, path))
        assert (reply.status_code in (403, 404)) != (f"{method} {path}" in allowed), f"{method} {path}"


def test_an_instructor_looks_at_students_boards_and_changes_none(bench: Bench) -> None:
    for method, path in routes_of(bench.school.house):
        names = set(UNREACHED.findall(path))
        judging = "review" in path or "correct" in path or path.endswith("/walls")  # tried where it is at home
        if not {"board", "check"} & names or judging:
            continue
        reply = bench.wren.request(method, filled(path, **bench.ids, part="end"), **body(method, path))
        shown = (
            (307, 404) if "name" in names else (200, 303)
        )  # a picture by a name of no picture leads to the present one
        assert reply.status_code in (shown if method == "GET" else (404,)), f"{method} {path}"
    assert page(bench.juno.get(f"/boards/{bench.board}")).all("img")


def body(method: str, path: str) -> dict[str, Any]:
    """What a route takes, so that it gets as far as asking who may."""
    if not path.startswith("/api/"):
        forms = {"/classes/{classroom}/name": {"name": "Mine"}, "/boards/{board}/assignment": {"assignment": ""}}
        return {"data": forms.get(path, {"title": "Mine"})} if method == "POST" else {}
    bodies: dict[str, Any] = {
        "/classes/{classroom}": {"name": "Mine"},
        "/classes/{classroom}/instructors": {"person": "x"},
        "/classes/{classroom}/shows-all": {"shows_all": True},
        "/classes/{classroom}/assignments": {"title": "Mine"},
        "/assignments/{assignment}": {"title": "Mine"},
        "/assignments/{assignment}/closed": {"closed": True},
        "/boards/{board}/assignment": {"assignment": None},
        "/boards/{board}": {"name": "mine", "details": {}},
        "/boards/{board}/fits": [],
        "/boards/{board}/fit-note": {"note": "mine"},
        "/boards/{board}/together": {"photos": []},
        "/checks/{check}/again": {},
    }
    return {"json": bodies.get(path.removeprefix("/api/v1"))} if method in ("PUT", "POST") else {}


def test_every_route_of_classes_is_walked() -> None:
    assert sum(bool(FEW & set(UNREACHED.findall(path))) for path in NEEDED) > 25


def test_a_link_makes_the_account_and_the_membership_at_once(bench: Bench) -> None:
    link = f"/class/{bench.classroom.join_code}"
    newcomer = bench.school.browser()
    assert page(newcomer.get(link)).all("input", name="login")
    assert post(newcomer, link, name="Ivo", login="ivo", password="short").status_code == 422
    joined = post(newcomer, link, name="Ivo", login="ivo", password=WORDS)
    assert joined.headers["location"] == f"/classes/{bench.classroom.id}"
    assert "Three tails" in page(newcomer.get(joined.headers["location"])).text
    assert "Ivo" in page(bench.wren.get(f"/classes/{bench.classroom.id}")).text


def test_who_is_signed_in_joins_by_the_link_with_one_button(bench: Bench) -> None:
    link = f"/class/{bench.classroom.join_code}"
    assert not page(bench.kit.get(link)).all("input", name="login")
    assert post(bench.kit, link).headers["location"] == f"/classes/{bench.classroom.id}"
    assert bench.kit.get(f"/classes/{bench.classroom.id}").status_code == 200


def test_the_sign_in_page_leads_from_a_code_to_the_class(bench: Bench) -> None:
    browser = bench.school.browser()
    assert page(browser.get("/sign-in")).all("form", action="/class")
    assert not page(browser.get("/sign-in")).all("nav")  # a menu would lead nowhere yet
    assert page(bench.kit.get("/help")).all("nav")
    typed = bench.classroom.join_code.replace("-", " ").title()
    found = browser.get("/class", params={"code": typed})
    assert found.headers["location"] == f"/class/{bench.classroom.join_code}"
    assert "No class has this code" in page(browser.get("/class", params={"code": "oak-adze-100"})).text


def test_clumsy_students_do_not_shut_the_door_for_the_school_and_a_guesser_does_for_an_hour(bench: Bench) -> None:
    browser, code = bench.school.browser(), bench.classroom.join_code
    wrong = [f"/class/oak-adze-{number}" for number in range(100, 201)]
    assert {browser.get(each).status_code for each in wrong[:50]} == {404}
    assert browser.get(f"/class/{code}").status_code == 200
    assert browser.get("/class", params={"code": code}).status_code == 303
    assert [browser.get(each).status_code for each in wrong[50:]] == [404] * 50 + [429]
    assert browser.get(f"/class/{code}").status_code == 429
    assert post(bench.kit, "/classes/join", code=code).status_code == 429
    assert bench.kit.post("/api/v1/classes/join", json={"code": code}).status_code == 429
    bench.school.house.later(hours=1, seconds=1)
    assert browser.get(f"/class/{code}").status_code == 200


def test_a_renewed_code_and_a_closed_class_are_shown_and_hold(bench: Bench) -> None:
    address = f"/classes/{bench.classroom.id}"
    post(bench.wren, f"{address}/code")
    renewed = join_code(bench.wren.get(address))
    assert renewed != bench.classroom.join_code
    assert bench.school.browser().get(f"/class/{bench.classroom.join_code}").status_code == 404
    post(bench.wren, f"{address}/close")
    assert "closed to newcomers" in page(bench.wren.get(address)).text
    assert bench.school.browser().get(f"/class/{renewed}").status_code == 404


def test_without_a_network_the_link_is_said_to_open_here_alone_and_no_code_is_drawn(bench: Bench) -> None:
    shown = bench.wren.get(f"/classes/{bench.classroom.id}")
    assert "This address opens on this computer alone" in page(shown).text
    assert not page(shown).all("div", **{"class": "qr"})


def test_an_owner_who_instructs_alone_is_led_to_where_instructors_are_invited(school: School) -> None:
    owner = school.member("owner", "olive")
    shown = page(owner.get(post(owner, "/classes/new", name="Evening bench").headers["location"]))
    assert "There is no other instructor yet." in shown.text
    assert shown.all("a", href="/people")


def test_a_class_is_shared_renamed_left_and_deleted(bench: Bench) -> None:
    address = f"/classes/{bench.classroom.id}"
    assert "All instructors are in" not in page(bench.wren.get(address)).text
    assert {"value": bench.person("moss")} in page(bench.wren.get(address)).all("option")
    post(bench.wren, f"{address}/share", someone=bench.person("moss"))
    shown = page(bench.moss.get(address)).text
    assert "Instructed by moss, wren" in shown
    assert "All instructors are in this class already. The owner of this service invites further ones." in shown
    assert bench.moss.get(f"/boards/{bench.board}").status_code == 200
    post(bench.moss, f"{address}/name", name="Tuesday bench")
    assert "Tuesday bench" in page(bench.juno.get("/classes")).text
    assert post(bench.wren, f"{address}/leave").headers["location"] == "/classes"
    assert post(bench.moss, f"{address}/leave").status_code == 422
    assert bench.wren.get(f"/boards/{bench.board}").status_code == 404
    assert post(bench.moss, f"{address}/remove").headers["location"] == "/classes"
    assert "in no class yet" in page(bench.juno.get("/classes")).text
    assert "Was handed in to Three tails" in page(bench.juno.get(f"/boards/{bench.board}")).text


def test_a_student_taken_out_is_seen_no_longer_and_keeps_the_board(bench: Bench) -> None:
    address = f"/classes/{bench.classroom.id}"
    assert "juno will be out of this class at once" in page(bench.wren.get(address)).text
    post(bench.wren, f"{address}/members/{bench.person('juno')}/remove")
    assert bench.wren.get(f"/boards/{bench.board}").status_code == 404
    assert bench.juno.get(f"/boards/{bench.board}").status_code == 200


def test_a_student_shows_all_boards_or_only_what_is_handed_in(bench: Bench) -> None:
    own = send(bench.juno, 1, "private").headers["location"]
    assert bench.wren.get(own).status_code == 404
    for shows_all, status in (("yes", 200), ("no", 404)):
        post(bench.juno, f"/classes/{bench.classroom.id}/show-all", shows_all=shows_all)
        assert bench.wren.get(own).status_code == status


def test_the_class_is_exported_to_its_instructors(bench: Bench) -> None:
    for ending, kind in (("csv", "text/csv"), ("json", "application/json")):
        reply = bench.wren.get(f"/classes/{bench.classroom.id}/export.{ending}")
        assert reply.headers["content-type"].startswith(kind)
        assert reply.headers["content-disposition"].startswith("attachment")
        assert bench.board in reply.text


def test_a_phone_that_was_let_in_acts_for_its_person_in_class(bench: Bench) -> None:
    token = issue_token(bench.person("juno"), "phone", bench.school.house.ports)
    bearer = {"authorization": f"Bearer {token}"}
    phone = bench.school.browser()
    assert phone.get(f"/classes/{bench.classroom.id}", headers=bearer).status_code == 200
    assert phone.post(f"/classes/{bench.classroom.id}/remove", headers=bearer).status_code == 403


def test_alone_at_home_there_is_no_word_of_classes(site: Any) -> None:
    assert not page(site.client.get("/")).all("a", href="/classes")
    assert not page(site.client.get("/")).all("select", name="assignment")
    assert site.client.post("/classes/new", data={"name": "x"}).status_code == 403
    assert site.client.post("/api/v1/classes", json={"name": "x"}).status_code == 403


def test_an_account_that_is_deleted_leaves_the_class(bench: Bench) -> None:
    assert bench.juno.post("/leave").headers["location"] == "/sign-in"
    assert "Nobody is in this class yet" in page(bench.wren.get(f"/classes/{bench.classroom.id}")).text
    assert bench.wren.post("/leave").status_code == 422  # nobody else instructs the class
    assert COOKIE in bench.wren.cookies
    with bench.school.house.ports.reading() as uow:
        wren = uow.people.get(bench.person("wren"))
    assert [classroom.name for classroom, _ in list_classes(wren, bench.school.house.ports)] == ["Monday bench"]


def test_an_instructor_without_joints_of_their_own_is_told_so_and_shown_the_students(bench: Bench) -> None:
    assert text("outcomes.none") in page(bench.wren.get("/outcomes")).text
    fits = [{"socket": 0, "outcome": "seated"}]
    assert bench.juno.put(f"/api/v1/boards/{bench.board}/fits", json=fits).status_code == 200
    told = page(bench.wren.get("/outcomes")).text
    assert text("outcomes.none") not in told
    assert text("outcomes.none_own") in told
    assert "By student" in told.partition(text("outcomes.none_own"))[2]
    assert text("outcomes.none_fits") in page(bench.wren.get("/outcomes?species=oak")).text
