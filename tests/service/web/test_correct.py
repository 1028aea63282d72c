"""The page and the API on which walls are corrected, and how a corrected board is marked wherever it is shown."""

from __future__ import annotations

import re
from typing import Any

import pytest
from starlette.testclient import TestClient

from service.web.policy import NEEDED, Standing
from tests.service.web.site import Page, Site, page
from tests.service.web.test_class import school
from tests.service.web.test_classes import Bench, bench, work_off

__all__ = ["bench", "school"]


def correct_page(client: TestClient, check: str) -> Page:
    return page(client.get(f"/checks/{check}/correct"))


def typed(found: Page) -> dict[str, str]:
    """Everything that the form would send."""
    inputs = [given for given in found.all("input") if given.get("type") != "checkbox"]
    return {given["name"]: given["value"] for given in inputs}


def send(client: TestClient, check: str, **changes: str) -> Any:
    """The lines as the page has them, some of them changed; names with `_` for `-`."""
    fields = typed(correct_page(client, check)) | {name.replace("_", "-"): value for name, value in changes.items()}
    return client.post(f"/checks/{check}/correct", data=fields)


def moved_to(client: TestClient, check: str, by_px: float = 6.0) -> str:
    """Where the right wall of the second tail lies at the show face, moved."""
    return f"{float(typed(correct_page(client, check))['wall-3-show-x']) + by_px:.2f}"


def corrected(site: Site) -> tuple[str, str]:
    """Board and check of a photo whose walls were corrected."""
    board = site.board()
    check = site.check_of(board)
    why = "a knife line <b>"
    assert send(site.client, check, wall_3_show_x=moved_to(site.client, check), why=why).status_code == 303
    site.work()
    return board, check


def test_the_page_has_the_photo_and_a_field_for_every_end_of_every_line(site: Site) -> None:
    board = site.board()
    check = site.check_of(board)
    assert page(site.client.get(f"/boards/{board}")).all("a", href=f"/checks/{check}/correct")
    found, result = correct_page(site.client, check), site.client.get(f"/api/v1/checks/{check}").json()["result"]
    for number, wall in enumerate(result["walls"]):
        places = [typed(found)[f"wall-{number}-{end}-{axis}"] for end in ("show", "transfer") for axis in "xy"]
        assert [float(place) for place in places] == [*wall["show_px"], *wall["transfer_px"]]
    assert site.client.get(found.all("image")[0]["href"]).status_code == 200
    assert (found.all("form")[0]["data-width"], found.all("form")[0]["data-height"]) == ("1200", "900")


def test_a_corrected_board_is_marked_wherever_it_is_shown(site: Site) -> None:
    board, check = corrected(site)
    found = page(site.client.get(f"/checks/{check}"))
    for words in ("Walls corrected by you", "a knife line <b>", "was placed by hand", "corrected"):
        assert words in found.text
    assert "Walls corrected by you" in page(site.client.get(f"/boards/{board}")).text
    for path in ("/", "/boards", "/boards?show=list", f"/review/{board}", "/review"):
        assert "corrected" in page(site.client.get(path)).text, path
    assert "Correct the walls" in page(site.client.get(f"/review/{board}")).text


def test_the_original_is_one_tap_away_with_its_own_picture(site: Site) -> None:
    _, check = corrected(site)
    shown = page(site.client.get(f"/checks/{check}"))
    assert shown.all("a", href=f"/checks/{check}/original")
    original = page(site.client.get(f"/checks/{check}/original"))
    assert "It does not stand" in original.text
    assert original.all("a", href=f"/checks/{check}")
    pictures = [found.all("img", **{"class": "overlay"})[0]["src"] for found in (shown, original)]
    assert pictures[0] != pictures[1]
    assert [site.client.get(address).status_code for address in pictures] == [200, 200]


def test_a_withdrawn_correction_leaves_the_answer_as_it_was_and_its_picture_gone(site: Site) -> None:
    board = site.board()
    check = site.check_of(board)
    before = site.client.get(f"/api/v1/checks/{check}").json()
    send(site.client, check, wall_3_show_x=moved_to(site.client, check))
    site.work()
    picture = site.client.get(f"/api/v1/checks/{check}").json()["pictures"]["overlay"]
    assert page(site.client.get(f"/checks/{check}")).all("form", action=f"/checks/{check}/correct/withdraw")
    assert site.client.post(f"/checks/{check}/correct/withdraw").status_code == 303
    assert site.client.get(f"/api/v1/checks/{check}").json() == before
    assert site.client.get(picture).headers["location"] == before["pictures"]["overlay"]
    found = page(site.client.get(f"/checks/{check}"))
    assert "withdrawn by Me" in found.text
    assert not found.all("a", href=f"/checks/{check}/original")
    assert site.client.get(f"/checks/{check}/original").headers["location"] == f"/checks/{check}"


