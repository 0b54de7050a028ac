"""Straight girders under a curve: where the supports stand, how far a span is shifted, its kinks.

A span's axis is the chord of the track between its two supports, moved outward until the track lies as
far to one side of it as to the other (on an arc: the half-split shift p^2 / 16 R). The supports'
stations are decisions, rounded, and kept with the plan's choices; everything else follows from them.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from spanwright.alignment.line import Line, TrackPoint, along, position_at, track_point
from spanwright.errors import InputError
from spanwright.estimation import derived as dv
from spanwright.estimation.derived import Derived
from spanwright.estimation.inputs import Inputs, size
from spanwright.geometry import chain as ch
from spanwright.structures.given import CapForm, Span, StructuresInput, Support, SupportKind

FloatArray = np.ndarray

#: Supports are set out to this step. [mm]
STEP = 0.5
SAMPLES = 101


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SpanAxis:
    """One span in plan.

    Parameters
    ----------
    given : Span
        As given.
    stations : tuple of float
        Of its two supports on the upper line. [mm]
    middle : Derived
        Middle of its girders in plan, shape (2,).
    along : Derived
        Unit vector along the axis, shape (2,).
    across : Derived
        Unit vector to the left, shape (2,).
    pitch : Derived
        Distance of the supports along the chord.
    length : Derived
        Girder length.
    shift : Derived
        Axis to the left of the chord between the track points at its supports.
    middle_ordinate : Derived
        Largest distance of the track from that chord, signed, left positive.
    worst_offset : Derived
        Largest distance of the track from the axis.
    slide : float
        How far the girders' middle stands ahead of the middle between the supports. [mm]
    """

    given: Span
    stations: tuple[float, float]
    middle: Derived
    along: Derived
    across: Derived
    pitch: Derived
    length: Derived
    shift: Derived
    middle_ordinate: Derived
    worst_offset: Derived
    slide: float


def arrange(
    given: StructuresInput, inputs: Inputs, upper: Line, crossing: tuple[float, float]
) -> tuple[tuple[tuple[str, float], ...], tuple[float, ...]]:
    """Decide the supports' stations on the upper line.

    Parameters
    ----------
    given : StructuresInput
        Spans and supports, in station order.
    inputs : Inputs
        The base inputs.
    upper : Line
        The line that is carried.
    crossing : tuple of float
        Station of the crossing on it, and the angle of the lines there. [mixed]

    Returns
    -------
    stations : tuple of (str, float)
        Name and station of each support. [mm]
    slides : tuple of float
        How far each span's girders stand ahead of the middle between its supports. [mm]

    Raises
    ------
    InputError
        If spans and supports do not form one chain, or nothing fixes their place.

    Notes
    -----
    Equal girders need a larger pitch than their length, so that the inner ends clear at the kink:
    ``pitch = length + gap + (spacing + flange - 2 e) sin(kink / 2)``, e the half-split shift, which opens
    the gap; rounded up to the next half millimetre. Where girders frame into a cap's face that face is
    added, and the girder slides along by half the difference of the two faces.
    """
    _check_chain(given)
    anchor = next((k for k, s in enumerate(given.supports) if s.along is not None), None)
    if anchor is None:
        anchor = next((k for k, s in enumerate(given.supports) if s.kind is SupportKind.STRADDLE_BENT), None)
    if anchor is None:
        raise InputError(
            "nothing says where the supports stand",
            code="ST001",
            where="supports",
            hint="Give one of them its distance along from the crossing",
        )
    station = [0.0] * len(given.supports)

    def own(k: int) -> float:
        return crossing[0] + (given.supports[k].along or 0.0)

    station[anchor] = own(anchor)
    order = [*range(anchor + 1, len(station)), *range(anchor - 1, -1, -1)]
    for k in order:
        if given.supports[k].along is not None:
            station[k] = own(k)
        elif k > anchor:
            station[k] = station[k - 1] + _pitch(
                given, inputs, upper, number=k - 1, start=station[k - 1], direction=1.0, angle=crossing[1]
            )
        else:
            station[k] = station[k + 1] - _pitch(
                given, inputs, upper, number=k, start=station[k + 1], direction=-1.0, angle=crossing[1]
            )
    moved = [
        round(s, 1) + float(inputs[support.shift].value if support.shift else 0.0)
        for s, support in zip(station, given.supports, strict=True)
    ]
    if np.any(np.diff(moved) <= 0):
        raise InputError("the supports are not in station order", code="ST002", where="supports", value=moved)
    slides = []
    for number, (a, b) in enumerate(pairwise(moved)):
        width = _width(given.spans[number], inputs)
        first, last = _faces(given, inputs, upper, number=number, width=width, ends=(a, b), angle=crossing[1])
        slides.append(round(0.5 * (first - last), 1))
    return tuple((s.name, v) for s, v in zip(given.supports, moved, strict=True)), tuple(slides)


def _check_chain(given: StructuresInput) -> None:
    names = [s.name for s in given.supports]
    if len(given.spans) != len(names) - 1:
        raise InputError(
            "spans and supports do not form one bridge",
            code="ST003",
            where="spans",
            value=len(given.spans),
            limit=f"{len(names) - 1} spans for {len(names)} supports",
        )
    for span, a, b in zip(given.spans, names[:-1], names[1:], strict=True):
        if (span.start, span.end) != (a, b):
            raise InputError(
                "a span must lead from each support to the next",
                code="ST004",
                where=span.name,
                value=f"{span.start} to {span.end}",
                limit=f"{a} to {b}",
            )


def _face(support: Support, inputs: Inputs, width: float, angle: float) -> float:
    """From a support's middle to where a square girder end clears the face of a cap it frames into.

    Nil where girders rest on the cap. A cap that is askew to the span by the angle p takes
    ``(half cap + half width sin p) / cos p``.
    """
    if support.kind is not SupportKind.STRADDLE_BENT or support.form is not CapForm.LEVEL:
        return 0.0
    askew = abs((angle - support.turn + np.pi / 2.0) % np.pi - np.pi / 2.0)
    half = 0.5 * float(size(inputs, support.cap_along).value)
    return float((half + 0.5 * width * np.sin(askew)) / np.cos(askew))


def _width(span: Span, inputs: Inputs) -> float:
    return float(size(inputs, span.spacing).value) + float(size(inputs, span.flange).value)


def _faces(
    given: StructuresInput,
    inputs: Inputs,
    upper: Line,
    *,
    number: int,
    width: float,
    ends: tuple[float, float],
    angle: float,
) -> tuple[float, float]:
    """Room that the caps at a span's two ends take; the span's own direction, not the track's, counts."""
    turn = (
        0.5
        * (ends[1] - ends[0])
        * float(ch.curvature_at(upper.chain, np.array([0.5 * (ends[0] + ends[1])]))[0])
    )
    return (
        _face(given.supports[number], inputs, width, angle + turn),
        _face(given.supports[number + 1], inputs, width, angle - turn),
    )


