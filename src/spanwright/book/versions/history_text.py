"""The history of a job file as text: every change with what it did, and what a step back did."""

from __future__ import annotations

import difflib
from collections.abc import Sequence
from dataclasses import dataclass

from spanwright.book.blocks import Block, paragraph, shown

_MOST = 8  # changed lines shown of one change
_LONGEST = 84  # characters of a line


@dataclass(frozen=True, slots=True, kw_only=True)
class Text:
    """One text that the job file had.

    Parameters
    ----------
    title : str
        Its number, day and what was done.
    text : str
        The whole text.
    """

    title: str
    text: str


def history_text(texts: Sequence[Text]) -> list[Block]:
    """Return the changes in order, each with the lines that it took out and put in.

    Parameters
    ----------
    texts : sequence of Text
        The first one first.

    Returns
    -------
    list of Block
        Blocks.
    """
    lines: list[Block] = []
    for k, text in enumerate(texts):
        lines += [shown(text.title)]
        if k:
            lines += changed_lines(texts[k - 1].text, text.text)
    return lines


def changed_lines(before: str, after: str) -> list[Block]:
    """Return the lines that a change took out (-) and put in (+), with their numbers; the first few.

    Parameters
    ----------
    before : str
        The text as it was.
    after : str
        The text as it became.

    Returns
    -------
    list of Block
        One a line.
    """
    old, new = before.splitlines(), after.splitlines()
    found: list[str] = []
    matcher = difflib.SequenceMatcher(None, old, new, autojunk=False)
    for what, a, b, c, d in matcher.get_opcodes():
        if what != "equal":
            found += [_line(k, "-", old[k]) for k in range(a, b) if old[k].strip()]
            found += [_line(k, "+", new[k]) for k in range(c, d) if new[k].strip()]
    if not found:
        return [
            "      no line of it changed"
            if before == after
            else "      only blank lines or line ends changed"
        ]
    rest = len(found) - _MOST
    return [
        *found[:_MOST],
        *([f"      and {rest} more {'line' if rest == 1 else 'lines'}"] if rest > 0 else []),
    ]


def _line(number: int, sign: str, text: str) -> str:
    cut = text if len(text) <= _LONGEST else f"{text[:_LONGEST]} ..."
    return f"  {number + 1:>6} {sign} {shown(cut)}"


def built_text(said: Sequence[tuple[str, str, str]], *, carried: bool) -> list[Block]:
    """Return what the file says of built and made parts and an older text lacked.

    Parameters
    ----------
    said : sequence of (str, str, str)
        Table, entry, and what the older text says of the same thing.
    carried : bool
        Whether it was put into the older text.

    Returns
    -------
    list of Block
        Blocks; none if it lacked nothing.
    """
    if not said:
        return []
    head = (
        "A step back of the file does not undo what is built. Carried over, since that text lacked it:"
        if carried
        else "No longer in the file, as asked, though what was cut stays cut. That text lacks:"
    )
    lines = paragraph(head)
    for table, entry, instead in said:
        was = f" (that text says: {instead})" if instead else ""
        lines += paragraph(f"[[{table}]] {entry}{was}", indent=2, hanging=2)
    return lines
