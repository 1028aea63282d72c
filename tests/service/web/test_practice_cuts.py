"""Practice cuts on the pages and in the API: sent, answered, found again, measured otherwise."""

from __future__ import annotations

import re
from typing import Any

import pytest

from service.domain.check import Answer
from tests.service.practice.test_pdf import text_of
from tests.service.web.site import Site, page, photo
from tests.service.web.test_class import school
from tests.service.web.test_classes import Bench, bench

__all__ = ["bench", "school"]


def whole(site: Site, board: str) -> dict[str, Any]:
    found: dict[str, Any] = site.client.get(f"/api/v1/boards/{board}").json()
    return found


def test_the_page_asks_how_practice_cuts_were_made_with_the_usual_chosen(site: Site) -> None:
    for address in ("/", "/without-network"):
        found = page(site.client.get(address))
        assert found.all("fieldset", **{"class": "how-cut"})
        assert found.all("option", value="drill")
        chosen = {given["value"] for given in found.all("option") if "selected" in given}
        assert {"left-to-right", "both"} <= chosen
        assert found.all("input", name="intended", value="0")


def test_sent_as_told_they_are_answered_by_what_to_work_on_then_the_cuts_then_the_figures(site: Site) -> None:
    board = site.board(view="drill", order="right-to-left", intended=" 0, 0 ", keep="left,right")
    told = whole(site, board)["checks"][0]["told"]["how_cut"]
    assert told == {"order": "right-to-left", "intended": "0, 0", "keep": "left,right"}
    words = page(site.client.get(f"/boards/{board}")).text
    places = [
        words.index(said) for said in ("Work on your lean", "Cuts, in the order cut", "Mean lean off what was meant")
    ]
    assert places == sorted(places)
    assert re.search(r"(?<!not )firm \(p < 0\.001\)", words)
    assert "not firm (p = " in words
    assert "What each pin will do" not in words


def test_inches_are_for_who_chose_them(site: Site) -> None:
    board = site.board(view="drill")
    site.client.put("/api/v1/settings", json={"units": "inch"})
    words = page(site.client.get(f"/boards/{board}")).text
    assert " in over the thickness" in words
    assert " mm over" not in words


@pytest.mark.parametrize("typed", ["3,1,2,8,7,6,5,4", " 3 1 2 8 7 6 5 4 ", "3.1.2.8.7.6.5.4", "3; 1, 2,8,7,6,5,4,"])
def test_the_order_may_be_told_by_numbers_as_any_keyboard_writes_them(site: Site, typed: str) -> None:
    board = site.board(view="drill", order="numbers", order_numbers=typed)
    assert whole(site, board)["checks"][0]["told"]["how_cut"]["order"] == "3,1,2,8,7,6,5,4"
    assert whole(site, board)["standing"] == "practice cuts"


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("", "The order must be the cuts' numbers, counted from the left, such as 3,1,2."),
        ("3,one,2", "The order must be the cuts' numbers, counted from the left, such as 3,1,2; got 'one'."),
        ("3,1,3", "The order names cut 3 more than once; name every cut once, counted from the left."),
        ("1,2,4", "The order names cut 4 but not cut 3; name every cut once, counted from the left."),
        ("0,1,2", "The order names a cut 0; the first cut from the left is cut 1."),
    ],
)
def test_numbers_that_are_no_order_are_told_at_their_field_and_nothing_is_kept(
    site: Site, typed: str, said: str
) -> None:
    fields, accept = {"view": "drill", "order": "numbers", "order_numbers": typed}, {"accept": "application/json"}
    files = {"photos": ("a.jpg", photo(), "image/jpeg")}
    reply = site.client.post("/photos", data=fields, files=files, headers=accept)
    assert (reply.status_code, reply.json()["field"]) == (422, "order_numbers")
    assert reply.json()["message"].startswith(said)
    assert site.client.get("/api/v1/boards").json()["total"] == 0


