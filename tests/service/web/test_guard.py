"""Who is let in, how much, and how browsers are told to be strict."""

from __future__ import annotations

import errno
import re
from collections.abc import Iterator

import pytest
import sqlalchemy as sa

from service.texts import text
from service.web.app import MOST_AT_ONCE, create_app
from service.web.looks import FOLDER
from tests.service.web.site import HERE, Site, page, photo
from vision.photo.decode import MAX_BYTES

BY_SCRIPT = {"accept": "application/json"}


@pytest.mark.parametrize(
    "address", ["/", "/boards", "/help", "/settings", "/nothing", "/static/style.css", "/api/v1/boards"]
)
def test_every_answer_carries_the_strict_headers(site: Site, address: str) -> None:
    headers = site.client.get(address).headers
    policy = dict(part.split(" ", 1) for part in headers["content-security-policy"].split("; "))
    assert policy["default-src"] == "'none'"
    assert policy["script-src"] == policy["style-src"] == "'self'"
    assert policy["connect-src"] == policy["form-action"] == "'self'"
    assert policy["frame-ancestors"] == policy["base-uri"] == "'none'"
    assert headers["x-content-type-options"] == "nosniff"
    names = ("referrer-policy", "cross-origin-opener-policy", "cross-origin-resource-policy")
    assert {headers[name] for name in names} == {"same-origin"}


@pytest.mark.parametrize("address", ["/", "/boards", "/settings", "/api/v1/boards", "/nothing"])
def test_no_browser_and_no_server_on_the_way_keeps_a_page_with_somebodys_boards(site: Site, address: str) -> None:
    assert site.client.get(address).headers["cache-control"] == "no-store"


@pytest.mark.parametrize("address", ["/", "/boards", "/nothing", "/static/style.css", "/api/v1/boards"])
def test_the_head_of_an_answer_is_that_of_the_answer(site: Site, address: str) -> None:
    head, whole = site.client.head(address), site.client.get(address)
    assert head.status_code == whole.status_code
    assert head.headers["content-type"] == whole.headers["content-type"]
    assert head.content == b""


@pytest.mark.parametrize("address", ["/", "/boards", "/help", "/settings", "/nothing"])
def test_no_page_asks_anybody_else_for_anything(site: Site, address: str) -> None:
    """And none carries script or style of its own, which the policy would not run."""
    reply = site.client.get(address)
    assert re.findall(r"(?:https?:)?//[a-z]", reply.text) == []
    found = page(reply)
    assert all("src" in given for given in found.all("script"))
    assert not found.all("style")
    assert not any(name.startswith("on") or name == "style" for _, given in found.elements for name in given)


def test_scripts_and_styles_ask_nobody_else_either() -> None:
    """The namespace of SVG elements is a name that nobody asks for."""
    for path in (FOLDER / "static").glob("*.[cj]s*"):
        source = path.read_text(encoding="utf-8").replace("// ", "").replace("http://www.w3.org/2000/svg", "")
        assert re.findall(r"(?:https?:)?//[a-z]", source) == [], path.name


@pytest.mark.parametrize(
    "host", ["evil.example", "evil.example:8017", "localhost.evil.example", "", "10.0.0.5:8017", "["]
)
def test_a_name_that_is_not_ours_is_turned_away(site: Site, host: str) -> None:
    """A page elsewhere could point its own name at this computer (DNS rebinding)."""
    assert site.client.get("/", headers={"host": host}).status_code == 421


@pytest.mark.parametrize("host", ["localhost", "127.0.0.1:8017", "[::1]:8017", "LOCALHOST:8017"])
def test_the_names_of_this_computer_are_ours(site: Site, host: str) -> None:
    assert site.client.get("/", headers={"host": host}).status_code == 200


@pytest.mark.parametrize(
    "headers",
    [
        {"origin": "https://evil.example"},
        {"origin": "null"},
        {"origin": "http://["},
        {"origin": "http://localhost:9999"},
        {"sec-fetch-site": "cross-site"},
        {"sec-fetch-site": "same-site"},
    ],
)
def test_another_sites_form_or_script_changes_nothing(site: Site, headers: dict[str, str]) -> None:
    board = site.board()
    for method, address in (("POST", f"/boards/{board}/delete"), ("DELETE", f"/api/v1/boards/{board}")):
        assert site.client.request(method, address, headers=headers).status_code == 403
    assert site.client.get(f"/boards/{board}").status_code == 200


