"""A mistake in a form: told to the page's own script with its field, and on a page that leads back."""

from __future__ import annotations

import pytest

from service.texts import text
from tests.service.web.site import Site, page, photo
from tests.service.web.test_class import post, school
from tests.service.web.test_classes import Bench, bench

__all__ = ["bench", "school"]
BY_SCRIPT = {"accept": "application/json"}
HOST = "http://localhost:8017"


def test_a_mistake_is_told_with_its_field_to_the_script_of_the_page(site: Site) -> None:
    board = site.board()
    reply = site.client.post(f"/boards/{board}", data={"thickness": "abc", "notes": "long"}, headers=BY_SCRIPT)
    assert (reply.status_code, reply.json()["field"]) == (422, "thickness")
    no_photo = {"photo": ("a.jpg", b"no photo", "image/jpeg")}
    reply = site.client.post(f"/boards/{board}/fits", files=no_photo, headers=BY_SCRIPT)
    assert (reply.status_code, reply.json()["field"]) == (422, "photo")
    reply = site.client.post("/import", files={"file": ("a.json", b"[]", "application/json")}, headers=BY_SCRIPT)
    assert (reply.status_code, reply.json()["field"]) == (422, "file")


def edition_of(site: Site, board: str) -> str:
    """What the form of a board's page sends along as the edition that it shows."""
    return page(site.client.get(f"/boards/{board}")).all("input", name="edition")[0]["value"]


def test_of_two_pages_of_one_board_the_later_does_not_overwrite_what_the_earlier_saved(site: Site) -> None:
    board = site.board()
    here, there = edition_of(site, board), edition_of(site, board)
    first = {"name": "Box", "notes": "the long side", "edition": here}
    assert site.client.post(f"/boards/{board}", data=first).status_code == 303
    second = {"name": "Box", "saw": "the new one", "edition": there}
    reply = site.client.post(f"/boards/{board}", data=second, headers=BY_SCRIPT)
    assert (reply.status_code, reply.json()["field"]) == (422, "edition")
    assert "nothing was saved" in reply.json()["message"]
    details = site.client.get(f"/api/v1/boards/{board}").json()["details"]
    assert (details["notes"], details["saw"]) == ("the long side", "")
    second["edition"] = edition_of(site, board)
    assert site.client.post(f"/boards/{board}", data=second).status_code == 303
    opened = edition_of(site, board)
    site.send(photo(1), board=board)
    site.work()
    assert edition_of(site, board) == opened  # another photo changes nothing that the form shows


def test_what_is_too_large_is_told_to_the_script_as_well(site: Site) -> None:
    told = BY_SCRIPT | {"content-length": "999999999999"}
    reply = site.client.post("/photos", headers=told, content=b"")
    assert (reply.status_code, reply.json()["reason"]) == (413, "refused")


def test_forms_that_show_themselves_again_tell_the_script_instead(bench: Bench) -> None:
    classroom = f"/classes/{bench.classroom.id}/assignments"
    newcomer = bench.school.browser()
    for browser, path, typed, field in (
        (bench.wren, classroom, {"title": "x", "gap": "-3"}, "gap"),
        (bench.wren, classroom, {"title": "x", "slope_flattest": "1:20"}, "slope_flattest"),
        (bench.wren, f"/assignments/{bench.assignment}/change", {"title": ""}, "title"),
        (bench.wren, "/classes/new", {"name": " "}, "name"),
        (bench.juno, "/classes/join", {"code": "oak-adze-100"}, "code"),
        (bench.wren, f"/review/{bench.board}", {"remarks": "Nearly."}, "decision"),
        (
            newcomer,
            f"/class/{bench.classroom.join_code}",
            {"name": "Ivo", "login": "ivo", "password": "no"},
            "password",
        ),
    ):
        reply = browser.post(path, data=typed, headers=BY_SCRIPT)
        assert (reply.status_code, reply.json()["field"]) == (422, field), path


def test_who_is_signed_out_by_now_is_told_the_script_with_the_way_back_in(bench: Bench) -> None:
    reply = bench.school.browser().post(f"/review/{bench.board}", data={"decision": "pare"}, headers=BY_SCRIPT)
    assert reply.status_code == 401
    assert reply.json()["message"] == text("account.not_signed_in")
    assert reply.json()["what_to_do"] == text("account.sign_in_beside")
    program = bench.school.browser().get("/api/v1/boards")
    assert (program.status_code, program.json()["what_to_do"]) == (401, text("pair.not_paired_what_to_do"))


def test_a_wrong_password_or_code_keeps_what_was_typed_beside_it(bench: Bench) -> None:
    browser = bench.school.browser()
    shown = page(post(browser, "/sign-in", login="wren", password="wrong words"))
    assert shown.all("input", name="login")[0]["value"] == "wren"
    assert not shown.all("input", name="password")[0].get("value")
    shown = page(browser.get("/class", params={"code": "oak-adze-100"}))
    assert shown.all("input", name="code")[0]["value"] == "oak-adze-100"
    shown = page(post(bench.juno, "/classes/join", code="oak-adze-100"))
    assert shown.all("input", name="code")[0]["value"] == "oak-adze-100"


