"""One page, and a sheet laid whole on it.

A true sheet is drawn at full size with the printer's own error taken out. Any other goes on at its own
scale or the next smaller one of ISO 5455.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from spanwright.drawings.display import Circle, Item, Point, Role, Sheet, Text, moved
from spanwright.drawings.draughting import bounds
from spanwright.drawings.frame import BAND, BAR_ROOM, Frame, Plate, Stamp, framed, scale_words
from spanwright.drawings.layout.clipping import Box, round_path, settled
from spanwright.drawings.printer import Printer, page_factors, page_size
from spanwright.errors import InputError

#: Left free around the drawing, so that half a line's width does not cross the edge. [mm]
EASE = 0.5
#: Reductions of ISO 5455, largest first; steps of ten go on. [1]
SCALES = tuple(1.0 / (n * 10**p) for p in range(6) for n in (1, 2, 5))


@dataclass(frozen=True, slots=True, kw_only=True)
class Page:
    """One page, ready to be written.

    Parameters
    ----------
    size : (float, float)
        Width and height. [mm]
    furniture : tuple of Path, Circle or Text
        Frame, strip, bars, marks of the joins. [mm]
    drawing : tuple of Path, Circle or Text
        The sheet's own items, or this tile's share of them. [mm]
    true : bool
        Whether it is to full size.
    factors : (float, float)
        By how much the drawing is larger than true, for this printer. [1]
    origin : (float, float)
        Where on the page the sheet's own origin lies; may be beyond its edge. [mm]
    scale : float
        Drawn size over model size. [1]
    sheet : str
        Id of the sheet.
    title : str
        Title of the sheet, and which page of it.
    """

    size: Point
    furniture: tuple[Item, ...]
    drawing: tuple[Item, ...]
    true: bool
    factors: Point
    origin: Point
    scale: float
    sheet: str
    title: str

    @property
    def items(self) -> tuple[Item, ...]:
        """All that is on the page, the drawing beneath the furniture."""
        return (*self.drawing, *self.furniture)

    def to_page(self, point: Point) -> Point:
        """Return where a point of a true sheet lies on the page.

        Parameters
        ----------
        point : (float, float)
            In the sheet. [mm]

        Returns
        -------
        (float, float)
            From the page's lower left corner. [mm]
        """
        return (
            self.origin[0] + self.factors[0] * point[0],
            self.origin[1] + self.factors[1] * point[1],
        )

    def to_sheet(self, point: Point) -> Point:
        """Return which point of a true sheet lies at a point of the page.

        Parameters
        ----------
        point : (float, float)
            From the page's lower left corner. [mm]

        Returns
        -------
        (float, float)
            In the sheet. [mm]
        """
        return (
            (point[0] - self.origin[0]) / self.factors[0],
            (point[1] - self.origin[1]) / self.factors[1],
        )


def checked(sheet: Sheet) -> Sheet:
    """Return a sheet if there is something on it.

    Parameters
    ----------
    sheet : Sheet
        Any sheet.

    Returns
    -------
    Sheet
        The same.

    Raises
    ------
    InputError
        If it is empty, or a number in it is not finite.
    """
    left, low, right, high = bounds(sheet.items)
    if not any(item.text if isinstance(item, Text) else True for item in sheet.items):
        raise InputError("nothing is drawn on this sheet", code="DR003", where=sheet.id)
    if not all(math.isfinite(v) for v in (left, low, right, high)):
        raise InputError(
            "a point of this sheet has no place", code="DR004", where=sheet.id, value=(left, low, right, high)
        )
    return sheet


def stretched(items: Iterable[Item], factors: Point, by: Point) -> tuple[Item, ...]:
    """Return items drawn larger by a factor in x and one in y, then moved; texts keep their size.

    Parameters
    ----------
    items : iterable of Path, Circle or Text
        What is drawn. [mm]
    factors : (float, float)
        In x and y. [1]
    by : (float, float)
        How far they are moved. [mm]

    Returns
    -------
    tuple of Path, Circle or Text
        A circle stays one only if both factors are the same.
    """
    if factors[0] == factors[1]:
        return moved(items, by=by, scale=factors[0])

    def to(p: Point) -> Point:
        return (p[0] * factors[0] + by[0], p[1] * factors[1] + by[1])

    found: list[Item] = []
    for item in items:
        if isinstance(item, Text):
            found.append(replace(item, at=to(item.at)))
            continue
        line = round_path(item) if isinstance(item, Circle) else item
        found.append(replace(line, points=tuple(to(p) for p in line.points)))
    return tuple(found)


def roles_of(items: Iterable[Item]) -> tuple[Role, ...]:
    """Return which roles of line occur.

    Parameters
    ----------
    items : iterable of Path, Circle or Text
        What is drawn. [mm]

    Returns
    -------
    tuple of Role
        In the order of the legend.
    """
    drawn = {item.role for item in items if not isinstance(item, Text)}
    return tuple(role for role in Role if role in drawn)


def plate_of(sheet: Sheet, place: str, scale: float) -> Plate:
    """Return what the title strip says of a sheet.

    Parameters
    ----------
    sheet : Sheet
        What is drawn.
    place : str
        Such as ``page 1 of 4``.
    scale : float
        As it is drawn; a true sheet is always to full size. [1]

    Returns
    -------
    Plate
        With the legend and the notes of the sheet.
    """
    return Plate(
        title=sheet.title,
        part=sheet.id,
        scale="full size" if sheet.true else scale_words(scale),
        place=place,
        side_up=sheet.side_up,
        twin=sheet.twin,
        roles=roles_of(sheet.items),
        notes=sheet.notes,
    )


def one(sheet: Sheet, printer: Printer, stamp: Stamp, *, upright: bool) -> Page | None:
    """Lay a true sheet on one page, in the middle of its room.

    Parameters
    ----------
    sheet : Sheet
        What is drawn.
    printer : Printer
        Paper and error of the printer.
    stamp : Stamp
        What it was made from.
    upright : bool
        False for a turned page.

    Returns
    -------
    Page or None
        None if it does not fit.
    """
    size, factors = page_size(printer, upright=upright), page_factors(printer, upright=upright)
    frame = framed(size, plate_of(sheet, "page 1 of 1", 1.0), stamp, factors)
    left, low, right, high = frame.room
    box_ = bounds(sheet.items)
    wide, tall = (box_[2] - box_[0]) * factors[0], (box_[3] - box_[1]) * factors[1]
    if wide > right - left - 2 * EASE or tall > high - low - 2 * EASE or high - low < BAR_ROOM - 2 * BAND:
        return None
    origin = (
        0.5 * (left + right - wide) - factors[0] * box_[0],
        0.5 * (low + high - tall) - factors[1] * box_[1],
    )
    drawn = stretched(sheet.items, factors, origin)
    return Page(
        size=size,
        furniture=frame.items,
        drawing=cleared(drawn, frame.room) if factors != (1.0, 1.0) else drawn,
        true=True,
        factors=factors,
        origin=origin,
        scale=1.0,
        sheet=sheet.id,
        title=sheet.title,
    )


def cleared(items: Sequence[Item], room: Box) -> tuple[Item, ...]:
    """Keep lines where they are and move texts into the room and off each other."""
    lines = [item for item in items if not isinstance(item, Text)]
    return (*lines, *settled([item for item in items if isinstance(item, Text)], room))


def whole(sheet: Sheet, printer: Printer, stamp: Stamp, place: str = "page 1 of 1") -> Page:
    """Lay a sheet that is not true on one page, as large as its scale and ISO 5455 allow.

    Parameters
    ----------
    sheet : Sheet
        What is drawn.
    printer : Printer
        Paper and error of the printer.
    stamp : Stamp
        What it was made from.
    place : str
        Which page this is, for the title strip.

    Returns
    -------
    Page
        Upright or turned, whichever shows it larger.

    Raises
    ------
    InputError
        If there is no room for the drawing at any scale.
    """
    found = []
    for upright in (True, False):
        size = page_size(printer, upright=upright)
        frame = framed(size, plate_of(sheet, place, sheet.scale), stamp)
        found.append((fitting(sheet, frame.room), upright))
    factor, upright = max(found)
    if factor == 0.0:
        raise crowded(sheet)
    size = page_size(printer, upright=upright)
    frame = framed(size, plate_of(sheet, place, sheet.scale * factor), stamp)
    return _page(sheet, frame, size, factor)


def _page(sheet: Sheet, frame: Frame, size: Point, factor: float) -> Page:
    drawn, origin = centred(sheet.items, factor, frame.room)
    return Page(
        size=size,
        furniture=frame.items,
        drawing=drawn,
        true=False,
        factors=(factor, factor),
        origin=origin,
        scale=sheet.scale * factor,
        sheet=sheet.id,
        title=sheet.title,
    )


def fitting(sheet: Sheet, room: Box) -> float:
    """Return by how much a sheet must be reduced to fit a room: 1, or to a scale of ISO 5455.

    Parameters
    ----------
    sheet : Sheet
        The sheet.
    room : tuple of float
        Left, bottom, right, top. [mm]

    Returns
    -------
    float
        Factor, 1 at most; 0 if the texts, which keep their size, are too large for the room. [1]
    """
    wide, tall = room[2] - room[0], room[3] - room[1]
    own = sheet.scale or 1.0
    for scale in (own, *(s for s in SCALES if s < own * 0.999)):
        left, low, right, high = bounds(moved(sheet.items, scale=scale / own))
        if right - left <= wide and high - low <= tall:
            return scale / own
    return 0.0


def crowded(sheet: Sheet) -> InputError:
    """Return the error for a sheet that fits at no scale.

    Parameters
    ----------
    sheet : Sheet
        The sheet.

    Returns
    -------
    InputError
        To be raised.
    """
    return InputError(
        "the texts or notes of this sheet leave no room for the drawing",
        code="DR005",
        where=sheet.id,
        value=f"{len(sheet.notes)} notes",
        hint="Fewer or shorter words on it",
    )


def centred(items: Iterable[Item], factor: float, room: Box) -> tuple[tuple[Item, ...], Point]:
    """Draw items reduced in the middle of a room; return them and where their origin lies."""
    small = moved(items, scale=factor)
    left, low, right, high = bounds(small)
    by = (0.5 * (room[0] + room[2] - left - right), 0.5 * (room[1] + room[3] - low - high))
    drawn = moved(small, by=by)
    return (drawn if factor == 1.0 else cleared(drawn, room)), by
