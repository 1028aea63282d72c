"""The pages and the API in one process, with workers that the tests play themselves."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from service.use_cases.solo import ensure_solo
from service.web.app import create_app
from tests.service.house import House, open_house
from tests.service.web.site import Site


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
    with TestClient(app, base_url="http://localhost:8017", follow_redirects=False) as client:
        yield Site(client, real_house)
