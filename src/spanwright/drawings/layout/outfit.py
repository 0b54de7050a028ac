"""What goes with a sheet that is a file of its own, without a page: bars, title, stamp."""

from __future__ import annotations

import math

from spanwright.drawings import fonts
from spanwright.drawings.calibration import bar
from spanwright.drawings.display import Item, Sheet, Text
from spanwright.drawings.draughting import bounds
from spanwright.drawings.frame import BAR, SAFETY, Stamp, scale_words

_OFF = 12.0
_LEAST = 110.0  # of a line of text [mm]


def outfitted(sheet: Sheet, stamp: Stamp | None = None) -> tuple[Item, ...]:
    """Return a sheet's items, with the words that belong to it beneath and, if it is true, two bars.

    Parameters
    ----------
    sheet : Sheet
        Not empty.
    stamp : Stamp or None
        What it was made from.

    Returns
    -------
    tuple of Path, Circle or Text
        The bars stand left of and below the drawing and touch none of it. [mm]
    """
    left, low, right, _ = bounds(sheet.items)
    found: list[Item] = list(sheet.items)
    x, y = left, low - 8.0
    if sheet.true:
        x, y = left - _OFF, low - _OFF
        words = f"{BAR:g} mm, measure before you cut"
        found += [*bar((x, y), BAR), *bar((x, y), BAR, upright=True)]
        found.append(Text(at=(x + 0.5 * BAR, y + 4.6), text=words, size=2.2, anchor="middle"))
        beside = (x + 7.0, y + 0.5 * BAR)
        found.append(Text(at=beside, text=words, size=2.2, anchor="middle", turn=math.pi / 2.0))
        y -= 7.0
    wide = max(right - x, _LEAST)
    for words, size, bold in _said(sheet, stamp):
        for line in fonts.wrapped(words, size, wide, bold=bold):
            found.append(Text(at=(x, y - size), text=line, size=size, bold=bold))
            y -= 1.45 * size
    return tuple(found)


def _said(sheet: Sheet, stamp: Stamp | None) -> list[tuple[str, float, bool]]:
    scale = "full size" if sheet.true else scale_words(sheet.scale)
    parts = [sheet.id, scale, sheet.side_up, f"mirror image: {sheet.twin}" if sheet.twin else ""]
    lines = [(sheet.title, 3.2, True), (", ".join(part for part in parts if part), 2.6, False)]
    if stamp is not None:
        words = f"{stamp.job}, revision {stamp.revision}, made from {stamp.made_from}"
        lines.append((words, 2.6, False))
    lines += [(note, 2.6, False) for note in sheet.notes]
    return [*lines, (SAFETY, 2.2, True)]