def test_what_is_sent_unchanged_or_unreadable_is_said_in_words(site: Site) -> None:
    check = site.check_of(site.board())
    for changes, said in (
        ({}, "nothing to correct"),
        ({"wall_0_show_x": "far left"}, "two numbers"),
        ({"wall_0_show_x": "nan"}, "lie in the photo"),
        ({"wall_0_out": "yes"}, "come in pairs"),
    ):
        reply = send(site.client, check, **changes)
        assert reply.status_code == 422
        assert said in page(reply).text


def test_a_comma_is_a_decimal_point_and_two_walls_may_be_said_to_be_none(site: Site) -> None:
    check = site.check_of(site.board())
    fields = typed(correct_page(site.client, check)) | {"wall-3-out": "yes", "wall-4-out": "yes"}
    fields["wall-2-show-x"] = fields["wall-2-show-x"].replace(".", ",")
    assert site.client.post(f"/checks/{check}/correct", data=fields).status_code == 303
    (made,) = site.client.get(f"/api/v1/checks/{check}/corrections").json()
    assert len(made["walls"]) == 4
    assert [wall["zoom"] for wall in made["walls"]] == [None] * 4


def test_lines_that_could_not_be_used_are_said_on_the_boards_page(site: Site) -> None:
    check = site.check_of(site.board())
    send(site.client, check, wall_0_show_x="0")
    site.work()
    found = page(site.client.get(f"/checks/{check}"))
    assert "could not be used" in found.text
    assert "do not make up whole tails" in found.text


def test_a_photo_without_lines_has_nothing_to_correct(site: Site) -> None:
    board = site.board("cardless")
    check = site.check_of(board)
    assert not page(site.client.get(f"/boards/{board}")).all("a", href=f"/checks/{check}/correct")
    assert "Measure the photo again first" in correct_page(site.client, check).text
    assert site.client.get(f"/api/v1/checks/{check}/walls").json() == []


def test_a_program_corrects_reads_and_withdraws(site: Site) -> None:
    check = site.check_of(site.board())
    address = f"/api/v1/checks/{check}"
    walls = site.client.get(f"{address}/walls").json()
    walls[3]["show_px"][0] += 6.0
    walls[3]["zoom"] = 4.0
    made = site.client.put(f"{address}/walls", json={"walls": walls, "why": "knife line"})
    assert (made.status_code, made.json()["state"]) == (202, "waiting")
    site.work()
    answer = site.client.get(address).json()
    assert answer["corrected"]
    assert answer["original"]["walls"][3]["flags"] == []
    assert answer["result"]["walls"][3]["flags"] == ["placed_by_hand"]
    (seen,) = site.client.get(f"{address}/corrections").json()
    assert (seen["state"], seen["why"], seen["walls"]) == ("standing", "knife line", walls)
    assert site.client.delete(f"{address}/walls").status_code == 204
    assert not site.client.get(address).json()["corrected"]
    assert site.client.delete(f"{address}/walls").status_code == 422


@pytest.mark.parametrize("path", [path for path in NEEDED if re.search("correct|original|walls", path)])
def test_every_route_of_corrections_asks_for_somebody_who_is_let_in(path: str) -> None:
    assert NEEDED[path] is Standing.PAIRED


def test_an_instructor_corrects_a_students_board_and_the_student_sees_who_did(bench: Bench) -> None:
    check = bench.check
    assert page(bench.wren.get(f"/review/{bench.board}")).all("a", href=f"/checks/{check}/correct")
    reply = send(bench.wren, check, wall_3_show_x=moved_to(bench.wren, check), why="Look closer.")
    assert reply.status_code == 303
    work_off(bench.school)
    found = page(bench.juno.get(f"/checks/{check}"))
    assert re.search(r"Walls corrected by .*ren", found.text)
    assert "Look closer." in found.text
    assert not found.all("a", href=f"/checks/{check}/correct")
    assert not found.all("form", action=f"/checks/{check}/correct/withdraw")
    assert bench.juno.post(f"/checks/{check}/correct/withdraw").status_code == 403
    assert "It does not stand" in page(bench.juno.get(f"/checks/{check}/original")).text
    assert bench.wren.post(f"/checks/{check}/correct/withdraw").status_code == 303
