"""The picture of a repeatability study: every value by part and photographer. Needs matplotlib, an optional extra.

Who took a photo is told by marker and colour both; the colours step evenly in lightness, as the palette of the answers.
"""

from __future__ import annotations

import io
from collections.abc import Sequence
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from calibration.study.gauge_study import Reading
from service.answers.repeat_text import format_amount, title_of
from service.errors import UsageError
from service.measuring.repeat_result import QuantityStudy, RepeatResult
from service.output import MARK, check_output
from vision.answer.palette import INK, MUTED, PAPER, Colour

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

PLOT_KINDS = (".png", ".svg", ".pdf")
_CREATOR_KEYS = {".png": "Software", ".svg": "Creator", ".pdf": "Creator"}


class PersonLook(NamedTuple):
    """How one photographer's values are drawn."""

    colour: Colour
    marker: str


PERSON_LOOKS = (
    PersonLook((22, 62, 128), "o"),
    PersonLook((240, 171, 32), "D"),
    PersonLook((152, 32, 80), "^"),
    PersonLook((82, 158, 196), "s"),
    PersonLook((20, 20, 22), "v"),
    PersonLook((205, 96, 40), "P"),
)
"""Blue, amber, wine, sky, ink and rust; whoever comes after them takes the same again, in their turn."""

WIDTH_IN, VALUES_IN, DEVIATIONS_IN, HEAD_IN = 7.2, 1.5, 2.3, 1.3
DOTS_PER_INCH = 150
"""A page of 1080 pixels: the width of a phone's screen, on which 11 point letters stay readable."""
_SHADE: Colour = (214, 222, 230)
_DODGE = 0.6
"""Share of a part's place over which the photographers stand side by side."""


def check_plot(path: Path) -> None:
    """Raise UsageError when no plot could be written: another kind of file, a photo in its place, no matplotlib."""
    if path.suffix.lower() not in PLOT_KINDS:
        raise UsageError(f"--plot writes {', '.join(PLOT_KINDS)} files, not {path.name!r}.")
    check_output(path)
    if find_spec("matplotlib") is None:
        raise UsageError(
            "--plot needs matplotlib, which is not installed. Install it with pip install matplotlib, or leave"
            " --plot out."
        )


def draw_study(result: RepeatResult, path: Path) -> bytes:
    """The picture as a file's bytes, of the kind that the name of `path` asks for."""
    from matplotlib import rc_context

    kind = path.suffix.lower()
    with rc_context({"font.size": 11, "svg.hashsalt": "tailproof"}):
        figure = _figure(result.studied)
        file = io.BytesIO()
        figure.savefig(
            file, format=kind[1:], dpi=DOTS_PER_INCH, facecolor=_rgb(PAPER), metadata={_CREATOR_KEYS[kind]: MARK}
        )
    return file.getvalue()


def look_of_person(index: int) -> PersonLook:
    """The look of the photographer with this number, counted from 0."""
    return PERSON_LOOKS[index % len(PERSON_LOOKS)]


def _figure(studied: Sequence[QuantityStudy]) -> Figure:
    from matplotlib.figure import Figure

    heights = [inches for _ in studied for inches in (VALUES_IN, DEVIATIONS_IN)]
    figure = Figure(figsize=(WIDTH_IN, HEAD_IN * len(studied) + sum(heights)), layout="constrained")
    axes = figure.subplots(len(heights), 1, height_ratios=heights, squeeze=False)[:, 0]
    for each, upper, lower in zip(studied, axes[0::2], axes[1::2], strict=True):
        _draw_values(upper, each)
        _draw_deviations(lower, each)
    return figure


def _draw_values(axes: Axes, each: QuantityStudy) -> None:
    """The values as measured, with the photographers' names above."""
    _scatter(axes, each, np.zeros(len(each.study.parts)))
    axes.axhline(0.0, color=_rgb(MUTED), linewidth=0.8)
    _settle(axes, each, f"{title_of(each.quantity)}{_in_unit(each)}")
    axes.set_xticklabels([])
    axes.legend(loc="lower left", bbox_to_anchor=(0.0, 1.0), ncols=3, frameon=False, handletextpad=0.1)


def _draw_deviations(axes: Axes, each: QuantityStudy) -> None:
    """How far each value is from its part's mean, over what was seen and what the program claims."""
    study = each.study
    _scatter(axes, each, _part_means(each))
    seen = format_amount(study.gauge.u95, each.unit)
    shade = _rgb(_SHADE)
    axes.axhspan(-study.gauge.u95, study.gauge.u95, color=shade, zorder=0, label=f"± {seen}: 95 % of these photos")
    if study.claimed_u95 is not None:
        claimed = format_amount(study.claimed_u95, each.unit)
        for sign, label in ((1.0, f"± {claimed}: claimed"), (-1.0, None)):
            axes.axhline(sign * study.claimed_u95, color=_rgb(INK), linestyle=(0, (5, 3)), linewidth=1.2, label=label)
    _settle(axes, each, f"from part's mean{_in_unit(each)}")
    axes.set_xticklabels(study.parts, rotation=60, ha="right", rotation_mode="anchor", fontsize=_tick_size(study.parts))
    handles, labels = axes.get_legend_handles_labels()
    bands = [(handle, label) for handle, label in zip(handles, labels, strict=True) if label.startswith("±")]
    axes.legend(*zip(*bands, strict=True), loc="lower left", bbox_to_anchor=(0.0, 1.0), ncols=2, frameon=False)


def _scatter(axes: Axes, each: QuantityStudy, zeros: np.ndarray) -> None:
    """Every photographer's values less the part's own zero, a little beside one another."""
    persons, places = each.study.persons, {part: index for index, part in enumerate(each.study.parts)}
    for index, person in enumerate(persons):
        own = [reading for reading in each.study.readings if reading.person == person]
        at = np.array([places[reading.part] for reading in own])
        values = np.array([reading.value for reading in own]) - zeros[at]
        look = look_of_person(index)
        axes.plot(
            at + _shift(index, len(persons)),
            values,
            look.marker,
            color=_rgb(look.colour),
            markersize=5.5,
            markeredgecolor=_rgb(INK),
            markeredgewidth=0.6,
            label=person,
        )


def _shift(index: int, persons: int) -> float:
    return _DODGE * ((index + 0.5) / persons - 0.5)


def _settle(axes: Axes, each: QuantityStudy, label: str) -> None:
    """One place for each part, with lines between the places."""
    count = len(each.study.parts)
    axes.set_xlim(-0.5, count - 0.5)
    axes.set_xticks(range(count))
    for edge in range(1, count):
        axes.axvline(edge - 0.5, color=_rgb(_SHADE), linewidth=0.8, zorder=0)
    axes.margins(y=0.12)
    axes.set_facecolor("white")
    axes.set_ylabel(label, fontsize=10)
    axes.tick_params(axis="x", length=0)


def _part_means(each: QuantityStudy) -> np.ndarray:
    readings: dict[str, list[Reading]] = {part: [] for part in each.study.parts}
    for reading in each.study.readings:
        readings[reading.part].append(reading)
    return np.array([np.mean([reading.value for reading in own]) for own in readings.values()])


def _tick_size(parts: Sequence[str]) -> float:
    """Letters small enough for the parts to stand side by side, and no smaller than can be read."""
    return float(np.clip(270.0 / len(parts), 6.5, 10.0))


def _in_unit(each: QuantityStudy) -> str:
    return f", {each.unit}" if each.unit else ""


def _rgb(colour: Colour) -> tuple[float, float, float]:
    red, green, blue = (channel / 255.0 for channel in colour)
    return red, green, blue
