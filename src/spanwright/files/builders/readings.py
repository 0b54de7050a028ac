"""Readings: each becomes a base input with its doubt, and an entry that says what was read where.

:func:`build_readings` goes through the lists of ``[survey]`` in the order of its table ``KINDS``; one
function a kind. A reading that was read twice gives two inputs, ``id`` and ``id/2``. A reading to the
right of a string is stored as one to the left of the string the other way round, so that the errors
of a tool keep their sign.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from typing import Any

from spanwright.files.builders import sizes
from spanwright.files.builders.gathered import ANGULAR, Gathered
from spanwright.files.builders.sizes import numbered
from spanwright.files.schema import survey as tables
from spanwright.files.schema.base import Quantity
from spanwright.files.source import Keys, Plain, listed
from spanwright.survey.equations import AXES
from spanwright.survey.readings import Datum, DatumKind, Kind, Reading
from spanwright.units import is_angle_text

MOST_CANT = 1 / 3  # of the gauge: five times the usual most (common practice, no source)


def _value(g: Gathered, keys: Keys, written: Quantity, kind: Kind, *, any_sign: bool) -> float:
    if kind in ANGULAR:
        angle = g.ctx.angle(keys, written)
        if kind in (Kind.ANGLE, Kind.BEARING) and not 0 <= angle <= math.tau:
            raise g.ctx.source.error(
                keys,
                f"this {'angle' if kind is Kind.ANGLE else 'bearing'} is not within one turn",
                code="JO029",
                value=written,
                limit="0 to 360 deg, clockwise",
                hint="Counted the other way round, -5 deg is 355 deg",
            )
        return angle
    return g.ctx.length(keys, written, least=-math.inf if any_sign else 0.0)


def _simple(
    g: Gathered, keys: Keys, entry: tables.One, reading: Reading, *, label: str, any_sign: bool = False
) -> None:
    """Add each of the readings of an entry."""
    for k, written in enumerate(entry.readings):
        value = _value(g, (*keys, "is", k), written, reading.kind, any_sign=any_sign)
        g.add(keys, entry, replace(reading, id=numbered(entry.id, k)), value=value, label=label)


def _distance(g: Gathered, keys: Keys, e: tables.Distance) -> None:
    a, b = g.mark((*keys, "from"), e.start), g.mark((*keys, "to"), e.end)
    g.differ((*keys, "to"), a, b)
    for k, written in enumerate(e.readings):
        g.ctx.thickness((*keys, "is", k), written)
    kind = Kind.LEVEL_DISTANCE if e.held == "level" else Kind.DISTANCE
    _simple(g, keys, e, Reading(id=e.id, kind=kind, marks=(a, b)), label=f"{kind.value} {a} to {b}")


def _angle(g: Gathered, keys: Keys, e: tables.Angle) -> None:
    at, a, b = (g.mark((*keys, key), name) for key, name in (("at", e.at), ("from", e.start), ("to", e.end)))
    g.differ((*keys, "to"), a, b)
    g.differ((*keys, "from"), at, a)
    g.differ((*keys, "to"), at, b)
    _simple(
        g,
        keys,
        e,
        Reading(id=e.id, kind=Kind.ANGLE, marks=(at, a, b)),
        label=f"angle at {at} from {a} to {b}",
    )


def _between(kind: Kind) -> Callable[[Gathered, Keys, tables.Between], None]:
    def build(g: Gathered, keys: Keys, e: tables.Between) -> None:
        a, b = g.mark((*keys, "from"), e.start), g.mark((*keys, "to"), e.end)
        g.differ((*keys, "to"), a, b)
        _simple(g, keys, e, Reading(id=e.id, kind=kind, marks=(a, b)), label=f"{kind.value} {a} to {b}")

    return build


def _height(kind: Kind) -> Callable[[Gathered, Keys, tables.Height], None]:
    def build(g: Gathered, keys: Keys, e: tables.Height) -> None:
        of, above = g.mark((*keys, "of"), e.of), g.mark((*keys, "above"), e.above)
        g.differ((*keys, "above"), of, above)
        to = g.surfaces.checked(keys, "to", of, e.to_surface)
        start = g.surfaces.checked(keys, "from", above, e.from_surface)
        drops = g.surfaces.drops(keys, to, start)
        label = f"{kind.value} of {to} at {of} above {start} at {above}"
        _simple(
            g,
            keys,
            e,
            Reading(id=e.id, kind=kind, marks=(of, above), drops=drops),
            label=label,
            any_sign=True,
        )

    return build


def _offset(g: Gathered, keys: Keys, e: tables.Offset) -> None:
    a, b = g.pair((*keys, "string"), e.string)
    of = g.mark((*keys, "of"), e.of)
    ends = (a, b) if g.is_left((*keys, "side"), e.side, a, b) else (b, a)
    label = f"offset of {of} from the string {a} to {b}, {e.side}"
    _simple(g, keys, e, Reading(id=e.id, kind=Kind.OFFSET, marks=(of, *ends)), label=label)


def _along(g: Gathered, keys: Keys, e: tables.Along) -> None:
    a, b = g.pair((*keys, "string"), e.string)
    of = g.mark((*keys, "of"), e.of)
    label = f"along the string {a} to {b}, to {of}"
    _simple(g, keys, e, Reading(id=e.id, kind=Kind.ALONG, marks=(of, a, b)), label=label, any_sign=True)


def _plumb(g: Gathered, keys: Keys, e: tables.Plumb) -> None:
    upper, over = g.mark((*keys, "upper"), e.upper), g.mark((*keys, "over"), e.over)
    g.differ((*keys, "over"), upper, over)
    for axis, kind, written in (("x", Kind.PLUMB_X, e.dx), ("y", Kind.PLUMB_Y, e.dy)):
        value = g.ctx.length((*keys, f"d{axis}"), written)
        reading = Reading(id=f"{e.id}/{axis}", kind=kind, marks=(upper, over))
        g.add(keys, e, reading, value=value, label=f"{upper} plumb over {over}, along {axis}")


def _past_edge(g: Gathered, keys: Keys, e: tables.PlumbPastEdge) -> None:
    above, below = g.mark((*keys, "above"), e.above), g.mark((*keys, "below"), e.below)
    g.differ((*keys, "below"), above, below)
    a, b = g.pair((*keys, "edge"), e.edge)
    ends = (a, b) if g.is_left((*keys, "side"), e.side, a, b) else (b, a)
    if len(e.edge_to_rail) != len(e.line_to_rail):
        raise g.ctx.source.error(
            (*keys, "line_to_rail"),
            "edge_to_rail and line_to_rail must be read equally often",
            code="JO042",
            value=len(e.line_to_rail),
            limit=len(e.edge_to_rail),
        )
    for k, (top, bottom) in enumerate(zip(e.edge_to_rail, e.line_to_rail, strict=True)):
        value = g.ctx.length((*keys, "edge_to_rail", k), top, least=0)
        value += g.ctx.length((*keys, "line_to_rail", k), bottom, least=0)
        reading = Reading(id=numbered(e.id, k), kind=Kind.PLUMB_PAST_EDGE, marks=(above, below, *ends))
        g.add(
            keys,
            e,
            reading,
            value=value,
            label=f"plumb past the edge {a} to {b}, {below} from {above}, {e.side}",
        )


def _versine(g: Gathered, keys: Keys, e: tables.Versine) -> None:
    a, b = g.pair((*keys, "chord"), e.chord)
    at = g.mark((*keys, "at"), e.at)
    _on_one_face(g, keys, (a, b, at))
    ends = (a, b) if g.is_left((*keys, "towards"), e.towards, a, b) else (b, a)
    label = f"versine at {at} on the chord {a} to {b}, towards {e.towards}"
    _simple(g, keys, e, Reading(id=e.id, kind=Kind.VERSINE, marks=(at, *ends)), label=label)


def _on_one_face(g: Gathered, keys: Keys, names: tuple[str, str, str]) -> None:
    """Refuse a versine whose marks do not lie along one edge of one rail."""
    chord = g.marks[names[0]]
    places = ((*keys, "chord", 0), (*keys, "chord", 1), (*keys, "at"))
    for place, name in zip(places, names, strict=True):
        mark = g.marks[name]
        if not mark.line or (mark.line, mark.rail, mark.face) != (chord.line, chord.rail, chord.face):
            raise g.ctx.source.error(
                place,
                "the three marks of this versine are not on the same line, rail and face",
                code="JO027",
                value=name,
                limit="two marks of the chord and one between them, all of one group of [marks]",
                hint="A string between other marks gives an offset: enter it under offsets",
            )


def _cross_level(g: Gathered, keys: Keys, e: tables.CrossLevel) -> None:
    ctx = g.ctx
    at = g.mark((*keys, "at"), e.at)
    line = g.marks[at].line
    if not line:
        raise ctx.source.error((*keys, "at"), "this mark is not on a line of track", code="JO043", value=at)
    distance = sizes.mean(ctx, g.lines[line].gauge) + sizes.mean(ctx, g.lines[line].rail_head)
    by_angle = [is_angle_text(written) for written in e.readings]
    angular = any(by_angle) or (e.reach is None and all(w in (0, "0") for w in e.readings))
    if any(by_angle) and not all(by_angle):
        raise ctx.source.error(
            (*keys, "is"), "these readings are not of one kind", code="JO043", value=e.readings
        )
    if not angular and e.reach is None:
        raise ctx.source.error(
            keys,
            "a cross level by feeler must say the reach of its level, and one by angle its unit",
            code="JO043",
            value=e.readings[0],
            limit='is = "1.2 deg", or is = "0.4" with reach = "100"',
        )
    if angular and e.reach is not None:
        raise ctx.source.error(
            (*keys, "reach"), "a cross level by angle has no reach", code="JO043", value=e.reach
        )
    kind = Kind.CROSS_LEVEL_ANGLE if angular else Kind.CROSS_LEVEL_FEELER
    reach = distance if e.reach is None else ctx.thickness((*keys, "reach"), e.reach)
    for k, written in enumerate(e.readings):
        value = _value(g, (*keys, "is", k), written, kind, any_sign=True)
        if value < 0:
            raise ctx.source.error(
                (*keys, "is", k),
                "a cross level is not negative",
                code="JO043",
                value=written,
                hint="Say which side is high",
            )
        if value != 0 and e.high is None:
            raise ctx.source.error(
                keys,
                "this cross level does not say which rail is high",
                code="JO043",
                limit=f'high = "{ctx.words.left}" or "{ctx.words.right}"',
            )
        if e.high is not None and ctx.side((*keys, "high"), e.high):
            value = -value
        _likely_cant(g, (*keys, "is", k), written, abs(value), kind=kind, reach=reach, distance=distance)
        reading = Reading(id=numbered(e.id, k), kind=kind, marks=(at,), reach=reach, rail_distance=distance)
        g.add(keys, e, reading, value=value, label=f"cross level at {at}, {e.high or 'level'} high")


def _likely_cant(
    g: Gathered, keys: Keys, written: Quantity, value: float, *, kind: Kind, reach: float, distance: float
) -> None:
    """Refuse a cross level that no track has."""
    feeler = kind is Kind.CROSS_LEVEL_FEELER
    if feeler and value > reach:
        raise g.ctx.source.error(
            keys,
            "the feeler is larger than the reach of its level",
            code="JO043",
            value=written,
            limit=f"less than the reach of {reach:.6g} mm",
            hint="Look for a slip in is or in reach",
        )
    cant = distance * (value / reach if feeler else math.sin(min(value, math.pi / 2)))
    most = MOST_CANT * g.wanted
    if cant > most:
        raise g.ctx.source.error(
            keys,
            f"this cross level means a cant of {cant:.3g} mm, more than track has",
            code="JO043",
            value=written,
            limit=f"a cant of {most:.3g} mm at most: a third of the gauge",
            hint="Look for a slip, and for the reach of the level" if feeler else "Look for a slip",
        )


def _coordinate(g: Gathered, keys: Keys, e: tables.Coordinate) -> None:
    of = g.mark((*keys, "of"), e.of)
    axes = [("x", Kind.COORDINATE_X, e.x), ("y", Kind.COORDINATE_Y, e.y), ("z", Kind.COORDINATE_Z, e.z)]
    if all(values is None for _, _, values in axes):
        raise g.ctx.source.error(keys, "this entry holds no coordinate", code="JO044", limit="x, y or z")
    if e.z is None and e.to_surface is not None:
        raise g.ctx.source.error(
            (*keys, "to"), "only a height has a surface", code="JO044", value=e.to_surface
        )
    for axis, kind, values in axes:
        drops: tuple[tuple[str, float], ...] = ()
        if axis == "z" and values is not None:
            drops = g.surfaces.drops(keys, g.surfaces.checked(keys, "to", of, e.to_surface), "")
        for k, written in enumerate(values or ()):
            value = g.ctx.length((*keys, axis, k), written)
            reading = Reading(id=numbered(f"{e.id}/{axis}", k), kind=kind, marks=(of,), drops=drops)
            g.add(keys, e, reading, value=value, label=f"{axis} of {of}")


#: List of the file -> what builds one of its entries.
KINDS: dict[str, Callable[[Gathered, Keys, Any], None]] = {
    "distances": _distance,
    "angles": _angle,
    "bearings": _between(Kind.BEARING),
    "level_angles": _between(Kind.LEVEL_ANGLE),
    "heights": _height(Kind.HEIGHT),
    "blocks": _height(Kind.STEPPED_BLOCK),
    "offsets": _offset,
    "along": _along,
    "plumbs": _plumb,
    "plumb_past_edge": _past_edge,
    "versines": _versine,
    "cross_levels": _cross_level,
    "coordinates": _coordinate,
}


def build_readings(g: Gathered, table: tables.Survey) -> frozenset[str]:
    """Gather all readings of the survey.

    Parameters
    ----------
    g : Gathered
        Takes them.
    table : Survey
        The ``[survey]`` table.

    Returns
    -------
    frozenset of str
        Readings that the builder has set aside.

    Raises
    ------
    InputError
        If a reading cannot be meant.
    """
    for name, build in KINDS.items():
        for k, entry in enumerate(getattr(table, name)):
            keys = ("survey", name, k)
            if entry.id in g.names:
                raise g.ctx.source.error(
                    (*keys, "id"),
                    "this id is used twice",
                    code="JO016",
                    value=entry.id,
                    hint="Give each reading its own",
                )
            build(g, keys, entry)
    if not g.readings:
        raise g.ctx.source.error(
            ("survey",), "there are no readings", code="JO045", hint="Enter what was measured"
        )
    aside: set[str] = set()
    single = {r.id: [r.id] for r in g.readings}
    for k, name in enumerate(table.set_aside):
        choices = {**single, **g.names}
        here: Keys = ("survey", "set_aside", k)
        g.ctx.choice(here, name, choices, what="there is no such reading", code="JO046")
        if name in table.set_aside[:k]:
            raise g.ctx.source.error(
                here, "this reading is set aside twice", code="JO046", value=name, hint="Name it once"
            )
        aside.update(choices[name])
    return frozenset(aside)


def check_marks(g: Gathered, orders: dict[str, tuple[str, ...]], datum: Datum, aside: frozenset[str]) -> None:
    """Refuse marks that are listed but of which nothing is known.

    Parameters
    ----------
    g : Gathered
        All readings.
    orders : dict
        Marks of each line.
    datum : Datum
        The datum.
    aside : frozenset of str
        Readings that are set aside.

    Raises
    ------
    InputError
        If a mark of a line stands in no reading, or a free datum lacks a rough place.
    """
    source = g.ctx.source
    mentioned = {mark for r in g.readings for mark in r.marks} | {name for name, _, _ in datum.fixed}
    for line, order in orders.items():
        for k, mark in enumerate(order):
            if mark not in mentioned:
                raise source.error(
                    ("lines", line, "marks", k),
                    f"the line {line} has a mark that no reading mentions",
                    code="JO025",
                    value=mark,
                    hint="Measure it, or take it out of the marks",
                )
    if datum.kind is DatumKind.FREE:
        placed = {
            mark
            for r in g.readings
            if r.id not in aside
            for mark, axes in zip(r.marks, AXES[r.kind], strict=True)
            if set(axes) & {"x", "y"}
        }
        missing = [name for name, mark in g.marks.items() if name in placed and mark.rough is None]
        if missing:
            raise source.error(
                ("datum", "free"),
                "a free datum needs a rough place for every mark that is measured in plan",
                code="JO028",
                value=Plain(f"free = true and no rough place of {listed(missing)}"),
                limit='in [marks]: rough = { b3 = ["200", "150"], ... }',
                hint="Add the rough places, or say at, towards and height",
            )
