"""Cuts a drawing at the edges of a box, and finds room for texts.

A stroke is cut segment by segment, so that a line which crosses itself stays in one piece and keeps its
direction; an area is cut as a polygon. Texts are never cut: they are moved.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from itertools import pairwise

import numpy as np
import shapely
from shapely.geometry import Polygon

from spanwright.drawings import fonts
from spanwright.drawings.display import Circle, Item, Path, Point, Text, text_box

Box = tuple[float, float, float, float]
_CHORD = 0.004  # how far a circle's polygon may lie from the circle [mm]
_GAP = 0.3


def inside(points: Iterable[Point], area: Box, slack: float = 1e-9) -> bool:
    """Return whether all points lie in a box.

    Parameters
    ----------
    points : iterable of (float, float)
        The points. [mm]
    area : tuple of float
        Left, bottom, right, top. [mm]
    slack : float
        How far beyond is still in. [mm]

    Returns
    -------
    bool
        True if none lies outside.
    """
    return all(
        area[0] - slack <= x <= area[2] + slack and area[1] - slack <= y <= area[3] + slack for x, y in points
    )


def round_path(circle: Circle) -> Path:
    """Return a circle as a closed path that lies within 0.004 mm of it.

    Parameters
    ----------
    circle : Circle
        The circle. [mm]

    Returns
    -------
    Path
        Corners on the circle. [mm]
    """
    half = math.acos(max(-1.0, 1.0 - _CHORD / max(circle.radius, 2.0 * _CHORD)))
    turns = np.arange(max(24, math.ceil(math.pi / half))) * 1.0
    turns *= 2.0 * math.pi / len(turns)
    x, y = circle.centre
    corners = tuple(
        (float(x + circle.radius * c), float(y + circle.radius * s))
        for c, s in zip(np.cos(turns), np.sin(turns), strict=True)
    )
    return Path(points=corners, role=circle.role, closed=True, fill=circle.fill)


def clipped(items: Iterable[Item], area: Box) -> tuple[Item, ...]:
    """Return what of paths and circles lies in a box; texts are left out.

    Parameters
    ----------
    items : iterable of Path, Circle or Text
        What is drawn. [mm]
    area : tuple of float
        Left, bottom, right, top. [mm]

    Returns
    -------
    tuple of Path or Circle
        In the same order. [mm]
    """
    found: list[Item] = []
    for item in items:
        if isinstance(item, Text):
            continue
        if isinstance(item, Circle):
            (x, y), r = item.centre, item.radius
            if inside([(x - r, y - r), (x + r, y + r)], area):
                found.append(item)
                continue
            item = round_path(item)
        found += [item] if inside(item.points, area) else _cut(item, area)
    return tuple(found)


def _cut(item: Path, area: Box) -> Iterator[Path]:
    if item.fill is not None and len(item.points) > 2:
        shape = shapely.make_valid(Polygon(item.points)).intersection(shapely.box(*area))
        for part in shapely.get_parts(shape):
            if isinstance(part, Polygon) and part.area > 0.0:
                corners = tuple((float(x), float(y)) for x, y in part.exterior.coords[:-1])
                yield Path(points=corners, role=item.role, closed=True, fill=item.fill, stroked=False)
    if item.stroked:
        for run in runs(item, area):
            yield Path(points=run, role=item.role)


def runs(item: Path, area: Box) -> list[tuple[Point, ...]]:
    """Return the runs of a path's stroke that lie in a box.

    Parameters
    ----------
    item : Path
        The path. [mm]
    area : tuple of float
        Left, bottom, right, top. [mm]

    Returns
    -------
    list of tuple of (float, float)
        Each two points at least, in the path's own direction. [mm]
    """
    corners = [*item.points, item.points[0]] if item.closed else list(item.points)
    found: list[list[Point]] = []
    for a, b in pairwise(corners):
        piece = _segment(a, b, area)
        if piece is None:
            continue
        if found and found[-1][-1] == piece[0] == a:
            found[-1].append(piece[1])
        else:
            found.append(list(piece))
    if item.closed and len(found) > 1 and found[0][0] == found[-1][-1] == corners[0]:
        found[0] = found.pop() + found[0][1:]
    return [tuple(run) for run in found]


def _segment(a: Point, b: Point, area: Box) -> tuple[Point, Point] | None:
    """Cut one segment: the ends of its shares inside each pair of edges (Liang and Barsky 1984)."""
    first, last = 0.0, 1.0
    for k in (0, 1):
        way = b[k] - a[k]
        for edge, sense in ((area[k], 1.0), (area[k + 2], -1.0)):
            room, rate = (edge - a[k]) * sense, way * sense
            if rate == 0.0:
                if room > 0.0:
                    return None
            elif rate > 0.0:
                first = max(first, room / rate)
            else:
                last = min(last, room / rate)
    if first >= last:
        return None
    start = a if first == 0.0 else (a[0] + first * (b[0] - a[0]), a[1] + first * (b[1] - a[1]))
    stop = b if last == 1.0 else (a[0] + last * (b[0] - a[0]), a[1] + last * (b[1] - a[1]))
    return start, stop


def letters(text: Text) -> tuple[Point, ...]:
    """Return the corners of the box of a text.

    Parameters
    ----------
    text : Text
        The text. [mm]

    Returns
    -------
    tuple of (float, float)
        Four corners. [mm]
    """
    return text_box(text, max(fonts.width(text.text, text.size, bold=text.bold), 0.05))


def at_place(text: Text, at: Point) -> Text:
    """Return the same text elsewhere.

    Parameters
    ----------
    text : Text
        The text.
    at : (float, float)
        Its new anchor. [mm]

    Returns
    -------
    Text
        Size, turn and face stay.
    """
    return Text(at=at, text=text.text, size=text.size, anchor=text.anchor, turn=text.turn, bold=text.bold)


def settled(texts: Iterable[Text], area: Box) -> tuple[Text, ...]:
    """Return texts inside a box and clear of each other; those that are so already stay where they are.

    Parameters
    ----------
    texts : iterable of Text
        The texts, the most important first. [mm]
    area : tuple of float
        Left, bottom, right, top. [mm]

    Returns
    -------
    tuple of Text
        A text that is wider than the box is broken into lines. One for which there is no room at all
        stands where it was wanted, within the box.
    """
    good: list[Text] = []
    boxes: list[Polygon] = []
    moving: list[Text] = []
    for text in texts:
        corners = letters(text)
        shape = Polygon(corners)
        if inside(corners, area) and not _meets(shape, boxes):
            good.append(text)
            boxes.append(shape)
        else:
            moving += _lines(text, area)
    for text in moving:
        placed = _placed(text, area, boxes)
        good.append(placed)
        boxes.append(Polygon(letters(placed)))
    return tuple(good)


def _meets(shape: Polygon, boxes: list[Polygon]) -> bool:
    if not boxes:
        return False
    grown = shape.buffer(-0.02, join_style="mitre")
    return bool(np.any(shapely.intersects(grown, np.array(boxes))))


def _lines(text: Text, area: Box) -> list[Text]:
    """Break a text that is longer than the box is wide, as seen along the text."""
    c, s = abs(math.cos(text.turn)), abs(math.sin(text.turn))
    most = min(
        (area[2] - area[0]) / c if c > 0.2 else math.inf, (area[3] - area[1]) / s if s > 0.2 else math.inf
    )
    most -= 2.0 * text.size
    parts = fonts.wrapped(text.text, text.size, max(most, 4.0 * text.size), bold=text.bold)
    if len(parts) < 2:
        return [text]
    step = 1.3 * text.size
    down = (math.sin(text.turn) * step, -math.cos(text.turn) * step)
    return [
        Text(
            at=(text.at[0] + k * down[0], text.at[1] + k * down[1]),
            text=part,
            size=text.size,
            anchor=text.anchor,
            turn=text.turn,
            bold=text.bold,
        )
        for k, part in enumerate(parts)
    ]


def _pushed(text: Text, area: Box) -> Text:
    """Move a text into a box by the shortest way."""
    corners = np.array(letters(text))
    low, high = corners.min(axis=0), corners.max(axis=0)
    shift = [0.0, 0.0]
    for k in (0, 1):
        shift[k] = max(area[k] - low[k], 0.0) + min(area[k + 2] - high[k], 0.0)
    return at_place(text, (float(text.at[0] + shift[0]), float(text.at[1] + shift[1])))


def _placed(text: Text, area: Box, boxes: list[Polygon]) -> Text:
    """Find the nearest free place, looking round in growing rings."""
    start = _pushed(text, area)
    for ring in range(60):
        around = 1 if ring == 0 else 8 + 4 * min(ring, 8)
        for k in range(around):
            turn, far = text.turn + math.pi / 2.0 + 2.0 * math.pi * k / around, 0.6 * text.size * ring
            trial = at_place(text, (start.at[0] + far * math.cos(turn), start.at[1] + far * math.sin(turn)))
            corners = letters(trial)
            if inside(corners, area) and not _meets(Polygon(corners).buffer(_GAP, join_style="mitre"), boxes):
                return trial
    return start