def _pitch(
    given: StructuresInput,
    inputs: Inputs,
    upper: Line,
    *,
    number: int,
    start: float,
    direction: float,
    angle: float,
) -> float:
    span = given.spans[number]
    length = float(size(inputs, span.length).value)
    width = _width(span, inputs)
    pitch = length
    for _ in range(20):
        ends = (start, start + pitch) if direction > 0.0 else (start - pitch, start)
        faces = sum(_faces(given, inputs, upper, number=number, width=width, ends=ends, angle=angle))
        bend = abs(float(ch.curvature_at(upper.chain, np.array([0.5 * (ends[0] + ends[1])]))[0]))
        split = pitch**2 * bend / 16.0
        pitch = length + faces + given.end_gap + (width - 2.0 * split) * np.sin(0.5 * pitch * bend)
    rounded = float(np.ceil(pitch / STEP - 1e-9) * STEP)
    kappa = float(ch.curvature_at(upper.chain, np.array([start + direction * rounded / 2.0]))[0])
    return rounded * (1.0 + (kappa * rounded) ** 2 / 24.0)  # the arc over the chord


def span_axis(
    span: Span,
    inputs: Inputs,
    upper: Line,
    stations: tuple[float, float],
    *,
    slide: float = 0.0,
    aside: tuple[Derived | float, Derived | float] = (0.0, 0.0),
) -> SpanAxis:
    """Fit one straight span under the line.

    Parameters
    ----------
    span : Span
        As given.
    inputs : Inputs
        The base inputs.
    upper : Line
        The line that is carried.
    stations : tuple of float
        Of its supports. [mm]
    slide : float
        How far its girders stand ahead of the middle between the supports. [mm]
    aside : tuple of Derived or float
        How far it is set out to the left of where it should be, at each end. [mm]

    Returns
    -------
    SpanAxis
        The axis and how the track lies to it.
    """
    grid = np.linspace(stations[0], stations[1], SAMPLES)
    # derivatives are wanted at the ends and where the track lies furthest to each side
    track = track_point(upper, grid[[0, *_furthest(upper, grid), -1]])
    dx, dy = track.x[-1] - track.x[0], track.y[-1] - track.y[0]
    pitch = dv.sqrt(dx * dx + dy * dy)
    tx, ty = dx / pitch, dy / pitch
    offset = (track.y - track.y[0]) * tx - (track.x - track.x[0]) * ty
    high, low = 1, 2
    shift = (offset[high] + offset[low]) * 0.5
    larger = high if abs(offset.value[high]) >= abs(offset.value[low]) else low
    # set out a little off at its ends, the span stands aside and askew by as much
    out, askew = (aside[0] + aside[1]) * 0.5, (aside[1] - aside[0]) / pitch
    left = shift + out
    tx, ty = tx - ty * askew, ty + tx * askew
    middle_x = (track.x[0] + track.x[-1]) * 0.5 - ty * left + tx * slide
    middle_y = (track.y[0] + track.y[-1]) * 0.5 + tx * left + ty * slide
    return SpanAxis(
        given=span,
        stations=stations,
        middle=dv.stack([middle_x, middle_y]),
        along=dv.stack([tx, ty]),
        across=dv.stack([-ty, tx]),
        pitch=pitch,
        length=size(inputs, span.length),
        shift=shift,
        middle_ordinate=offset[larger],
        worst_offset=(offset[high] - offset[low]) * 0.5,
        slide=slide,
    )


