"""Export and import, for people; the API has the same."""

from __future__ import annotations

from datetime import date

from fastapi import APIRouter, UploadFile
from starlette.responses import RedirectResponse, Response, StreamingResponse

from service.use_cases.export_log import export_csv, export_json
from service.use_cases.import_log import import_log
from service.web.api import PROBLEMS
from service.web.api_models import Imported
from service.web.desk import Asking, AtDesk

router = APIRouter(include_in_schema=False)
api = APIRouter(prefix="/api/v1", responses=PROBLEMS)


@api.get("/export.json", response_class=StreamingResponse)
@router.get("/export.json")
def get_json(desk: AtDesk, person: Asking) -> Response:
    """Everything of one's own, photos included."""
    return StreamingResponse(export_json(person.id, desk.ports), headers=_named("json"), media_type="application/json")


@api.get("/export.csv", response_class=StreamingResponse)
@router.get("/export.csv")
def get_csv(desk: AtDesk, person: Asking) -> Response:
    """All that was measured and said as a table: a row for every photo, wall, pin, cut, outcome, review and so on."""
    return StreamingResponse(export_csv(person.id, desk.ports), headers=_named("csv"), media_type="text/csv")


@router.post("/import")
def post_file(desk: AtDesk, person: Asking, file: UploadFile) -> Response:
    """An export brought back; then the settings say what came."""
    brought = import_log(person.id, file.file, desk.ports)
    counts = f"boards={brought.boards}&checks={brought.checks}&known={brought.known}"
    return RedirectResponse(f"/settings?said=imported&{counts}", 303)


@api.post("/import")
def import_file(desk: AtDesk, person: Asking, file: UploadFile) -> Imported:
    """An export brought back; boards that are here already stay as they are."""
    brought = import_log(person.id, file.file, desk.ports)
    return Imported(boards=brought.boards, checks=brought.checks, known=brought.known)


def _named(ending: str) -> dict[str, str]:
    return {"content-disposition": f'attachment; filename="tailproof-{date.today()}.{ending}"'}
