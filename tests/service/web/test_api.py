"""The API does all that the pages do, says what it does in OpenAPI, and stands whatever it is sent."""

from __future__ import annotations

import io
import json
from typing import Any

import schemathesis
from hypothesis import HealthCheck, Phase, given, settings
from schemathesis.specs.openapi.checks import positive_data_acceptance

from service.use_cases.pair_device import issue_token
from service.use_cases.solo import SOLO
from tests.service.web.site import Site, photo


def send(site: Site, number: int = 0, **fields: str) -> dict[str, Any]:
    files = {"photo": ("a.jpg", photo(number), "image/jpeg")}
    reply = site.client.post("/api/v1/photos", data=fields, files=files)
    assert reply.status_code == 201, reply.text
    sent: dict[str, Any] = reply.json()
    return sent


def test_a_photo_is_sent_measured_and_read_by_a_program(site: Site) -> None:
    board = site.client.post("/api/v1/boards", json={"name": "good", "details": {"species": "pine"}}).json()
    sent = send(site, board=board["id"], stage="cleared")
    assert sent == {"board": board["id"], "check": sent["check"], "known": False}
    check = site.client.get(f"/api/v1/checks/{sent['check']}").json()
    assert (check["state"], check["result"], check["words"]) == ("waiting", None, None)
    site.work()
    check = site.client.get(f"/api/v1/checks/{sent['check']}").json()
    assert (check["state"], check["result"]["stage"]) == ("measured", "cleared")
    for address in check["pictures"].values():
        assert site.client.get(address).status_code == 200
    assert send(site)["known"]


def test_a_board_is_changed_fitted_listed_and_deleted_by_a_program(site: Site) -> None:
    sent = send(site, name="good")
    site.work()
    address = f"/api/v1/boards/{sent['board']}"
    wanted = {"name": "better", "details": {"saw": "fine rip", "notes": "x"}}
    assert site.client.put(address, json=wanted).json()["details"]["saw"] == "fine rip"
    fits = [{"socket": 1, "outcome": "loose"}]
    assert site.client.put(f"{address}/fits", json=fits).json() == fits
    assert site.client.get(address).json()["fits"] == fits
    listed = site.client.get("/api/v1/boards", params={"text": "better", "standing": "start over"}).json()
    assert (listed["total"], listed["boards"][0]["id"]) == (1, sent["board"])
    assert site.client.post(f"/api/v1/checks/{sent['check']}/again", json={"stage": "sawn"}).status_code == 202
    assert site.client.delete(f"/api/v1/checks/{sent['check']}").status_code == 204
    assert site.client.delete(address).status_code == 204
    assert site.client.get(address).status_code == 404


def test_an_export_is_fetched_and_brought_back_by_a_program(site: Site) -> None:
    board = send(site, name="good")["board"]
    site.work()
    export = site.client.get("/api/v1/export.json")
    assert export.headers["content-disposition"].startswith("attachment")
    assert [each["id"] for each in json.loads(export.text)["boards"]] == [board]
    assert len(site.client.get("/api/v1/export.csv").text.splitlines()) == 12  # names, photo, 6 walls, 4 pins
    site.client.delete(f"/api/v1/boards/{board}")
    file = {"file": ("export.json", io.BytesIO(export.content), "application/json")}
    assert site.client.post("/api/v1/import", files=file).json() == {"boards": 1, "checks": 1, "known": 0}
    assert site.client.get(f"/api/v1/boards/{board}").json()["standing"] == "start over"


def test_a_person_brings_an_export_back_through_the_settings(site: Site) -> None:
    board = site.board()
    export = site.client.get("/export.json").content
    site.client.delete(f"/api/v1/boards/{board}")
    reply = site.client.post("/import", files={"file": ("e.json", export, "application/json")})
    assert "1 boards and 1 photos were brought back" in site.client.get(reply.headers["location"]).text


def test_every_problem_has_one_shape(site: Site) -> None:
    replies = [
        site.client.get("/api/v1/boards/never"),
        site.client.get("/api/v1/nothing"),
        site.client.put("/api/v1/settings", json={"units": "cubits"}),
        site.client.post("/api/v1/boards", json={"name": "x", "colour": "red"}),
        site.client.post("/api/v1/photos", files={"photo": ("a.pdf", b"%PDF", "application/pdf")}),
        site.client.post("/api/v1/photos", headers={"origin": "https://evil.example"}),
        site.client.post("/api/v1/boards", json=[]),
    ]
    assert [reply.status_code for reply in replies] == [404, 404, 422, 422, 422, 403, 422]
    for reply in replies:
        assert {"reason", "message", "what_to_do"} <= set(reply.json())
    assert replies[4].json()["reason"] == "not_an_image"
    assert replies[6].json()["message"].startswith("The request could not be understood. Input should be a valid dict")


def test_every_address_of_the_api_is_described(site: Site) -> None:
    described = site.client.get("/api/openapi.json").json()
    for path, methods in described["paths"].items():
        assert path.startswith("/api/v1/")
        for method in methods.values():
            assert method["description"]


TRIED = settings(
    max_examples=20,
    deadline=None,
    derandomize=True,
    database=None,
    phases=[Phase.generate],
    suppress_health_check=list(HealthCheck),
)


def test_the_api_keeps_its_promises_whatever_it_is_sent(site: Site) -> None:
    """No fault, no answer that OpenAPI does not describe, nothing taken that it forbids: tried by schemathesis."""
    site.board()
    token = issue_token(SOLO, "schemathesis", site.house.ports)
    here = {"host": "localhost", "authorization": f"Bearer {token}"}
    schema = schemathesis.openapi.from_asgi("/api/openapi.json", site.client.app, headers=here)
    operations = [result.ok() for result in schema.get_all_operations()]
    assert len(operations) >= 15
    for operation in operations:

        @TRIED
        @given(case=operation.as_strategy())
        def try_it(case: Any) -> None:
            any_bytes = [positive_data_acceptance] if case.media_type == "multipart/form-data" else []
            case.call_and_validate(headers=here, excluded_checks=any_bytes)  # which are no photo, and rightly refused

        try_it()
