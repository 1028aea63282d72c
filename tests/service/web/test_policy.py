"""Every route with everybody who may ask: strangers, paired phones, programs, the computer itself, and others' ids."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import pytest
from fastapi.routing import APIRoute
from starlette.testclient import TestClient

from service.use_cases.pair_device import issue_token
from service.web.app import create_app
from service.web.policy import COOKIE, NEEDED, Standing
from tests.service.house import House
from tests.service.web.site import ADDRESS, HERE, PHONE, Lan, page, photo

LINE = {"show_px": [100.0, 200.0], "transfer_px": [100.0, 400.0]}
UNREACHED = re.compile(r"\{(\w+)\}")


def routes_of(house: House) -> Iterator[tuple[str, str]]:
    """Method and path of every route of the app."""
    schema_and_pages = create_app(house.ports, house.data).routes
    pending = list(schema_and_pages)
    while pending:
        route = pending.pop()
        if isinstance(route, APIRoute):
            yield from ((method, route.path) for method in sorted(route.methods))
        pending += getattr(getattr(route, "original_router", None), "routes", [])


def filled(path: str, **ids: str) -> str:
    """A path with ids in it; what is not given is an id that nobody has."""
    known = {"kind": "short", "paper": "a4", "which": "screen", "part": "end"}
    return UNREACHED.sub(lambda found: (known | ids).get(found.group(1), "nobodys"), path)


def test_the_policy_names_every_route_and_no_other(house: House) -> None:
    paths = {path for _, path in routes_of(house)}
    assert len(paths) > 30
    assert paths | {"/api/openapi.json"} == set(NEEDED)


def test_a_stranger_reaches_nothing_but_the_pairing_page_and_what_holds_no_data(lan: Lan) -> None:
    board = lan.here.board()
    ids = {"board": board, "check": lan.here.check_of(board)}
    for method, path in routes_of(lan.here.house):
        reply = lan.phone.request(method, filled(path, **ids))
        if NEEDED[path] is Standing.STRANGER:
            assert reply.status_code in (200, 403, 404, 410), path
        else:
            assert reply.status_code == 401, f"{method} {path}"
    assert lan.here.client.get(f"/boards/{board}").status_code == 200


def test_a_wrong_secret_is_a_strangers_even_on_the_computer_itself(lan: Lan) -> None:
    for headers in ({"authorization": "Bearer guessed"}, {"cookie": f"{COOKIE}=guessed"}):
        for client in (lan.here.client, lan.phone):
            assert client.get("/boards", headers=headers).status_code == 401


def test_a_paired_phone_checks_boards_and_sees_the_log_but_pairs_no_other(lan: Lan) -> None:
    lan.pair()
    assert (
        lan.phone.post("/photos", data={"name": "good"}, files={"photos": ("a.jpg", photo(), "image/jpeg")}).status_code
        == 303
    )
    lan.here.work()
    assert "good" in page(lan.phone.get("/boards")).text
    for method, path in routes_of(lan.here.house):
        expected_403 = NEEDED[path] >= Standing.AT_HOME
        if NEEDED[path] is not Standing.STRANGER:
            assert (lan.phone.request(method, filled(path)).status_code == 403) == expected_403, f"{method} {path}"


def test_ids_of_another_person_are_not_found_on_any_route(lan: Lan) -> None:
    """Ben's token with ids of the solo person's board, check, device, review and saved remark."""
    board = lan.here.board()
    lan.pair()
    with lan.here.house.ports.reading() as uow:
        device = uow.devices.of_person("solo")[0].id
    review = lan.here.client.post(f"/api/v1/boards/{board}/reviews", json={"decision": "pare"}).json()["id"]
    remark = lan.here.client.post("/api/v1/remarks", json={"text": "Slower."}).json()["id"]
    ids = {"board": board, "check": lan.here.check_of(board), "device": device, "review": review, "remark": remark}
    ben = {"authorization": f"Bearer {issue_token('ben', 'script', lan.here.house.ports)}"}
    bodies = {"PUT": {"json": {"name": "mine now", "details": {}}}, "POST": {"data": {}}}
    tried = 0
    for method, path in routes_of(lan.here.house):
        if not {"board", "check", "review", "remark"} & set(UNREACHED.findall(path)):
            continue
        body: dict[str, Any] = {"json": []} if path.endswith("/fits") and method == "PUT" else bodies.get(method, {})
        body = {"json": {}} if path == "/api/v1/checks/{check}/again" else body
        body = {"json": {"note": "mine"}} if path.endswith("/fit-note") else body
        body = {"json": {"walls": [LINE, LINE]}} if path == "/api/v1/checks/{check}/walls" and method == "PUT" else body
        body = {"json": {"decision": "transfer"}} if path == "/api/v1/boards/{board}/reviews" else body
        body = {"json": {"photos": []}} if path == "/api/v1/boards/{board}/together" else body
        body = {"json": {"assignment": None}} if path == "/api/v1/boards/{board}/assignment" else body
        assert lan.phone.request(method, filled(path, **ids), headers=ben, **body).status_code == 404, (
            f"{method} {path}"
        )
        tried += 1
    assert tried >= 14
    assert len(lan.here.client.get(f"/api/v1/boards/{board}/reviews").json()) == 1
    assert len(lan.here.client.get("/api/v1/remarks").json()) == 1
    assert lan.here.client.get(f"/api/v1/boards/{board}").json()["name"] == "good"
    assert (
        lan.phone.post("/photos", headers=ben, data={"board": board}, files={"photos": ("a", photo(9))}).status_code
        == 404
    )


def test_lists_and_exports_hold_ones_own_alone(lan: Lan) -> None:
    lan.here.board("good secret")
    ben = {"authorization": f"Bearer {issue_token('ben', 'script', lan.here.house.ports)}"}
    for path in ("/", "/boards", "/export.json", "/export.csv", "/api/v1/boards", "/api/v1/export.json"):
        reply = lan.phone.get(path, headers=ben)
        assert reply.status_code == 200, path
        assert "good secret" not in reply.text
        assert "good secret" in lan.here.client.get(path).text, path


def test_looking_at_a_pairing_link_does_not_use_it_up_and_pressing_the_button_does(lan: Lan) -> None:
    link = lan.offer()
    for _ in range(3):
        assert page(lan.phone.get(link)).all("form", action=link)
    reply = lan.phone.post(link)
    assert reply.headers["location"] == "/"
    cookie = reply.headers["set-cookie"]
    assert "HttpOnly" in cookie
    assert "SameSite=lax" in cookie
    assert lan.phone.get("/").status_code == 200
    with TestClient(lan.phone.app, base_url=ADDRESS, client=PHONE, follow_redirects=False) as other:
        assert other.post(link).status_code == 410
        assert other.get("/").status_code == 401


def test_a_dropped_phone_is_turned_away(lan: Lan) -> None:
    lan.pair()
    found = page(lan.here.client.get("/devices"))
    drop = next(given["action"] for given in found.all("form") if given["action"].endswith("/drop"))
    assert lan.here.client.post(drop).status_code == 303
    reply = lan.phone.get("/boards")
    assert reply.status_code == 401
    assert "scan the code there" in page(reply).text


def test_a_program_gets_a_token_that_is_shown_once(lan: Lan) -> None:
    made = lan.here.client.post("/devices/token", data={"name": "Spreadsheet"}).text
    token = re.search(r"<code>(secret-\d+)</code>", made)
    assert token is not None
    for scheme in ("Bearer ", "bearer ", "BEARER  "):  # RFC 9110, 11.1: in any letters
        bearer = {"authorization": f"{scheme}{token.group(1)}"}
        assert lan.phone.get("/api/v1/boards", headers=bearer).status_code == 200
    assert token.group(1) not in lan.here.client.get("/devices").text


def test_no_header_makes_a_stranger_pass_for_the_computer_itself(lan: Lan) -> None:
    for header in ("x-forwarded-for", "x-real-ip", "forwarded", "x-client-ip"):
        assert lan.phone.get("/boards", headers={header: "127.0.0.1"}).status_code == 401


@pytest.mark.parametrize(("host", "status"), [("127.0.0.1", 200), ("::1", 200), ("192.168.1.5", 401), ("::2", 401)])
def test_a_browser_on_the_computer_itself_is_told_by_where_it_comes_from(lan: Lan, host: str, status: int) -> None:
    with TestClient(lan.here.client.app, base_url=ADDRESS, client=(host, 50000)) as browser:
        assert browser.get("/boards").status_code == status


def test_without_a_network_the_page_says_how_to_open_one(real_house: House) -> None:
    from service.use_cases.solo import ensure_solo

    ensure_solo(real_house.ports)
    app = create_app(real_house.ports, real_house.data)
    with TestClient(app, base_url="http://localhost", client=HERE) as client:
        assert "Start it with --lan" in page(client.get("/devices")).text
        assert "tailproof serve --class" in page(client.get("/classes")).text
    with TestClient(app, base_url=ADDRESS, client=PHONE) as phone:
        assert phone.get("/").status_code == 421


@pytest.mark.parametrize("name", ["192.168.1.6:8017", "evil.example"])
def test_an_open_service_still_answers_to_its_own_names_alone(lan: Lan, name: str) -> None:
    assert lan.phone.get("/", headers={"host": name}).status_code == 421
