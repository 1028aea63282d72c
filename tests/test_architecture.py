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
    "calibration": "camera/advice camera/bundle camera/fit camera/gain camera/misfit camera/model camera/print_seen"
    " camera/profile camera/record camera/setting card evidence kept_format lens_prior outcome parts plane prints/check"
    " prints/known prints/record prints/shape quantity robust said sheet/drawing sheet/layout study/gauge_study"
    " study/random_effects study/student units",
    "vision": "answer/budget answer/budget_words answer/overlay answer/page answer/palette answer/result answer/words"
    " board/agreement board/joint_in_depth board/judge board/overlay board/result board/sketch board/views"
    " board/walls board/words drill/kerfs drill/overlay drill/plan drill/report drill/result drill/review"
    " drill/statistics drill/words end/between_tails end/burnt end/end_focus end/face_edges"
    " end/face_pair end/find_walls end/found_end end/laid end/locate end/pairing"
    " end/report end/sawn_extent end/sides end/stage end/uncertainty face/bands face/baseline face/baseline_kind"
    " face/clear_edge face/cuts face/kerf_stops face/numbers face/overlay face/report face/result face/shape face/sides"
    " face/strip face/words joint/decision"
    " joint/overlap_place joint/seating joint/settled_fit joint/settling joint/species joint/splitting"
    " joint/strength layout/plan layout/plan_check layout/plan_drawing layout/plan_in_depth layout/plan_record"
    " layout/plan_words layout/review layout/rules layout/shape lie/card_lie lie/find_lie lie/in_plane"
    " photo/camera_views photo/card_edges photo/card_turn photo/edge_profile photo/exif photo/photo"
    " score/claims score/drill_scoring score/face_scoring score/face_truth score/scoring score/tally score/truth"
    " score/truth_parts"
    " together/adjustment together/agreement together/combine together/same_end together/same_end_words"
    " together/sharing walls/bands walls/channels walls/fit walls/flags walls/lights walls/measure walls/model"
    " walls/parts walls/placed walls/points walls/rivals walls/rough_line walls/shared walls/starts walls/tips"
    " walls/tones",
    "service": "answers/board_text answers/budget_text answers/camera_text answers/drill_table answers/layout_text"
    " answers/paint answers/plan_text answers/repeat_text answers/score_parts answers/score_text"
    " answers/table commands/budget_job demo/driving demo/sawing domain/account domain/assignment"
    " domain/board domain/check domain/class_record domain/classroom domain/correction"
    " domain/correction_record domain/device domain/fit domain/how_cut domain/job domain/join_code domain/log"
    " domain/log_numbers domain/log_record domain/measured_rows domain/measurement_table domain/measures"
    " domain/mistakes domain/person domain/practice_cuts domain/read_record domain/review domain/review_queue"
    " domain/review_record domain/said_rows domain/saved_remark domain/together domain/wall_line domain/words errors"
    " jobs/answer_words jobs/board_words jobs/drill_words jobs/face_words jobs/given_up lengths measuring/camera_choice"
    " measuring/camera_making measuring/repeat_result measuring/repeat_values practice/calibration_table"
    " practice/candidates practice/class_view practice/columns practice/comparing practice/control_chart practice/cuts"
    " practice/drift practice/entries practice/estimates practice/findings practice/from_log"
    " practice/from_result practice/outcomes practice/own_limits practice/progress practice/run_chart"
    " practice/say practice/series practice/signals practice/slopes practice/ticks practice/trend status"
    " use_cases/answer_job use_cases/correct_walls use_cases/export_class use_cases/export_log"
    " use_cases/foretold use_cases/forget_photos use_cases/hand_in use_cases/import_log use_cases/keep_class"
    " use_cases/keep_log use_cases/keep_pictures use_cases/look_at_class use_cases/look_at_outcomes"
    " use_cases/look_at_trends use_cases/pair_device use_cases/ports use_cases/print_log use_cases/put_together"
    " use_cases/review_board use_cases/review_ports use_cases/review_queue use_cases/saved_remarks"
    " use_cases/send_photo use_cases/set_work use_cases/sign_in use_cases/solo use_cases/who_may"
    " web/class_page web/correction_page web/review_page web/review_view web/throttle",
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
    "use_cases": {"domain", "use_cases", "practice", "texts"},
    "uploads": {"uploads"},
    "storage": {"domain", "use_cases", "storage", "uploads", "kept", "errors"},
    "jobs": {"domain", "use_cases", "storage", "jobs"} | {"texts", "errors", "measuring", "kept", "threads"},
    "web": {"domain", "use_cases", "practice", "storage", "web", "texts", "lengths", "version"},
    "practice": {"domain", "practice"},
    "measuring": {"measuring", "kept", "errors"},
    "answers": {"answers", "measuring", "lengths", "errors", "output"},
    "kept": {"kept", "errors", "output"},
    "demo": {"demo", "domain", "use_cases", "practice", "jobs", "texts", "threads"},
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
    show = "import sys, service.commands.check_job; print(*sys.modules)"
    loaded = subprocess.run([sys.executable, "-c", show], cwd=ROOT, capture_output=True, text=True, check=True)
    assert set(SLOW_LIBRARIES).isdisjoint(loaded.stdout.split())


def test_no_file_grows_past_400_lines() -> None:
    long = {path.name for room in ROOMS for path in modules_of(room) if len(path.read_text().splitlines()) > 400}
    assert not long


def test_the_top_level_holds_what_the_house_has_room_for() -> None:
    found = {path.name for path in ROOT.iterdir() if not path.name.startswith((".", "__"))}
    assert found - BY_PRODUCTS == TOP_LEVEL
