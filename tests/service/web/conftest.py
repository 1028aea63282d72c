"""The pages and the API in one process, with workers that the tests play themselves."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import expect
from starlette.testclient import TestClient

from service.use_cases.solo import ensure_solo
from service.web.app import create_app
from tests.service.house import House, open_house
from tests.service.web.site import ADDRESS, HERE, PHONE, Lan, Site

expect.set_options(timeout=30_000)
"""Milliseconds. What a page does by itself takes a blink; the machine may be busy with other tests."""


@pytest.fixture
def real_house(tmp_path: Path) -> Iterator[House]:
    """A house that takes real photos only."""
    with open_house(tmp_path, cleaning=True) as house:
        yield house


@pytest.fixture
def site(real_house: House, core: None) -> Iterator[Site]:
    """The service in solo mode as a browser meets it; a board's name decides what is measured (see `core`)."""
    ensure_solo(real_house.ports)
    app = create_app(real_house.ports, real_house.data)
    with TestClient(app, base_url="http://localhost:8017", client=HERE, follow_redirects=False) as client:
        yield Site(client, real_house)


@pytest.fixture
def lan(real_house: House, core: None) -> Iterator[Lan]:
    """The service open to a network: the computer itself, and a phone that nobody knows yet."""
    ensure_solo(real_house.ports)
    app = create_app(real_house.ports, real_house.data, ADDRESS)
    with (
        TestClient(app, base_url="http://localhost:8017", client=HERE, follow_redirects=False) as here,
        TestClient(app, base_url=ADDRESS, client=PHONE, follow_redirects=False) as phone,
    ):
        yield Lan(Site(here, real_house), phone)
