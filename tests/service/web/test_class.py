"""A class: everyone signs in, each role may do what is its own, and failing too often shuts the door for a while."""

from __future__ import annotations

import re
from dataclasses import dataclass

import pytest
from httpx2 import Response
from starlette.testclient import TestClient

from service.domain.person import Role
from service.use_cases.sign_in import invite
from service.web.app import create_app
from service.web.policy import BY_ROLE, COOKIE, NEEDED, Standing
from tests.service.house import House
from tests.service.web.site import HERE, page
from tests.service.web.test_policy import filled, routes_of

WORDS = "correct horse battery"
ROLES: tuple[Role, ...] = ("student", "instructor", "owner")


@dataclass(frozen=True)
class School:
    """A service in class mode, and browsers to use it with."""

    house: House
    app: object

    def browser(self) -> TestClient:
        """A browser on the computer itself, which is nothing special here."""
        return TestClient(self.app, base_url="http://localhost:8017", client=HERE, follow_redirects=False)  # type: ignore[arg-type]

    def member(self, role: Role, login: str) -> TestClient:
        """A browser in which somebody of that role has joined."""
        browser = self.browser()
        reply = post(browser, f"/join/{invite(role, self.house.ports)}", name=login, login=login, password=WORDS)
        assert reply.status_code == 303, reply.text
        return browser


@pytest.fixture
def school(real_house: House, core: None) -> School:
    """A class without anybody in it yet."""
    return School(real_house, create_app(real_house.ports, real_house.data, for_class=True))


def post(browser: TestClient, path: str, **fields: str) -> Response:
    return browser.post(path, data=fields)


def link_on(reply: Response) -> str:
    found = re.search(r"<code>http://localhost:8017(/join/[\w-]+)</code>", reply.text)
    assert found is not None, reply.text
    return found.group(1)


def test_nobody_is_let_in_without_signing_in_not_even_on_the_computer_itself(school: School) -> None:
    browser = school.browser()
    for method, path in routes_of(school.house):
        reply = browser.request(method, filled(path))
        if NEEDED[path] is Standing.STRANGER:
            assert reply.status_code in (200, 403, 404, 410), path
        elif path.startswith("/api/"):
            assert reply.status_code == 401
        else:
            assert reply.headers["location"].split("?")[0] == "/sign-in"


PAGES = {
    "/review/id-1?way=next": "/review/id-1?way=next",
    "/boards?text=a%26b": "/boards?text=a%26b",
    "//elsewhere.example": "/",
    "/\\elsewhere.example": "/",
    "/\t/elsewhere.example": "/",
    "https://elsewhere.example/boards": "/",
    "boards": "/",
    "javascript:alert(1)": "/",
}
"""What a link to sign in may ask for, and where it leads."""


@pytest.mark.parametrize("asked", PAGES)
def test_signing_in_leads_to_a_page_of_this_site_and_to_no_other(school: School, asked: str) -> None:
    school.member("student", "cay")
    browser = school.browser()
    shown = page(browser.get("/sign-in", params={"back": asked}))
    assert [given["value"] for given in shown.all("input", name="back")] == [asked] * (PAGES[asked] != "/")
    wrong = page(post(browser, "/sign-in", login="cay", password="guess", back=asked))
    assert len(wrong.all("input", name="back")) == (PAGES[asked] != "/")
    assert post(browser, "/sign-in", login="cay", password=WORDS, back=asked).headers["location"] == PAGES[asked]


def test_who_asks_for_a_page_before_signing_in_is_led_to_it_afterwards(school: School) -> None:
    school.member("student", "cay")
    browser = school.browser()
    sign_in = browser.get("/boards", params={"text": "a&b", "species": "oak"}).headers["location"]
    (back,) = page(browser.get(sign_in)).all("input", name="back")
    assert back["value"] == "/boards?text=a%26b&species=oak"
    sent = {"referer": "http://localhost:8017/settings"}
    assert browser.post("/settings", headers=sent).headers["location"] == "/sign-in?back=/settings"
    elsewhere = {"referer": "http://elsewhere.example/settings"}
    assert browser.post("/settings", headers=elsewhere).headers["location"] == "/sign-in"


