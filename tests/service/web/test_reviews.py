"""The pages and the API of reviews: the queue, the page to judge a board on, and what the student sees of it."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import Any

import pytest
from starlette.datastructures import UploadFile
from starlette.testclient import TestClient

from service.texts import text
from service.use_cases.pair_device import issue_token
from service.use_cases.sign_in import remove_person
from service.web.policy import NEEDED
from tests.service.web.site import Page, Site, page, photo
from tests.service.web.test_class import post, school
from tests.service.web.test_classes import Bench, bench
from tests.service.web.test_policy import UNREACHED, filled, routes_of

__all__ = ["bench", "school"]
PHOTO = {"photos": ("a.jpg", photo(7), "image/jpeg")}
MARK = {"x": "25,5", "y": "60", "comment": "The saw left the line here."}


def judge_page(client: TestClient, board: str, more: str = "") -> Page:
    return page(client.get(f"/review/{board}{more}"))


def hidden(found: Page) -> dict[str, str]:
    """The fields that the form carries along."""
    return {given["name"]: given["value"] for given in found.all("input", type="hidden")}


def judge(bench: Bench, **fields: Any) -> Any:
    """A review by Wren of Juno's board, sent as the page sends it."""
    return bench.wren.post(f"/review/{bench.board}", data=hidden(judge_page(bench.wren, bench.board)) | fields)


def test_the_queue_counts_in_the_navigation_and_shows_each_board_large(bench: Bench) -> None:
    found = page(bench.wren.get("/review"))
    assert "One board waits." in found.text
    assert found.all("a", href=f"/review/{bench.board}")
    assert ": 1 boards to review" in page(bench.wren.get("/boards")).text
    pictures = [given for given in found.all("img") if given["src"].startswith("/pictures/")]
    assert len(pictures) == 1
    assert "overlay" in pictures[0]["srcset"]
    for address in (pictures[0]["src"], *re.findall(r"(/\S+) \d+w", pictures[0]["srcset"])):
        assert bench.wren.get(address).status_code == 200


def test_students_have_neither_a_queue_nor_a_link_to_one(bench: Bench) -> None:
    assert not page(bench.juno.get("/boards")).all("a", href="/review")
    for path in ("/review", f"/review/{bench.board}"):
        assert bench.juno.get(path).status_code == 404


def test_a_review_is_shown_to_the_student_beside_the_tools_advice_with_marks_over_the_picture(bench: Bench) -> None:
    assert judge(bench, decision="pare", remarks="Slower.", **MARK).headers["location"] == "/review"
    seen = page(bench.juno.get(f"/boards/{bench.board}"))
    for words in ("Reviewed by", "Slower.", MARK["comment"], "The tool's own advice", "start over"):
        assert words in seen.text
    (spot,) = seen.all("svg", **{"class": "spot"})
    assert (spot["x"], spot["y"]) == ("25.50%", "60.00%")
    assert "reviewed: pare" in page(bench.juno.get("/boards")).text
    assert "reviewed: pare" in page(bench.juno.get("/boards?show=list")).text
    assert "Nothing waits" in page(bench.wren.get("/review")).text


def test_a_review_is_news_on_the_first_page_and_in_the_log_until_it_was_seen(bench: Bench) -> None:
    new, path, news = text("review.new"), f"/boards/{bench.board}", f"/boards/{bench.board}#review"
    pages = "/", "/boards", "/boards?show=list"
    assert not any(new in page(bench.juno.get(shown)).text for shown in pages)
    judge(bench, decision="pare")
    assert [page(bench.juno.get(shown)).text.count(new) for shown in pages] == [2, 1, 1]
    assert page(bench.juno.get("/")).all("a", href=news)
    assert not any(new in page(bench.wren.get(shown)).text for shown in pages)
    review = bench.juno.get(f"/api/v1{path}/reviews").json()[0]["id"]
    bench.juno.post(f"/reviews/{review}/seen")
    assert not any(new in page(bench.juno.get(shown)).text for shown in pages)
    bench.school.house.later(minutes=1)
    judge(bench, decision="transfer")
    assert page(bench.juno.get("/")).all("a", href=news)


