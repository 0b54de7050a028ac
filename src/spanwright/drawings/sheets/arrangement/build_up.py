"""The height build-up at every bearing, as columns of layers from the railhead down to the base.

All bearings of a support stand side by side, layer beside layer. Layers are drawn to scale where there
is room for their numbers; thinner ones are drawn thicker and the shaft is broken, and the sheet says so.
Beneath the bearings' own layers stands what they share: cap, shaft or columns, footing, base.
Read :func:`build_up_sheets`, then :func:`build_ups`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from spanwright.drawings import fonts
from spanwright.drawings.display import Item, Path, Point, Role, Sheet, box, moved
from spanwright.drawings.draughting import Draught, bounds
from spanwright.drawings.sheets.arrangement.elevation import frames_in
from spanwright.drawings.sheets.arrangement.views import bearing_numbers
from spanwright.drawings.speech import Speech
from spanwright.estimation.derived import Derived
from spanwright.estimation.inputs import Inputs, size
from spanwright.structures.heights import Bearing
from spanwright.structures.stage import Structures
from spanwright.structures.supports import FittedSupport

SIZE = 2.1
#: Thinnest and thickest that a layer is drawn; a thicker one is broken. [mm]
THIN, THICK = 4.6, 22.0
#: Width of a column and of the heights beside it. [mm]
COLUMN = 19.5
_PITCH = COLUMN + 19.0  # from one bearing to the next
_ROOM = 250.0  # height of a page
_APART = 12.0
_TWO_LINES = 6.6  # height of a layer whose number is set in two lines
_SAID = {"twist": "under the ties", "dap": "dap, counts back"}
_GREY = {"packing": 0.8, "dap": 0.92, "twist": 0.92}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Course:
    """One layer of a build-up.

    Parameters
    ----------
    name : str
        What it is, in plain words; the same in every bearing of a support.
    top : Derived
        Height of its top.
    thickness : Derived
        Its thickness; a dap counts negative.
    """

    name: str
    top: Derived
    thickness: Derived


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BuildUp:
    """The build-up at one support.

    Parameters
    ----------
    support : FittedSupport
        The support.
    bearings : tuple of (Bearing, tuple of Course)
        Each bearing and its own layers, from the railhead down to the top of the cap; left ones first.
    cap : Course
        The cap.
    shafts : tuple of (str, tuple of Course)
        Side (empty for a single shaft), and shaft and footing, from the top down.
    """

    support: FittedSupport
    bearings: tuple[tuple[Bearing, tuple[Course, ...]], ...]
    cap: Course
    shafts: tuple[tuple[str, tuple[Course, ...]], ...]


def build_ups(inputs: Inputs, bridge: Structures) -> tuple[BuildUp, ...]:
    """Return the height build-up at every support.

    Parameters
    ----------
    inputs : Inputs
        The base inputs.
    bridge : Structures
        The fitted bridge.

    Returns
    -------
    tuple of BuildUp
        In station order.
    """
    return tuple(_build_up(inputs, bridge, support) for support in bridge.supports)


def _build_up(inputs: Inputs, bridge: Structures, support: FittedSupport) -> BuildUp:
    packing = {s.bearing: s.packing for s in support.seats}
    level = frames_in(support)
    columns = tuple(
        (b, _courses(b, packing[b.id], level=level))
        for side in ("left", "right")
        for b in bridge.bearings
        if b.support == support.given.name and b.side == side
    )
    cap = size(inputs, support.given.cap)
    shafts = []
    for cut in support.cuts:
        side = cut.id.rpartition(" ")[2] if len(support.cuts) > 1 else ""
        name = "column" if side else "shaft"
        foot = cut.base + size(inputs, support.given.footing) if support.given.footing else cut.base
        courses = [Course(name=name, top=foot + cut.built, thickness=cut.built)]
        if support.given.footing:
            courses.append(Course(name="footing", top=foot, thickness=foot - cut.base))
        courses.append(Course(name="base", top=cut.base, thickness=cut.base * 0.0))
        shafts.append((side, tuple(courses)))
    return BuildUp(
        support=support,
        bearings=columns,
        cap=Course(name="cap", top=support.cap_top, thickness=cap),
        shafts=tuple(shafts),
    )


def _courses(bearing: Bearing, packing: Derived, *, level: bool) -> tuple[Course, ...]:
    """Return the layers of one bearing; where the girder frames in, those over the cap instead."""
    found = []
    top = bearing.railhead
    for layer in bearing.layers:
        name = layer.name.split()[0]
        if level and name in ("dap", "girder", "shoe"):
            continue
        found.append(Course(name=name, top=top, thickness=layer.thickness))
        top = top - layer.thickness
    found.append(Course(name="packing", top=top, thickness=packing))
    return tuple(found)


def build_up_sheets(inputs: Inputs, bridge: Structures, say: Speech) -> tuple[Sheet, ...]:
    """Draw the height build-up at every bearing.

    Parameters
    ----------
    inputs : Inputs
        The base inputs.
    bridge : Structures
        The fitted bridge.
    say : Speech
        How numbers and places are said.

    Returns
    -------
    tuple of Sheet
        ``arrangement/build-up 1`` and on, as many supports on each as find room.
    """
    numbers = bearing_numbers(bridge)
    drawn = [_drawn(b, numbers, say) for b in build_ups(inputs, bridge)]
    high = [bounds(d.items)[3] - bounds(d.items)[1] + _APART for d in drawn]
    per = len(drawn)
    while per > 1 and max(sum(high[k : k + per]) for k in range(0, len(high), per)) > _ROOM:
        per -= 1
    pages = [drawn[k : k + per] for k in range(0, len(drawn), per)]
    names = iter([s.given.name for s in bridge.supports])
    return tuple(
        _sheet(page, number, [next(names) for _ in page], say) for number, page in enumerate(pages, start=1)
    )


def _sheet(page: list[Draught], number: int, names: list[str], say: Speech) -> Sheet:
    items: list[Item] = []
    y = 0.0
    for one in page:
        _, low, _, high = bounds(one.items)
        items += moved(one.items, by=(0.0, y - high))
        y -= high - low + _APART
    unit = "inches" if say.unit == "in" else "mm"
    return Sheet(
        id=f"arrangement/build-up {number}",
        title=f"Height build-up at {' and '.join(names)}",
        items=tuple(items),
        true=False,
        notes=(
            "In each layer its thickness, beside it the height of its top above the datum, with their give or"
            f" take, in {unit}. Layers are drawn full size from {say.plain(THIN)} to {say.plain(THICK)};"
            " thinner ones are drawn thicker, thicker ones are broken.",
            "A dap counts back: the tie is let down over the girder by so much. Under the ties: more than 0"
            " is packed, less than 0 is let in, so that a span's four girder tops lie in one plane. Packing"
            " is made last, to what is then measured.",
        ),
    )


def _tall(thickness: float) -> float:
    return float(np.clip(abs(thickness), THIN, THICK))


def _drawn(b: BuildUp, numbers: dict[str, int], say: Speech) -> Draught:
    """Draw one support: the bearings' own layers, then what they share; y = 0 at the railhead."""
    d = Draught(SIZE)
    d.label(b.support.given.name, (-2.0, 3.2), anchor="end", away=(-1.0, 0.0), bold=True)
    for k, (bearing, _) in enumerate(b.bearings):
        x = k * _PITCH + 0.5 * COLUMN
        d.label(str(numbers[bearing.id]), (x, 6.2), bold=True)
        d.label(f"{bearing.span}, {say.side(bearing.side)}", (x, 3.2))
    y = 0.0
    for row, course in enumerate(b.bearings[0][1]):
        tall = max(_tall(float(mine[row].thickness.value)) for _, mine in b.bearings)
        if any(_is_wide(say.of(mine[row].thickness)) for _, mine in b.bearings):
            tall = max(tall, _TWO_LINES)
        _name(d, course.name, y - 0.5 * tall)
        for k, (_, mine) in enumerate(b.bearings):
            _layer(d, mine[row], (k * _PITCH, y), (COLUMN, tall), say)
        y -= tall
    _shared(d, b, y, say)
    if frames_in(b.support):
        y = bounds(d.items)[1] - 4.0
        _name(d, "girder top", y)
        for k, (bearing, _) in enumerate(b.bearings):
            d.label(say.of(bearing.girder_top), (k * _PITCH + 0.5 * COLUMN, y - 0.35 * SIZE))
    return d


