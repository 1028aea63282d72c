"""What a request can get wrong, in sentences for people."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager


class MistakeError(Exception):
    """A request that cannot be carried out as made: the `field` at fault, and a sentence that says why."""

    def __init__(self, field: str, sentence: str) -> None:
        super().__init__(sentence)
        self.field = field
        self.sentence = sentence


class NotAllowedError(Exception):
    """Something that everybody may know of, but that this person's role does not allow."""


class NotFoundError(Exception):
    """There is no such thing, or it is not this person's to see: the two are never told apart.

    `field` names the field that it was chosen in, where a form has more than one that could be meant.
    """

    def __init__(self, field: str = "") -> None:
        super().__init__(field)
        self.field = field


@contextmanager
def chosen_in(field: str) -> Iterator[None]:
    """What is not found here was chosen in that field of a form: the NotFoundError names it."""
    try:
        yield
    except NotFoundError as error:
        raise NotFoundError(field) from error


class NoRoomError(Exception):
    """The disk is full: nothing more can be kept."""


def check_text(field: str, text: str, longest: int) -> None:
    """Raise MistakeError when a text is longer than that or holds characters that no keyboard writes."""
    if len(text) > longest:
        raise MistakeError(field, f"The {field} is too long: {longest} characters at most.")
    if any(ord(letter) < 32 and letter not in "\n\r\t" for letter in text) or _has_surrogate(text):
        raise MistakeError(field, f"The {field} holds characters that cannot be kept.")


def _has_surrogate(text: str) -> bool:
    return any(0xD800 <= ord(letter) <= 0xDFFF for letter in text)