def test_no_page_of_reviews_carries_style_or_script_of_its_own(bench: Bench) -> None:
    judge(bench, decision="pare", **MARK)
    for client, path in (
        (bench.wren, "/review?show=reviewed"),
        (bench.wren, f"/review/{bench.board}"),
        (bench.wren, "/remarks"),
        (bench.juno, f"/boards/{bench.board}"),
    ):
        found = page(client.get(path))
        assert not [given for _, given in found.elements if "style" in given or any(key[:2] == "on" for key in given)]
        assert not found.all("style")
        assert all("src" in given for given in found.all("script"))


def test_what_was_typed_is_shown_once_more_with_what_is_wrong(bench: Bench) -> None:
    for fields, why in (
        ({"remarks": "Nearly.", **MARK}, "Decide first"),
        ({"decision": "pare", "remarks": "Nearly.", **MARK, "comment": ""}, "Every mark needs a comment"),
        ({"decision": "pare", "remarks": "Nearly.", **MARK, "x": "left"}, "Mark 1 has no place"),
        ({"decision": "pare", "remarks": "Nearly.", **MARK, "y": "101"}, "A mark lies on the picture"),
    ):
        reply = judge(bench, **fields)
        assert reply.status_code == 422
        again = page(reply)
        assert why in again.text
        assert "Nearly." in again.text
        assert any(given["value"] == fields["x"] for given in again.all("input", name="x"))
    assert bench.wren.get(f"/api/v1/boards/{bench.board}/reviews").json() == []


def test_fields_for_marks_that_were_left_empty_are_passed_over(bench: Bench) -> None:
    columns = {name: [value, ""] for name, value in MARK.items()}
    assert judge(bench, decision="pare", **columns).status_code == 303
    (review,) = bench.wren.get(f"/api/v1/boards/{bench.board}/reviews").json()
    assert review["marks"] == [{"x": 0.255, "y": 0.6, "comment": MARK["comment"]}]


