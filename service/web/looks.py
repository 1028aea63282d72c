"""How words and numbers look on pages: filters and helpers of the templates."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from fastapi.templating import Jinja2Templates
from jinja2 import Environment, FileSystemLoader, StrictUndefined, select_autoescape
from markupsafe import Markup, escape

from calibration.units import MM_PER_INCH
from service.domain.board import STANDINGS
from service.domain.fit import OUTCOMES
from service.domain.how_cut import HowCut
from service.domain.person import Units
from service.practice.class_view import failing_sentence
from service.practice.say import day_name, period_name
from service.texts import texts
from service.web.review_badge import review_badge
from vision.answer.palette import LOOKS
from vision.answer.words import CAUTIONS, format_error
from vision.joint.species import find_species

FOLDER = Path(__file__).parent


def make_templates() -> Jinja2Templates:
    """The page templates: everything escaped, a name that is not there is an error."""
    loader = FileSystemLoader(FOLDER / "templates")
    environment = Environment(
        loader=loader, autoescape=select_autoescape(), undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    environment.filters |= {"day": day_name, "moment": _moment, "slug": _slug, "length": typed_length}
    environment.filters |= {"error": format_error, "failing": failing_sentence}
    environment.filters |= {"wall_notes": wall_notes, "wood_group": wood_group}
    environment.globals |= {
        "t": texts(),
        "text": _text,
        "period": period_name,
        "looks": LOOKS,
        "cautions": CAUTIONS,
        "standings": STANDINGS,
        "usual_cuts": HowCut(),
        "outcomes": OUTCOMES,
        "review_badge": review_badge,
    }
    return Jinja2Templates(env=environment)


def wood_group(name: str) -> str:
    """Softwood or hardwood; empty for a wood that the tables do not know, or none."""
    try:
        return find_species(name).group
    except ValueError:
        return ""


def _moment(moment: datetime) -> Markup:
    """A moment that pages with scripts show in the time of whoever looks (`static/local_times.js`)."""
    utc = moment.astimezone(UTC)
    return Markup('<time datetime="{}">{}, {} UTC</time>').format(utc.isoformat(), day_name(utc), f"{utc:%H:%M}")


def _text(key: str, **values: object) -> Markup:
    """As `text`, everything escaped but what is markup among the values."""
    section, name = key.split(".")
    return escape(texts()[section][name]).format(**values)


def wall_notes(walls: Sequence[Mapping[str, Any]]) -> list[tuple[str, list[str]]]:
    """Every note on walls once, with the names of the walls that it is for."""
    notes = dict.fromkeys(note for wall in walls for note in wall["flags"])
    return [(note, [wall["name"] for wall in walls if note in wall["flags"]]) for note in notes]


def _slug(words: str) -> str:
    """A word of the domain as a key or a class: `start over` is `start_over`."""
    return words.replace(" ", "_")


def typed_length(size_mm: float | None, units: Units) -> str:
    """A size as a person would type it again; empty for none."""
    if size_mm is None:
        return ""
    return f"{size_mm / MM_PER_INCH:.3f}".rstrip("0").rstrip(".") if units == "inch" else f"{size_mm:g}"