def test_an_order_of_fewer_cuts_than_the_photo_shows_says_how_many_there_are(site: Site) -> None:
    board = site.board(view="drill", order="numbers", order_numbers="3,1,2")
    words = page(site.client.get(f"/boards/{board}")).text
    assert "The order must name each of the 8 cuts in the photo once, counted from the left; it names 3." in words
    reply = site.client.post(
        f"/checks/{site.check_of(board)}/again",
        data={"view": "drill", "order": "numbers", "order_numbers": "8 7 6 5 4 3 2 1"},
    )
    assert reply.status_code == 303
    site.work()
    assert whole(site, board)["standing"] == "practice cuts"


@pytest.mark.parametrize(
    ("field", "typed"),
    [("order", "any"), ("order", "1," * 101), ("intended", "steep"), ("keep", "none"), ("intended", "20")],
)
def test_a_mistake_is_told_at_its_field_and_nothing_is_kept(site: Site, field: str, typed: str) -> None:
    files = {"photos": ("a.jpg", photo(), "image/jpeg")}
    accept = {"accept": "application/json"}
    reply = site.client.post("/photos", data={"view": "drill", field: typed}, files=files, headers=accept)
    assert (reply.status_code, reply.json()["field"]) == (422, field)
    assert any(each in reply.json()["message"] for each in (" must be ", " is too long"))
    assert site.client.get("/api/v1/boards").json()["total"] == 0


def test_of_a_photo_that_shows_an_end_nothing_of_the_sort_is_asked(site: Site) -> None:
    board = site.board(intended="half typed")
    assert whole(site, board)["checks"][0]["told"]["how_cut"]["intended"] == "0"


def test_the_log_shows_them_with_what_to_work_on_and_finds_them_by_their_result(site: Site) -> None:
    board, other = site.board(view="drill"), site.board("good one", 1)
    for show in ("gallery", "list"):
        found = page(site.client.get("/boards", params={"standing": "practice cuts", "show": show}))
        assert found.all("a", href=f"/boards/{board}")
        assert not found.all("a", href=f"/boards/{other}")
        assert "work on your lean" in found.text
    month = page(
        site.client.get("/boards", params={"show": "calendar", "standing": "practice cuts", "month": "2026-03"})
    )
    assert month.all("use", href="/static/signs.svg#practice_cuts")
    listed = site.client.get("/api/v1/boards", params={"standing": "practice cuts"}).json()["boards"]
    assert [(each["id"], each["work_on"]) for each in listed] == [(board, "bias")]


def test_the_photo_is_measured_again_by_what_is_told_otherwise(site: Site) -> None:
    board = site.board(view="drill", intended="7,-7")
    check = site.check_of(board)
    assert page(site.client.get(f"/boards/{board}")).all("input", name="intended", value="7,-7")
    reply = site.client.post(f"/checks/{check}/again", data={"view": "drill", "intended": "1,2,3"})
    assert reply.status_code == 303
    site.work()
    words = page(site.client.get(f"/boards/{board}")).text
    assert "The photo shows other practice cuts than were told of." in words
    assert "3 intended leans were told, but the photo shows 8 cuts." in words
    again = {"view": "drill", "how_cut": {"order": "8,7,6,5,4,3,2,1"}}
    assert site.client.post(f"/api/v1/checks/{check}/again", json=again).status_code == 202
    site.work()
    assert whole(site, board)["standing"] == "practice cuts"
    shown = page(site.client.get(f"/boards/{board}"))
    assert shown.all("input", name="order_numbers", value="8,7,6,5,4,3,2,1")
    assert "selected" in shown.all("option", value="numbers")[0]


def test_each_photo_of_practice_cuts_may_make_a_board_of_its_own_but_no_face(site: Site) -> None:
    files = [("photos", (f"{n}.jpg", photo(n), "image/jpeg")) for n in range(2)]
    reply = site.client.post("/photos", data={"view": "drill", "each": "yes", "name": "Scrap"}, files=files)
    assert reply.headers["location"] == "/boards"
    assert site.client.get("/api/v1/boards").json()["total"] == 2
    assert site.client.post("/photos", data={"view": "show", "each": "yes"}, files=files).status_code == 422


