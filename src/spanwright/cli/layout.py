"""Plain text on a page of 100 columns: wrapped paragraphs and tables whose cells wrap."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterable, Sequence
from dataclasses import replace

from spanwright.book.blocks import Block, Column, Heading, Paragraph, Table, shown

WIDTH = 100
_BETWEEN = "  "
_HARD = "\u00a0"  # a space at which no line breaks
_GLUED = (" ± ", " %", " mm", " in,", " in.")
_COORDINATE = re.compile(r"\b([xy]) (?=-?\d)")


def wrapped(text: str, *, indent: int = 0, hanging: int = 0) -> list[str]:
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


def tabled(columns: Sequence[Column], rows: Iterable[Sequence[str]], *, indent: int = 2) -> list[str]:
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


def plain(blocks: Iterable[Block]) -> list[str]:
    """Return blocks as lines of text.

    Parameters
    ----------
    blocks : iterable of Block
        In order.

    Returns
    -------
    list of str
        Lines; an empty one before each section.
    """
    lines: list[str] = []
    for block in blocks:
        if isinstance(block, Heading):
            title = shown(block.title)
            lines += ["", title, "-" * len(title)] if block.level == 1 else ["", f"  {title}"]
        elif isinstance(block, Paragraph):
            lines += wrapped(block.text, indent=block.indent, hanging=block.hanging)
        elif isinstance(block, Table):
            lines += tabled(block.columns, block.rows, indent=block.indent)
        else:
            lines.append(block)
    return lines
