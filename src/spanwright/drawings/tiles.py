"""Lays a sheet out on the pages of a printer: whole if it fits, else in tiles that join.

A true sheet is drawn at full size with the printer's own error taken out. Where it is larger than a
page it is cut into equal tiles, numbered row by row from the top left. Neighbours share a strip of
10 mm; down its middle runs the join, with a cross near each of its ends. Join A has the crosses A1 and
A2, and both tiles carry both. A first page shows the tiles in one small plan and holds the notes. Any
other sheet goes whole on one page, at its own scale or the next smaller one of ISO 5455.
"""

from __future__ import annotations

import math
from dataclasses import replace

from spanwright.drawings import fonts
from spanwright.drawings.calibration import cross
from spanwright.drawings.display import Circle, Item, Path, Point, Role, Sheet, Text, box
from spanwright.drawings.frame import Frame, Key, Stamp, framed
from spanwright.drawings.layout.clipping import clipped, settled
from spanwright.drawings.layout.grid import (
    OVERLAP,
    Grid,
    Join,
    Place,
    grid_over,
    joins_of,
    numbers_of,
    shares_of,
)
from spanwright.drawings.layout.page import Page, checked, one, plate_of, stretched, whole
from spanwright.drawings.printer import Printer
from spanwright.errors import InputError

__all__ = ["OVERLAP", "Page", "pages"]

_MOST_TILES = 80
_WORDS = 2.2


def pages(sheet: Sheet, *, printer: Printer, stamp: Stamp) -> tuple[Page, ...]:
    """Lay a sheet out on as many pages as it needs.

    Parameters
    ----------
    sheet : Sheet
        What is drawn.
    printer : Printer
        Paper and error of the printer.
    stamp : Stamp
        What it was made from.

    Returns
    -------
    tuple of Page
        One page, or a page with the plan of the tiles and one page a tile.

    Raises
    ------
    InputError
        If the sheet is empty, has a number that is not finite, or needs more than 80 tiles.
    """
    checked(sheet)
    if not sheet.true:
        return (whole(sheet, printer, stamp),)
    for upright in (True, False):
        page = one(sheet, printer, stamp, upright=upright)
        if page is not None:
            return (page,)
    return _tiled(sheet, printer, stamp)


def _tiled(sheet: Sheet, printer: Printer, stamp: Stamp) -> tuple[Page, ...]:
    grids = [grid_over(sheet, printer, stamp, upright=upright) for upright in (True, False)]
    grid = min(grids, key=lambda g: g.columns * g.rows)
    if grid.columns * grid.rows > _MOST_TILES:
        raise InputError(
            "this sheet needs too many pages",
            code="DR006",
            where=sheet.id,
            value=grid.columns * grid.rows,
            limit=f"{_MOST_TILES} at most",
            hint="Make the part in shorter lengths",
        )
    shares, texts = shares_of(sheet, grid)
    full = {place for place in shares if texts[place] or clipped(shares[place], grid.own(*place))}
    numbers = numbers_of(grid, full)
    joins = joins_of(grid, numbers)
    count = max(numbers.values())
    order = tuple(numbers.get((r, c), 0) for r in range(grid.rows) for c in range(grid.columns))
    key = Key(columns=grid.columns, rows=grid.rows, numbers=order)
    found = [_plan_of_tiles(sheet, grid, numbers, printer=printer, stamp=stamp)]
    for place, number in numbers.items():
        plate = replace(
            plate_of(sheet, f"page {number + 1} of {count + 1}, tile {number}", 1.0),
            notes=(),
            key=replace(key, here=number),
        )
        plate = replace(plate, roles=(*plate.roles, Role.JOIN) if joins else plate.roles)
        frame = framed(grid.size, plate, stamp, grid.factors)
        page = _tile(sheet, grid, frame, place, (shares[place], texts[place]))
        marks = [m for join in joins for m in _marks(join, page, grid, place, numbers)]
        found.append(
            replace(page, furniture=(*page.furniture, *marks), title=f"{sheet.title}, tile {number}")
        )
    return tuple(found)


def _tile(
    sheet: Sheet, grid: Grid, frame: Frame, place: Place, share: tuple[tuple[Item, ...], list[Text]]
) -> Page:
    """Draw one tile's share in the middle of its room, its texts where trimming leaves them whole."""
    area, own, (fx, fy) = grid.area(*place), grid.own(*place), grid.factors
    left, low, right, high = frame.room
    origin = (
        0.5 * (left + right) - fx * 0.5 * (area[0] + area[2]),
        0.5 * (low + high) - fy * 0.5 * (area[1] + area[3]),
    )
    kept = (
        origin[0] + fx * own[0],
        origin[1] + fy * own[1],
        origin[0] + fx * own[2],
        origin[1] + fy * own[3],
    )
    texts = [t for t in stretched(share[1], grid.factors, origin) if isinstance(t, Text)]
    return Page(
        size=grid.size,
        furniture=frame.items,
        drawing=(*stretched(share[0], grid.factors, origin), *settled(texts, kept)),
        true=True,
        factors=grid.factors,
        origin=origin,
        scale=1.0,
        sheet=sheet.id,
        title=sheet.title,
    )


