"""A folder's score in words and tables."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from service.answers.table import table_text

_UNITS = {"lean": "deg", "taper": "mm", "x_show": "mm", "thickness": "mm", "width": "mm"}


def score_text(score: Mapping[str, Any]) -> str:
    """The score (as `Scored.to_dict`) for people, at most 80 columns wide."""
    parts = (_walls(score), _errors(score), _verdicts(score), _cost(score), _refusals(score))
    return "\n\n".join("\n".join(part) for part in parts if part)


def _walls(score: Mapping[str, Any]) -> list[str]:
    walls, stage = score["walls"], score["stage"]
    return [
        f"Photos to measure  {score['photos']}",
        f"Walls found        {walls['found']} of {walls['true']} ({_percent(walls['found'], walls['true'])})",
        f"Walls missed       {walls['missed']}, those of refused photos included",
        f"False walls        {walls['false']} ({_percent(walls['false'], walls['true'])})",
        f"Stage right        {stage['right']} of {stage['told']}",
    ]


def _errors(score: Mapping[str, Any]) -> list[str]:
    head = ("Error", "unit", "count", "median", "95 %", "worst", "inside U")
    rows = [_error_row(kind, score) for kind in _UNITS if score["errors"][kind]]
    pooled = score["inside_u95"]["lean and taper"]
    if pooled is not None:
        rows.append(("lean and taper", "", "", "", "", "", f"{100 * pooled:.1f} %"))
    lines = table_text(head, rows, left=(0, 1)) if rows else []
    offset_mm = score["largest_offset_mm"]
    note = f"Cleared boards were matched after a common offset of up to {abs(offset_mm):.2f} mm."
    return [*lines, note] if abs(offset_mm) >= 0.005 else lines


def _error_row(kind: str, score: Mapping[str, Any]) -> tuple[str, ...]:
    errors = score["errors"][kind]
    numbers = (f"{errors[key]:.3f}" for key in ("median", "p95", "worst"))
    return (kind, _UNITS[kind], str(errors["count"]), *numbers, f"{100 * score['inside_u95'][kind]:.1f} %")


def _verdicts(score: Mapping[str, Any]) -> list[str]:
    verdicts = score["verdicts"]
    return [
        f"Verdicts           {verdicts['firm right']} firm and right, {verdicts['undecided']} undecided,"
        f" {verdicts['firm wrong']} firm and wrong",
        f"Unsafe `seats`     {verdicts['unsafe seats']} by the model of the joint,"
        f" {verdicts['unsafe seats by taper']} by the taper alone",
    ]


def _cost(score: Mapping[str, Any]) -> list[str]:
    ratio, memory = score["time_ratio"], score["peak_memory_mb"]
    lines = []
    if ratio:
        lines.append(
            f"Time per photo     {ratio['median']:.1f} times reading it and detecting its card"
            f" (worst {ratio['worst']:.1f})"
        )
    if memory is not None:
        lines.append(f"Peak memory        {memory:.0f} MB, this whole process")
    faults = score["faults"]
    return [*lines, f"Faults             {faults} photos not scored: see the messages above"] if faults else lines


def _refusals(score: Mapping[str, Any]) -> list[str]:
    lines = [f"Refused: {refusal['photo']} ({refusal['reason']})" for refusal in score["refused"]]
    to_refuse = score["to_refuse"]
    if to_refuse:
        right = sum(refusal["refused"] for refusal in to_refuse)
        reasons = sum(refusal["reason_right"] for refusal in to_refuse)
        lines.append(f"To be refused      {right} of {len(to_refuse)} refused, {reasons} for the expected reason")
        lines += [f"  {each['photo']}: {each['reason'] or 'MEASURED'} ({each['expect']})" for each in to_refuse]
    return lines


def _percent(part: int, whole: int) -> str:
    return f"{100 * part / whole:.1f} %" if whole else "-"