def _shared(d: Draught, b: BuildUp, y: float, say: Speech) -> None:
    """Draw what the bearings of a support share, from the top of its cap down."""
    count = len(b.bearings)
    whole = (count - 1) * _PITCH + COLUMN
    tall = _tall(float(b.cap.thickness.value))
    _name(d, b.cap.name, y - 0.5 * tall)
    _layer(d, b.cap, (0.0, y), (whole, tall), say)
    y -= tall
    half = count // 2
    for n, (side, courses) in enumerate(b.shafts):
        level, wide = y, whole if not side else (half - 1) * _PITCH + COLUMN
        for course in courses:
            tall = 0.0 if course.name == "base" else _tall(float(course.thickness.value))
            if n == 0:
                _name(d, course.name, level - (0.5 * tall or 1.2))  # the base's below its line
            inner = bool(side) and n == 0 and level == y  # there the cap's edge runs on
            _layer(d, course, (n * half * _PITCH, level), (wide, tall), say, under=inner)
            level -= tall
        if side:
            place = (n * half * _PITCH + 0.5 * wide, level - 4.6)
            d.label(f"{say.side(side)} column", place, away=(0.0, -1.0))


def _is_wide(text: str) -> bool:
    return fonts.width(text, SIZE) > COLUMN - 1.2


