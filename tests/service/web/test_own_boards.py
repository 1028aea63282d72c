"""Photos sent together of which each makes a board of its own, through the form as it is without scripts."""

from __future__ import annotations

from typing import Any

import pytest
from httpx2 import Response

from service.domain.board import LONGEST_NAME, numbered_name
from service.domain.mistakes import MistakeError
from service.texts import text
from tests.service.web.site import Site, page, photo
from tests.service.web.test_class import school
from tests.service.web.test_classes import Bench, bench

__all__ = ["bench", "school"]
BY_SCRIPT = {"accept": "application/json"}


def files(*numbers: int) -> list[tuple[str, tuple[str, bytes, str]]]:
    return [("photos", (f"{number}.jpg", photo(number), "image/jpeg")) for number in numbers]


def send(site: Site, *numbers: int, **fields: str) -> Response:
    """Those photos in one form, each a board of its own."""
    return site.client.post("/photos", data={"each": "yes", **fields}, files=files(*numbers))


def names(site: Site) -> list[str]:
    """Of all boards, the newest first."""
    return [board["name"] for board in all_boards(site)]


def all_boards(site: Site) -> list[dict[str, Any]]:
    return list(site.client.get("/api/v1/boards").json()["boards"])


def test_each_photo_makes_a_board_with_all_that_is_said_and_the_log_shows_them(site: Site) -> None:
    reply = send(site, 1, 2, 3, name="good", species="cherry", saw="Fine rip", notes="Monday")
    assert (reply.status_code, reply.headers["location"]) == (303, "/boards")
    boards = all_boards(site)
    assert [board["name"] for board in boards] == ["good 3", "good 2", "good 1"]
    said = [(board["details"]["species"], board["details"]["saw"], board["details"]["notes"]) for board in boards]
    assert said == [("cherry", "Fine rip", "Monday")] * 3
    assert all(len(site.client.get(f"/api/v1/boards/{board['id']}").json()["checks"]) == 1 for board in boards)


def test_without_a_name_each_board_gets_the_day_and_photos_of_one_board_stay_the_usual(site: Site) -> None:
    found = page(site.client.get("/"))
    chosen = [given["value"] for given in found.all("input", name="each") if "checked" in given]
    assert chosen == [""]
    send(site, 1, 2)
    second, first = names(site)
    assert first.startswith("Board of ")
    assert second == f"{first} (2)"


def test_a_single_photo_that_shows_its_own_board_keeps_the_name_and_leads_there(site: Site) -> None:
    reply = send(site, 1, name="good")
    assert names(site) == ["good"]
    assert reply.headers["location"] == f"/boards/{all_boards(site)[0]['id']}"


def test_the_script_tells_the_number_of_its_photo(site: Site) -> None:
    for number in (1, 2):
        told = {"each": "yes", "number": str(number), "name": "good"}
        reply = site.client.post("/photos", data=told, files=files(number), headers=BY_SCRIPT)
        assert reply.status_code == 201
    assert names(site) == ["good 2", "good 1"]
    for wrong in ("-1", "x", "10000"):
        assert site.client.post("/photos", data={"each": "yes", "number": wrong}, files=files(3)).status_code == 422


def test_a_photo_that_was_checked_before_stays_and_the_log_tells_where(site: Site) -> None:
    old = site.board("good old one", number=2)
    reply = send(site, 1, 2, 3, name="good")
    assert reply.headers["location"] == f"/boards?known={old}"
    assert names(site) == ["good 3", "good 1", "good old one"]  # the third photo is that of the third board
    shown = page(site.client.get(reply.headers["location"]))
    assert f"{text('check.known_in_log')} good old one" in shown.text
    assert text("check.known_in_log") not in page(site.client.get("/boards?known=nobodys")).text
    assert send(site, 2, 2).headers["location"] == f"/boards?known={old}"


def test_beside_a_bad_file_none_is_sent_and_the_others_once_more_are_numbered_anew(site: Site) -> None:
    bad = ("photos", ("notes.jpg", b"no photo", "image/jpeg"))
    told = {"each": "yes", "name": "good"}
    reply = site.client.post("/photos", data=told, files=[*files(1), bad, *files(2)])
    assert reply.status_code == 422
    assert "notes.jpg: " in page(reply).text
    assert names(site) == []
    assert send(site, 1, 2, name="good").status_code == 303
    assert names(site) == ["good 2", "good 1"]


def test_what_contradicts_boards_of_their_own_is_refused_in_words(site: Site) -> None:
    board = site.board()
    onto = send(site, 1, 2, board=board)
    assert (onto.status_code, text("check.own_new_only") in page(onto).text) == (422, True)
    faces = send(site, 1, 2, view="show")
    assert (faces.status_code, text("check.own_ends_only") in page(faces).text) == (422, True)
    assert names(site) == ["good"]


def test_a_name_that_leaves_no_room_for_a_number_is_refused_before_anything_is_sent(site: Site) -> None:
    reply = send(site, 1, 2, name="x" * LONGEST_NAME)
    assert reply.status_code == 422
    assert names(site) == []
    assert numbered_name(" a  box ", 12) == "a box 12"
    assert numbered_name(" ", 12) == ""
    with pytest.raises(MistakeError):
        numbered_name("x" * (LONGEST_NAME - 3), 1)


def test_all_boards_are_handed_in_to_the_assignment(bench: Bench) -> None:
    told = {"each": "yes", "name": "good", "assignment": bench.assignment}
    assert bench.juno.post("/photos", data=told, files=files(7, 8)).headers["location"] == "/boards"
    boards = bench.juno.get("/api/v1/boards").json()["boards"][:2]
    shown = [bench.juno.get(f"/boards/{board['id']}").text for board in boards]
    assert [board["name"] for board in boards] == ["good 2", "good 1"]
    assert all(f'href="/assignments/{bench.assignment}"' in each for each in shown)
