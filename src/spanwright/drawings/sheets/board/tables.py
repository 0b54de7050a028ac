"""The opening of the board in figures: what to measure before the saw is used, and the ordinates.

Cells are texts, so that a sheet, a book and a file can all show the same table.
"""

from __future__ import annotations

import numpy as np

from spanwright.drawings.display import Item, Role, Sheet, Text, path
from spanwright.drawings.fonts import width, wrapped
from spanwright.drawings.speech import Speech
from spanwright.parts.board.ordinates import Distance, Ordinate
from spanwright.parts.opening import Opening

ORDINATES = "pattern/opening ordinates"
TITLE = "Opening of the board by rule, and what to measure before you saw"
CAUTION = (
    "Caution: before you saw under a layout, switch the power off, find and tie back the wires, take all "
    "rolling stock off the line, and wear eye protection.",
    "Caution: clamp the strongback over the rails before the board is open. Wear a mask against the dust.",
)

#: What is said of a place where the finished line runs outside the board.
OFF = "off the board"
CHECK_COLUMNS = ("from", "to", "should be", "at least", "at most", "measured")

_SMALL = 2.2
_ROW = 4.6
_WIDE = 168.0  # of all tables: an upright page holds it
#: So many rows of the ordinate table stand on one sheet.
_ROWS = 26


def said_start(check: Distance, say: Speech) -> str:
    """Say what a distance is measured from.

    Parameters
    ----------
    check : Distance
        The distance.
    say : Speech
        The builder's words.

    Returns
    -------
    str
        Such as ``corner yard, wall`` or ``pilot hole at b5``.
    """
    kind, _, rest = check.start.partition(" ")
    if kind == "pilot":
        return f"pilot hole at {rest}"
    end = say.words.start if kind == "start" else say.words.finish
    return f"corner {end}, {say.side(rest)}"


def ordinate_columns(opening: Opening, say: Speech) -> tuple[str, ...]:
    """Head the ordinate table.

    Parameters
    ----------
    opening : Opening
        The opening.
    say : Speech
        The builder's words.

    Returns
    -------
    tuple of str
        One heading a column.
    """
    left, right = say.words.left, say.words.right
    origin = opening.origin or f"the end cut, {say.words.start}"
    return (
        "at",
        f"from {origin} along {say.side(opening.marked)} rail, {say.unit}",
        f"{left}: finished",
        f"{left}: saw",
        f"{right}: finished",
        f"{right}: saw",
    )


def ordinate_rows(opening: Opening, say: Speech) -> tuple[tuple[str, ...], ...]:
    """Say the ordinate table, one tuple of cells a row.

    Parameters
    ----------
    opening : Opening
        The opening.
    say : Speech
        The builder's words.

    Returns
    -------
    tuple of tuple of str
        Cells in the order of :func:`ordinate_columns`.
    """
    ends = {opening.outline.supports[0]: say.words.start, opening.outline.supports[-1]: say.words.finish}
    rows = []
    for row in opening.ordinates:
        at = {
            "step": "",
            "mark": f"mark {row.at}",
            "support": f"corner at {row.at}",
            "end": f"end cut, {ends.get(row.at, row.at)}",
        }[row.kind]
        left = [say.of(x) if row.on_left else OFF for x in (row.finished_left, row.saw_left)]
        right = [say.of(x) if row.on_right else OFF for x in (row.finished_right, row.saw_right)]
        rows.append((at, _along(row, opening, say), *left, *right))
    return tuple(rows)


def _along(row: Ordinate, opening: Opening, say: Speech) -> str:
    """Say a step, which is exact, or where a mark or a cut was found."""
    if row.kind == "step" or (row.kind == "mark" and row.at == opening.origin):
        return say.bare(float(row.along.value))
    return say.of(row.along)


def check_rows(opening: Opening, say: Speech) -> tuple[tuple[str, ...], ...]:
    """Say the distances to measure before the saw is used.

    Parameters
    ----------
    opening : Opening
        The opening.
    say : Speech
        The builder's words.

    Returns
    -------
    tuple of tuple of str
        Cells in the order of ``CHECK_COLUMNS``; the last is blank, to be filled in.
    """
    return tuple(
        (
            said_start(c, say) + (" (long, diagonal)" if c.is_diagonal else ""),
            f"mark {c.mark}",
            say.with_unit(c.value),
            say.bare(float(c.value.value) - c.limit),
            say.bare(float(c.value.value) + c.limit),
            "",
        )
        for c in opening.checks
    )


