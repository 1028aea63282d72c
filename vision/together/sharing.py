"""Which errors the photos of one end share, who brings them, and with which sign.

An error belongs to the card, to how it was set up, to the camera, to the end itself or to one photo. Photos with the
same owner make the same error; a card that lies otherwise brings its own errors along, turned. All of it is carried by
the labels and signs of a quantity's parts, so that sums and differences of photos cancel what can cancel.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal, NamedTuple

from calibration.quantity import Quantity, Source

Owner = Literal["card", "set_up", "camera", "end", "photo"]

TILT = "card tilt"
ALONG, ACROSS = Source(TILT, "along the width"), Source(TILT, "across the thickness")
SCALES = Source("print scale", "x"), Source("print scale", "y")
SKEW = Source("print skew")

TILT_OF_CARD = 0.5
"""Share of the tilt's variance that is fixed to the card and its block (a curled sheet, a block out of true) and goes
with it when it is turned; the rest is new with every set-up (common practice, no source)."""
LENS_OF_CAMERA = 0.5
"""Share of the lens's variance that all photos of one camera have in common: what was presumed of the lens. The rest
is what each photo's own corners made of it (equal shares for want of a source)."""
FIT_OF_END = 0.7
"""Share of a fit's variance that the end itself brings into every photo: a drawn line at a wall, a torn corner, a dark
ring. Measured on `sample_images/render` with `--views 3`; see DEVELOPERS."""


class Rule(NamedTuple):
    """Who brings a cause's errors, and which `share` of their variance; the rest is each photo's own."""

    owner: Owner
    share: float = 1.0


RULES: dict[str, Rule] = {
    "print scale": Rule("card"),
    "print skew": Rule("card"),
    "card height": Rule("set_up"),
    "lens": Rule("camera", LENS_OF_CAMERA),
    "card corners": Rule("photo"),
    "wall edge place": Rule("end", FIT_OF_END),
    "wall edge direction": Rule("end", FIT_OF_END),
    "placed by hand": Rule("photo"),
    "board side": Rule("end", FIT_OF_END),
    "face edges": Rule("end", FIT_OF_END),
    "datum direction": Rule("end", FIT_OF_END),
}
"""By cause. The card's tilt has a rule of its own; a cause not named here counts as the end's: it never averages."""


@dataclass(frozen=True)
class Shot:
    """What tells the errors of one photo from those of another: the names of its owners.

    `turn` counts quarter turns, clockwise as seen, from the end frame's axes to the card's own. `profiled` tells that
    the lens is known by a profile, whose errors all its photos have in common.
    """

    photo: str
    set_up: str = "1"
    card: str = ""
    camera: str = ""
    turn: int = 0
    profiled: bool = False

    def share_of(self, rule: Rule) -> float:
        """The share of a cause's variance that its owner brings into this photo."""
        return 1.0 if rule.owner == "camera" and self.profiled else rule.share

    def name_of(self, owner: Owner) -> str:
        """The owner's name in this photo; the end has none, since there is but one."""
        return "" if owner == "end" else f"{owner} {getattr(self, owner)}"


def as_seen(quantity: Quantity, shot: Shot) -> Quantity:
    """The same quantity, its sources named for their owners in this photo, so that other photos can share them."""
    parts: dict[Source, float] = {}
    for source, part in quantity.parts.items():
        if source.cause != TILT:
            rule = rule_of(source.cause)
            share = shot.share_of(rule)
            _add(parts, source, shot.name_of(rule.owner), part * math.sqrt(share))
            _add(parts, source, shot.name_of("photo"), part * math.sqrt(1.0 - share))
    _add_tilt(parts, quantity.parts, shot)
    return Quantity(quantity.value, parts, quantity.unit)


def rule_of(cause: str) -> Rule:
    """Who brings the errors of a cause."""
    return RULES.get(cause, Rule("end"))


def as_if_alone(quantity: Quantity, shot: Shot) -> Quantity:
    """The same quantity with everything but the card's print counted as this photo's own.

    Photos that differ by more than this allows do not agree, however little they should have in common.
    """
    parts: dict[Source, float] = {}
    for source, part in quantity.parts.items():
        owner: Owner = "card" if rule_of(source.cause).owner == "card" else "photo"
        _add(parts, source, shot.name_of(owner), part)
    return Quantity(quantity.value, parts, quantity.unit)


def is_cards_own(source: Source, shot: Shot) -> bool:
    """Whether a source, as `as_seen` names it, goes with the card when it is turned."""
    return source.instance.endswith(shot.name_of("card"))


def _add(parts: dict[Source, float], source: Source, name: str, part: float) -> None:
    if part != 0.0:
        instance = ", ".join(filter(None, (source.instance, name)))
        key = Source(source.cause, instance)
        parts[key] = parts.get(key, 0.0) + part


def _add_tilt(parts: dict[Source, float], found: Mapping[Source, float], shot: Shot) -> None:
    """Both tilts: the set-up's in the end's axes, the card's own in the card's, which turn with it."""
    for source, part in found.items():
        if source.cause == TILT:
            share = 1.0 - TILT_OF_CARD if source in (ALONG, ACROSS) else 1.0
            _add(parts, source, shot.name_of("set_up"), part * math.sqrt(share))
    cosine, sine = ((1, 0), (0, 1), (-1, 0), (0, -1))[shot.turn % 4]
    along, across = found.get(ALONG, 0.0), found.get(ACROSS, 0.0)
    own = math.sqrt(TILT_OF_CARD)
    _add(parts, Source(TILT, "card x"), shot.name_of("card"), own * (cosine * along + sine * across))
    _add(parts, Source(TILT, "card y"), shot.name_of("card"), own * (cosine * across - sine * along))


def with_print_turned(quantity: Quantity, turn: int) -> Quantity:
    """The quantity were the card's print turned by so many quarters: scales change places, skew its sign.

    A shear is its own half turn; a quarter turn makes it the opposite shear but for a rotation, which the end's own
    frame takes up.
    """
    parts = dict(quantity.parts)
    if turn % 2:
        x, y = (parts.pop(source, 0.0) for source in SCALES)
        parts |= {SCALES[0]: y, SCALES[1]: x, SKEW: -parts.get(SKEW, 0.0)}
    return Quantity(quantity.value, {source: part for source, part in parts.items() if part}, quantity.unit)
