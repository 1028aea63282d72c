"""A repeatability study in sentences that a teacher understands, and in tables."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from calibration.study.gauge_study import CATEGORY_FACTOR, INTERACTION, PART, PERSON, PHOTO, GaugeStudy, Reading
from calibration.study.random_effects import ERROR, Anova, Row
from service.answers.table import table_text
from service.answers.wrapped import wrapped
from service.measuring.repeat_result import QuantityStudy, RepeatResult
from service.measuring.repeat_values import HALF_TAPER, LEAN, TAPER

TITLES = {LEAN: "Lean of a wall", TAPER: "Taper of a socket", HALF_TAPER: "Taper at a half pin"}
_PARTS = {LEAN: "wall", TAPER: "socket", HALF_TAPER: "half pin"}
_UNIT_SIGNS = {"deg": "°", "mm": " mm", "": ""}

GOOD_PERCENT, USABLE_PERCENT = 10.0, 30.0
"""AIAG MSA 4th edition: a gauge below the first is good, up to the second it may do, beyond it is too coarse."""
WANTED_CATEGORIES = 5
"""AIAG MSA 4th edition: a gauge should tell at least five kinds of part apart."""
_OUTLIERS_NAMED = 3
_LITTLE, _MOST = 0.1, 0.5
"""Shares of the variance that people read as hardly anything and as most of it."""

_FACTORS = {
    PART: "between parts",
    PERSON: "between people",
    INTERACTION: "people on some parts",
    PHOTO: "photo, all parts alike",
    ERROR: "photo, part by part",
}
_CANNOT_SEE = (
    "What all photos share, such as a print that is too large or a card that is always glued crooked, repeats every"
    " time and cannot show here."
)

_UNEQUAL = (
    "Not everyone has as many readings of every part. All were used, in an analysis of variance for unequal counts:"
    " nothing was dropped to make them equal."
)


def study_text(result: RepeatResult, left_out: Sequence[tuple[str, str]], *, explain: bool = False) -> str:
    """The whole study for people, at most 80 columns wide; `left_out` are photos and why they are not in it."""
    parts = [_summary(result), *(_quantity_text(each) for each in result.studied), _left_out_text(left_out)]
    parts += [_wrap(f"{title_of(name)}: no study, {why}.") for name, why in result.not_studied.items()]
    parts += [_anova_text(each) for each in result.studied] if explain else []
    parts += [_wrap(_UNEQUAL)] if not all(each.study.balanced for each in result.studied) else []
    return "\n\n".join(part for part in [*parts, _wrap(_CANNOT_SEE)] if part)


def title_of(quantity: str) -> str:
    """What people call a quantity: ours by their titles, any other by its own name."""
    return TITLES.get(quantity, quantity[:1].upper() + quantity[1:])


def format_amount(amount: float, unit: str, like: float | None = None) -> str:
    """An amount with its unit, `0.062°` or `0.018 mm`: two significant figures, of `like` if that is given."""
    guide = abs(amount if like is None else like)
    places = 2 if guide == 0.0 else min(max(1 - math.floor(math.log10(guide)), 0), 4)
    return f"{amount:.{places}f}{_UNIT_SIGNS.get(unit, f' {unit}')}"


def _summary(result: RepeatResult) -> str:
    """How far a new photo may be from the mean of very many: one line a quantity."""
    head = ("One photo, 95 %", "same person", "people add", "together", "claimed")
    rows = [_summary_row(each) for each in result.studied]
    return "\n".join(table_text(head, rows)) if rows else ""


def _summary_row(each: QuantityStudy) -> tuple[str, ...]:
    study = each.study
    people = study.reproducibility
    amounts = [study.repeatability.u95, people.u95 if people else None, study.gauge.u95, study.claimed_u95]
    shown = ("-" if u95 is None else f"± {format_amount(u95, each.unit, study.gauge.u95)}" for u95 in amounts)
    return (title_of(each.quantity), *shown)


def _quantity_text(each: QuantityStudy) -> str:
    study = each.study
    counts = f"{len(study.parts)} parts, {_people(study.persons)}, {len(study.readings)} readings"
    lines = [f"{title_of(each.quantity)}: {counts}", *(_point(sentence) for sentence in _sentences(each))]
    return "\n".join(lines)


def _sentences(each: QuantityStudy) -> Iterator[str]:
    yield _difference_sentence(each)
    yield from _person_sentence(each.study)
    yield from _limit_sentences(each)
    yield _category_sentence(each)
    yield from _claim_sentence(each)
    yield from (_outlier_note(reading, each.unit) for reading in each.study.outlying()[:_OUTLIERS_NAMED])


def _difference_sentence(each: QuantityStudy) -> str:
    part = _PARTS.get(each.quantity, "part")
    who = " by different people" if len(each.study.persons) > 1 else ""
    limit = format_amount(each.study.reproducibility_limit, each.unit)
    return f"Two photos of the same {part}{who} differ by less than {limit} in 95 of 100 cases."


def _person_sentence(study: GaugeStudy) -> Iterator[str]:
    people = study.reproducibility
    if people is None or not study.gauge.sd:
        return
    share = people.sd**2 / study.gauge.sd**2
    if share < _LITTLE:
        yield "Who takes the photo hardly matters."
    elif share < _MOST:
        yield "Most of that comes with every new photo, some with who takes it."
    else:
        yield "Most of that comes from who takes the photo: set up the card and the camera together once, step by step."


def _limit_sentences(each: QuantityStudy) -> Iterator[str]:
    """What the measuring leaves of each limit, and AIAG's judgement of the zone between them."""
    u95 = each.study.gauge.u95
    for name, limit in each.limits.items():
        share = f"Of the {name} limit of {format_amount(limit, each.unit)} measuring takes up"
        rest = limit - u95
        left = f"up to {format_amount(rest, each.unit)} is surely within" if rest > 0.0 else "none is surely within"
        yield f"{share} {each.study.limit_percent(limit):.0f} %: {left}."
    if each.tolerance:
        percent = each.study.tolerance_percent(each.tolerance)
        zone = format_amount(each.tolerance, each.unit)
        yield f"Against the zone of {zone} between the limits one photo is {_grade(percent)} ({percent:.0f} %, AIAG)."


