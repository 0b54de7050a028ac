"""What stands around a drawing on its page: border, title strip, legend, bars and crosses, notes.

Everything is stacked from the foot upward, each band as high as its words need, and what is left is the
room for the drawing. The bars are drawn with the printer's factors, the border is not: so a bar on the
print measures what it says, and the border stays on the paper. The title strip holds those fields of
ISO 7200 that apply (title, identification, revision, sheet), and no date, so that one job makes one print.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from spanwright.drawings import fonts
from spanwright.drawings.calibration import bar, cross
from spanwright.drawings.display import STROKES, Item, Path, Point, Role, Text, box
from spanwright.drawings.printer import MARGIN

#: Length of the bars on each page that is cut or gauged from. [mm]
BAR = 100.0
#: Between the border and the room for the drawing: holds the corner crosses and the words of the joins. [mm]
BAND = 7.0
#: Least height of the room that an upright bar needs. [mm]
BAR_ROOM = BAR * 1.03 + 14.0
SAFETY = "Model only: not for real structures."
_COLUMN = 10.0  # holds the upright bar
_PAD = 1.3
_SMALL, _PLAIN, _LARGE = 2.2, 2.6, 3.2
_PITCH = 1.36
_APART = 0.6  # between notes [mm]
_SAMPLE = 13.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Stamp:
    """From what a drawing was made, so that an old print is known by sight.

    Parameters
    ----------
    job : str
        The job's name.
    revision : str
        Its revision, such as ``3`` or a short check sum.
    made_from : str
        What it was made from, such as ``61 readings, 4 of them as built``.
    """

    job: str
    revision: str
    made_from: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Key:
    """The small plan of the tiles.

    Parameters
    ----------
    columns : int
        Tiles side by side.
    rows : int
        Tiles one above the other.
    numbers : tuple of int
        Number of each place, 0 where it is empty; row by row from the top.
    here : int
        Number of this page's tile, 0 for none.
    """

    columns: int
    rows: int
    numbers: tuple[int, ...]
    here: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Plate:
    """What the title strip says of one page.

    Parameters
    ----------
    title : str
        What is shown.
    part : str
        Id of the sheet or the part.
    scale : str
        ``full size`` or a ratio.
    place : str
        Such as ``page 1 of 4``.
    side_up : str
        Which side looks up; may be empty.
    twin : str
        Title of the mirror image; may be empty.
    key : Key or None
        Plan of the tiles.
    roles : tuple of Role
        What the legend explains.
    notes : tuple of str
        What stands above the strip.
    """

    title: str
    part: str
    scale: str
    place: str
    side_up: str = ""
    twin: str = ""
    key: Key | None = None
    roles: tuple[Role, ...] = ()
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """The furniture of a page, and what it leaves.

    Parameters
    ----------
    items : tuple of Path, Circle or Text
        The furniture. [mm]
    room : tuple of float
        Left, bottom, right, top of what is left for the drawing. [mm]
    """

    items: tuple[Item, ...]
    room: tuple[float, float, float, float]


Line = tuple[str, float, bool]


class _Stack:
    """Bands from the foot of the border upward."""

    def __init__(self, size: Point) -> None:
        self.left, self.right = MARGIN, size[0] - MARGIN
        self.y = MARGIN
        self.items: list[Item] = []

    def rule(self) -> None:
        """Draw a line over what stands."""
        self.items.append(Path(points=((self.left, self.y), (self.right, self.y)), role=Role.FINE))

    def cells(self, cells: Sequence[tuple[float, float, Sequence[Line]]], *, least: float = 0.0) -> float:
        """Set texts in cells side by side and a line above; return the height of the band."""
        broken = [(x0, x1, _broken(lines, x1 - x0 - 2.0 * _PAD)) for x0, x1, lines in cells]
        high = max([least, *(sum(_PITCH * size for _, size, _ in lines) for _, _, lines in broken)])
        high += 2.0 * _PAD - 0.3
        for x0, _, lines in broken:
            y = self.y + high - _PAD
            for text, size, bold in lines:
                if text:
                    at = (x0 + _PAD, y - 0.80 * size)
                    self.items.append(Text(at=at, text=text, size=size, bold=bold))
                y -= _PITCH * size
            if x0 > self.left + 0.1:
                self.items.append(Path(points=((x0, self.y), (x0, self.y + high)), role=Role.FINE))
        self.y += high
        self.rule()
        return high


def _broken(lines: Iterable[Line], most: float) -> list[Line]:
    return [
        (part, size, bold)
        for text, size, bold in lines
        if text
        for part in fonts.wrapped(text, size, most, bold=bold)
    ]


def scale_words(scale: float) -> str:
    """Say a scale as ISO 5455 does.

    Parameters
    ----------
    scale : float
        Drawn size over model size; 0 for what has no scale. [1]

    Returns
    -------
    str
        Such as ``scale 1:5``.
    """
    if scale <= 0.0:
        return "not to scale"
    return f"scale {scale:g}:1" if scale > 1.0 else f"scale 1:{1.0 / scale:g}"


def framed(size: Point, plate: Plate, stamp: Stamp, factors: Point | None = None) -> Frame:
    """Return the furniture of a page and the room that it leaves.

    Parameters
    ----------
    size : (float, float)
        Width and height of the page. [mm]
    plate : Plate
        What the strip says.
    stamp : Stamp
        What it was made from.
    factors : (float, float) or None
        By how much a true drawing is drawn larger in x and y; None for a page that is not true, which
        has neither bars nor crosses. [1]

    Returns
    -------
    Frame
        Texts clear of each other.
    """
    stack = _Stack(size)
    _title(stack, plate, stamp)
    if factors is not None:
        checks = _bar_across(stack, factors[0])
    _legend(stack, plate.roles)
    if plate.notes:
        lines = [line for note in plate.notes for line in ((" ", _APART, False), (note, _PLAIN, False))]
        stack.cells([(stack.left, stack.right, lines[1:])])
    top = size[1] - MARGIN
    room = (stack.left + BAND, stack.y + BAND, stack.right - BAND, top - BAND)
    if factors is not None:
        room = (room[0] + _COLUMN, *room[1:])
        _bar_down(stack, factors[1], top)
        _crosses(stack, room, factors, checks)
    items = [box((stack.left, MARGIN), (stack.right, top)), *stack.items]
    return Frame(items=tuple(items), room=room)


def _title(stack: _Stack, plate: Plate, stamp: Stamp) -> None:
    wide = stack.right - stack.left
    key = 0.0 if plate.key is None else 34.0
    second, third = stack.left + 0.42 * (wide - key), stack.left + 0.72 * (wide - key)
    last = stack.right - key
    stack.cells(
        [
            (stack.left, second, [(SAFETY, _SMALL, True)]),
            (second, stack.right, [(f"made from {stamp.made_from}", _SMALL, False)]),
        ]
    )
    cells: list[tuple[float, float, Sequence[Line]]] = [
        (
            stack.left,
            second,
            [(stamp.job, _PLAIN, False), (plate.title, _LARGE, True), (plate.part, _SMALL, False)],
        ),
        (
            second,
            third,
            [
                (plate.scale, _PLAIN, True),
                (plate.side_up, _PLAIN, True),
                (f"mirror image: {plate.twin}" if plate.twin else "", _SMALL, False),
            ],
        ),
        (third, last, [(plate.place, _PLAIN, True), (f"revision {stamp.revision}", _PLAIN, False)]),
    ]
    if plate.key is None:
        stack.cells(cells, least=11.0)
        return
    foot = stack.y
    high = stack.cells([*cells, (last, stack.right, [])], least=18.0)
    stack.items += _key(plate.key, (last + 2.0, foot + 2.0), (key - 4.0, high - 4.0))


def _key(key: Key, corner: Point, size: Point) -> list[Item]:
    """Draw the plan of the tiles into a box; numbers only where there is room for them."""
    wide, high = min(9.0, size[0] / key.columns), min(7.0, size[1] / key.rows)
    font = min(2.2, 0.6 * high, 0.55 * wide)
    left = corner[0] + 0.5 * (size[0] - wide * key.columns)
    top = corner[1] + 0.5 * (size[1] + high * key.rows)
    found: list[Item] = []
    for k, number in enumerate(key.numbers):
        if not number:
            continue
        row, column = divmod(k, key.columns)
        low = (left + column * wide, top - (row + 1) * high)
        grey = 0.75 if number == key.here else None
        found.append(box(low, (low[0] + wide, low[1] + high), Role.FINE, fill=grey))
        if font >= 1.6:
            at = (low[0] + 0.5 * wide, low[1] + 0.5 * high - 0.36 * font)
            found.append(Text(at=at, text=str(number), size=font, anchor="middle", bold=number == key.here))
    return found


def _bar_across(stack: _Stack, factor: float) -> tuple[float, float]:
    """Draw the level bar; return where the words of the crosses begin: x and the base of the band."""
    start = (stack.left + 3.0, stack.y + 2.2)
    stack.items += _stretched_bar(start, factor, upright=False)
    foot = stack.y
    stack.y += 9.0
    stack.rule()
    words = fonts.width("100 mm, measure before you cut", _SMALL)
    at = (start[0] + 0.5 * BAR * factor - 0.5 * words, foot + 2.2 + 4.4)
    stack.items.append(Text(at=(at[0], at[1] - 0.6), text="100 mm, measure before you cut", size=_SMALL))
    return start[0] + BAR * factor + 4.0, foot


def _stretched_bar(start: Point, factor: float, *, upright: bool) -> list[Item]:
    """Draw a bar longer or shorter along itself; ticks keep their height."""
    found: list[Item] = []
    fx, fy = (1.0, factor) if upright else (factor, 1.0)
    for line in bar((0.0, 0.0), BAR, upright=upright):
        points = tuple((start[0] + fx * x, start[1] + fy * y) for x, y in line.points)
        found.append(Path(points=points, role=line.role))
    return found


def _bar_down(stack: _Stack, factor: float, top: float) -> None:
    """Draw the upright bar in a column of its own, left of the room."""
    edge = stack.left + _COLUMN
    stack.items.append(Path(points=((edge, stack.y), (edge, top)), role=Role.FINE))
    start = (stack.left + 2.2, stack.y + 3.0)
    stack.items += _stretched_bar(start, factor, upright=True)
    middle = (stack.left + 8.0, start[1] + 0.5 * BAR * factor)
    stack.items.append(
        Text(
            at=middle,
            text="100 mm, measure before you cut",
            size=_SMALL,
            anchor="middle",
            turn=math.pi / 2.0,
        )
    )


def _crosses(
    stack: _Stack, room: tuple[float, float, float, float], factors: Point, words_at: tuple[float, float]
) -> None:
    """Draw the corner crosses and say beside the level bar how far they stand apart on a good print."""
    half = 0.5 * BAND
    left, low, right, high = room[0] - half, room[1] - half, room[2] + half, room[3] + half
    for at in ((left, low), (right, low), (right, high), (left, high)):
        stack.items += cross(at)
    length = math.hypot((right - left) / factors[0], (high - low) / factors[1])
    x, foot = words_at
    lines = _broken([(f"corner crosses: {length:.2f} mm, both ways", _SMALL, False)], stack.right - x - _PAD)
    y = foot + 4.5 + 0.5 * _PITCH * _SMALL * (len(lines) - 1) - 0.36 * _SMALL
    for text, size, bold in lines:
        stack.items.append(Text(at=(x, y), text=text, size=size, bold=bold))
        y -= _PITCH * size


def _legend(stack: _Stack, roles: Iterable[Role]) -> None:
    """Explain the lines that occur, as many side by side as there is room for."""
    known = [role for role in Role if role in set(roles) and STROKES[role].meaning]
    if not known:
        return
    rows: list[list[tuple[float, Role]]] = []
    x = stack.right + 1.0
    for role in known:
        wide = _SAMPLE + 1.5 + fonts.width(STROKES[role].meaning, _SMALL) + 5.0
        if x + wide - 3.0 > stack.right:
            rows.append([])
            x = stack.left + _PAD
        rows[-1].append((x, role))
        x += wide
    for row in reversed(rows):
        base = stack.y + 1.4
        for x, role in row:
            line = ((x, base + 0.36 * _SMALL), (x + _SAMPLE, base + 0.36 * _SMALL))
            stack.items.append(Path(points=line, role=role))
            stack.items.append(Text(at=(x + _SAMPLE + 1.5, base), text=STROKES[role].meaning, size=_SMALL))
        stack.y += 3.6
    stack.y += 0.8
    stack.rule()
