"""The log's modules are described, pure but for the pages, and load nothing slow until it is needed."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

from tests.test_architecture import PURE, imports_of

ROOT = Path(__file__).parents[3]
MODULES = sorted(path for path in (ROOT / "service" / "practice").glob("[a-z]*.py"))


def test_developers_guide_lists_every_module_of_the_log() -> None:
    guide = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    assert len(MODULES) > 20
    for path in MODULES:
        assert f"`{path.name}`" in guide


def test_all_but_the_pages_are_on_the_list_of_pure_modules() -> None:
    expected = {f"practice/{path.stem}" for path in MODULES if not path.stem.startswith("pdf_")}
    assert expected == {name for name in PURE["service"].split() if name.startswith("practice/")}


def test_only_the_sheet_and_its_letters_know_the_pdf_library() -> None:
    knowing = [path.stem for path in MODULES if any(name.startswith("reportlab") for name in imports_of(path))]
    assert knowing == ["pdf_letters", "pdf_page"]


def test_nothing_of_web_or_database_is_imported() -> None:
    names = {name.split(".")[0] for path in MODULES for name in imports_of(path)}
    assert names.isdisjoint({"fastapi", "starlette", "sqlalchemy", "sqlite3", "alembic"})


def test_loading_the_log_loads_neither_scipy_nor_the_pdf_library() -> None:
    names = ", ".join(f"service.practice.{path.stem}" for path in MODULES)
    show = f"import sys, {names}; print(*sys.modules)"
    loaded = subprocess.run([sys.executable, "-c", show], cwd=ROOT, capture_output=True, text=True, check=True)
    assert {"scipy", "reportlab", "matplotlib", "cv2"}.isdisjoint(loaded.stdout.split())
