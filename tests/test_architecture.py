"""The house: one way for imports, thinking kept apart from files and cameras, and a tidy top level."""

from __future__ import annotations

import ast
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
ROOMS = ("calibration", "vision", "service")
MAY_IMPORT = {"calibration": {"calibration"}, "vision": {"calibration", "vision"}, "service": set(ROOMS)}

PURE = {
    "calibration": "camera_advice camera_bundle camera_fit camera_gain camera_misfit camera_model camera_print"
    " camera_profile camera_record camera_setting card drawing evidence gauge_study known lens_prior"
    " outcome plane print_check print_record print_shape quantity random_effects sheet_layout",
    "vision": "adjustment agreement baseline board board_agreement board_result board_sides board_sketch"
    " board_views board_walls board_words budget budget_words camera_views card_edges card_lie card_turn"
    " combine decision drill_kerfs drill_overlay drill_plan drill_report drill_result drill_review"
    " drill_scoring drill_statistics drill_words edge_profile exif face_bands face_cuts face_edges"
    " face_numbers face_overlay face_pair face_report face_result face_scoring face_shape face_sides"
    " face_strip face_truth face_words find_lie find_walls fit in_plane joint_in_depth kerf_stops"
    " layout_review layout_rules layout_shape locate measure_walls overlap_place overlay palette photo"
    " plan plan_check plan_drawing plan_record plan_words report result rough_line same_end same_end_words"
    " sawn_extent scoring seating settled_fit settling sharing species splitting strength tally truth"
    " uncertainty wall_bands wall_flags wall_lights wall_model wall_parts wall_points wall_rivals words",
    "service": "board_text budget_job budget_text camera_choice camera_making camera_text domain/account"
    " domain/board domain/check domain/device domain/fit domain/job domain/log domain/log_record"
    " domain/measurement_table domain/mistakes domain/person domain/words drill_table errors"
    " jobs/answer_words jobs/given_up layout_text lengths paint plan_text practice/calibration_table"
    " practice/candidates practice/class_view practice/columns practice/comparing practice/control_chart"
    " practice/distributions practice/drift practice/entries practice/estimates practice/findings"
    " practice/from_result practice/outcomes practice/own_limits practice/progress practice/records"
    " practice/run_chart practice/say practice/series practice/signals practice/spreadsheet practice/ticks"
    " practice/trend practice/variation repeat_result repeat_text repeat_values score_text status table"
    " use_cases/answer_job use_cases/export_log use_cases/forget_photos use_cases/import_log"
    " use_cases/keep_log use_cases/pair_device use_cases/ports use_cases/send_photo use_cases/sign_in"
    " use_cases/solo web/throttle",
}
"""Modules that hold the thinking: numbers in, numbers or words out."""

SLOW_LIBRARIES = ("scipy.stats", "scipy.optimize", "skimage", "matplotlib")
"""Too slow to load for a command that a person waits for."""

OUTSIDE = {"cv2", "PIL", "skimage", "pillow_heif", "reportlab", "sqlite3", "socket", "urllib", "subprocess", "pathlib"}
FILE_CALLS = {"open", "read_bytes", "read_text", "write_bytes", "write_text"}

PAGES = {"README.md", "DEVELOPERS.md", "CHANGELOG.md", "LICENSE", "pyproject.toml"}
TOP_LEVEL = {*PAGES, *ROOMS, "tests", "sample_images"}
BY_PRODUCTS = {"build", "dist", "tailproof.egg-info"}
"""What an installation or a build leaves behind; never part of a copy of the repository."""


def modules_of(room: str) -> list[Path]:
    return sorted((ROOT / room).rglob("*.py"))


def imports_of(path: Path) -> Iterator[str]:
    """The dotted name of everything that a module imports, wherever in it."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (name.name for name in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path.name}: imports are absolute"
            yield str(node.module)


def calls_of(path: Path) -> Iterator[str]:
    """The last name of everything that a module calls: `open`, or `read_text` of `path.read_text()`."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Call):
            yield str(getattr(node.func, "id", None) or getattr(node.func, "attr", ""))


def pure_modules() -> list[Path]:
    return [ROOT / room / f"{name}.py" for room, names in PURE.items() for name in names.split()]


@pytest.mark.parametrize("room", ROOMS)
def test_imports_run_from_service_to_vision_to_calibration(room: str) -> None:
    for path in modules_of(room):
        ours = {name.split(".")[0] for name in imports_of(path)} & {*ROOMS, "tests", "render"}
        assert ours <= MAY_IMPORT[room], f"{room}/{path.name} imports {ours - MAY_IMPORT[room]}"


@pytest.mark.parametrize("path", pure_modules(), ids=lambda path: f"{path.parent.name}.{path.stem}")
def test_a_pure_module_touches_neither_files_nor_picture_libraries(path: Path) -> None:
    assert OUTSIDE.isdisjoint(name.split(".")[0] for name in imports_of(path))
    assert FILE_CALLS.isdisjoint(calls_of(path))


LAYERS = {
    "domain": {"domain"},
    "use_cases": {"domain", "use_cases", "texts"},
    "uploads": {"uploads"},
    "storage": {"domain", "use_cases", "storage", "uploads", "errors"},
    "jobs": {"domain", "use_cases", "storage", "jobs"}
    | {"texts", "errors", "checking", "print_store"}
    | {"camera_choice", "camera_store"},
    "web": {"domain", "use_cases", "storage", "web", "texts", "lengths", "version"},
}
"""Rooms of the service, and what of the service each may import."""
FRAMEWORKS = {"fastapi", "starlette", "pydantic", "jinja2", "uvicorn", "sqlalchemy", "alembic"}
AT_HOME = {"web": {"sqlalchemy", "alembic"}, "storage": FRAMEWORKS - {"sqlalchemy", "alembic"}}
"""Rooms that know a framework, and those that they do not know; the others know none."""


@pytest.mark.parametrize("room", LAYERS)
def test_the_services_rooms_import_one_way(room: str) -> None:
    for path in (ROOT / "service" / room).rglob("*.py"):
        ours = {name.split(".")[1] for name in imports_of(path) if name.startswith("service.")}
        assert ours <= LAYERS[room], f"service/{room}/{path.name} imports {ours - LAYERS[room]}"


@pytest.mark.parametrize("room", LAYERS)
def test_web_and_database_are_known_in_their_own_rooms_alone(room: str) -> None:
    for path in (ROOT / "service" / room).rglob("*.py"):
        assert AT_HOME.get(room, FRAMEWORKS).isdisjoint(name.split(".")[0] for name in imports_of(path)), path.name


def test_most_of_the_thinking_is_pure() -> None:
    counted = [path for room in ("calibration", "vision") for path in modules_of(room) if path.stem != "__init__"]
    pure = set(pure_modules())
    assert sum(path in pure for path in counted) > 0.7 * len(counted)  # two thirds and more: the rest is named for it


def test_a_check_loads_no_slow_library() -> None:
    show = "import sys, service.check_job; print(*sys.modules)"
    loaded = subprocess.run([sys.executable, "-c", show], cwd=ROOT, capture_output=True, text=True, check=True)
    assert set(SLOW_LIBRARIES).isdisjoint(loaded.stdout.split())


def test_no_file_grows_past_400_lines() -> None:
    long = {path.name for room in ROOMS for path in modules_of(room) if len(path.read_text().splitlines()) > 400}
    assert not long


def test_the_top_level_holds_what_the_house_has_room_for() -> None:
    found = {path.name for path in ROOT.iterdir() if not path.name.startswith((".", "__"))}
    assert found - BY_PRODUCTS == TOP_LEVEL
