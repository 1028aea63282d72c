"""The scores of faces and of drill boards in words and tables, and what could not be scored."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from service.answers.table import table_text
from service.answers.wrapped import wrapped
from vision.score.drill_scoring import UNITS as DRILL_UNITS
from vision.score.face_scoring import FACE_CLAIMED

_FACE_UNITS = {"slope": "deg"}


def face_score_text(score: Mapping[str, Any]) -> str:
    """The faces' score for people, at most 80 columns wide."""
    kerfs, verdicts = score["kerfs"], score["verdicts"]
    lines = [
        f"Faces to measure   {score['photos']}",
        f"Cuts found         {kerfs['found']} of {kerfs['true']}, {kerfs['missed']} missed, {kerfs['false']} false",
        f"Stage right        {score['stage']['right']} of {score['stage']['told']}",
        f"Where they stop    {verdicts['firm right']} firm and right, {verdicts['undecided']} undecided,"
        f" {verdicts['firm wrong']} firm and wrong",
    ]
    kinds = score["baseline_kinds"]
    if any(kinds.values()):
        lines.append(
            f"Baseline's kind    {kinds['firm right']} told and right, {kinds['undecided']} left open,"
            f" {kinds['firm wrong']} told and wrong"
        )
    refused = [f"Refused: {each['photo']} ({each['reason']})" for each in score["refused"]]
    return "\n".join([*lines, "", *_face_errors(score), *refused])


def _face_errors(score: Mapping[str, Any]) -> list[str]:
    head = ("Error of faces", "unit", "count", "median", "95 %", "worst", "inside U")
    rows = [_face_row(kind, score) for kind in FACE_CLAIMED if score["errors"][kind]]
    return table_text(head, rows, left=(0, 1)) if rows else []


def _face_row(kind: str, score: Mapping[str, Any]) -> tuple[str, ...]:
    errors = score["errors"][kind]
    numbers = (f"{errors[key]:.3f}" for key in ("median", "p95", "worst"))
    return (
        kind,
        _FACE_UNITS.get(kind, "mm"),
        str(errors["count"]),
        *numbers,
        f"{100 * score['inside_u95'][kind]:.1f} %",
    )


def drill_score_text(score: Mapping[str, Any]) -> str:
    """The drills' score for people, at most 80 columns wide."""
    cuts = score["cuts"]
    lines = [
        f"Drills to measure  {score['photos']}",
        f"Cuts found         {cuts['found']} of {cuts['true']}, {cuts['missed']} missed, {cuts['false']} false",
    ]
    refused = [f"Refused: {each['photo']} ({each['reason']})" for each in score["refused"]]
    return "\n".join([*lines, "", *_drill_errors(score), *refused])


def _drill_errors(score: Mapping[str, Any]) -> list[str]:
    head = ("Error of cuts", "unit", "count", "median", "95 %", "worst", "inside U")
    rows = [_drill_row(name, figures) for name, figures in score["errors"].items() if figures]
    return table_text(head, rows, left=(0, 1)) if rows else []


def _drill_row(name: str, figures: Mapping[str, float]) -> tuple[str, ...]:
    numbers = (f"{figures[key]:.3f}" for key in ("median", "p95", "worst"))
    return (name, DRILL_UNITS[name], str(figures["count"]), *numbers, f"{100 * figures['inside_u95']:.1f} %")


def left_out_text(left_out: Sequence[Mapping[str, str]]) -> str:
    """The truth files that nothing was scored by, and why."""
    lines = [wrapped(f"{each['truth']}: {each['why']}", "- ", "  ") for each in left_out]
    return "\n".join(["Left out of the score:", *(line for each in lines for line in each)])