@pytest.mark.parametrize(
    ("came_from", "back"),
    [
        (f"{HOST}/boards/a?known=yes", "/boards/a?known=yes"),
        (f"{HOST}//evil.example/x", "/evil.example/x"),
        ("http://evil.example/boards", ""),
        ("http://[", ""),
        ("", ""),
    ],
)
def test_the_page_of_an_error_leads_back_to_where_the_form_was(site: Site, came_from: str, back: str) -> None:
    board = site.board()
    reply = site.client.post(f"/boards/{board}", data={"thickness": "abc"}, headers={"referer": came_from})
    buttons = [given["href"] for given in page(reply).all("a") if "button" in given.get("class", "")]
    assert buttons == [*([back] if back else []), "/", "/boards"]


def test_an_address_or_form_that_makes_no_sense_is_told_by_the_fields_label(site: Site) -> None:
    long = page(site.client.get("/boards", params={"text": "x" * 201}))
    assert "Search: 200 characters at most." in long.text
    wrong = page(site.client.post("/settings", data={"units": "ell"}))
    assert "Lengths in: what was sent is not what this field takes." in wrong.text
    assert text("error.bad_request") in page(site.client.get("/settings", params={"boards": "x"})).text


def test_an_assignment_that_is_changed_keeps_a_last_day_that_is_over(bench: Bench) -> None:
    typed = {"title": "Three tails", "due": "2026-02-27"}
    assert post(bench.wren, f"/classes/{bench.classroom.id}/assignments", **typed).status_code == 422
    assert post(bench.wren, f"/assignments/{bench.assignment}/change", **typed).status_code == 303


def test_a_photo_that_was_checked_before_is_said_on_its_board(site: Site) -> None:
    board = site.board()
    again = site.send(photo(), name="another name").headers["location"]
    assert again == f"/boards/{board}?known={board}"
    assert text("check.known_note") in page(site.client.get(again)).text
    assert text("check.known_note") not in page(site.client.get(f"/boards/{board}")).text


def test_a_photo_that_was_checked_before_takes_no_others_to_its_board(site: Site) -> None:
    old = site.board("good old one")
    files = [("photos", (f"{number}.jpg", photo(number), "image/jpeg")) for number in (0, 1, 2)]
    sent = site.client.post("/photos", data={"name": "good new one"}, files=files).headers["location"]
    new = sent.split("?")[0]
    assert sent == f"{new}?known={old}"
    boards = [site.client.get(f"/api/v1{path}").json() for path in (f"/boards/{old}", new)]
    assert [(board["name"], len(board["checks"])) for board in boards] == [("good old one", 1), ("good new one", 2)]
    shown = page(site.client.get(sent))
    assert f"{text('check.known_elsewhere')} good old one" in shown.text
    assert shown.all("a", href=f"/boards/{old}")
    assert text("check.known_note") not in shown.text
    onto = site.send(photo(), board=new.removeprefix("/boards/")).headers["location"]
    assert onto == f"/boards/{old}?known={old}"
    nobodys = page(site.client.get(f"/boards/{old}", params={"known": ["nobodys", "yes"]}))
    assert text("check.known_elsewhere") not in nobodys.text


def test_to_hand_in_asks_for_an_assignment_and_then_offers_to_take_it_back(bench: Bench) -> None:
    board = bench.juno.post("/photos", data={"name": "good"}, files={"photos": ("a.jpg", photo(9), "image/jpeg")})
    fresh = page(bench.juno.get(board.headers["location"]))
    assert "required" in fresh.all("select", id="to")[0]
    assert text("work.choose") in fresh.text
    given = page(bench.juno.get(f"/boards/{bench.board}"))
    assert "required" not in given.all("select", id="to")[0]
    assert text("work.change_or_take_back") in given.text
    assert text("work.take_back") in given.text


def test_a_board_of_an_assignment_that_is_closed_stays_with_it_unless_another_is_chosen(bench: Bench) -> None:
    post(bench.wren, f"/classes/{bench.classroom.id}/assignments", title="Four tails")
    post(bench.wren, f"/assignments/{bench.assignment}/close", closed="yes")
    shown = page(bench.juno.get(f"/boards/{bench.board}"))
    chosen = [given["value"] for given in shown.all("option") if "selected" in given and given["value"]]
    assert bench.assignment in chosen


def test_a_photo_for_an_assignment_that_was_closed_meanwhile_is_told_at_its_field(bench: Bench) -> None:
    post(bench.wren, f"/assignments/{bench.assignment}/close", closed="yes")
    sent = {"photos": ("a.jpg", photo(9), "image/jpeg")}
    reply = bench.juno.post("/photos", data={"assignment": bench.assignment}, files=sent, headers=BY_SCRIPT)
    assert (reply.status_code, reply.json()["field"]) == (404, "assignment")
    assert reply.json()["message"] == text("error.gone_assignment")
    later = bench.juno.post(f"/boards/{bench.board}/assignment", data={"assignment": "none"}, headers=BY_SCRIPT)
    assert (later.status_code, later.json()["field"]) == (404, "assignment")
    reply = bench.juno.post("/photos", data={"board": "none"}, files=sent, headers=BY_SCRIPT)
    assert (reply.status_code, reply.json()["field"]) == (404, "board")
    assert reply.json()["message"] == text("error.gone_board")
