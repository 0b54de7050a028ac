"""Widths of texts in the face that drawings are set in.

The face is Bitstream Vera Sans, free to embed, which comes with reportlab. What it has no sign for is
spelt out, never dropped.
"""

from __future__ import annotations

import unicodedata
from functools import cache, lru_cache

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

PLAIN, BOLD = "Vera", "VeraBd"


@cache
def _face(name: str) -> TTFont:
    """Return a face, registered with the PDF library once."""
    font = TTFont(name, f"{name}.ttf")
    pdfmetrics.registerFont(font)
    return font


def face(*, bold: bool = False) -> str:
    """Return the name by which the PDF library knows the face.

    Parameters
    ----------
    bold : bool
        The bold face.

    Returns
    -------
    str
        Its name; the face is registered.
    """
    name = BOLD if bold else PLAIN
    _face(name)
    return name


def one_line(text: str) -> str:
    """Return a text without the signs that control a line rather than stand in it.

    Parameters
    ----------
    text : str
        Any text.

    Returns
    -------
    str
        Line ends and tabs are blanks; marks of direction and half signs are gone.
    """
    if text.isprintable():
        return text
    unseen = ("Cc", "Cf", "Cs", "Zl", "Zp")
    kept = (sign if unicodedata.category(sign) not in unseen else " " * sign.isspace() for sign in text)
    return "".join(kept)


@lru_cache(maxsize=65_536)
def spelt(text: str) -> str:
    """Return a text with every sign that the face lacks spelt in signs that it has.

    Parameters
    ----------
    text : str
        Any text, a builder's own names too.

    Returns
    -------
    str
        Letters without their accents where the face has only those, else ``?``; signs that control the
        line, such as a tab, are left out or become a blank.
    """
    known = _face(PLAIN).face.charToGlyph
    found = []
    for sign in one_line(text):
        if ord(sign) in known:
            found.append(sign)
            continue
        bare = [c for c in unicodedata.normalize("NFKD", sign) if ord(c) in known]
        found.append("".join(bare) or "?")
    return "".join(found)


def width(text: str, size: float, *, bold: bool = False) -> float:
    """Return how wide a text is set.

    Parameters
    ----------
    text : str
        The text.
    size : float
        Font size. [mm]
    bold : bool
        In the bold face.

    Returns
    -------
    float
        Width. [mm]
    """
    return _unit_width(text, bold=bold) * size


@lru_cache(maxsize=65_536)  # the same words are measured again and again while a page is laid out
def _unit_width(text: str, *, bold: bool) -> float:
    return float(pdfmetrics.stringWidth(spelt(text), face(bold=bold), 1.0))


def wrapped(text: str, size: float, most: float, *, bold: bool = False) -> list[str]:
    """Break a text into lines that fit a width.

    Parameters
    ----------
    text : str
        The text.
    size : float
        Font size. [mm]
    most : float
        Widest line; only a single letter may be wider. [mm]
    bold : bool
        In the bold face.

    Returns
    -------
    list of str
        Lines; one empty line for an empty text. A word that is too wide is broken where it must be.
    """
    lines = [""]
    words = [part for word in text.split() for part in _broken(word, size, most, bold=bold)]
    for word in words:
        longer = f"{lines[-1]} {word}".strip()
        if lines[-1] and width(longer, size, bold=bold) > most:
            lines.append(word)
        else:
            lines[-1] = longer
    return lines


def _broken(word: str, size: float, most: float, *, bold: bool) -> list[str]:
    """Break one word into parts that fit a width."""
    parts = []
    while len(word) > 1 and width(word, size, bold=bold) > most:
        fit = next((n for n in range(len(word) - 1, 1, -1) if width(word[:n], size, bold=bold) <= most), 1)
        parts.append(word[:fit])
        word = word[fit:]
    return [*parts, word]