def test_our_own_pages_may_change_things(site: Site) -> None:
    ours = {"origin": "http://localhost:8017", "sec-fetch-site": "same-origin"}
    typed = {"sec-fetch-site": "none"}  # an address that was typed or bookmarked
    for headers in (ours, typed, {}):
        assert site.client.post("/settings", data={"units": "inch"}, headers=headers).status_code == 303


def test_a_body_that_is_too_large_is_refused_by_its_header(site: Site) -> None:
    told = {"content-length": str(MOST_AT_ONCE * MAX_BYTES + 1)}
    assert site.client.post("/photos", headers=told, content=b"").status_code == 413


def test_a_body_that_grows_past_the_limit_is_refused_whatever_its_header_says(site: Site) -> None:
    from starlette.testclient import TestClient

    from service.web.guard import Guard

    app = create_app(site.house.ports, site.house.data)
    app.user_middleware[0].kwargs["most_bytes"] = 1000
    assert app.user_middleware[0].cls is Guard

    def body(size: int) -> Iterator[bytes]:
        yield b"x" * 500
        yield b"x" * (size - 500)

    with TestClient(app, base_url="http://localhost", client=HERE) as client:
        for size, status in ((1000, 422), (1001, 413)):
            for content in (body(size), b"x" * size):  # without and with a header that says how much comes
                reply = client.post("/api/v1/boards", content=content, headers={"content-type": "application/json"})
                assert reply.status_code == status


def test_faults_are_told_without_their_insides(site: Site, monkeypatch: pytest.MonkeyPatch) -> None:
    from starlette.testclient import TestClient

    def broken(*unused: object) -> None:
        raise ZeroDivisionError("secret inside")

    monkeypatch.setattr("service.web.routes_log.look_at_board", broken)
    with TestClient(site.client.app, base_url="http://localhost", client=HERE) as client:
        reply = client.get("/boards/any")
    assert reply.status_code == 500
    assert "A fault in the program" in page(reply).text
    assert "secret inside" not in reply.text
    assert reply.headers["x-content-type-options"] == "nosniff"


def test_a_full_disk_is_told_as_one_and_what_is_kept_can_still_be_seen_and_deleted(
    site: Site, monkeypatch: pytest.MonkeyPatch
) -> None:
    from starlette.testclient import TestClient

    board = site.board()

    def full(path: object, data: bytes) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr("service.storage.photo_files._write_whole", full)
        with TestClient(site.client.app, base_url="http://localhost", client=HERE) as client:
            reply = client.post("/photos", files={"photos": ("a.jpg", photo(1), "image/jpeg")}, headers=BY_SCRIPT)
    assert (reply.status_code, reply.json()["message"]) == (507, text("error.no_room"))
    engine = site.house.engine
    if engine.dialect.name != "sqlite":
        return
    with engine.begin() as connection:
        pages = connection.execute(sa.text("PRAGMA page_count")).scalar_one()
    sa.event.listen(engine, "begin", lambda connection: connection.exec_driver_sql(f"PRAGMA max_page_count={pages}"))
    with TestClient(site.client.app, base_url="http://localhost", client=HERE) as client:
        notes = {"notes": "x" * 4000}
        replies = [client.post(f"/boards/{board}", data=notes | {"saw": f"saw {number}"}) for number in range(3)]
        reply = client.post("/photos", files={"photos": ("a.jpg", photo(2), "image/jpeg")}, headers=BY_SCRIPT)
    assert 507 in {each.status_code for each in (*replies, reply)}
    assert site.client.get(f"/boards/{board}").status_code == 200
    assert site.client.post(f"/boards/{board}/delete").status_code == 303


def test_what_is_not_there_is_told_with_a_way_on(site: Site) -> None:
    for address in (
        "/boards/never",
        "/checks/never",
        "/pictures/a/overlay/b.jpg",
        "/pictures/a/../../secret",
        "/nothing",
    ):
        reply = site.client.get(address)
        assert reply.status_code == 404
        assert page(reply).all("a", href="/boards")


def test_the_stored_photo_carries_no_place(site: Site) -> None:
    from tests.service.uploads.test_clean import SECRET
    from tests.service.uploads.test_clean import photo as private

    reply = site.client.post(
        "/photos", data={"name": "good"}, files={"photos": ("a.jpg", private("JPEG"), "image/jpeg")}
    )
    check = site.check_of(reply.headers["location"].rsplit("/", 1)[1])
    original = site.client.get(f"/api/v1/checks/{check}").json()["pictures"]["original"]
    assert SECRET not in site.client.get(original).content
    assert photo() != private("JPEG")
