"""The calibration print: two bars to measure, and the marks by which any print can be measured."""

from __future__ import annotations

import math

from spanwright.drawings import fonts
from spanwright.drawings.display import Circle, Item, Path, Role, Sheet, Text
from spanwright.drawings.printer import BAR_ACROSS, BAR_DOWN, Printer

TITLE = "Calibration of the printer"


def bar(start: tuple[float, float], length: float, *, upright: bool = False) -> tuple[Path, ...]:
    """Return a bar to measure: a line with a tick every 10 mm, longer at its ends.

    Parameters
    ----------
    start : (float, float)
        Where it begins; it goes right, or up. [mm]
    length : float
        Its length, a multiple of 10. [mm]
    upright : bool
        Whether it goes up.

    Returns
    -------
    tuple of Path
        Ticks stand above a level bar and right of an upright one.
    """

    def place(along: float, beside: float) -> tuple[float, float]:
        return (start[0] + beside, start[1] + along) if upright else (start[0] + along, start[1] + beside)

    count = round(length / 10.0)
    lines = [(place(0.0, 0.0), place(length, 0.0))]
    for k in range(count + 1):
        tall = 4.0 if k in (0, count) else 2.6 if k % 5 == 0 else 1.6
        lines.append((place(10.0 * k, 0.0), place(10.0 * k, tall)))
    return tuple(Path(points=line, role=Role.FINE) for line in lines)


def cross(at: tuple[float, float], *, arm: float = 2.0) -> tuple[Path, ...]:
    """Return an upright cross to measure from.

    Parameters
    ----------
    at : (float, float)
        Its middle. [mm]
    arm : float
        How far it reaches. [mm]

    Returns
    -------
    tuple of Path
        Two lines.
    """
    x, y = at
    return (
        Path(points=((x - arm, y), (x + arm, y)), role=Role.FINE),
        Path(points=((x, y - arm), (x, y + arm)), role=Role.FINE),
    )


_WORDS = (
    "Print this page at 100 % (actual size), not fitted to the page, with the paper you will use.",
    "Let the sheet lie for an hour: paper that was heated in the printer is dry and short"
    " (common practice, no source).",
    "Measure both bars from end tick to end tick with a steel rule, to the nearest 0.2 mm.",
    "Write what you measured into the job file and make the sheets anew:",
)
_SQUARE = (
    "Then measure from cross to cross. With both bars right it is 250 mm. If it is off by more than"
    " 0.5 mm (common practice, no source), this printer is out of square, which no factor can mend:"
    " use another for what is cut."
)


def calibration(printer: Printer) -> Sheet:
    """Return the calibration sheet: two bars, a diagonal, and what to do with them.

    It must be laid out with ``printer.uncorrected``, or it would measure what is left of the error.

    Parameters
    ----------
    printer : Printer
        Its paper is named in the lines for the job file.

    Returns
    -------
    Sheet
        Its origin is the corner of the bars. [mm]
    """
    items: list[Item] = [
        *bar((0.0, 0.0), BAR_ACROSS),
        *bar((0.0, 0.0), BAR_DOWN, upright=True),
        *cross((0.0, BAR_DOWN)),
        *cross((BAR_ACROSS, 0.0)),
        Circle(centre=(0.0, BAR_DOWN), radius=1.2, role=Role.FINE),
        Circle(centre=(BAR_ACROSS, 0.0), radius=1.2, role=Role.FINE),
        Text(at=(75.0, 6.5), text="across: 150 mm", size=3.2, anchor="middle", bold=True),
        Text(at=(8.5, 100.0), text="down: 200 mm", size=3.2, anchor="middle", turn=math.pi / 2, bold=True),
    ]
    left, y = 22.0, 172.0
    keys = ("[printer]", f'paper = "{printer.paper}"', 'across = "149.6 mm"', 'down = "199.8 mm"')
    for k, words in enumerate(_WORDS, 1):
        items.append(Text(at=(left, y), text=str(k), size=3.0, bold=True))
        for line in fonts.wrapped(words, 3.0, 117.0):
            items.append(Text(at=(left + 5.5, y), text=line, size=3.0))
            y -= 5.0
        y -= 3.0
    for line in keys:
        items.append(Text(at=(left + 5.5, y), text=line, size=3.0, bold=True))
        y -= 5.0
    y -= 1.0
    for line in fonts.wrapped("(149.6 and 199.8 are examples: put your own in their place.)", 2.6, 115.0):
        items.append(Text(at=(left + 5.5, y), text=line, size=2.6))
        y -= 5.0
    y -= 6.0
    for line in fonts.wrapped(_SQUARE, 3.0, 122.0):
        items.append(Text(at=(left, y), text=line, size=3.0))
        y -= 5.0
    return Sheet(
        id="printer calibration",
        title=TITLE,
        items=tuple(items),
        side_up="printed side up",
        notes=("Nothing is cut from this page. It is never corrected: it shows what the printer does.",),
    )