def _furthest(upper: Line, grid: FloatArray) -> tuple[int, int]:
    """Where the track lies furthest to the left of the chord of its ends, and to the right."""
    points, _ = position_at(upper, grid)
    chord = points[-1] - points[0]
    tx, ty = chord * (1.0 / np.sqrt(chord[0] * chord[0] + chord[1] * chord[1]))
    left = (points[:, 1] - points[0, 1]) * tx - (points[:, 0] - points[0, 0]) * ty
    return int(np.argmax(left)), int(np.argmin(left))


def point_on_span(axis: SpanAxis, along: Derived | float, left: Derived | float) -> tuple[Derived, Derived]:
    """Return a plan point given in the span's own frame.

    Parameters
    ----------
    axis : SpanAxis
        The span.
    along : Derived or float
        From its middle towards its end. [mm]
    left : Derived or float
        To the left of its axis. [mm]

    Returns
    -------
    tuple of Derived
        x and y.
    """
    x = axis.middle[0] + axis.along[0] * along + axis.across[0] * left
    y = axis.middle[1] + axis.along[1] * along + axis.across[1] * left
    return x, y


def beside(line: Line, x: Derived, y: Derived) -> tuple[Derived, Derived, TrackPoint]:
    """Return where a plan point lies beside a line: station, offset to the left, and the track there.

    Parameters
    ----------
    line : Line
        The line.
    x : Derived
        First coordinate.
    y : Derived
        Second coordinate.

    Returns
    -------
    tuple
        Station (Derived), offset (Derived), TrackPoint of shape (1,).
    """
    station, offset, track = all_beside(line, dv.stack([x]), dv.stack([y]))
    return station[0], offset[0], track


