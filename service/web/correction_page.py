"""What pages show of corrected walls: who corrected a photo, and the lines to be corrected."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from service.domain.check import Check
from service.domain.correction import Correction
from service.domain.wall_line import WallLine
from service.texts import text
from service.use_cases.correct_walls import WallsView


@dataclass(frozen=True)
class CorrectionsShown:
    """What was corrected of the photo in the foreground, newest first, and whether its reader may correct it.

    `at_original` when the page shows the program's own answer while a corrected one stands.
    """

    newest: Correction | None
    all: Sequence[Correction]
    may_correct: bool
    at_original: bool = False

    @property
    def standing(self) -> Correction | None:
        """The correction that the answer is by."""
        return self.newest if self.newest is not None and self.newest.stands else None

    @property
    def unusable(self) -> Correction | None:
        """The last correction, if it could not be used."""
        return self.newest if self.newest is not None and self.newest.state == "unusable" else None


NOTHING_CORRECTED = CorrectionsShown(None, (), False)


def corrections_shown(
    check: Check | None, corrections: Sequence[Correction], may_correct: bool, *, at_original: bool = False
) -> CorrectionsShown:
    """Of all corrections of a board, oldest first, those of this photo."""
    if check is None:
        return NOTHING_CORRECTED
    own = [correction for correction in reversed(corrections) if correction.check == check.id]
    may = may_correct and check.view == "end" and check.state == "measured"
    return CorrectionsShown(own[0] if own else None, own, may, at_original)


@dataclass(frozen=True)
class LineShown:
    """One wall's line, by its name, with its ends in pixels as they are typed; `placed` if a person placed it."""

    name: str
    show_x: str
    show_y: str
    transfer_x: str
    transfer_y: str
    zoom: str
    placed: bool


@dataclass(frozen=True)
class CorrectPage:
    """A photo of so many pixels with its lines; `picture` is its address. Without lines there is nothing to do."""

    view: WallsView
    lines: Sequence[LineShown]
    width_px: int
    height_px: int
    picture: str


def correct_page(view: WallsView) -> CorrectPage:
    """The page on which a photo's lines are corrected."""
    result = view.check.answer.result if view.check.answer else {}
    width_px, height_px = _size_px(result)
    lines = [_shown(name, line) for name, line in zip(_names(view), view.lines, strict=True)]
    screen = view.check.answer.pictures.screen if view.check.answer else ""
    picture = f"/pictures/{view.check.id}/screen/{screen}"
    return CorrectPage(view, lines if width_px and screen else (), width_px, height_px, picture)


def _size_px(result: Mapping[str, Any]) -> tuple[int, int]:
    """Width and height of the photo; zeros for an answer that does not tell them."""
    size = result.get("photo", {}).get("size_px", ())
    return (int(size[0]), int(size[1])) if len(size) == 2 else (0, 0)


def _names(view: WallsView) -> list[str]:
    """`left wall of tail 1` and so on: walls take turns."""
    sides = text("correct.left"), text("correct.right")
    return [text("correct.wall", side=sides[index % 2], tail=index // 2 + 1) for index in range(len(view.lines))]


def _shown(name: str, line: WallLine) -> LineShown:
    show_x, show_y, transfer_x, transfer_y = (f"{value:.2f}" for value in line.ends)
    return LineShown(name, show_x, show_y, transfer_x, transfer_y, f"{line.zoom or 1.0:g}", line.placed)
