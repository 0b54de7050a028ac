"""Collects what is drawn: dimensions, leaders and labels, no text upon another.

A :class:`Draught` keeps the boxes of its texts. :meth:`Draught.label` moves a text outward, step by
step, until it stands clear of all that were set before, so the order of the calls is the order of
importance. Dimensions follow ISO 129-1: a line between two extension lines, its text above the line
and read from below or from the right.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from shapely import STRtree
from shapely.geometry import Polygon

from spanwright.drawings import fonts
from spanwright.drawings.display import Item, Path, Point, Role, Text, text_box

TEXT = 2.4
ARROW = 1.6
_GAP = 0.6  # between a line and the text above it, and between texts
_STEPS = 60


class Draught:
    """What has been drawn so far.

    Parameters
    ----------
    size : float
        Font size of labels and dimensions. [mm]
    """

    def __init__(self, size: float = TEXT) -> None:
        self.size = size
        self._items: list[Item] = []
        self._boxes: list[Polygon] = []

    @property
    def items(self) -> tuple[Item, ...]:
        """All that was drawn, in order."""
        return tuple(self._items)

    def add(self, items: Iterable[Item]) -> None:
        """Draw items as they are; their texts keep others away.

        Parameters
        ----------
        items : iterable of Path, Circle or Text
            What to draw. [mm]
        """
        for item in items:
            self._items.append(item)
            if isinstance(item, Text):
                self._boxes.append(self._box(item))

    def keep_clear(self, corners: Iterable[Point]) -> None:
        """Keep labels out of an area.

        Parameters
        ----------
        corners : iterable of (float, float)
            The area. [mm]
        """
        self._boxes.append(Polygon(list(corners)))

    def _box(self, text: Text) -> Polygon:
        wide = fonts.width(text.text, text.size, bold=text.bold)
        return Polygon(text_box(text, max(wide, 0.1)))

    def _is_clear(self, text: Text) -> bool:
        grown = self._box(text).buffer(_GAP * 0.5, join_style="mitre")
        return not self._boxes or not len(STRtree(self._boxes).query(grown, predicate="intersects"))

    def label(
        self,
        text: str,
        at: Point,
        *,
        away: Point = (0.0, 1.0),
        anchor: str = "middle",
        turn: float = 0.0,
        bold: bool = False,
        size: float | None = None,
    ) -> Text:
        """Set a text at a place, or as near to it as leaves it clear of the texts that stand.

        Parameters
        ----------
        text : str
            The text; nothing is drawn for an empty one.
        at : (float, float)
            Where it is wanted. [mm]
        away : (float, float)
            Direction in which it may give way. [1]
        anchor : str
            ``start``, ``middle`` or ``end``.
        turn : float
            Turned by so much. [rad]
        bold : bool
            In the bold face.
        size : float or None
            Font size; that of the draught if None. [mm]

        Returns
        -------
        Text
            As it was set.
        """
        step = np.array(away, dtype=float)
        step = step / np.hypot(*step) * 0.5 * (size or self.size)
        found = Text(at=at, text=text, size=size or self.size, anchor=anchor, turn=turn, bold=bold)
        for k in range(_STEPS):
            place = (float(at[0] + k * step[0]), float(at[1] + k * step[1]))
            found = Text(at=place, text=text, size=size or self.size, anchor=anchor, turn=turn, bold=bold)
            if self._is_clear(found):
                break
        self.add([found] if text else [])
        return found

    def dimension(self, a: Point, b: Point, text: str, *, offset: float = 6.0) -> None:
        """Dimension the distance of two points.

        Parameters
        ----------
        a : (float, float)
            One end. [mm]
        b : (float, float)
            The other end; must not be the same point. [mm]
        text : str
            What the dimension says.
        offset : float
            How far the dimension line stands off, positive to the left of the way from a to b. [mm]
        """
        p, q = np.array(a, dtype=float), np.array(b, dtype=float)
        self._dimension(p, q, text, np.hypot(*(q - p)), offset)

    def level_dimension(self, a: Point, b: Point, text: str, *, at: float) -> None:
        """Dimension the level distance of two points, the line at a height of its own.

        Parameters
        ----------
        a : (float, float)
            One end. [mm]
        b : (float, float)
            The other end. [mm]
        text : str
            What the dimension says.
        at : float
            y of the dimension line. [mm]
        """
        self._between(np.array([a[0], at]), np.array([b[0], at]), text, (a, b))

    def upright_dimension(self, a: Point, b: Point, text: str, *, at: float) -> None:
        """Dimension the upright distance of two points, the line at a place of its own.

        Parameters
        ----------
        a : (float, float)
            One end. [mm]
        b : (float, float)
            The other end. [mm]
        text : str
            What the dimension says.
        at : float
            x of the dimension line. [mm]
        """
        self._between(np.array([at, a[1]]), np.array([at, b[1]]), text, (a, b))

    def _dimension(self, p: np.ndarray, q: np.ndarray, text: str, length: float, offset: float) -> None:
        left = np.array([-(q - p)[1], (q - p)[0]]) / length
        self._between(p + left * offset, q + left * offset, text, (tuple(p), tuple(q)))

    def _between(self, p: np.ndarray, q: np.ndarray, text: str, ends: tuple[Point, Point]) -> None:
        """Draw a dimension line from p to q, extension lines to both ends, and its text."""
        for foot, end in zip((p, q), ends, strict=True):
            way = foot - np.array(end, dtype=float)
            far = float(np.hypot(*way))
            if far > 1.0:
                unit = way / far
                start, stop = np.array(end) + unit * 0.8, foot + unit * 1.2
                self._items.append(Path(points=(_plain(start), _plain(stop)), role=Role.DIMENSION))
        length = float(np.hypot(*(q - p)))
        along = (q - p) / length if length > 0.0 else np.array([1.0, 0.0])
        wide = fonts.width(text, self.size)
        inside = length >= wide + 2.0 * ARROW + 1.0
        arrows_in = length >= 3.0 * ARROW
        turn = float(np.arctan2(along[1], along[0]))
        if turn > np.pi / 2.0 + 1e-9 or turn <= -np.pi / 2.0 + 1e-9:
            turn += np.pi if turn <= 0.0 else -np.pi
        reach = 0.0 if arrows_in else 3.0 * ARROW
        self._items.append(
            Path(points=(_plain(p - along * reach), _plain(q + along * reach)), role=Role.DIMENSION)
        )
        for foot, sense in ((p, 1.0), (q, -1.0)):
            self._arrow(foot, along * (sense if arrows_in else -sense))
        up = np.array([-np.sin(turn), np.cos(turn)])
        if inside:
            self.label(text, _plain((p + q) * 0.5 + up * _GAP), away=_plain(up), turn=turn)
            return
        ahead = np.array([np.cos(turn), np.sin(turn)])
        tail = q if float((q - p) @ ahead) >= 0.0 else p
        self.label(
            text,
            _plain(tail + ahead * (reach + 0.8) - up * 0.35 * self.size),
            away=_plain(ahead),
            anchor="start",
            turn=turn,
        )

    def _arrow(self, tip: np.ndarray, way: np.ndarray) -> None:
        side = np.array([-way[1], way[0]]) * (ARROW * 0.17)
        back = tip + way * ARROW
        corners = (_plain(tip), _plain(back + side), _plain(back - side))
        self._items.append(Path(points=corners, role=Role.DIMENSION, closed=True, fill=0.0))

    def leader(self, tip: Point, knee: Point, text: str, *, size: float | None = None) -> None:
        """Point at something and say what it is; the text stands beyond the knee.

        Parameters
        ----------
        tip : (float, float)
            What is pointed at. [mm]
        knee : (float, float)
            Where the text is wanted; it gives way upward or downward, away from the tip. [mm]
        text : str
            What it says.
        size : float or None
            Font size. [mm]
        """
        rightward = knee[0] >= tip[0]
        shift = 1.0 if rightward else -1.0
        font = size or self.size
        set_text = self.label(
            text,
            (knee[0] + shift, knee[1] - 0.35 * font),
            away=(0.0, 1.0 if knee[1] >= tip[1] else -1.0),
            anchor="start" if rightward else "end",
            size=font,
        )
        corner = (set_text.at[0] - shift, set_text.at[1] + 0.35 * font)
        self._items.append(
            Path(points=(tip, corner, (corner[0] + 0.7 * shift, corner[1])), role=Role.DIMENSION)
        )
        towards = np.array(corner, dtype=float) - np.array(tip, dtype=float)
        far = float(np.hypot(*towards))
        if far > ARROW:
            self._arrow(np.array(tip, dtype=float), towards / far)


def _plain(p: np.ndarray) -> Point:
    return (float(p[0]), float(p[1]))


def bounds(items: Iterable[Item]) -> tuple[float, float, float, float]:
    """Return the box that holds all items, texts included.

    Parameters
    ----------
    items : iterable of Path, Circle or Text
        What is drawn. [mm]

    Returns
    -------
    tuple of float
        Left, bottom, right, top; all 0 if there is nothing. [mm]
    """
    points: list[Point] = []
    for item in items:
        if isinstance(item, Path):
            points += item.points
        elif isinstance(item, Text):
            points += text_box(item, fonts.width(item.text, item.size, bold=item.bold))
        else:
            (x, y), r = item.centre, item.radius
            points += [(x - r, y - r), (x + r, y + r)]
    if not points:
        return (0.0, 0.0, 0.0, 0.0)
    array = np.array(points)
    low, high = array.min(axis=0), array.max(axis=0)
    return (float(low[0]), float(low[1]), float(high[0]), float(high[1]))
