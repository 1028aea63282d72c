"""A plan, and an end held against it, in sentences and rows. Tails and pins count from one, from the left."""

from __future__ import annotations

from calibration.quantity import Quantity
from calibration.units import MM_PER_INCH
from vision.answer.words import Units, format_error, format_plus_minus, format_size, socket_name
from vision.layout.plan import Line, Part, Plan, far_error_mm
from vision.layout.plan_check import Course, LineCheck, PlanCheck
from vision.layout.plan_in_depth import DeepLine

TRIAL_ERROR_MM = 0.1
"""The error of one step that the example in words takes, mm."""

OTHER_BOARD_MM = 3.0
"""A board this much wider or narrower than planned is perhaps another one: no plane takes that off by mistake (common
practice, no source)."""

COURSES: dict[Course, str] = {
    "kept": "kept to the line",
    "in the waste": "left wood beside it",
    "in the tail": "cut into the tail",
    "across the line": "runs across the line",
    "too close to call": "too close to call",
}


def plan_sentence(plan: Plan, units: Units = "mm") -> str:
    """What the plan is, in a line."""
    width, thickness, depth = (format_size(size, units) for size in (plan.width_mm, plan.thickness_mm, plan.depth_mm))
    name = f"Plan {plan.name!r}: " if plan.name else "Plan: "
    slope = f"slope 1:{1.0 / plan.slope:.3g} ({plan.slope_deg:.1f}°)"
    return f"{name}{_tails(plan.tails)}, board {width} by {thickness}, {slope}, baseline {depth} deep."


def line_row(line: Line, units: Units = "mm") -> tuple[str, ...]:
    """A line's name, and its places at the end and at the baseline."""
    return (line_name(line), place(line.x_end_mm, units), place(line.x_baseline_mm, units))


def part_row(plan: Plan, part: Part, units: Units = "mm") -> tuple[str, ...]:
    """A tail's or pin's name, and its widths at the end and at the baseline."""
    name = f"tail {part.number + 1}" if part.kind == "tail" else socket_name(part.number, plan.tails + 1)
    return (name, place(part.end_mm, units), place(part.baseline_mm, units))


def line_name(line: Line) -> str:
    """`tail 1 left`."""
    return f"tail {line.tail + 1} {line.side}"


def place(x_mm: float, units: Units = "mm") -> str:
    """A place to lay out: `31.15`; in inches to the thousandth, and to the nearest 1/32: `1.226 (1 7/32)`."""
    if units == "mm":
        return f"{x_mm:.2f}"
    return f"{x_mm / MM_PER_INCH:.3f} ({format_size(x_mm, 'inch').removesuffix(' in')})"


def step_sentences(plan: Plan, units: Units = "mm") -> list[str]:
    """How to step the layout off with dividers, and what an error of the step does."""
    unit = " in" if units == "inch" else " mm"
    step, pin = (place(length, units) + unit for length in (plan.step_mm, plan.pin_mm))
    error, far = (format_error(each, units) for each in (TRIAL_ERROR_MM, far_error_mm(plan.tails, TRIAL_ERROR_MM)))
    own = format_error(far_error_mm(plan.tails, 0.0, TRIAL_ERROR_MM), units)
    count = f"{plan.tails} step{'s' * (plan.tails > 1)}"
    return [
        f"Divider step: {step}, from the line of either half pin towards the other. {count} must end one pin ({pin})"
        " past the other half pin's line; if not, set the dividers again before you prick the wood.",
        f"A step set {error} wrong puts that last mark, and the width of every pin, {far} wrong ({plan.tails} times)."
        f" Single pricks that are {error} off by chance add up to {own}.",
    ]


def check_row(check: LineCheck, units: Units = "mm") -> tuple[str, ...]:
    """A line's name, its intended place, measured minus intended at both faces, and what the saw did."""
    offs = (_bare(off, units) for off in (check.off_show, check.off_transfer))
    return (line_name(check.line), place(check.line.x_end_mm, units).split(" ")[0], *offs, COURSES[check.course])


def deep_row(check: DeepLine, units: Units = "mm") -> tuple[str, ...]:
    """A line's name, measured minus intended at the baseline, that of its slope, and what the saw did down there."""
    offs = (_bare(off, units) for off in (check.off_show, check.off_transfer))
    return (line_name(check.line), *offs, _bare(check.slope_off, units), COURSES[check.course])


def depth_sentence(depth_off: Quantity, units: Units = "mm") -> str:
    """How the baseline's depth compares with the planned one."""
    if abs(depth_off.value) <= depth_off.u95:
        return "The baseline lies at the planned depth as far as the photos show."
    much = format_plus_minus(_magnitude(depth_off), units)
    return f"The baseline lies {much} {'deeper' if depth_off.value > 0.0 else 'less deep'} than planned."


def check_sentences(check: PlanCheck, units: Units = "mm") -> list[str]:
    """Which lines were sawn on the wrong side, what they have in common, another width, and what would settle more.

    Of a board of quite another width nothing but that is said: the lines are hardly its own.
    """
    if check.problem:
        return [check.problem]
    if abs(check.width_off.value) - check.width_off.u95 > OTHER_BOARD_MM:
        off = _wider(check.width_off, units)
        return [f"The board is {off} than planned: see whether this is its plan before you go by the lines."]
    wrong = [line_name(each.line) for each in check.lines if each.kerf_side == "tail"]
    sentences = [f"The saw went on the wrong side of the line, in the tail: {', '.join(wrong)}."] if wrong else []
    if check.shift is not None and abs(check.shift.value) > check.shift.u95:
        direction = "right" if check.shift.value > 0.0 else "left"
        shift = format_plus_minus(_magnitude(check.shift), units)
        sentences.append(f"All lines together lie {shift} to the {direction} of the plan.")
    if abs(check.width_off.value) > check.width_off.u95:
        off = _wider(check.width_off, units)
        sentences.append(f"The board is {off} than planned; places are compared from its left edge.")
    if not check.print_checked and any(each.course == "too close to call" for each in check.lines):
        sentences.append(
            "Places are as uncertain as the card's printed size: `tailproof print-check` settles much of it."
        )
    return sentences


def _wider(width_off: Quantity, units: Units) -> str:
    return f"{format_plus_minus(_magnitude(width_off), units)} {'wider' if width_off.value > 0.0 else 'narrower'}"


def _magnitude(quantity: Quantity) -> Quantity:
    return quantity if quantity.value >= 0.0 else -quantity


def _bare(quantity: Quantity, units: Units) -> str:
    return format_plus_minus(quantity, units).rsplit(" ", 1)[0]


def _tails(count: int) -> str:
    return f"{count} tail{'s' * (count > 1)}"
