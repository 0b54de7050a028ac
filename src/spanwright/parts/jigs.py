"""Jigs for units: spans that are joined into one rigid piece on the bench, as they will lie.

A unit has a kink in plan and one in height at each joint, and its girders miss each other a little to the
side. All of it is set on a flat board before the joint is glued. The frame of the board has its origin in
the middle of the unit's first girder ends, x along the first span and y to its left; heights count from
the plane in which the first span's own four seats lie, so that the first span may lie flat on the board.

A slope shortens a plan; on a board that is held level under the first span this is a factor
``sqrt(1 + grade^2)``, 0.04 mm in 190 mm at 2 per cent, and is left out.

Order to read: :func:`jig_sheets`.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from spanwright.estimation import derived as dv
from spanwright.estimation.derived import Derived
from spanwright.estimation.inputs import Inputs, size
from spanwright.structures.numbers import FittedSpan
from spanwright.structures.spans import SpanAxis, end_gap, jog, kink, point_on_span
from spanwright.structures.stage import Structures

FloatArray = np.ndarray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class JigSeat:
    """One bearing over the board.

    Parameters
    ----------
    bearing : str
        The bearing's id.
    side : str
        ``left`` or ``right`` girder.
    x : Derived
        Along the first span.
    y : Derived
        To its left.
    height : Derived
        Seat above the plane of the first span's seats.
    packing : Derived
        What is laid under the shoe on the board: its height above the lowest seat of the unit.
    """

    bearing: str
    side: str
    x: Derived
    y: Derived
    height: Derived
    packing: Derived


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class JigSpan:
    """One span on the board.

    Parameters
    ----------
    name : str
        The span.
    ends : tuple of (Derived, Derived)
        x and y of the middle of its girder ends, at its start and at its end.
    length : Derived
        Girder length.
    girders : tuple of (str, ndarray)
        Side and flange outline of each girder, shape (4, 2): start right, end right, end left, start left.
    seats : tuple of JigSeat
        Start left, start right, end left, end right.
    """

    name: str
    ends: tuple[tuple[Derived, Derived], tuple[Derived, Derived]]
    length: Derived
    girders: tuple[tuple[str, FloatArray], ...]
    seats: tuple[JigSeat, ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Joint:
    """Where two spans of a unit are joined.

    Parameters
    ----------
    support : str
        The support over which they are joined.
    kink : Derived
        Angle in plan in radians, left turn positive.
    jog : Derived
        Step from the first axis to the second, left positive.
    gap_left : Derived
        Between the girder ends, on the outer edge of the left girders.
    gap_right : Derived
        The same on the right.
    rise : Derived
        Kink in height: how far the next span's far seats stand above the plane of this span's seats, on
        the span's middle.
    rise_per_length : Derived
        The change of slope along the spans, rise over run.
    """

    support: str
    kink: Derived
    jog: Derived
    gap_left: Derived
    gap_right: Derived
    rise: Derived
    rise_per_length: Derived


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Jig:
    """One unit on its board.

    Parameters
    ----------
    name : str
        Names of its spans, joined.
    spans : tuple of JigSpan
        In station order.
    joints : tuple of Joint
        One fewer.
    far_offset : Derived
        How far the middle of the last girder ends stands to the left of the first span's axis.
    far_along : Derived
        How far along that axis.
    over_all : Derived
        Straight distance between the middles of the outer ends.
    wide : Derived
        Greatest width over the flanges.
    """

    name: str
    spans: tuple[JigSpan, ...]
    joints: tuple[Joint, ...]
    far_offset: Derived
    far_along: Derived
    over_all: Derived
    wide: Derived


def jig_sheets(units: tuple[tuple[str, ...], ...], inputs: Inputs, structures: Structures) -> tuple[Jig, ...]:
    """Return the jig of every unit.

    Parameters
    ----------
    units : tuple of tuple of str
        Names of the spans of each unit, neighbours in station order.
    inputs : Inputs
        The base inputs, with the unseen ones.
    structures : Structures
        The fitted bridge.

    Returns
    -------
    tuple of Jig
        In the order of the units.
    """
    spans = {span.axis.given.name: span for span in structures.spans}
    return tuple(_jig(tuple(spans[name] for name in unit), inputs) for unit in units)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Board:
    """The board's frame in the layout, and the plane of the first span's seats."""

    x: Derived
    y: Derived
    along: Derived
    across: Derived
    level: Derived
    slope: Derived
    tilt: Derived
    between: Derived

    def place(self, x: Derived, y: Derived) -> tuple[Derived, Derived]:
        dx, dy = x - self.x, y - self.y
        return (
            dx * self.along[0] + dy * self.along[1],
            dx * self.across[0] + dy * self.across[1],
        )

    def above(self, x: Derived, y: Derived, z: Derived) -> Derived:
        """Height over the plane, of a point given on the board."""
        return z - self.level - self.slope * (x - self.between) - self.tilt * y


def _board(first: FittedSpan, inputs: Inputs) -> _Board:
    axis, span = first.axis, first.axis.given
    x, y = point_on_span(axis, axis.length * -0.5, 0.0)
    seats = [b.seat for b in first.heights.bearings]
    start_left, start_right, end_left, end_right = seats
    between = axis.length - size(inputs, span.bearing_inset) * 2.0
    return _Board(
        x=x,
        y=y,
        along=axis.along,
        across=axis.across,
        level=(start_left + start_right + end_left + end_right) * 0.25,
        slope=(end_left + end_right - start_left - start_right) * 0.5 / between,
        tilt=(start_left + end_left - start_right - end_right) * 0.5 / size(inputs, span.spacing),
        between=axis.length * 0.5,
    )


def _jig(unit: tuple[FittedSpan, ...], inputs: Inputs) -> Jig:
    board = _board(unit[0], inputs)
    raised = []
    for fitted in unit:
        for b in fitted.heights.bearings:
            x, y = board.place(b.x, b.y)
            raised.append((b.id, b.side, x, y, board.above(x, y, b.seat)))
    lowest = min((height for *_, height in raised), key=lambda h: float(h.value))
    seats = [
        JigSeat(bearing=key, side=side, x=x, y=y, height=height, packing=height - lowest)
        for key, side, x, y, height in raised
    ]
    spans = tuple(
        _span(board, fitted.axis, inputs, tuple(seats[4 * k : 4 * k + 4])) for k, fitted in enumerate(unit)
    )
    far_along, far_offset = spans[-1].ends[1]
    wide = [size(inputs, f.axis.given.spacing) + size(inputs, f.axis.given.flange) for f in unit]
    return Jig(
        name=" and ".join(span.name for span in spans),
        spans=spans,
        joints=tuple(_joint(a, b, inputs) for a, b in pairwise(unit)),
        far_offset=far_offset,
        far_along=far_along,
        over_all=dv.sqrt(far_along * far_along + far_offset * far_offset),
        wide=max(wide, key=lambda w: float(w.value)),
    )


def _span(board: _Board, axis: SpanAxis, inputs: Inputs, seats: tuple[JigSeat, ...]) -> JigSpan:
    half, flange = axis.length * 0.5, size(inputs, axis.given.flange) * 0.5
    spacing = size(inputs, axis.given.spacing) * 0.5
    girders = []
    for side, sign in (("left", 1.0), ("right", -1.0)):
        inner, outer = spacing * sign - flange, spacing * sign + flange
        corners = [
            board.place(*point_on_span(axis, along, left))
            for along, left in ((-half, inner), (half, inner), (half, outer), (-half, outer))
        ]
        girders.append((side, np.array([[float(x.value), float(y.value)] for x, y in corners])))
    start, end = (board.place(*point_on_span(axis, half * way, 0.0)) for way in (-1.0, 1.0))
    return JigSpan(
        name=axis.given.name, ends=(start, end), length=axis.length, girders=tuple(girders), seats=seats
    )


def _joint(before: FittedSpan, after: FittedSpan, inputs: Inputs) -> Joint:
    board = _board(before, inputs)
    heights = []
    for b in after.heights.bearings:
        x, y = board.place(b.x, b.y)
        heights.append(board.above(x, y, b.seat))
    near, far = (heights[0] + heights[1]) * 0.5, (heights[2] + heights[3]) * 0.5
    between = after.axis.length - size(inputs, after.axis.given.bearing_inset) * 2.0
    return Joint(
        support=after.axis.given.start,
        kink=kink(before.axis, after.axis),
        jog=jog(before.axis, after.axis),
        gap_left=end_gap(before.axis, after.axis, 1.0, inputs),
        gap_right=end_gap(before.axis, after.axis, -1.0, inputs),
        rise=far - near,
        rise_per_length=(far - near) / between,
    )
