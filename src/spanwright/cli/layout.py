"""Plain text on a page of 100 columns: wrapped paragraphs and tables whose cells wrap."""

from __future__ import annotations

import re
import textwrap
import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

WIDTH = 100
_BETWEEN = "  "
_HARD = "\u00a0"  # a space at which no line breaks
_GLUED = (" ± ", " %", " mm", " in,", " in.")
_COORDINATE = re.compile(r"\b([xy]) (?=-?\d)")
#: Kinds of characters that could steer a terminal or turn the text around.
_STEERING = frozenset({"Cc", "Cs", "Zl", "Zp"})
_TURNING = frozenset("\u200e\u200f\u061c\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """One column of a table.

    Parameters
    ----------
    title : str
        Its heading.
    right : bool
        Set to the right edge, as numbers are.
    most : int
        Cells longer than this are wrapped.
    """

    title: str
    right: bool = False
    most: int = 40


def shown(text: str, *, keep: str = "") -> str:
    r"""Return a text whose control characters are spelt out, so that a name cannot steer the terminal.

    Parameters
    ----------
    text : str
        Such as a name out of a job file.
    keep : str
        Control characters that stay, such as line ends.

    Returns
    -------
    str
        The same where nothing has to be spelt out.

    Examples
    --------
    >>> shown("red\x1b[31m")
    'red\\x1b[31m'
    """
    if text.isprintable():
        return text
    return "".join(
        c.encode("unicode_escape").decode("ascii")
        if c not in keep and (unicodedata.category(c) in _STEERING or c in _TURNING)
        else c
        for c in text
    )


def texts(*titles: str, most: int = 40) -> tuple[Column, ...]:
    """Return columns of words.

    Parameters
    ----------
    *titles : str
        Their headings.
    most : int
        Cells longer than this are wrapped.

    Returns
    -------
    tuple of Column
        One each.
    """
    return tuple(Column(title=t, most=most) for t in titles)


def numbers(*titles: str, most: int = 24) -> tuple[Column, ...]:
    """Return columns of numbers.

    Parameters
    ----------
    *titles : str
        Their headings.
    most : int
        Cells and headings longer than this are wrapped.

    Returns
    -------
    tuple of Column
        One each.
    """
    return tuple(Column(title=t, right=True, most=most) for t in titles)


def heading(title: str) -> list[str]:
    """Return the heading of a section, with an empty line before it.

    Parameters
    ----------
    title : str
        What comes.

    Returns
    -------
    list of str
        Lines.
    """
    title = shown(title)
    return ["", title, "-" * len(title)]


def paragraph(text: str, *, indent: int = 0, hanging: int = 0) -> list[str]:
    """Wrap a text to the page.

    Parameters
    ----------
    text : str
        The text.
    indent : int
        Spaces before each line.
    hanging : int
        More spaces before all lines but the first.

    Returns
    -------
    list of str
        Lines.
    """
    text = _COORDINATE.sub(rf"\1{_HARD}", shown(text))
    for glued in _GLUED:
        text = text.replace(glued, glued.replace(" ", _HARD))
    wrapped = textwrap.wrap(
        text,
        WIDTH,
        initial_indent=" " * indent,
        subsequent_indent=" " * (indent + hanging),
        break_long_words=True,
        break_on_hyphens=False,
    )
    return [line.replace(_HARD, " ") for line in wrapped]


def _cell(text: str, width: int) -> list[str]:
    return textwrap.wrap(text, width, break_on_hyphens=False) or [""]


def _longest(text: str) -> int:
    return max((len(word) for word in text.split()), default=1)


def _least(cell: str, column: Column) -> int:
    """Numbers stay on one line; words may run over several."""
    return len(cell) if column.right else _longest(cell)


def _widths(columns: Sequence[Column], rows: Sequence[Sequence[str]], indent: int) -> list[int]:
    """Natural widths, no cell above its column's most; the widest shrink until the page holds all."""
    natural = [
        min(c.most, max(len(cell) for cell in (c.title, *(row[k] for row in rows))))
        for k, c in enumerate(columns)
    ]
    least = [max(_longest(c.title), *(_least(row[k], c) for row in rows), 1) for k, c in enumerate(columns)]
    room = WIDTH - indent - len(_BETWEEN) * (len(columns) - 1)
    while sum(natural) > room:
        loose = [k for k in range(len(columns)) if natural[k] > least[k]]
        if not loose:
            break
        widest = max(loose, key=lambda k: (columns[k].right, natural[k]))  # headings of numbers first
        natural[widest] -= 1
    return natural


def table(columns: Sequence[Column], rows: Iterable[Sequence[str]], *, indent: int = 2) -> list[str]:
    """Return a table as lines; long cells run over several lines.

    Parameters
    ----------
    columns : sequence of Column
        Headings and how cells are set.
    rows : iterable of sequence of str
        The cells.
    indent : int
        Spaces before each line.

    Returns
    -------
    list of str
        Lines, headings first.
    """
    columns = [replace(c, title=shown(c.title)) for c in columns]
    cells = [tuple(shown(text) for text in row) for row in rows]
    widths = _widths(columns, cells, indent)
    titles = [_cell(c.title, w) for c, w in zip(columns, widths, strict=True)]
    high = max(len(t) for t in titles)
    found = [[t[k - (high - len(t))] if k >= high - len(t) else "" for t in titles] for k in range(high)]
    for row in cells:
        wrapped = [_cell(text, w) for text, w in zip(row, widths, strict=True)]
        tall = max(len(w) for w in wrapped)
        found += [[w[k] if k < len(w) else "" for w in wrapped] for k in range(tall)]
    return [" " * indent + _joined(row, columns, widths) for row in found]


def _joined(row: Sequence[str], columns: Sequence[Column], widths: Sequence[int]) -> str:
    return _BETWEEN.join(
        text.rjust(w) if c.right else text.ljust(w) for text, c, w in zip(row, columns, widths, strict=True)
    ).rstrip()
