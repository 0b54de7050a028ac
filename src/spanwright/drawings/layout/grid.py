"""A sheet cut into equal tiles that overlap, which of them are needed, and where they join."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from spanwright.drawings.display import Item, Point, Role, Sheet, Text
from spanwright.drawings.draughting import bounds
from spanwright.drawings.frame import Key, Stamp, framed
from spanwright.drawings.layout.clipping import Box, clipped, letters
from spanwright.drawings.layout.page import EASE, plate_of
from spanwright.drawings.printer import Printer, page_factors, page_size

#: How far neighbouring tiles overlap. [mm]
OVERLAP = 10.0
_NARROW = 30.0  # least width of a tile: two crosses and their names find room [mm]

Place = tuple[int, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class Grid:
    """Equal tiles over a sheet; tile (0, 0) is at the upper left.

    Parameters
    ----------
    corner : (float, float)
        Lower left corner of all, in the sheet. [mm]
    tile : (float, float)
        Width and height of a tile, the overlap with its neighbours included. [mm]
    columns : int
        Tiles side by side.
    rows : int
        Tiles one above the other.
    size : (float, float)
        Width and height of the page. [mm]
    factors : (float, float)
        By how much the drawing is larger than true. [1]
    upright : bool
        False for turned pages.
    """

    corner: Point
    tile: Point
    columns: int
    rows: int
    size: Point
    factors: Point
    upright: bool

    def area(self, row: int, column: int) -> Box:
        """Return what a tile shows of the sheet.

        Parameters
        ----------
        row : int
            From the top.
        column : int
            From the left.

        Returns
        -------
        tuple of float
            Left, bottom, right, top. [mm]
        """
        left = self.corner[0] + column * (self.tile[0] - OVERLAP)
        low = self.corner[1] + (self.rows - 1 - row) * (self.tile[1] - OVERLAP)
        return (left, low, left + self.tile[0], low + self.tile[1])

    def own(self, row: int, column: int) -> Box:
        """Return what is left of a tile when it is trimmed along its joins.

        Parameters
        ----------
        row : int
            From the top.
        column : int
            From the left.

        Returns
        -------
        tuple of float
            Left, bottom, right, top. [mm]
        """
        left, low, right, high = self.area(row, column)
        half = 0.5 * OVERLAP
        return (
            left + half * (column > 0),
            low + half * (row < self.rows - 1),
            right - half * (column < self.columns - 1),
            high - half * (row > 0),
        )

    def owner(self, point: Point) -> tuple[int, int]:
        """Return the tile in whose trimmed area a point lies, or the nearest.

        Parameters
        ----------
        point : (float, float)
            In the sheet. [mm]

        Returns
        -------
        tuple of int
            Row and column.
        """
        at = []
        for k, count in ((0, self.columns), (1, self.rows)):
            step = self.tile[k] - OVERLAP
            along = (point[k] - self.corner[k] - 0.5 * OVERLAP) / step if step > 0.0 else 0.0
            at.append(min(max(math.floor(along), 0), count - 1))
        return self.rows - 1 - at[1], at[0]


def grid_over(sheet: Sheet, printer: Printer, stamp: Stamp, *, upright: bool) -> Grid:
    """Return the fewest equal tiles that hold a sheet.

    Parameters
    ----------
    sheet : Sheet
        What is drawn.
    printer : Printer
        Paper and error of the printer.
    stamp : Stamp
        What it was made from.
    upright : bool
        False for turned pages.

    Returns
    -------
    Grid
        In the middle over the sheet.
    """
    size, factors = page_size(printer, upright=upright), page_factors(printer, upright=upright)
    plate = replace(
        plate_of(sheet, "page 10 of 99, tile 10", 1.0), notes=(), key=Key(columns=1, rows=1, numbers=(1,))
    )
    plate = replace(plate, roles=(*plate.roles, Role.JOIN))
    room = framed(size, plate, stamp, factors).room
    left, low, right, high = bounds(sheet.items)
    corner, tile, counts = [], [], []
    for k, (start, stop) in enumerate(((left, right), (low, high))):
        extent = max(stop - start, _NARROW) + 2 * EASE
        most = (room[k + 2] - room[k]) / factors[k]
        count = max(1, math.ceil((extent - OVERLAP) / (most - OVERLAP) - 1e-9))
        corner.append(0.5 * (start + stop - extent))
        tile.append((extent + (count - 1) * OVERLAP) / count)
        counts.append(count)
    return Grid(
        corner=(corner[0], corner[1]),
        tile=(tile[0], tile[1]),
        columns=counts[0],
        rows=counts[1],
        size=size,
        factors=factors,
        upright=upright,
    )


def shares_of(sheet: Sheet, grid: Grid) -> tuple[dict[Place, tuple[Item, ...]], dict[Place, list[Text]]]:
    """Cut the lines of a sheet at the tiles, and give each text to one tile.

    Parameters
    ----------
    sheet : Sheet
        What is drawn.
    grid : Grid
        The tiles.

    Returns
    -------
    tuple of dict
        Lines and circles of each tile, then its texts, in the sheet's own place. [mm]
    """
    places = [(r, c) for r in range(grid.rows) for c in range(grid.columns)]
    texts: dict[Place, list[Text]] = {place: [] for place in places}
    for item in sheet.items:
        if isinstance(item, Text) and item.text:
            corners = letters(item)
            middle = (sum(x for x, _ in corners) / 4.0, sum(y for _, y in corners) / 4.0)
            texts[grid.owner(middle)].append(item)
    return {place: clipped(sheet.items, grid.area(*place)) for place in places}, texts


def numbers_of(grid: Grid, full: set[Place]) -> dict[Place, int]:
    """Return the numbers of the tiles; empty ones have none if the rest still hang together.

    Parameters
    ----------
    grid : Grid
        The tiles.
    full : set of (int, int)
        Those with something on them, row and column.

    Returns
    -------
    dict
        Row and column to number, row by row from the upper left.
    """
    reached, front = set(), [min(full)]
    while front:
        r, c = front.pop()
        reached.add((r, c))
        around = ((r + 1, c), (r - 1, c), (r, c + 1), (r, c - 1))
        front += [place for place in around if place in full and place not in reached]
    every = ((r, c) for r in range(grid.rows) for c in range(grid.columns))
    kept = [place for place in every if place in full or reached != full]
    return {place: k + 1 for k, place in enumerate(kept)}


@dataclass(frozen=True, slots=True, kw_only=True)
class Join:
    """Where two tiles meet.

    Parameters
    ----------
    letter : str
        Its name.
    first : (int, int)
        Row and column of the left or upper tile.
    second : (int, int)
        Those of the other.
    line : tuple of (float, float)
        Ends of the join, in the sheet. [mm]
    crosses : tuple of (float, float)
        Its two crosses, in the sheet. [mm]
    """

    letter: str
    first: Place
    second: Place
    line: tuple[Point, Point]
    crosses: tuple[Point, Point]


def joins_of(grid: Grid, numbers: dict[Place, int]) -> list[Join]:
    """Return where tiles meet edge to edge.

    Parameters
    ----------
    grid : Grid
        The tiles.
    numbers : dict
        Those that are made.

    Returns
    -------
    list of Join
        Lettered in the order of the tiles.
    """
    found: list[Join] = []
    for r, c in numbers:
        for other, beside in (((r, c + 1), True), ((r + 1, c), False)):
            if other not in numbers:
                continue
            _, low, right, _ = grid.own(r, c)
            area = grid.area(r, c)
            ends = ((right, area[1]), (right, area[3])) if beside else ((area[0], low), (area[2], low))
            (ax, ay), (bx, by) = ends
            crosses = tuple((ax + share * (bx - ax), ay + share * (by - ay)) for share in (0.2, 0.8))
            found.append(
                Join(
                    letter=_letter(len(found)),
                    first=(r, c),
                    second=other,
                    line=ends,
                    crosses=(crosses[0], crosses[1]),
                )
            )
    return found


def _letter(k: int) -> str:
    signs = "ABCDEFGHJKLMNPQRSTUVWXYZ"  # no I and no O, which look like figures
    return (signs[k // len(signs) - 1] if k >= len(signs) else "") + signs[k % len(signs)]