def test_a_form_sent_after_the_session_ended_is_told_to_sign_in_beside_it(school: School) -> None:
    told = school.browser().post("/boards/id-1", headers={"accept": "application/json"})
    assert told.status_code == 401
    assert told.json()["message"] == "Sign in first."
    assert told.json()["what_to_do"].startswith("What you typed is still here")


@pytest.mark.parametrize("role", ROLES)
def test_every_role_reaches_what_is_its_own_and_no_more(school: School, role: Role) -> None:
    browser = school.member(role, "somebody")
    for method, path in routes_of(school.house):
        if path in ("/sign-out", "/leave"):
            continue  # they end the session; tried below
        reply = browser.request(method, filled(path))
        allowed = BY_ROLE[role] >= NEEDED[path]
        refused = reply.status_code == 403 and path != "/sign-in"
        assert refused != allowed, f"{role} {method} {path}: {reply.status_code}"


def test_a_person_joins_by_a_link_and_finds_their_own_empty_log(school: School) -> None:
    owner = school.member("owner", "olive")
    link = link_on(post(owner, "/people/invite", role="student"))
    student = school.browser()
    assert page(student.get(link)).all("input", name="login")
    assert post(student, link, name="Cay", login="cay", password="short").status_code == 422
    assert post(student, link, name="Cay", login="cay", password=WORDS).headers["location"] == "/"
    assert "No board yet" in page(student.get("/")).text
    used = school.browser()
    assert "used already, or it is too old" in page(used.get(link)).text
    assert post(used, link, name="Dee", login="dee", password=WORDS).status_code == 410
    assert "Cay" in page(owner.get("/people")).text


def test_an_invitation_says_for_which_role_it_is_and_that_no_phone_can_open_it_yet(school: School) -> None:
    owner = school.member("owner", "olive")
    shown = page(post(owner, "/people/invite", role="instructor")).text
    assert "For one new instructor" in shown
    assert "This address opens on this computer alone" in shown


def test_the_browser_that_asks_is_marked_among_the_devices_and_cannot_be_dropped_there(school: School) -> None:
    cay = school.member("student", "cay")
    shown = page(cay.get("/devices"))
    assert "this browser Signed in " in shown.text
    assert "--lan" not in shown.text
    assert not [given for given in shown.all("form") if given["action"].endswith("/drop")]
    post(school.browser(), "/sign-in", login="cay", password=WORDS)
    dropped = [given for given in page(cay.get("/devices")).all("form") if given["action"].endswith("/drop")]
    assert len(dropped) == 1


def test_where_the_data_are_is_told_to_the_owner_alone(school: School) -> None:
    folder = str(school.house.data)
    assert folder in school.member("owner", "olive").get("/settings").text
    assert folder not in school.member("student", "cay").get("/settings").text


def test_students_see_neither_each_others_boards_nor_who_there_is(school: School) -> None:
    cay, dee = school.member("student", "cay"), school.member("student", "dee")
    made = cay.post("/api/v1/boards", json={"name": "Secret box"}).json()
    assert dee.get(f"/boards/{made['id']}").status_code == 404
    assert "Secret box" not in dee.get("/boards").text
    assert dee.get("/people").status_code == 403
    assert "/people" not in dee.get("/settings").text


@pytest.mark.parametrize(("role", "may"), [("instructor", {"student"}), ("owner", {"student", "instructor", "owner"})])
def test_instructors_invite_students_and_owners_anybody(school: School, role: Role, may: set[str]) -> None:
    browser = school.member(role, "somebody")
    invited = {wanted for wanted in ROLES if post(browser, "/people/invite", role=wanted).status_code == 200}
    assert invited == may


def test_the_owner_gives_a_new_password_to_who_forgot_theirs(school: School) -> None:
    owner, cay = school.member("owner", "olive"), school.member("student", "cay")
    actions = [given["action"] for given in page(owner.get("/people")).all("form")]
    recoveries = [action for action in actions if action.endswith("/recover")]
    people = [link_on(owner.post(action)) for action in recoveries]  # by name: cay, olive
    assert "For cay: this link sets a new password" in page(owner.post(recoveries[0])).text
    browser = school.browser()
    assert not page(browser.get(people[0])).all("input", name="login")
    assert post(browser, people[0], password="entirely other words").status_code == 303
    assert cay.get("/boards").headers["location"] == "/sign-in?back=/boards"
    assert post(school.browser(), "/sign-in", login="cay", password="entirely other words").status_code == 303