def table_sheets(opening: Opening, say: Speech) -> tuple[Sheet, ...]:
    """Draw the distances to check and the ordinate table.

    Parameters
    ----------
    opening : Opening
        The opening.
    say : Speech
        The builder's words.

    Returns
    -------
    tuple of Sheet
        One, or more where the table is long.
    """
    rows = ordinate_rows(opening, say)
    parts = [rows[k : k + _ROWS] for k in range(0, len(rows), _ROWS)]
    sheets = []
    for k, part in enumerate(parts):
        items: list[Item] = []
        y = 0.0
        if k == 0:
            y = _checks(opening, say, items)
        columns = ordinate_columns(opening, say)
        y = _line(
            items,
            0.0,
            y - 8.0,
            "Ordinates, square to the rail, from the outer edge of the nearer rail's head",
            bold=True,
        )
        _table(items, (columns, *part), y - 2.0, (36.0, 32.0, 25.0, 25.0, 25.0, 25.0))
        number = "" if k == 0 else f" {k + 1}"
        sheets.append(
            Sheet(
                id=ORDINATES + number,
                title=TITLE + (f", {k + 1}" if k else ""),
                items=tuple(items),
                true=False,
                scale=0.0,
                notes=(
                    f"Lengths along are taken on the outer edge of the {say.side(opening.marked)} rail's "
                    f"head, towards {say.words.finish}; less than 0 lies towards {say.words.start}. "
                    f"Give or take is {opening.k:g} times the standard uncertainty.",
                    "Join the points of a side by straight lines from corner to corner.",
                    *CAUTION,
                ),
            )
        )
    return tuple(sheets)


def _checks(opening: Opening, say: Speech, items: list[Item]) -> float:
    """Draw the table of distances; return where it ends."""
    y = _line(items, 0.0, 0.0, "Measure before you saw: with the pattern taped down", bold=True)
    if not opening.checks:
        return _line(items, 0.0, y - 5.0, "There are no marks to measure to: see the findings.")
    y = _table(
        items, (CHECK_COLUMNS, *check_rows(opening, say)), y - 2.0, (50.0, 22.0, 32.0, 20.0, 20.0, 24.0)
    )
    tape = say.plain(opening.checks[0].tape)
    sentences = (
        f"Straight through the air. Passes within {opening.k:g} times the doubts of the prediction and of "
        f"the tape, {tape} (common practice, no source), together. If one fails, do not saw: look for a "
        "slipped sheet, then for a wrong reading."
    )
    y -= 1.4
    for text in wrapped(sentences, _SMALL, _WIDE):
        y = _line(items, 0.0, y - 3.6, text, size=_SMALL)
    return y


def _line(
    items: list[Item], x: float, y: float, text: str, *, bold: bool = False, size: float = 2.6
) -> float:
    items.append(Text(at=(x, y), text=text, size=size, bold=bold))
    return y


def _table(
    items: list[Item], rows: tuple[tuple[str, ...], ...], top: float, wide: tuple[float, ...]
) -> float:
    """Draw a ruled table with its head row; return the y of its foot."""
    xs = np.concatenate([[0.0], np.cumsum(wide)])
    y = top
    for number, row in enumerate(rows):
        is_head = number == 0
        lines = [
            wrapped(cell, 2.4, w - 2.0, bold=True) if is_head else [cell]
            for cell, w in zip(row, wide, strict=True)
        ]
        deep = _ROW + 3.0 * (max(len(found) for found in lines) - 1)
        for k, cell in enumerate(lines):
            for j, text in enumerate(cell):
                if text:
                    size = min(2.4, 2.4 * (wide[k] - 1.6) / max(width(text, 2.4, bold=is_head), 0.1))
                    at = (float(xs[k]) + 0.8, y - 3.2 - 3.0 * j)
                    items.append(Text(at=at, text=text, size=size, bold=is_head))
        y -= deep
        role = Role.OUTLINE if is_head else Role.FINE
        items.append(path([(0.0, y), (float(xs[-1]), y)], role))
    items.append(path([(0.0, top), (float(xs[-1]), top)], Role.OUTLINE))
    items += [path([(float(x), top), (float(x), y)], Role.FINE) for x in xs]
    return y
