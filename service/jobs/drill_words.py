"""What measured practice cuts show, as sentences and tables for a page."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from calibration.outcome import FLAGS, Kind
from calibration.quantity import COVERAGE_FACTOR, Quantity, Source
from calibration.said import numbered
from vision.answer.words import (
    ON_A_PAGE,
    Units,
    camera_sentence,
    format_error,
    format_plus_minus,
    format_size,
    print_sentence,
)
from vision.drill.report import DrillCut
from vision.drill.result import DrillResult
from vision.drill.review import DrillReview
from vision.drill.statistics import Estimate
from vision.drill.words import TELL_ON_A_PAGE, advice_sentence, degrees, significance, spacing_words, strayed_sentences


def drill_words(result: DrillResult, units: Units) -> dict[str, Any]:
    """Everything a page says about practice cuts, in these units."""
    end, cuts = result.measurement.end, result.measurement.cuts
    return {
        "verdict": advice_sentence(result.review, units),
        "board": _board(result, units),
        "strayed": strayed_sentences(cuts, TELL_ON_A_PAGE),
        "cuts": [_cut(cut, units) for cut in cuts],
        "figures": _figures(result.review, units),
        "doubts": _doubts(result),
        "known": list(filter(None, [print_sentence(end.print_cost, ON_A_PAGE), camera_sentence(end.card)])),
    }


def _board(result: DrillResult, units: Units) -> str:
    end, count = result.measurement.end, result.review.count
    width, thickness = (format_size(size.value, units) for size in (end.width, end.thickness))
    return f"{width} wide, {thickness} thick, {'one cut' if count == 1 else f'{count} cuts'}"


def _cut(cut: DrillCut, units: Units) -> dict[str, str]:
    zone, bow, kerf = (format_error(mm, units) for mm in (cut.squareness_zone_mm, cut.bow_mm, cut.kerf.value))
    return {
        "name": f"{cut.turn}",
        "place": f"{cut.number}",
        "meant": _meant(cut),
        "lean": _in_degrees(cut.lean),
        "spacing": "" if cut.spacing is None else format_plus_minus(cut.spacing, units),
        "zone": zone,
        "bow": bow,
        "kerf": kerf,
        "edge": cut.keep,
        "mark": "*" if cut.flags else "",
    }


def _meant(cut: DrillCut) -> str:
    """The intended lean, or the side where a cut was to slope without leaning across the end."""
    if cut.intent.lean_deg:
        return f"{cut.intent.lean_deg:g}°"
    return cut.intent.side or "square"


def _in_degrees(quantity: Quantity) -> str:
    return format_plus_minus(quantity).replace(" deg", "°")


def _figures(review: DrillReview, units: Units) -> list[dict[str, str]]:
    """What the cuts say together, each figure with its uncertainty and whether it differs from zero for certain."""
    estimates = (
        ("Mean lean off what was meant", review.bias),
        ("Drift from cut to cut", review.drift),
        ("Right-leaning less left-leaning", review.sides),
    )
    rows = [_row(name, degrees(found), significance(found)) for name, found in estimates if found is not None]
    if review.spread is not None:
        rows.insert(1, _row("Standard deviation about that mean", *_spread(review)))
    if review.bow is not None:
        rows.append(_row("Mean bow half-way through", _length(review.bow, units), significance(review.bow)))
    spacing = spacing_words(review, units)
    return [*rows, _row("Spacing along the board", spacing)] if spacing else rows


def _spread(review: DrillReview) -> tuple[str, str]:
    assert review.spread is not None
    low, high = review.spread.interval()
    return (
        f"{review.spread.sd:.2f}° (95 %: {low:.2f} to {high:.2f})",
        f"of which measuring makes {review.spread.noise:.2f}°",
    )


def _length(found: Estimate, units: Units) -> str:
    return format_plus_minus(Quantity(found.value, {Source("all"): found.u95 / COVERAGE_FACTOR}), units)


def _row(name: str, value: str, firm: str = "") -> dict[str, str]:
    return {"name": name, "value": value, "firm": firm}


def _doubts(result: DrillResult) -> list[dict[str, str]]:
    """The photo's warnings, then each kind of flag with the cuts that carry it."""
    end, cuts = result.measurement.end, result.measurement.cuts
    flags = [FLAGS[flag] for flag in dict.fromkeys(flag for cut in cuts for flag in cut.flags)]
    warnings = [{"message": kind.message, "what_to_do": kind.what_to_do} for kind in end.warnings]
    return warnings + [_flag(kind, cuts) for kind in flags]


def _flag(kind: Kind, cuts: Sequence[DrillCut]) -> dict[str, str]:
    named = numbered("Cut", [cut.turn for cut in cuts if kind.reason in cut.flags])
    return {"message": f"* {named}: {kind.message}", "what_to_do": kind.what_to_do}
