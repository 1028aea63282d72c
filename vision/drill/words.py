"""A drill's result in words: one sentence on what to work on, and the figures behind it."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from calibration.quantity import COVERAGE_FACTOR, Quantity, Source
from vision.answer.words import Units, format_error, format_plus_minus
from vision.drill.report import DrillCut
from vision.drill.review import FEWEST_CUTS, WORTH_WORK_MM, Advice, Aspect, DrillReview
from vision.drill.statistics import Estimate, Spread

ASPECT_WORDS: dict[Aspect, str] = {
    "bias": "how your cuts lean on average",
    "spread": "how your cuts differ from one another",
    "drift": "how your lean changes from cut to cut",
    "sides": "how left-leaning and right-leaning cuts differ",
    "straightness": "how your cuts bow",
}
STRAYED_DEG = 3.0
"""A cut meant to be square that leans more than this was perhaps not meant to be (common practice, no source)."""
LEAST_P = 0.001
"""Smaller chances are not told apart: they rest on the tails of a distribution that nobody has seen so far out."""
TELL_AT_THE_COMMAND_LINE = "tell it: --intended"
TELL_ON_A_PAGE = "say so where the photo is measured again"


def advice_sentence(review: DrillReview, units: Units = "mm") -> str:
    """What to work on, in one sentence; nothing is said that the uncertainty does not carry."""
    sentences: dict[Advice, Callable[[DrillReview, Units], str]] = {
        "bias": _bias,
        "spread": _spread,
        "drift": _drift,
        "sides": _sides,
        "straightness": _bow,
        "nothing": _nothing,
        "more cuts": _more_cuts,
        "better photo": _better_photo,
    }
    return sentences[review.advice](review, units)


def _bias(review: DrillReview, units: Units) -> str:
    assert review.bias is not None
    size = _over_thickness(review, review.bias.value, units)
    lean = degrees(review.bias, signed=False)
    return (
        f"Work on your lean: on the way to the transfer face your cuts go {lean} too far to the {_way(review.bias)} on"
        f" average, {size} over the thickness."
    )


def _spread(review: DrillReview, units: Units) -> str:
    spread = review.scatter or review.spread
    assert spread is not None
    size = _over_thickness(review, spread.own(), units)
    about = " about their own drift and sides" if review.scatter else ""
    return f"Work on sawing every cut alike: leans scatter by {spread_words(spread)}, {size} over the thickness{about}."


def _drift(review: DrillReview, units: Units) -> str:
    assert review.drift is not None
    step, whole = degrees(review.drift, signed=False), (review.count - 1) * review.drift.value
    return (
        f"Work on keeping your stance: from one cut to the next your lean moves {step} to the {_way(review.drift)},"
        f" {_over_thickness(review, whole, units)} over the thickness from the first to the last."
    )


def _sides(review: DrillReview, units: Units) -> str:
    assert review.sides is not None
    apart = "too far apart" if review.sides.value > 0.0 else "not far enough apart"
    return (
        "Work on left against right: measured by what was meant, your right-leaning cuts go"
        f" {degrees(review.sides, signed=False)} farther to the {_way(review.sides)} than your left-leaning ones, so"
        f" the two come out {apart}."
    )


def _bow(review: DrillReview, units: Units) -> str:
    assert review.bow is not None
    return (
        f"Work on a straight cut: half-way through, your cuts stand {format_error(abs(review.bow.value), units)} to the"
        f" {_way(review.bow)} of a straight line, give or take {format_error(review.bow.u95, units)}."
    )


def _nothing(review: DrillReview, units: Units) -> str:
    return (
        f"Nothing to work on in these cuts: lean, scatter, drift and bow each stay within"
        f" {format_error(WORTH_WORK_MM, units)} over the thickness."
    )


def _more_cuts(review: DrillReview, units: Units) -> str:
    cuts = "One cut does" if review.count == 1 else f"These {review.count} cuts do"
    more = FEWEST_CUTS if review.count < FEWEST_CUTS else 2 * review.count
    return f"{cuts} not tell for certain what to work on{_likeliest(review)}: saw {more} on one board to know."


def _better_photo(review: DrillReview, units: Units) -> str:
    return (
        f"This photo does not tell for certain what to work on{_likeliest(review)}: set card and board up anew, come"
        " closer and take another."
    )


def _likeliest(review: DrillReview) -> str:
    return "" if review.likeliest is None else f" (least is known of {ASPECT_WORDS[review.likeliest]})"


def figure_sentences(review: DrillReview, units: Units = "mm") -> list[str]:
    """Mean, spread, drift, sides, bow and spacing, each with its uncertainty; those that there are cuts enough for."""
    found = (_mean_figure(review, units), _spread_figure(review), _drift_figure(review), _sides_figure(review))
    return [sentence for sentence in (*found, _bow_figure(review, units), _spacing_figure(review, units)) if sentence]


def _mean_figure(review: DrillReview, units: Units) -> str:
    if review.bias is None:
        return ""
    size = _over_thickness(review, review.bias.value, units)
    return f"Mean lean off what was meant: {degrees(review.bias)} ({size} over the thickness)."


def _spread_figure(review: DrillReview) -> str:
    if review.spread is None:
        return ""
    low, high = review.spread.interval()
    return (
        f"Standard deviation about that mean: {review.spread.sd:.2f}° (95 %: {low:.2f} to {high:.2f}), of which"
        f" measuring makes {review.spread.noise:.2f}°."
    )


def _drift_figure(review: DrillReview) -> str:
    if review.drift is None:
        return ""
    return f"Drift from cut to cut: {degrees(review.drift)}, {significance(review.drift)}."


def _sides_figure(review: DrillReview) -> str:
    if review.sides is None:
        return ""
    return f"Right-leaning less left-leaning: {degrees(review.sides)}, {significance(review.sides)}."


def _bow_figure(review: DrillReview, units: Units) -> str:
    if review.bow is None:
        return ""
    bow = Quantity(review.bow.value, {Source("all"): review.bow.u95 / COVERAGE_FACTOR})
    return f"Mean bow half-way through: {format_plus_minus(bow, units)}, {significance(review.bow)}."


def _spacing_figure(review: DrillReview, units: Units) -> str:
    spacing = spacing_words(review, units)
    return f"Spacing along the board: {spacing}." if spacing else ""


def spacing_words(review: DrillReview, units: Units) -> str:
    """The least and the largest distance of neighbours, `9.86 mm to 12.10 mm`; empty for fewer than two distances."""
    if len(review.neighbours_mm) < 2:
        return ""
    return f"{format_error(min(review.neighbours_mm), units)} to {format_error(max(review.neighbours_mm), units)}"


def significance(found: Estimate) -> str:
    """Whether a number differs from zero for certain, by Student's test."""
    if found.firm(0.95) > 0.0:
        return f"firm (p = {found.p_value:.2g})" if found.p_value >= LEAST_P else f"firm (p < {LEAST_P})"
    return f"not firm (p = {found.p_value:.2f})"


