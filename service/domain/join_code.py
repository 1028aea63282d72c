"""Join codes: two words of the shop and a number, easy to say across a noisy room and to type with cold fingers."""

from __future__ import annotations

import hashlib
import re

_THINGS = (
    "adze apron auger awl bench bevel bit block board bolt box brace brad brush burr camber chalk chest chisel"
    " chop clamp cleat crate cutter dado dowel drill edge ferrule fence file float frog gimlet gouge grain groove"
    " guide hammer handle hinge holdfast hook jig joiner ladder lath ledge level mallet marker miter mortise nail"
    " panel peg pencil pincer plane pliers plow plumb rasp vise"
)
THINGS = tuple(_THINGS.split())
"""64 words that are hard to mistake for one another when they are said aloud."""

_WOODS = (
    "acacia alder almond apple ash aspen balsa bamboo banyan basswood beech birch boxwood butternut catalpa cedar"
    " cherry chestnut citron coconut cypress dogwood ebony fig elm fir gum hazel hemlock hickory holly ironwood"
    " juniper larch laurel lemon lime linden locust magnolia mahogany mango maple medlar mulberry myrtle oak olive"
    " orange palm pear pecan persimmon pine plum poplar quince redwood rosewood rowan sequoia spruce walnut willow"
)
WOODS = tuple(_WOODS.split())
"""64 trees, of which the same holds: no `elder` beside `alder`."""

LOWEST, HIGHEST = 100, 999
LONGEST_TYPED = 60
_CODE = re.compile(r"[a-z]+-[a-z]+-[0-9]{3}")


def join_code(secret: str) -> str:
    """The code of a random secret, such as `walnut-mallet-407`: one of 3.7 million, guesses at which are rationed."""
    number = int.from_bytes(hashlib.sha256(secret.encode()).digest()[:16], "big")
    number, wood = divmod(number, len(WOODS))
    number, thing = divmod(number, len(THINGS))
    return f"{WOODS[wood]}-{THINGS[thing]}-{LOWEST + number % (HIGHEST - LOWEST + 1)}"


def typed_code(typed: str) -> str:
    """A code as kept, from what somebody typed or said: `Walnut Mallet 407` will do. Empty when it cannot be one."""
    code = "-".join(re.findall(r"[a-z]+|[0-9]+", typed[:LONGEST_TYPED].lower()))
    return code if _CODE.fullmatch(code) else ""