def all_beside(line: Line, x: Derived, y: Derived) -> tuple[Derived, Derived, TrackPoint]:
    """Return the same for many plan points at once.

    Parameters
    ----------
    line : Line
        The line.
    x : Derived
        First coordinates, shape (n,).
    y : Derived
        Second coordinates.

    Returns
    -------
    tuple
        Stations, offsets, TrackPoint, all of shape (n,).
    """
    s = ch.nearest(line.chain, np.column_stack([x.value, y.value]))
    held = track_point(line, s)
    c, n = np.cos(held.heading.value), np.sin(held.heading.value)
    gap_x, gap_y = x - held.x, y - held.y
    aside = gap_y.value * c - gap_x.value * n
    ahead = gap_x * c + gap_y * n + (held.heading - held.heading.value) * aside
    kappa = ch.curvature_at(line.chain, s)
    station = Derived(s, ahead.jac / (1.0 - kappa * aside)[:, None])
    there = along(line, held, station)
    dx, dy = x - there.x, y - there.y
    offset = dy * dv.cos(there.heading) - dx * dv.sin(there.heading)
    return station, offset, there


def kink(before: SpanAxis, after: SpanAxis) -> Derived:
    """Return the angle that two spans make at their shared support, left turn positive.

    Parameters
    ----------
    before : SpanAxis
        The span that ends there.
    after : SpanAxis
        The span that starts there.

    Returns
    -------
    Derived
        Angle in radians.
    """
    cross = before.along[0] * after.along[1] - before.along[1] * after.along[0]
    inner = before.along[0] * after.along[0] + before.along[1] * after.along[1]
    return dv.arctan2(cross, inner)


def end_gap(before: SpanAxis, after: SpanAxis, side: float, inputs: Inputs) -> Derived:
    """Return the gap between two spans' girder ends at a shared support.

    Parameters
    ----------
    before : SpanAxis
        The span that ends there.
    after : SpanAxis
        The span that starts there.
    side : float
        1 for the left corners, -1 for the right. [1]
    inputs : Inputs
        The base inputs.

    Returns
    -------
    Derived
        Gap along the mean of the two axes; negative where they collide.
    """
    half_a = (size(inputs, before.given.spacing) + size(inputs, before.given.flange)) * (0.5 * side)
    half_b = (size(inputs, after.given.spacing) + size(inputs, after.given.flange)) * (0.5 * side)
    ax, ay = point_on_span(before, before.length * 0.5, half_a)
    bx, by = point_on_span(after, after.length * -0.5, half_b)
    mx = before.along[0] + after.along[0]
    my = before.along[1] + after.along[1]
    norm = dv.sqrt(mx * mx + my * my)
    return ((bx - ax) * mx + (by - ay) * my) / norm


def jog(before: SpanAxis, after: SpanAxis) -> Derived:
    """Return how far the axes of two spans miss each other at their shared support, left positive.

    Parameters
    ----------
    before : SpanAxis
        The span that ends there.
    after : SpanAxis
        The span that starts there.

    Returns
    -------
    Derived
        Step from the first axis to the second, square to the mean of both.
    """
    ax, ay = point_on_span(before, before.pitch * 0.5 - before.slide, 0.0)
    bx, by = point_on_span(after, after.pitch * -0.5 - after.slide, 0.0)
    nx = before.across[0] + after.across[0]
    ny = before.across[1] + after.across[1]
    return ((bx - ax) * nx + (by - ay) * ny) / dv.sqrt(nx * nx + ny * ny)
