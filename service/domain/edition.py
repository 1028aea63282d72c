"""What a page showed when it was opened, so that a change made elsewhere meanwhile is not overwritten unseen."""

from __future__ import annotations

from hashlib import sha256

from service.domain.mistakes import MistakeError

_CHANGED = (
    "This was changed elsewhere after the page was opened, so nothing was saved. Copy what you typed, open the page"
    " anew, and change it there."
)


def edition_of(*shown: object) -> str:
    """A short mark of what is shown, the same as long as nothing of it changes."""
    return sha256(repr(shown).encode()).hexdigest()[:16]


def check_edition(shown: str, standing: str) -> None:
    """Raise MistakeError when what was `shown` stands no longer; whoever was shown nothing may write anything."""
    if shown and shown != standing:
        raise MistakeError("edition", _CHANGED)
