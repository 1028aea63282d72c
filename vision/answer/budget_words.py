"""A budget in plain words: what each cause is, and what a person could do about the largest, with what is assumed."""

from __future__ import annotations

from calibration.units import MM_PER_INCH
from vision.answer.budget import PROFILE_SHARE, Act, Budget, Forecast
from vision.answer.words import Units, socket_name

LEAST_SHARE = 0.02
"""Causes with a smaller share of the variance are left out of a budget, or taken together."""

CAUSES = {
    "wall edge place": "where the wall's edge lies in the picture",
    "wall edge direction": "which way the wall's edge runs in the picture",
    "placed by hand": "the eye and the hand that placed the wall's line",
    "datum direction": "which way the show face runs",
    "face edges": "where the two faces lie in the picture",
    "board side": "where the board's sides lie in the picture",
    "card corners": "the card's corners in the picture",
    "lens": "the lens: focal length and distortion",
    "print scale": "the print's size",
    "print skew": "the print's right angle",
    "card height": "the card higher or lower than the end",
    "card tilt": "the card not parallel to the end",
    "told size": "the board's size as it was told",
    "faces not parallel": "faces of the board that are not quite parallel",
    "sides not parallel": "sides of the board that are not quite parallel",
    "fan of the sawing": "leans that fan out by chance, taken for a tilted card",
    "photos disagree": "what the photos disagree about",
}
"""Every cause in a budget, as a person would say it."""

ACTS: dict[Act, tuple[str, str]] = {
    "second photo": (
        "A second photo, card and board left as they are,",
        "it is as good as this one; card and print keep their errors",
    ),
    "card set up anew": (
        "A second photo with card and board taken apart and set up anew",
        "it is as good as this one, and the set-up's tilt has nothing to do with the first",
    ),
    "card end for end": (
        "A second photo with the card turned end for end, or laid along the transfer face,",
        "it is as good as this one, and half of the tilt's variance goes with the card",
    ),
    "card a quarter": (
        "A second photo with the card turned a quarter, its short edge to the board,",
        "it is as good as this one, though the short edge is a shorter ruler",
    ),
    "print check": ("A print check", "bars and diagonals are measured once with a caliper"),
    "camera profile": (
        "A camera profile",
        f"it leaves about {PROFILE_SHARE:.0%} of the lens's part, for focus and stabiliser move from photo to photo",
    ),
    "closer": (
        "A photo in which the end is {times:.1f} times as large",
        "edges are found to the same share of a pixel, and no better or worse in focus",
    ),
}
"""What each act is, as the subject of a sentence that a forecast's `times` goes into, and what is taken for granted."""

MOST_FORECASTS = 3
"""As many forecasts as a person will weigh against each other."""


def cause_words(cause: str) -> str:
    """A cause in plain words; one without words of its own as it is."""
    return CAUSES.get(cause, cause)


def budget_title(budget: Budget, sockets: int) -> str:
    """What the budget is of: `taper, pin between tails 1 and 2`; `sockets` is how many the board has."""
    kind, _, rest = budget.what.partition(" ")
    if kind == "socket":
        return f"{budget.number}, {socket_name(int(rest) - 1, sockets)}"
    if kind == "tail":
        number, side = rest.split()
        return f"{budget.number}, {side} wall of tail {number}"
    return f"{budget.number} of the board"


def forecast_sentence(forecast: Forecast, budget: Budget, units: Units = "mm") -> str:
    """`A print check would bring U from 0.062 to 0.048 mm (if ...).`"""
    act, assumed = ACTS[forecast.act]
    before, unit = in_units(budget.quantity.u95, budget, units)
    after, _ = in_units(forecast.u95, budget, units)
    places = places_for(before)
    subject = act.format(times=forecast.times)
    return f"{subject} would bring U from {before:.{places}f} to {after:.{places}f} {unit} (if {assumed})."


def forecast_sentences(budget: Budget, units: Units = "mm") -> list[str]:
    """The best forecasts, each a sentence; one that says so when nothing would help much."""
    if not budget.forecasts:
        return ["No single step would make U smaller by much."]
    return [forecast_sentence(each, budget, units) for each in budget.forecasts[:MOST_FORECASTS]]


def in_units(value: float, budget: Budget, units: Units) -> tuple[float, str]:
    """A figure of the budget in the units asked for, with the unit's sign; angles stay degrees."""
    if budget.quantity.unit == "deg":
        return value, "°"
    return (value / MM_PER_INCH, "in") if units == "inch" else (value, budget.quantity.unit)


def places_for(u95: float) -> int:
    """Decimals that show `u95` with two or three digits, so that its parts can be told apart."""
    places = 3
    while u95 < 10.0 ** (1 - places) and places < 5:
        places += 1
    return places