def _grade(percent: float) -> str:
    if percent < GOOD_PERCENT:
        return "fine enough"
    return "usable with care" if percent <= USABLE_PERCENT else "too coarse to decide by alone"


def _category_sentence(each: QuantityStudy) -> str:
    """How finely parts are told apart; AIAG rounds down."""
    categories, part = each.study.categories, _PARTS.get(each.quantity, "part")
    if math.isinf(categories):
        return "Every repetition gave the same number."
    count = max(int(categories), 1)
    percent = each.study.total_percent(each.study.gauge)
    enough = "enough" if count >= WANTED_CATEGORIES else f"{WANTED_CATEGORIES} are wanted"
    kinds = f"{count} kind{'s' if count > 1 else ''} of {part}"
    return f"Among these it tells {kinds} apart ({enough}); {percent:.0f} % of what varies is measuring."


def _claim_sentence(each: QuantityStudy) -> Iterator[str]:
    """The test of the program's own claim."""
    ratio, study = each.study.claim_ratio, each.study
    if ratio is None or study.claimed_u95 is None:
        return
    middle, low, high = ratio
    seen, claimed = format_amount(study.gauge.u95, each.unit), format_amount(study.claimed_u95, each.unit)
    upper = f"and {high:.1f}" if high < 100.0 else "and any size, for these are few readings"
    between = f"{middle:.1f} times the claim, with 95 % confidence between {low:.1f} {upper}"
    if low > 1.0:
        verdict = "the program claims too little here: please report it"
    else:
        verdict = "the claim is more than cautious" if high < 1.0 else "the claim holds as far as these photos show"
    yield f"Seen ± {seen}, claimed for what is new in every photo ± {claimed} ({between}): {verdict}."


def _outlier_note(reading: Reading, unit: str) -> str:
    value = f"{reading.value:.3f}{_UNIT_SIGNS.get(unit, f' {unit}')}"
    return f"Far from its part's other readings: {reading.part} in {reading.photo}, {value}."


def _left_out_text(left_out: Sequence[tuple[str, str]]) -> str:
    if not left_out:
        return ""
    return "\n".join(["Left out:", *(_point(f"{photo}: {why}") for photo, why in left_out)])


def _anova_text(each: QuantityStudy) -> str:
    """The table before pooling, and what was pooled."""
    study = each.study
    head = ("Variation", "dof", "sum of sq.", "mean sq.", "F", "p", "% of all")
    lines = table_text(head, [_anova_row(row, each) for row in study.full.rows])
    pooled = [f"Pooled with what is below, being no more than chance: {_listed(study.pooled)}."] if study.pooled else []
    gauge = f"{study.total_percent(study.gauge):.1f} % of the total standard deviation is measuring (GRR)"
    factor = f"{CATEGORY_FACTOR:g} PV / GRR = {study.categories:.2f}"
    title = f"{title_of(each.quantity)}: analysis of variance"
    return "\n".join([title, *lines, *map(_wrap, pooled), f"{gauge}; {factor}."])


def _anova_row(row: Row, each: QuantityStudy) -> tuple[str, ...]:
    tests = ("", "") if row.f is None or row.p is None else (f"{row.f:.2f}", f"{row.p:.4f}")
    share = _share(each.study.anova, row.name, each.study)
    numbers = (f"{row.sum_squares:.4g}", f"{row.mean_square:.3g}")
    return (_FACTORS[row.name], str(row.dof), *numbers, *tests, share)


def _share(anova: Anova, name: str, study: GaugeStudy) -> str:
    """The factor's share in the final table; pooled factors have none."""
    if name in study.pooled:
        return "pooled"
    total = study.total.sd**2
    return f"{100.0 * anova.variance(name).value / total:.1f}" if total else "-"


def _listed(names: Sequence[str]) -> str:
    return ", ".join(_FACTORS[name] for name in names)


def _people(persons: Sequence[str]) -> str:
    """Names while they are few, else their number."""
    few = len(persons) <= 4
    return ("by " + ", ".join(persons)) if few else f"by {len(persons)} people"


def _wrap(sentence: str, *, first: str = "", indent: str = "") -> str:
    return "\n".join(wrapped(sentence, first, indent))


def _point(sentence: str) -> str:
    return _wrap(sentence, first="- ", indent="  ")