def _marks(join: Join, page: Page, grid: Grid, place: Place, numbers: dict[Place, int]) -> list[Item]:
    """Draw the join of a tile with one neighbour: line, crosses, their names and what to do."""
    if place not in (join.first, join.second):
        return []
    here_first = place == join.first
    other = numbers[join.second if here_first else join.first]
    area = grid.area(*place)
    low, high = page.to_page((area[0], area[1])), page.to_page((area[2], area[3]))
    upright = join.line[0][0] == join.line[1][0]
    ends = [page.to_page(p) for p in join.line]
    found: list[Item] = [Path(points=tuple(ends), role=Role.JOIN)]
    side = (1.0 if here_first else -1.0) if upright else (-1.0 if here_first else 1.0)
    edge = (high if side > 0.0 else low)[0 if upright else 1]
    for k, at in enumerate(page.to_page(p) for p in join.crosses):
        out = (edge + 0.6 * side, at[1]) if upright else (at[0], edge + 0.6 * side)
        found += cross(at, arm=2.5)
        found += [Circle(centre=at, radius=1.2, role=Role.FINE), Path(points=(at, out), role=Role.FINE)]
        found.append(_name(f"{join.letter}{k + 1}", out, side, upright=upright))
    room = 0.6 * (math.dist(*ends)) - 8.0
    name = f"{join.letter}1 on {join.letter}1, {join.letter}2 on {join.letter}2"
    for words in (f"join {join.letter} with tile {other}: {name}", f"{join.letter}: tile {other}"):
        if fonts.width(words, _WORDS) < room:
            middle = tuple(0.5 * (a + b) for a, b in zip(*ends, strict=True))
            found.append(_sentence(words, middle[1] if upright else middle[0], edge, side, upright=upright))
            break
    return found


def _name(text: str, out: Point, side: float, *, upright: bool) -> Text:
    """Set the name of a cross beside the tile, where nothing else is drawn."""
    if upright:
        at = (out[0] + 0.5 * side, out[1] - 0.36 * _WORDS)
        return Text(at=at, text=text, size=_WORDS, anchor="start" if side > 0.0 else "end", bold=True)
    at = (out[0], out[1] + (0.6 if side > 0.0 else -0.6 - 0.76 * _WORDS))
    return Text(at=at, text=text, size=_WORDS, anchor="middle", bold=True)


def _sentence(text: str, middle: float, edge: float, side: float, *, upright: bool) -> Text:
    """Set what to do beside the tile, between the names of the crosses."""
    if upright:
        beside = edge + (1.2 + 0.76 * _WORDS if side > 0.0 else -1.2 - 0.22 * _WORDS)
        return Text(at=(beside, middle), text=text, size=_WORDS, anchor="middle", turn=math.pi / 2.0)
    beside = edge + (1.2 if side > 0.0 else -1.2 - 0.76 * _WORDS)
    return Text(at=(middle, beside), text=text, size=_WORDS, anchor="middle")


def _plan_of_tiles(
    sheet: Sheet, grid: Grid, numbers: dict[Place, int], *, printer: Printer, stamp: Stamp
) -> Page:
    """Draw all tiles small, with their numbers, and set the notes of the sheet beneath."""
    # texts would be too small here, and leaders without them point at nothing
    lines: list[Item] = [
        item for item in sheet.items if not isinstance(item, Text) and item.role is not Role.DIMENSION
    ]
    for place in numbers:
        left, low, right, high = grid.own(*place)
        lines.append(box((left, low), (right, high), Role.JOIN))
    how = (
        f"This is the plan of {len(numbers)} tiles: nothing is cut from this page. Print all pages at 100 %"
        " and check both bars of each. Trim one of two neighbours along their join, lay it on the other with"
        " the crosses of one name upon each other, and tape it."
        if len(numbers) > 1
        else "Nothing is cut from this page: the true drawing is on the next."
    )
    plan = replace(sheet, items=tuple(lines), true=False, notes=(how, *sheet.notes), side_up="", twin="")
    page = whole(plan, printer, stamp, place=f"page 1 of {len(numbers) + 1}, plan of tiles")
    found: list[Item] = []
    for place, number in numbers.items():
        left, low, right, high = grid.own(*place)
        x, y = page.to_page((0.5 * (left + right), 0.5 * (low + high)))
        found.append(Circle(centre=(x, y), radius=3.6, role=Role.FINE, fill=1.0))
        found.append(Text(at=(x, y - 1.4), text=str(number), size=3.8, anchor="middle", bold=True))
    return replace(page, furniture=(*page.furniture, *found), title=f"{sheet.title}, plan of tiles")
