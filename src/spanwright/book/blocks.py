"""What is said of a plan, as blocks: headings, paragraphs, tables. How they are set is not said here.

The terminal shows them as plain text, the build book sets them as pages, from one and the same text.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

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


@dataclass(frozen=True, slots=True, kw_only=True)
class Heading:
    """The heading of a section.

    Parameters
    ----------
    title : str
        What comes.
    level : int
        1 for a section, 2 for a part of one.
    """

    title: str
    level: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Paragraph:
    """A text that is wrapped.

    Parameters
    ----------
    text : str
        The text.
    indent : int
        Blanks before each line, on a page of type.
    hanging : int
        More blanks before all lines but the first.
    """

    text: str
    indent: int = 0
    hanging: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """A table; long cells run over several lines.

    Parameters
    ----------
    columns : tuple of Column
        Headings and how cells are set.
    rows : tuple of tuple of str
        The cells.
    indent : int
        Blanks before each line, on a page of type.
    """

    columns: tuple[Column, ...]
    rows: tuple[tuple[str, ...], ...]
    indent: int = 2


#: A block, or a line that stands as it is; an empty line is a space between blocks.
Block = Heading | Paragraph | Table | str


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


def heading(title: str) -> list[Block]:
    """Return the heading of a section.

    Parameters
    ----------
    title : str
        What comes.

    Returns
    -------
    list of Block
        One.
    """
    return [Heading(title=title)]


def paragraph(text: str, *, indent: int = 0, hanging: int = 0) -> list[Block]:
    """Return a text that is wrapped.

    Parameters
    ----------
    text : str
        The text.
    indent : int
        Blanks before each line.
    hanging : int
        More blanks before all lines but the first.

    Returns
    -------
    list of Block
        One.
    """
    return [Paragraph(text=text, indent=indent, hanging=hanging)]


def table(columns: Sequence[Column], rows: Iterable[Sequence[str]], *, indent: int = 2) -> list[Block]:
    """Return a table.

    Parameters
    ----------
    columns : sequence of Column
        Headings and how cells are set.
    rows : iterable of sequence of str
        The cells.
    indent : int
        Blanks before each line.

    Returns
    -------
    list of Block
        One.
    """
    return [Table(columns=tuple(columns), rows=tuple(tuple(row) for row in rows), indent=indent)]
