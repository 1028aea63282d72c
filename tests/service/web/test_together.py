"""The page of a board with several photos: what they say together, and which of them count."""

from __future__ import annotations

import re

import pytest

from service.kept.plan_store import PlanStore
from service.texts import text
from service.use_cases.pair_device import issue_token
from tests.service.jobs.test_told import PLAN, keep_print
from tests.service.one_board import measure_one_board
from tests.service.web.site import Lan, Site, page, photo


@pytest.fixture(autouse=True)
def one_board(monkeypatch: pytest.MonkeyPatch, core: None) -> None:
    measure_one_board(monkeypatch)


def board_of(site: Site, *views: str) -> str:
    """A board with photos of these views, answered and put together."""
    board = ""
    for number, view in enumerate(views):
        board = site.send(photo(number), board=board, view=view).headers["location"].rsplit("/", 1)[1]
    site.work()
    return board


def test_the_section_shows_both_parts_with_their_drawings(site: Site) -> None:
    board = board_of(site, "end", "end", "show", "transfer")
    shown = site.client.get(f"/boards/{board}")
    told = page(shown)
    for key in ("together.title", "together.part_board", "together.part_end", "together.which"):
        assert text(key) in told.text
    assert told.all("a", href="#together")  # from the photo's own answer to what all say
    drawings = re.findall(r'src="(/boards/[\w-]+/together/\w+/[\w.]+)"', shown.text)
    assert len(set(drawings)) == 2
    for address in drawings:
        reply = site.client.get(address)
        assert reply.headers["content-type"] == "image/jpeg"
        assert "sandbox" in reply.headers["content-security-policy"]
    assert len(told.all("input", type="checkbox", name="photos")) == 4
    led = {
        site.client.get(f"/boards/{board}/together/{part}/before.jpg").headers["location"] for part in ("end", "board")
    }
    assert led == set(drawings)


def test_one_photo_alone_has_no_such_section(site: Site) -> None:
    assert text("together.title") not in page(site.client.get(f"/boards/{board_of(site, 'end')}")).text


def test_a_faces_page_shows_its_cuts_and_its_numbers(site: Site) -> None:
    board = board_of(site, "end", "show")
    face = site.client.get(f"/api/v1/boards/{board}").json()["checks"][1]["id"]
    told = page(site.client.get(f"/checks/{face}")).text
    assert "No cut is past the baseline." in told
    assert text("face.baseline") in told
    assert text("board.budget") not in told


def test_unticking_a_photo_leaves_it_out(site: Site) -> None:
    board = board_of(site, "end", "end", "show")
    ids = [check["id"] for check in site.client.get(f"/api/v1/boards/{board}").json()["checks"]]
    reply = site.client.post(f"/boards/{board}/together", data={"photos": [ids[0], ids[2]]})
    assert reply.headers["location"] == f"/boards/{board}#together"
    assert text("together.waiting") in page(site.client.get(f"/boards/{board}")).text
    site.work()
    told = site.client.get(f"/api/v1/boards/{board}").json()["together"]
    assert [each["check"] for each in told["photos"]] == [ids[0], ids[2]]
    assert told["left_out"] == [ids[1]]
    assert told["end"] is None
    site.client.post(f"/boards/{board}/together", data={"photos": []})
    assert text("together.too_few") in page(site.client.get(f"/boards/{board}")).text


def test_programs_choose_and_read_the_same(site: Site) -> None:
    board = board_of(site, "end", "show")
    ids = [check["id"] for check in site.client.get(f"/api/v1/boards/{board}").json()["checks"]]
    reply = site.client.put(f"/api/v1/boards/{board}/together", json={"photos": ids})
    assert reply.status_code == 202
    told = reply.json()
    assert told["state"] == "ready"
    assert told["board"]["ok"]
    assert site.client.get(told["pictures"]["board"]).status_code == 200


def test_a_wrongly_named_photo_is_measured_again_as_what_it_shows(site: Site) -> None:
    board = board_of(site, "end", "end")
    second = site.client.get(f"/api/v1/boards/{board}").json()["checks"][1]["id"]
    assert site.client.post(f"/checks/{second}/again", data={"view": "transfer"}).status_code == 303
    site.work()
    whole = site.client.get(f"/api/v1/boards/{board}").json()
    assert [check["view"] for check in whole["checks"]] == ["end", "transfer"]
    assert whole["together"]["end"] is None
    assert whole["together"]["board"]["ok"]


def test_a_board_with_a_measured_face_alone_can_be_looked_at_and_reviewed(site: Site) -> None:
    board = board_of(site, "show")
    for path in (f"/boards/{board}", f"/review/{board}"):
        assert "No cut is past the baseline." in page(site.client.get(path)).text


def test_kept_plans_and_prints_are_offered_by_name(site: Site) -> None:
    assert 'name="print"' not in site.client.get("/").text
    PlanStore(site.house.data).put(PLAN)
    keep_print(site.house.data, "laser", 1.001)
    told = page(site.client.get("/"))
    assert told.all("option", value="box")
    assert told.all("option", value="laser")
    board = site.board("good", plan="box", print="laser")
    shown = page(site.client.get(f"/boards/{board}"))
    assert text("plan.title") in shown.text
    assert any("selected" in option for option in shown.all("option", value="laser"))


def test_drawings_of_another_persons_board_are_not_found(lan: Lan) -> None:
    board = board_of(lan.here, "end", "show")
    address = lan.here.client.get(f"/api/v1/boards/{board}").json()["together"]["pictures"]["board"]
    ben = {"authorization": f"Bearer {issue_token('ben', 'script', lan.here.house.ports)}"}
    assert lan.here.client.get(address).status_code == 200
    assert lan.phone.get(address, headers=ben).status_code == 404


def test_photos_stand_in_the_order_that_their_numbers_count(site: Site) -> None:
    board = board_of(site, "end", "show", "transfer")
    found = page(site.client.get(f"/boards/{board}"))
    strip = [given["href"].rsplit("/", 1)[1] for given in found.all("a") if given["href"].startswith("/checks/")]
    ticked = [given["value"] for given in found.all("input", name="photos")]
    assert len(ticked) == 3
    assert [check for check in strip if check in ticked] == 2 * ticked  # at a glance, and with pictures


def test_a_review_leads_to_every_photo_from_its_top_and_tells_what_they_say_together(site: Site) -> None:
    board = board_of(site, "end", "show")
    checks = [check["id"] for check in site.client.get(f"/api/v1/boards/{board}").json()["checks"]]
    reply = site.client.get(f"/review/{board}")
    found, top = page(reply), reply.text.split('id="judged"')[0]
    assert all(f'href="/review/{board}?check={check}"' in top for check in checks)
    assert found.all("a", href=f"/boards/{board}#together")
    assert text("together.title") in found.text
