"""A small ruled table beside a drawing, each column as wide as its words."""

from __future__ import annotations

from collections.abc import Sequence

from spanwright.drawings import fonts
from spanwright.drawings.display import Item, Point, Role, Text, path
from spanwright.drawings.draughting import Draught

SIZE = 2.4
_PAD = 1.0
_DROP = 0.3  # from the foot of a row to the base line of its words, times the row


def ruled(
    draught: Draught, at: Point, head: Sequence[str], rows: Sequence[Sequence[str]], *, size: float = SIZE
) -> Point:
    """Draw a table; the first column is set from the left, the others against their right edge.

    Parameters
    ----------
    draught : Draught
        What is drawn on.
    at : (float, float)
        Upper left corner. [mm]
    head : sequence of str
        Titles of the columns; a line end starts a new line; no head where all are empty.
    rows : sequence of sequence of str
        The cells.
    size : float
        Font size. [mm]

    Returns
    -------
    (float, float)
        Lower right corner. [mm]
    """
    titles = [title.split("\n") for title in head]
    deep = max(len(lines) for lines in titles) if any(head) else 0
    wide = []
    for k, lines in enumerate(titles):
        cells = [fonts.width(row[k], size) for row in rows]
        wide.append(max([fonts.width(t, size, bold=True) for t in lines] + cells) + 2.0 * _PAD)
    pitch = 1.6 * size
    left, y = at
    right = left + sum(wide)
    items: list[Item] = [path([(left, y), (right, y)], Role.OUTLINE)]

    def row_of(cells: Sequence[str], foot: float, *, bold: bool) -> None:
        x = left
        for k, (cell, w) in enumerate(zip(cells, wide, strict=True)):
            place = (x + _PAD if k == 0 else x + w - _PAD, foot + _DROP * pitch)
            if cell:
                anchor = "start" if k == 0 else "end"
                items.append(Text(at=place, text=cell, size=size, anchor=anchor, bold=bold))
            x += w

    for n in range(deep):
        y -= pitch
        row_of([t[n] if n < len(t) else "" for t in titles], y, bold=True)
    if deep:
        items.append(path([(left, y), (right, y)], Role.OUTLINE))
    for row in rows:
        y -= pitch
        row_of(row, y, bold=False)
        items.append(path([(left, y), (right, y)], Role.FINE))
    draught.add(items)
    return right, y