def test_a_file_that_a_review_brings_along_is_closed(bench: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    closed: list[str | None] = []
    really = UploadFile.close

    async def close(self: UploadFile) -> None:
        closed.append(self.filename)
        await really(self)

    monkeypatch.setattr(UploadFile, "close", close)
    files = {"stray": ("stray.jpg", b"no part of the form", "image/jpeg")}
    bench.wren.post(f"/review/{bench.board}", data={"decision": "pare"}, files=files)
    assert closed == ["stray.jpg"]


def test_marks_can_lie_on_the_photo_itself(bench: Bench) -> None:
    found = judge_page(bench.wren, bench.board, "?on=screen")
    (stage,) = (given for given in found.all("img") if "/screen/" in given["src"])
    bench.wren.post(f"/review/{bench.board}", data=hidden(found) | {"decision": "pare"} | MARK)
    assert page(bench.juno.get(f"/boards/{bench.board}")).all("img", src=stage["src"])


def test_the_page_knows_where_the_end_lies_in_photo_and_drawing_of_a_measured_board(bench: Bench) -> None:
    (drawn,) = judge_page(bench.wren, bench.board).all("div", id="judged")
    assert drawn["data-end"] == "50.0 70.0"
    result = bench.juno.get(f"/api/v1/checks/{bench.check}").json()["result"]
    width, height = result["photo"]["size_px"]
    ends = [wall[end] for wall in result["walls"] for end in ("show_px", "transfer_px")]
    (photo_,) = judge_page(bench.wren, bench.board, "?on=screen").all("div", id="judged")
    x, y = map(float, photo_["data-end"].split())
    assert min(x for x, _ in ends) < x / 100.0 * width < max(x for x, _ in ends)
    assert min(y for _, y in ends) < y / 100.0 * height < max(y for _, y in ends)
    cardless = bench.juno.post("/photos", data={"name": "cardless", "assignment": bench.assignment}, files=PHOTO)
    Site(bench.wren, bench.school.house).work()
    (refused,) = judge_page(bench.wren, cardless.headers["location"].split("/")[-1]).all("div", id="judged")
    assert "data-end" not in refused


def test_a_review_stays_on_its_picture_when_the_photo_is_measured_again(bench: Bench) -> None:
    judge(bench, decision="pare", **MARK)
    before = bench.juno.get(f"/api/v1/boards/{bench.board}/reviews").json()[0]["picture"]
    bench.juno.post(f"/checks/{bench.check}/again", data={"stage": "cleared", "card_side": "show"})
    Site(bench.wren, bench.school.house).work()
    assert page(bench.juno.get(f"/boards/{bench.board}")).all("img", src=before)
    for client, status in ((bench.juno, 200), (bench.wren, 200), (bench.kit, 404), (bench.moss, 404)):
        assert client.get(before).status_code == status
    assert bench.juno.get(before.rsplit("/", 1)[0] + "/other.jpg").status_code == 404


def test_saving_leads_to_the_next_board_or_stays(bench: Bench) -> None:
    second = bench.juno.post("/api/v1/boards", json={"name": "good second"}).json()["id"]
    with bench.school.house.ports.unit_of_work() as uow:
        first = uow.boards.get(bench.board)
        uow.boards.put(replace(first, id=second, name="second"))
        uow.commit()
    assert page(bench.wren.get(f"/review/{bench.board}?student=nobody")).all("a", rel="next") == []
    stays = judge(bench, decision="pare", then="stay").headers["location"]
    assert stays == f"/review/{bench.board}?just=saved#told"
    said = page(bench.wren.get(stays))
    assert "Saved: pare." in said.text
    assert said.all("details", **{"class": "past", "open": ""})
    assert "Saved:" not in judge_page(bench.wren, bench.board).text
    (link,) = judge_page(bench.wren, bench.board).all("a", rel="next")
    assert link["href"] == f"/review/{second}"
    assert judge(bench, decision="pare").headers["location"] == f"/review/{second}"


def test_the_student_says_that_they_saw_it_and_the_instructor_knows(bench: Bench) -> None:
    judge(bench, decision="pare")
    seen = page(bench.juno.get(f"/boards/{bench.board}"))
    assert "Not seen by the student yet" in page(bench.wren.get(f"/review/{bench.board}")).text
    (form,) = (given for given in seen.all("form") if given["action"].endswith("/seen"))
    assert bench.juno.post(form["action"]).headers["location"] == f"/boards/{bench.board}#review"
    assert "Seen by the student" in page(bench.wren.get(f"/review/{bench.board}")).text


def test_what_an_instructor_decided_who_has_left_is_told_as_a_decision_without_a_name(bench: Bench) -> None:
    judge(bench, decision="pare", remarks="Slower.", **MARK)
    remove_person(bench.person("wren"), bench.school.house.ports, heir=bench.person("moss"))
    seen = page(bench.juno.get(f"/boards/{bench.board}"))
    assert f"Reviewed by {text('account.who_left')}" in seen.text
    assert "Slower." in seen.text
    assert len(seen.all("svg", **{"class": "spot"})) == 1
    (form,) = (given for given in seen.all("form") if given["action"].endswith("/seen"))
    assert bench.juno.post(form["action"]).status_code == 303
    (review,) = bench.juno.get(f"/api/v1/boards/{bench.board}/reviews").json()
    assert (review["reviewer"], review["name"], review["imported"]) == (None, "", False)
    assert bench.juno.get(f"/api/v1/boards/{bench.board}").json()["decision"] == "pare"
    assert bench.juno.get(review["picture"]).status_code == 200


def test_remarks_to_say_again_are_offered_on_the_page_and_kept_by_its_script(bench: Bench) -> None:
    assert post(bench.wren, "/remarks", remark="Watch the far face.").headers["location"] == "/remarks"
    kept = bench.wren.post("/api/v1/remarks", json={"text": "Slower."}).json()
    offered = judge_page(bench.wren, bench.board)
    assert len([given for given in offered.all("button") if "data-phrase" in given]) == 2
    assert "Slower. Watch the far face." in offered.text
    assert post(bench.wren, f"/remarks/{kept['id']}/remove").status_code == 303
    assert [each["text"] for each in bench.wren.get("/api/v1/remarks").json()] == ["Watch the far face."]


def test_a_program_does_all_of_it(bench: Bench) -> None:
    (queued,) = bench.wren.get("/api/v1/review").json()["boards"]
    assert (queued["board"]["id"], queued["check"]) == (bench.board, bench.check)
    check = bench.wren.get(f"/api/v1/checks/{bench.check}").json()
    picture = check["pictures"]["overlay"].rsplit("/", 1)[1]
    said = {"decision": "transfer", "marks": [{"x": 0.5, "y": 0.25, "comment": "Fine."}], "remarks": "Good."}
    address = f"/api/v1/boards/{bench.board}/reviews"
    assert bench.wren.post(address, json=said).status_code == 422  # marks without a picture
    made = bench.wren.post(address, json=said | {"check": bench.check, "picture": picture})
    assert made.status_code == 201
    review = made.json()
    assert (review["advice"], review["decision"], review["seen_at"]) == ("start over", "transfer", None)
    assert bench.juno.post(f"/api/v1/reviews/{review['id']}/seen").json()["seen_at"] is not None
    assert bench.juno.get(f"/api/v1/boards/{bench.board}").json()["decision"] == "transfer"
    assert bench.wren.get("/api/v1/review").json()["total"] == 0
    assert bench.wren.get("/api/v1/review", params={"show": "reviewed"}).json()["total"] == 1


def test_every_route_of_reviews_turns_away_everybody_who_has_no_business_there(bench: Bench) -> None:
    """Moss instructs no class of Juno's, Kit is no student of the bench; Juno may not review."""
    judge(bench, decision="pare", **MARK)
    (review,) = bench.wren.get(f"/api/v1/boards/{bench.board}/reviews").json()
    remark = bench.wren.post("/api/v1/remarks", json={"text": "Slower."}).json()["id"]
    ids = bench.ids | {"review": review["id"], "name": review["picture"].rsplit("/", 1)[1], "remark": remark}
    tried = 0
    for method, path in routes_of(bench.school.house):
        named = set(UNREACHED.findall(path))
        if not (("review" in path and named) or "remark" in named):
            continue
        body: dict[str, Any] = {"json": {"decision": "transfer"}} if path.startswith("/api/") else {"data": {}}
        for client in (bench.moss, bench.kit):
            reply = client.request(method, filled(path, **ids), **(body if method == "POST" else {}))
            assert reply.status_code == 404, f"{method} {path}"
        tried += 1
    assert tried >= 9
    assert bench.juno.post(f"/review/{bench.board}", data={"decision": "transfer"}).status_code == 404
    assert bench.juno.post(f"/api/v1/boards/{bench.board}/reviews", json={"decision": "pare"}).status_code == 404
    assert bench.wren.post(f"/reviews/{review['id']}/seen").status_code == 404
    assert len(bench.wren.get(f"/api/v1/boards/{bench.board}/reviews").json()) == 1
    assert {path for path in NEEDED if "remark" in path}


def test_an_instructors_program_reviews_with_a_token(bench: Bench) -> None:
    token = issue_token(bench.person("wren"), "script", bench.school.house.ports)
    bearer = {"authorization": f"Bearer {token}"}
    address = f"/api/v1/boards/{bench.board}/reviews"
    reply = bench.school.browser().post(address, headers=bearer, json={"decision": "pare"})
    assert reply.status_code == 201


def test_a_teacher_alone_reviews_from_the_boards_own_page_and_then_finds_the_queue(site: Site) -> None:
    fresh = site.send(photo(1), name="good").headers["location"]
    assert not page(site.client.get(fresh)).all("a", href=fresh.replace("boards", "review"))  # still being measured
    board = site.board()
    found = page(site.client.get(f"/boards/{board}"))
    assert found.all("a", href=f"/review/{board}")
    assert not found.all("a", href="/review")
    assert site.client.post(f"/review/{board}", data={"decision": "pare", "then": "stay"}).status_code == 303
    after = page(site.client.get(f"/boards/{board}"))
    assert after.all("a", href="/review")
    assert "Reviewed by you" in after.text
    assert not [given for given in after.all("form") if given["action"].endswith("/seen")]


def test_a_photo_that_could_not_be_measured_is_reviewed_with_what_to_do_about_it(site: Site) -> None:
    board = site.board("cardless")
    assert "Lay the printed card beside the end" in judge_page(site.client, board).text
