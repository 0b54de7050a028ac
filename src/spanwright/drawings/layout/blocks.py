"""What a book is made of, block by block, with nothing of how it is set."""

from __future__ import annotations

from dataclasses import dataclass

from spanwright.drawings.display import Sheet
from spanwright.drawings.layout.page import Page


@dataclass(frozen=True, slots=True, kw_only=True)
class Heading:
    """A heading; the first two levels stand in the contents.

    Parameters
    ----------
    level : int
        1 to 4.
    text : str
        What it says.
    """

    level: int
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Paragraph:
    """A paragraph.

    Parameters
    ----------
    text : str
        What it says; a line end in it starts a new line.
    style : str
        ``plain``, ``caution`` (a dark red rule beside it), ``note`` (a grey one) or ``small``.
    lead : str
        Words in bold before it.
    """

    text: str
    style: str = "plain"
    lead: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """A table. Its head is repeated on each page, its cells wrap.

    Parameters
    ----------
    columns : tuple of str
        Heads.
    rows : tuple of tuple of str
        Cells, as many in each row as there are columns.
    align : str
        One letter a column, ``l``, ``c`` or ``r``; the last goes for all that follow.
    widths : tuple of float
        Widths of the columns; empty to take them from the words. [mm]
    title : str
        What stands above it.
    marked : tuple of int
        Rows, from 0, with a dark red rule beside them: what needs attention.
    """

    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    align: str = "l"
    widths: tuple[float, ...] = ()
    title: str = ""
    marked: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """A sheet drawn into the text, at its scale or the next smaller one of ISO 5455; a true one with bars.

    Parameters
    ----------
    sheet : Sheet
        What is drawn.
    """

    sheet: Sheet


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetPages:
    """Whole pages, such as those of a pattern.

    Parameters
    ----------
    pages : tuple of Page
        As they come from ``tiles.pages``.
    title : str
        What the contents say; empty to leave them out of it.
    """

    pages: tuple[Page, ...]
    title: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class PageBreak:
    """What follows begins on a new page."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Keep:
    """Blocks that stay together on one page if one page can hold them.

    Parameters
    ----------
    blocks : tuple of Heading, Paragraph, Table or Figure
        The blocks.
    """

    blocks: tuple[Heading | Paragraph | Table | Figure, ...]


Block = Heading | Paragraph | Table | Figure | SheetPages | PageBreak | Keep