def test_an_account_is_deleted_by_its_person_or_by_the_owner(school: School) -> None:
    owner, cay, dee = (
        school.member("owner", "olive"),
        school.member("student", "cay"),
        school.member("student", "dee"),
    )
    assert cay.post("/leave").headers["location"] == "/sign-in"
    assert post(school.browser(), "/sign-in", login="cay", password=WORDS).status_code == 403
    remove = [
        given["action"] for given in page(owner.get("/people")).all("form") if given["action"].endswith("/remove")
    ]
    assert owner.post(remove[0]).status_code == 303
    assert dee.get("/").headers["location"] == "/sign-in"
    assert owner.post("/leave").status_code == 422  # the last owner


def test_failing_five_times_shuts_the_door_for_that_name_for_some_minutes(school: School) -> None:
    school.member("student", "cay")
    school.member("student", "dee")
    browser = school.browser()
    tries = [post(browser, "/sign-in", login="cay", password="guess").status_code for _ in range(6)]
    assert tries == [403] * 5 + [429]
    assert post(browser, "/sign-in", login="CAY ", password=WORDS).status_code == 429
    assert post(browser, "/sign-in", login="dee", password=WORDS).status_code == 303
    school.house.later(minutes=5, seconds=1)
    assert post(school.browser(), "/sign-in", login="cay", password=WORDS).status_code == 303


def test_a_session_cookie_is_kept_from_scripts_and_secure_where_the_connection_is(school: School) -> None:
    school.member("student", "cay")
    plain = post(school.browser(), "/sign-in", login="cay", password=WORDS).headers["set-cookie"]
    assert "HttpOnly" in plain
    assert "SameSite=lax" in plain
    assert f"Max-Age={365 * 24 * 3600}" in plain  # kept when the browser is closed
    assert "Secure" not in plain
    with TestClient(school.app, base_url="https://localhost", client=HERE, follow_redirects=False) as browser:  # type: ignore[arg-type]
        assert "Secure" in post(browser, "/sign-in", login="cay", password=WORDS).headers["set-cookie"]


def test_signing_out_ends_the_session_on_the_service_and_not_only_in_the_browser(school: School) -> None:
    cay = school.member("student", "cay")
    secret = cay.cookies[COOKIE]
    assert cay.post("/sign-out").headers["location"] == "/sign-in"
    assert school.browser().get("/api/v1/boards", headers={"cookie": f"{COOKIE}={secret}"}).status_code == 401


def test_a_students_program_gets_a_token_of_the_students_own_and_no_role(school: School) -> None:
    owner = school.member("owner", "olive")
    token = re.search(r"<code>(secret-\d+)</code>", post(owner, "/devices/token", name="script").text)
    assert token is not None
    bearer = {"authorization": f"Bearer {token.group(1)}"}
    assert school.browser().get("/api/v1/boards", headers=bearer).status_code == 200
    assert school.browser().get("/people", headers=bearer).status_code == 403


def test_a_class_behind_a_web_server_answers_to_its_name_and_keeps_cookies_to_https(
    real_house: House, core: None
) -> None:
    school = School(
        real_house, create_app(real_house.ports, real_house.data, "https://boards.example/", for_class=True)
    )
    path = f"/join/{invite('owner', real_house.ports)}"
    fields = {"name": "Ada", "login": "ada", "password": WORDS}
    front = {"host": "boards.example", "origin": "https://boards.example", "sec-fetch-site": "same-origin"}
    assert school.browser().post(path, data=fields, headers={**front, "host": "other.example"}).status_code == 421
    assert school.browser().post(path, data=fields, headers={**front, "origin": "https://b.example"}).status_code == 403
    joined = school.browser().post(path, data=fields, headers=front)
    assert joined.status_code == 303
    assert "; Secure" in joined.headers["set-cookie"]
    near = post(school.browser(), "/sign-in", login="ada", password=WORDS)
    assert near.status_code == 303
    assert "Secure" not in near.headers["set-cookie"]
