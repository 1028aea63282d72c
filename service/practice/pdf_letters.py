"""Which font writes which letters on a printed page: the one that every viewer has, else one that goes along.

The second is DejaVu Sans, which matplotlib brings with it and which has most letters of the world's alphabets.
"""

from __future__ import annotations

import unicodedata
from functools import cache
from importlib.metadata import distribution

_PLAIN = {"\u2212": "-"}
"""Signs that alone are not worth another font for their line."""
_ENCODING = "cp1252"
"""What the fonts that every viewer has can write (ISO 32000-1, annex D)."""
_FROM_THE_RIGHT = ("R", "AL")
"""Classes of letters that are written from right to left (Unicode Standard Annex 9), which needs more than a font."""


def printable(words: str) -> str:
    """Words in letters that some font here has: others lose their marks, or become `?`."""
    return "".join(_printable_letter(letter) for letter in unicodedata.normalize("NFC", words))


def font_of(words: str, bold: bool) -> str:
    """The font for printable words; all of a line is written in one."""
    if words.encode(_ENCODING, "ignore").decode(_ENCODING) == words:
        return "Helvetica-Bold" if bold else "Helvetica"
    return _wide_font("DejaVuSans-Bold" if bold else "DejaVuSans")


@cache
def _wide_font(name: str) -> str:
    """A font with Latin, Greek, Cyrillic, Armenian and Georgian letters, of which a page carries what it uses."""
    from reportlab.pdfbase.pdfmetrics import registerFont
    from reportlab.pdfbase.ttfonts import TTFont

    file = distribution("matplotlib").locate_file(f"matplotlib/mpl-data/fonts/ttf/{name}.ttf")
    registerFont(TTFont(name, str(file)))
    return name


@cache
def _wide_letters() -> frozenset[int]:
    from reportlab.pdfbase.pdfmetrics import getFont

    return frozenset(getFont(_wide_font("DejaVuSans")).face.charToGlyph)


def _printable_letter(letter: str) -> str:
    for candidate in (_PLAIN.get(letter, letter), unicodedata.normalize("NFKD", letter)[0]):
        if candidate.isprintable() and _is_written(candidate):
            return candidate
    return " " if letter.isspace() else "?"


def _is_written(letter: str) -> bool:
    if letter.encode(_ENCODING, "ignore"):
        return True
    return ord(letter) in _wide_letters() and unicodedata.bidirectional(letter) not in _FROM_THE_RIGHT