def degrees(found: Estimate, *, signed: bool = True) -> str:
    """An angle with its expanded uncertainty, `0.42 ± 0.10°`; not `signed` where words tell the way."""
    value = found.value if signed else abs(found.value)
    shown = Quantity(value, {Source("all"): found.u95 / COVERAGE_FACTOR}, "deg")
    return format_plus_minus(shown).replace(" deg", "°")


def spread_words(spread: Spread) -> str:
    """A standard deviation without the measurement's part, with its 95 % interval."""
    low, high = spread.own_interval()
    return f"{spread.own():.2f}° (95 %: {low:.2f} to {high:.2f})"


def strayed_sentences(cuts: Sequence[DrillCut], tell: str = TELL_AT_THE_COMMAND_LINE) -> list[str]:
    """A hint, with how to `tell` it, when cuts that count as square can hardly have been meant to be."""
    steep = [cut for cut in cuts if cut.intent.lean_deg == 0.0 and abs(cut.lean.value) > STRAYED_DEG]
    if not steep:
        return []
    numbers = ", ".join(str(cut.number) for cut in sorted(steep, key=lambda cut: cut.number))
    return [
        f"Cuts that lean by more than {STRAYED_DEG:.0f}°, taken for square: {numbers}. If they were meant to lean,"
        f" {tell}. What to work on may be another thing then."
    ]


def _way(found: Estimate) -> str:
    return "right" if found.value > 0.0 else "left"


def _over_thickness(review: DrillReview, lean_deg: float, units: Units) -> str:
    return format_error(review.thickness_mm * math.tan(math.radians(abs(lean_deg))), units)
