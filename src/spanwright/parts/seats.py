"""Seat plans: where every shoe stands on its cap, in the cap's own frame.

A seat plan is set out before the support stands: on the cap, from the cap's own centre lines. Its frame
has its origin in the middle of the cap; x runs along the cap to the *right* of growing station and y ahead,
square to the cap, towards growing station. On paper one looks down on the cap, with the end of the line
away from the reader, so that left and right are where they are on the layout.

Order to read: :func:`seat_plans`, :func:`on_cap`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from spanwright.alignment.line import Line, nearest_station, position_at
from spanwright.estimation.derived import Derived
from spanwright.estimation.inputs import Inputs, size
from spanwright.structures.given import CapForm, SupportKind
from spanwright.structures.heights import Bearing
from spanwright.structures.room import Footprint, Seat
from spanwright.structures.spans import SpanAxis
from spanwright.structures.stage import Structures
from spanwright.structures.supports import FittedSupport, cap_length, shaft_sizes

FloatArray = np.ndarray

#: A track's centre line is shown so far beyond the cap's middle, times the cap's diagonal. [1]
_BEYOND = 0.9
_SAMPLES = 41


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SeatPlace:
    """One bearing on its cap.

    Parameters
    ----------
    bearing : str
        The bearing's id.
    span : str
        The span it carries.
    side : str
        ``left`` or ``right`` girder.
    end : str
        ``start`` or ``end`` of the span.
    x : Derived
        Middle of the shoe, where its peg is drilled: from the cap's middle along the cap, to the right.
    y : Derived
        The same ahead, square to the cap.
    shoe : ndarray, shape (4, 2) or (0, 2)
        Corners of the shoe's outline; none where the girder frames into the cap. [mm]
    girder : ndarray, shape (4, 2)
        Corners of the girder's flange from its end to well off the cap. [mm]
    centre : ndarray, shape (2, 2)
        Centre line of the girder from its end to the same place. [mm]
    packing : Derived
        Thickness of the packing under the shoe, or on the cap where girders frame in.
    edge : Derived or None
        From the shoe to the nearest edge of the cap; None where girders frame in.
    face : Derived or None
        From the girder's end to the face of the cap; None where it stands on the cap.
    on_face : Derived or None
        Where its centre line meets the face that it frames into, from the cap's middle along the cap, to the
        right; None where it stands on the cap.
    """

    bearing: str
    span: str
    side: str
    end: str
    x: Derived
    y: Derived
    shoe: FloatArray
    girder: FloatArray
    centre: FloatArray
    packing: Derived
    edge: Derived | None
    face: Derived | None
    on_face: Derived | None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SeatPlan:
    """One cap seen from above.

    Parameters
    ----------
    support : str
        The support.
    length : Derived
        Length of the cap.
    wide : Derived
        Its size square to that.
    level : bool
        True where girders frame into the cap's faces.
    beneath : tuple of (str, ndarray)
        Name of each shaft or column and its outline at its top, shape (4, 2).
    seats : tuple of SeatPlace
        In the order of the bearings.
    over : ndarray, shape (n, 2)
        Centre line of the track that is carried. [mm]
    under : ndarray, shape (n, 2) or (0, 2)
        Centre line of the track that passes beneath a bent. [mm]
    """

    support: str
    length: Derived
    wide: Derived
    level: bool
    beneath: tuple[tuple[str, FloatArray], ...]
    seats: tuple[SeatPlace, ...]
    over: FloatArray
    under: FloatArray


def on_cap(place: Footprint, x: Derived, y: Derived) -> tuple[Derived, Derived]:
    """Return a plan point of the layout in the frame of a cap.

    Parameters
    ----------
    place : Footprint
        Where the cap lies.
    x : Derived
        First coordinate in the layout.
    y : Derived
        Second coordinate.

    Returns
    -------
    tuple of Derived
        To the right of the cap's middle, and ahead of it.
    """
    dx, dy = x - place.x, y - place.y
    left = place.across
    return -(dx * left[0] + dy * left[1]), dx * left[1] - dy * left[0]


def seat_plans(inputs: Inputs, lines: tuple[Line, Line], structures: Structures) -> tuple[SeatPlan, ...]:
    """Return the seat plan of every support.

    Parameters
    ----------
    inputs : Inputs
        The base inputs, with the unseen ones.
    lines : tuple of Line
        Upper and lower line.
    structures : Structures
        The fitted bridge.

    Returns
    -------
    tuple of SeatPlan
        In station order.
    """
    axes = {span.axis.given.name: span.axis for span in structures.spans}
    bearings = {b.id: b for b in structures.bearings}
    return tuple(
        _plan(
            fitted,
            inputs,
            lines,
            tuple((s, bearings[s.bearing], axes[bearings[s.bearing].span]) for s in fitted.seats),
        )
        for fitted in structures.supports
    )


def _plan(
    fitted: FittedSupport,
    inputs: Inputs,
    lines: tuple[Line, Line],
    seats: tuple[tuple[Seat, Bearing, SpanAxis], ...],
) -> SeatPlan:
    support, place = fitted.given, fitted.footprint
    bent = support.kind is SupportKind.STRADDLE_BENT
    length = cap_length(support, inputs, place)
    wide = size(inputs, support.cap_along)
    reach = _BEYOND * float(np.hypot(length.value, wide.value))
    return SeatPlan(
        support=support.name,
        length=length,
        wide=wide,
        level=bent and support.form is CapForm.LEVEL,
        beneath=_beneath(fitted, inputs),
        seats=tuple(_seat((place, wide * 0.5), inputs, *seat) for seat in seats),
        over=_track(place, lines[0], reach),
        under=_track(place, lines[1], reach) if bent else np.zeros((0, 2)),
    )


def _beneath(fitted: FittedSupport, inputs: Inputs) -> tuple[tuple[str, FloatArray], ...]:
    """Outline of each shaft or column at its top."""
    found = []
    for cut, centre in zip(fitted.cuts, fitted.footprint.columns, strict=True):
        shaft = shaft_sizes(fitted.given, inputs, cut)
        middle = np.array([float(v.value) for v in on_cap(fitted.footprint, centre[0], centre[1])])
        half = 0.5 * np.array([float(shaft.top_across.value), float(shaft.top_along.value)])
        corners = middle + half * np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]])
        found.append((cut.id.rpartition("/")[2], corners))
    return tuple(found)


def _seat(
    cap: tuple[Footprint, Derived], inputs: Inputs, seat: Seat, bearing: Bearing, axis: SpanAxis
) -> SeatPlace:
    """Place one bearing on a cap, which is given by its footprint and half its size square to itself."""
    place, half_wide = cap
    span = axis.given
    x, y = on_cap(place, bearing.x, bearing.y)
    middle = np.array([float(x.value), float(y.value)])
    left = place.across.value
    # inward: along the girder from its end into its span
    inward = bearing.along.value * (1.0 if bearing.end == "start" else -1.0)
    inward = np.array([-(inward @ left), inward[0] * left[1] - inward[1] * left[0]])
    side = np.array([inward[1], -inward[0]])
    half = float(bearing.half_flange.value)
    shoe = 0.5 * float(size(inputs, span.shoe_along).value)
    end = middle - inward * float(size(inputs, span.bearing_inset).value)
    away = end + inward * float(axis.length.value) * 0.3
    return SeatPlace(
        bearing=bearing.id,
        span=bearing.span,
        side=bearing.side,
        end=bearing.end,
        x=x,
        y=y,
        shoe=np.zeros((0, 2)) if seat.edge is None else _block(middle, inward * shoe, side * half),
        girder=_block(0.5 * (end + away), 0.5 * (away - end), side * half),
        centre=np.array([end, away]),
        packing=seat.packing,
        edge=seat.edge,
        face=seat.face,
        on_face=None if seat.face is None else _on_face(place, bearing, (x, y), half_wide),
    )


def _on_face(place: Footprint, bearing: Bearing, at: tuple[Derived, Derived], half_wide: Derived) -> Derived:
    """Where a girder's centre line meets the face of the cap that is nearer to it."""
    x, y = at
    left, way = place.across, bearing.along
    aside = -(way[0] * left[0] + way[1] * left[1])
    ahead = way[0] * left[1] - way[1] * left[0]
    face = half_wide if float(y.value) >= 0.0 else -half_wide
    return x + aside / ahead * (face - y)


def _block(middle: FloatArray, along: FloatArray, side: FloatArray) -> FloatArray:
    return np.array(
        [middle - along - side, middle + along - side, middle + along + side, middle - along + side]
    )


def _track(place: Footprint, line: Line, reach: float) -> FloatArray:
    """Centre line of a track near a cap, in the cap's frame."""
    origin = np.array([[float(place.x.value), float(place.y.value)]])
    middle = float(nearest_station(line, origin)[0])
    points, _ = position_at(line, np.linspace(middle - reach, middle + reach, _SAMPLES))
    left, gap = place.across.value, points - origin
    return np.stack([-(gap @ left), gap[:, 0] * left[1] - gap[:, 1] * left[0]], axis=1)
