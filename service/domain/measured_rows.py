"""What was measured of a board as rows of the table: each photo with its walls, pins and cuts, and all together.

A row is values by column, texts as they are. Whatever a result does not tell, such as an older one, stays empty.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any

from service.domain.check import Check
from service.domain.fit import Fit
from service.domain.together import Together

Row = dict[str, Any]

OF_SIZE = [
    *("width_mm", "measured_thickness_mm", "size_u95_mm"),
    *("baseline_depth_mm", "baseline_off_square_deg", "baseline_off_square_u95_deg"),
]
OF_WALL = ["lean_deg", "lean_u95_deg", "x_show_mm", "x_transfer_mm", "x_u95_mm", "out_of_square_mm", "kerf_mm"]
OF_CUT = [
    *("slope", "slope_u95", "slope_deg", "slope_u95_deg"),
    *("stop_depth_mm", "stop_u95_mm", "past_baseline_mm", "past_u95_mm"),
]
OF_WALL_IN_DEPTH = [
    *("lean_end_deg", "lean_end_u95_deg", "lean_baseline_deg", "lean_baseline_u95_deg", "twist_deg", "twist_u95_deg"),
    *("slope_show", "slope_show_u95", "slope_transfer", "slope_transfer_u95"),
]
OF_SOCKET = ["width_show_mm", "width_transfer_mm", "taper_mm", "taper_u95_mm", "gap_mm", "squeeze_mm"]
OF_SOCKET_IN_DEPTH = ["taper_baseline_mm", "taper_baseline_u95_mm", "squeeze_mean_mm"]
OF_PRACTICE_CUT = [
    *("turn", "meant_deg", "off_meant_deg", "edge", "spacing_mm", "spacing_u95_mm"),
    *("zone_mm", "bow_mm"),
]
OF_PRACTICE = [
    *("work_on", "mean_lean_deg", "mean_lean_u95_deg", "scatter_deg", "scatter_low95_deg", "scatter_high95_deg"),
    *("drift_deg_per_cut", "drift_u95_deg_per_cut", "right_less_left_deg", "right_less_left_u95_deg"),
    *("mean_bow_mm", "mean_bow_u95_mm"),
]
LIMITS = ["gap_limit_mm", "squeeze_limit_mm"]
ABOUT_SOCKET = ["crush_ratio", "split_index", "verdict"]


def photo_rows(check: Check, fits: Sequence[Fit]) -> Iterator[Row]:
    """A row for the photo itself, then one for each of its walls, pins and cuts."""
    result = check.answer.result if check.answer and check.state == "measured" else {}
    said = {"stage": result.get("stage"), "advice": check.advice, "corrected": "by hand" if check.corrected else None}
    common = {"check": check.id, "sent_at": check.sent_at.isoformat(), "view": check.view} | said
    of_photo = {"what": "photo", "state": check.state, "verdict": _refused(check)}
    yield common | of_photo | _sizes(result) | _practice(result)
    cuts = (_cut(kerf, check.view) for kerf in result.get("kerfs", ()))
    practice = map(_practice_cut, result.get("drill", {}).get("cuts", ()))
    for row in (*_end_rows(result, fits), *cuts, *practice):
        yield common | row


def together_rows(together: Together | None) -> Iterator[Row]:
    """The same of all photos together: the end from all photos of it, and end and faces in depth."""
    if together is None or together.answer is None or together.state != "ready":
        return
    end, board = (together.answer.result.get(part) or {} for part in ("end", "board"))
    if end.get("ok"):
        yield from _together("all ends", end, end, _end_rows(end, ()))
    if board.get("ok"):
        deep = board.get("in_depth", {})
        rows = (*map(_wall_in_depth, deep.get("walls", ())), *_numbered(_pin_in_depth, deep.get("sockets", ())))
        yield from _together("end and faces", board, deep, rows)


def _together(view: str, told: Mapping[str, Any], measured: Mapping[str, Any], rows: Sequence[Row]) -> Iterator[Row]:
    common = {"view": view, "stage": measured.get("stage"), "advice": told.get("advice")}
    yield common | {"what": "together"} | _sizes(measured)
    for row in rows:
        yield common | row


def _end_rows(result: Mapping[str, Any], fits: Sequence[Fit]) -> tuple[Row, ...]:
    fitted = {fit.socket: fit.outcome for fit in fits}
    pins = _numbered(_pin, result.get("sockets", ()))
    driven = [pin | {"fitted": fitted.get(index)} for index, pin in enumerate(pins)]
    return *map(_wall, result.get("walls", ())), *driven


def _refused(check: Check) -> str:
    """Why a photo has no numbers; empty for one that has, or was not looked at yet."""
    words = check.answer.words.get("mm", {}) if check.answer and check.state in ("refused", "failed") else {}
    return str(words.get("message", ""))


def _sizes(result: Mapping[str, Any]) -> Row:
    """Of the board; the baseline of a face is that in the middle."""
    board, line = result.get("board", {}), result.get("baseline", {})
    sizes = {"width_mm": board.get("width_mm"), "measured_thickness_mm": board.get("thickness_mm")}
    sizes |= {"size_u95_mm": board.get("u95_mm"), "baseline_depth_mm": board.get("baseline_depth_mm")}
    if not line:
        return sizes
    middle_mm = round((line["depth_left_mm"] + line["depth_right_mm"]) / 2.0, 4)
    off = {f"baseline_off_square{ending}": line[f"out_of_square{ending}"] for ending in ("_deg", "_u95_deg")}
    return sizes | {"baseline_depth_mm": middle_mm} | off


def _named(wall: Mapping[str, Any], what: str) -> Row:
    return {"what": what, "number": wall["tail"] + 1, "side": wall["side"]}


def _wall(wall: Mapping[str, Any]) -> Row:
    return _named(wall, "wall") | {name: wall.get(name) for name in OF_WALL}


def _cut(kerf: Mapping[str, Any], view: str) -> Row:
    """The side of a tail as that face shows it; x is where it meets the end."""
    told = {name: kerf.get(name) for name in (*OF_CUT, "x_u95_mm", "kerf_mm", "verdict")}
    return _named(kerf, "cut") | told | {f"x_{view}_mm": kerf.get("x_at_end_mm")}


def _practice_cut(cut: Mapping[str, Any]) -> Row:
    """One practice cut; its number counts from the left, its turn in the order cut."""
    alike = (*OF_WALL, "side", "number", "turn", "spacing_mm", "spacing_u95_mm", "bow_mm")
    told = {name: cut.get(name) for name in alike}
    meant = {"meant_deg": cut.get("intended_deg"), "off_meant_deg": cut.get("deviation_deg"), "edge": cut.get("keep")}
    return told | meant | {"what": "practice cut", "zone_mm": cut.get("squareness_zone_mm")}


def _practice(result: Mapping[str, Any]) -> Row:
    """What practice cuts say together; nothing of any other photo."""
    drill = result.get("drill", {})
    spread = drill.get("spread_deg") or {}
    row = {"work_on": drill.get("work_on"), "scatter_deg": spread.get("sd")}
    row |= {f"scatter_{end}95_deg": spread.get(f"{end}95") for end in ("low", "high")}
    for name, of, unit in (
        ("mean_lean", "mean_lean_deg", "deg"),
        ("drift", "drift_deg_per_cut", "deg_per_cut"),
        ("right_less_left", "right_less_left_deg", "deg"),
        ("mean_bow", "bow_mm", "mm"),
    ):
        found = drill.get(of) or {}
        row |= {f"{name}_{unit}": found.get("value"), f"{name}_u95_{unit}": found.get("u95")}
    return row


def _wall_in_depth(wall: Mapping[str, Any]) -> Row:
    corners = wall.get("x_mm", {})
    places = {"x_show_mm": corners.get("show_end"), "x_transfer_mm": corners.get("transfer_end")}
    return _named(wall, "wall") | {name: wall.get(name) for name in ("x_u95_mm", *OF_WALL_IN_DEPTH)} | places


def _pin(socket: Mapping[str, Any], number: int) -> Row:
    numbers = {name: socket.get(name) for name in (*OF_SOCKET, *LIMITS, *ABOUT_SOCKET)}
    return {"what": "pin", "number": number, "side": socket["kind"]} | numbers


def _pin_in_depth(socket: Mapping[str, Any], number: int) -> Row:
    """The worst over the depth; taper at the end and at the baseline."""
    slices = socket.get("by_depth") or [{}]
    end = {name: slices[0].get(name) for name in ("taper_mm", "taper_u95_mm")}
    baseline = {f"taper_baseline{ending}": slices[-1].get(f"taper{ending}") for ending in ("_mm", "_u95_mm")}
    return _pin(socket, number) | end | baseline | {"squeeze_mean_mm": socket.get("squeeze_mean_mm")}


def _numbered(row: Callable[[Mapping[str, Any], int], Row], sockets: Sequence[Mapping[str, Any]]) -> list[Row]:
    return [row(socket, number) for number, socket in enumerate(sockets, start=1)]