def test_an_instructor_sees_practice_cuts_that_were_handed_in_and_decides_about_them(bench: Bench) -> None:
    fields = {"view": "drill", "name": "good", "assignment": bench.assignment}
    files = {"photos": ("a.jpg", photo(7), "image/jpeg")}
    board = bench.juno.post("/photos", data=fields, files=files).headers["location"].rsplit("/", 1)[1]
    Site(bench.juno, bench.school.house).work()
    assert page(bench.wren.get("/review")).all("a", href=f"/review/{board}")
    judged = page(bench.wren.get(f"/review/{board}"))
    decisions = [given["value"] for given in judged.all("input", name="decision")]
    assert decisions == ["saw tails", "practise more", "photograph again"]
    assert "Mean lean off what was meant" in judged.text
    hidden = {given["name"]: given["value"] for given in judged.all("input", type="hidden")}
    said = hidden | {"decision": "practise more", "remarks": "Slower."}
    reply = bench.wren.post(f"/review/{board}", data=said)
    assert reply.status_code == 303
    assert "practise more" in page(bench.juno.get(f"/boards/{board}")).text


def test_trends_have_a_section_of_practice_cuts_and_charts_of_them(site: Site) -> None:
    for number in range(4):
        site.board(f"good {number}", number, view="drill")
        site.house.later(days=1)
    found = page(site.client.get("/trends"))
    assert "From 4 boards of practice cuts" in found.text
    assert "Practice cuts: mean lean off what was meant: too few boards to compare yet; 2 more will do." in found.text
    assert "None of your boards is measured yet" not in found.text
    chart = site.client.get("/api/v1/trends").json()["charts"]["cuts_lean"]
    rows = [given for given in found.all("tr") if "data-value" in given]  # without ends it is the chart to begin with
    assert [float(row["data-value"]) for row in rows] == chart["points"]["value"] == [0.6] * 4
    site.board("good end", 9)
    both = page(site.client.get("/trends?metric=cuts_scatter"))
    assert "From one measured board." in both.text
    assert len([given for given in both.all("tr") if "data-value" in given]) == 4
    assert both.all("a", href="/trends?boards=100&metric=abs_lean#charts")


def test_a_board_of_practice_cuts_is_printed_on_one_page_from_a_button(site: Site) -> None:
    board = site.board("good scrap", view="drill", notes="Slower.")
    assert page(site.client.get(f"/boards/{board}")).all("a", href=f"/boards/{board}/report.pdf")
    for address in (f"/boards/{board}/report.pdf", f"/api/v1/boards/{board}/report.pdf"):
        reply = site.client.get(address)
        assert reply.headers["content-type"] == "application/pdf"
        words = text_of(reply.content)
        assert all(each in words for each in ("good scrap", "Work on your lean", "Slower."))
    dark = site.board("cardless", 1, view="drill")
    assert site.client.get(f"/boards/{dark}/report.pdf").status_code == 404


def test_a_period_of_practice_cuts_is_printed_from_the_page_of_trends(site: Site) -> None:
    for number in range(2):
        site.board(f"good {number}", number, view="drill")
        site.house.later(days=1)
    assert page(site.client.get("/trends")).all("a", href="/practice.pdf")
    for address in ("/practice.pdf", "/api/v1/practice.pdf"):
        words = text_of(site.client.get(address).content)
        assert "2 boards of practice cuts" in words
        assert "Mean lean off what was meant: 0.60 degrees, mean of 2 boards." in words
        assert all(f"good {number}" in words for number in range(2))
    site.board("good end", 9)
    assert len(page(site.client.get("/trends")).all("a", href="/practice.pdf")) == 1
    assert "1 board · 2 boards of practice cuts" in text_of(site.client.get("/practice.pdf").content)


@pytest.mark.parametrize(("reason", "asked"), [("kerfs_do_not_pair", True), ("no_kerfs", True), ("no_card", False)])
def test_cuts_that_make_up_no_tails_may_be_practice_cuts(site: Site, reason: str, *, asked: bool) -> None:
    words = {"message": "No.", "what_to_do": "Look."}
    refusal = {"schema": 1, "ok": False, "refusal": {"reason": reason, **words}}
    board = site.send(photo(), name="good").headers["location"]
    site.house.answer(Answer(refusal, {"mm": words, "inch": words}))
    assert ("If these are practice cuts" in page(site.client.get(board)).text) is asked
