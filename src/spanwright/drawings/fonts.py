"""Widths of texts in the face that drawings are set in.

The face is Bitstream Vera Sans, free to embed, which comes with reportlab. What it has no sign for is
spelt out, never dropped.
"""

from __future__ import annotations

import unicodedata
from functools import cache

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


def spelt(text: str) -> str:
    """Return a text with every sign that the face lacks spelt in signs that it has.

    Parameters
    ----------
    text : str
        Any text, a builder's own names too.

    Returns
    -------
    str
        Letters without their accents where the face has only those, else ``?``.
    """
    known = _face(PLAIN).face.charToGlyph
    found = []
    for sign in text:
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
    return float(pdfmetrics.stringWidth(spelt(text), face(bold=bold), size))


def wrapped(text: str, size: float, most: float, *, bold: bool = False) -> list[str]:
    """Break a text into lines that fit a width.

    Parameters
    ----------
    text : str
        The text.
    size : float
        Font size. [mm]
    most : float
        Widest line; a single word may be wider. [mm]
    bold : bool
        In the bold face.

    Returns
    -------
    list of str
        Lines; one empty line for an empty text.
    """
    lines = [""]
    for word in text.split():
        longer = f"{lines[-1]} {word}".strip()
        if lines[-1] and width(longer, size, bold=bold) > most:
            lines.append(word)
        else:
            lines[-1] = longer
    return lines