def _name(d: Draught, name: str, y: float) -> None:
    d.label(_SAID.get(name, name), (-2.0, y - 0.35 * SIZE), anchor="end", away=(-1.0, 0.0))


def _layer(
    d: Draught,
    course: Course,
    corner: Point,
    measure: tuple[float, float],
    say: Speech,
    *,
    under: bool = False,
) -> None:
    """Draw one layer, its thickness inside, the height of its top beside; the base is a line."""
    (x, y), (wide, tall) = corner, measure
    if tall > 0.0:
        d.add([box((x, y - tall), (x + wide, y), fill=_GREY.get(course.name, 1.0))])
        if abs(float(course.thickness.value)) > THICK:
            d.add(_break(x, y - 0.8 * tall, wide))
        middle, low = x + 0.5 * wide, y - 0.5 * tall - 0.35 * SIZE
        value, _, doubt = say.of(course.thickness).partition(" ± ")
        if wide == COLUMN and doubt and _is_wide(f"{value} ± {doubt}"):
            d.label(value, (middle, low + 1.4))
            d.label(f"± {doubt}", (middle, low - 1.4), away=(0.0, -1.0))
        else:
            d.label(say.of(course.thickness), (middle, low))
    else:
        d.add([Path(points=((x - 1.5, y), (x + wide + 1.5, y)), role=Role.OUTLINE)])
        d.add(
            Path(points=((float(s), y), (float(s) - 1.2, y - 1.2)), role=Role.FINE)
            for s in np.arange(x, x + wide + 1.0, 2.0)
        )
    d.add([Path(points=((x + wide, y), (x + wide + 1.2, y)), role=Role.DIMENSION)])
    place = (x + wide + 1.8, y - (2.6 if under else 0.35 * SIZE))
    d.label(say.of(course.top), place, anchor="start", away=(1.0, 0.0))


def _break(x: float, y: float, wide: float) -> list[Path]:
    """Return the two lines of a break, with nothing between them."""
    m = x + 0.5 * wide
    line = [(x - 1.0, 0.0), (m - 1.2, 0.0), (m - 0.4, 1.0), (m + 0.4, -1.0), (m + 1.2, 0.0)]
    line.append((x + wide + 1.0, 0.0))
    low, high = (tuple((px, y + py + e) for px, py in line) for e in (-0.5, 0.5))
    ground = Path(points=(*low, *reversed(high)), closed=True, fill=1.0, stroked=False)
    return [ground, Path(points=low, role=Role.FINE), Path(points=high, role=Role.FINE)]
