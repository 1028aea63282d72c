"""What the pages of reviews show, worked out before any template sees it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from service.domain.check import CardSide, Check
from service.domain.person import Person
from service.domain.saved_remark import SavedRemark
from service.use_cases.hand_in import Open
from service.use_cases.keep_log import BoardView
from service.web.board_page import BoardPage, board_page
from service.web.review_forms import QueueForm, ReviewForm
from service.web.review_view import ReviewView, Spot

On = Literal["overlay", "screen"]
END_IN_DRAWING: dict[CardSide, tuple[float, float]] = {"show": (50.0, 70.0), "transfer": (50.0, 30.0)}
"""About where a drawing has the board's end, in percent of its width and height, by the side the card lies along."""


@dataclass(frozen=True)
class ReviewPage:
    """A board to judge: its page, the picture to put marks on, what was typed, and the boards before and after."""

    page: BoardPage
    on: On
    picture: str
    reviews: Sequence[ReviewView]
    saved: Sequence[SavedRemark]
    form: ReviewForm
    narrowed: QueueForm
    before: str
    after: str
    said: str = ""
    just_saved: bool = False

    @property
    def check(self) -> Check | None:
        """The photo in the foreground."""
        return self.page.check

    @property
    def end(self) -> tuple[float, float] | None:
        """Where the board's end lies in the picture, in percent of its width and height; None where nothing tells."""
        if self.check is None or self.check.answer is None or not self.check.advice:
            return None
        if self.on == "overlay":
            return END_IN_DRAWING[self.check.told.card_side]
        return _end_in_photo(self.check.answer.result)

    @property
    def pictures(self) -> Sequence[str]:
        """The stored names of all pictures of the board that can be marked."""
        answers = [check.answer for check in self.page.checks if check.answer is not None]
        return [name for answer in answers for name in (answer.pictures.overlay, answer.pictures.screen) if name]

    @property
    def address(self) -> str:
        """Where the picture is served; empty when there is none."""
        return f"/pictures/{self.check.id}/{self.on}/{self.picture}" if self.check and self.picture else ""

    @property
    def other(self) -> On | None:
        """The other picture of the photo, if it has two."""
        pictures = self.check.answer.pictures if self.check and self.check.answer else None
        other: On = "screen" if self.on == "overlay" else "overlay"
        return other if pictures and getattr(pictures, other) and self.picture else None

    @property
    def spots(self) -> Sequence[Spot]:
        """The marks that were typed."""
        return [Spot(n, mark.x, mark.y, mark.comment) for n, mark in enumerate(self.form.marks, start=1)]


@dataclass(frozen=True)
class Asked:
    """Which photo of a board to judge, by id, and on which of its pictures; empty for what says most.

    `just` is `saved` when the reader's review was written down a moment ago.
    """

    check: str = ""
    on: str = ""
    just: str = ""


def review_page(
    view: BoardView,
    asked: Asked,
    person: Person,
    beside: tuple[str, str],
    narrowed: QueueForm,
    saved: Sequence[SavedRemark],
    form: ReviewForm | None = None,
    said: str = "",
) -> ReviewPage:
    """The page of a board to judge."""
    page = board_page(view, asked.check, person, Open(()))
    on, picture = _picture(page.check, asked.on)
    just_saved = asked.just == "saved"
    form = form or ReviewForm()
    return ReviewPage(page, on, picture, page.reviews, saved, form, narrowed, *beside, said, just_saved)


def _end_in_photo(result: Mapping[str, Any]) -> tuple[float, float] | None:
    """The middle of all walls, in percent of the photo; None for an answer that does not tell their places."""
    try:
        width_px, height_px = result["photo"]["size_px"]
        ends = [wall[end] for wall in result["walls"] for end in ("show_px", "transfer_px")]
        x_px, y_px = (sum(along) / len(ends) for along in zip(*ends, strict=True))
        return 100.0 * x_px / width_px, 100.0 * y_px / height_px
    except (KeyError, TypeError, ValueError, ZeroDivisionError):  # of an older version, or brought by an import
        return None


def _picture(check: Check | None, wanted: str) -> tuple[On, str]:
    """Which picture of a photo to put marks on, and its stored name, empty when it has none."""
    if check is None or check.answer is None or check.state == "waiting":
        return "overlay", ""
    pictures = check.answer.pictures
    on: On = "screen" if wanted == "screen" or not pictures.overlay else "overlay"
    return on, str(getattr(pictures, on))
