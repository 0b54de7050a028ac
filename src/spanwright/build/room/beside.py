"""The least opening beside each part that a step works at, against a hand and the step's own tools.

A part is worked at by the step that glues, packs, sets or lays it. What stands then is what earlier steps of
setting have put there, what else the step itself puts there, and what stands fast. Seen from above, the
opening is the least distance from the part's outline to the outline of anything that reaches into its
heights. Not counted: the joints of a span with what carries it and with the next span, which are narrow by
design; what lies beyond the ends of a long part; what touches the part. Outlines are filled to their hulls,
so the opening comes out too small sooner than too large.

A hand and tools do not shrink with the scale: their room is the same for all. All of it is common practice,
no source. Read :func:`with_room` first.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType

import numpy as np
import shapely
from shapely.geometry import MultiPoint, Polygon
from shapely.geometry.base import BaseGeometry

from spanwright.build.stage import Build
from spanwright.build.step import Phase, Step
from spanwright.build.telling import Filling, Told, place, rough, told, word
from spanwright.findings import Finding, Severity
from spanwright.structures.shapes import Shape
from spanwright.structures.stage import Structures

FloatArray = np.ndarray

#: Room that a tool needs beside the part it is used at, hand kept out of it: with long handles, or slid in
#: from above. Common practice, no source. [mm]
TOOL_ROOM: Mapping[str, float] = MappingProxyType(
    {
        "square": 20.0,
        "caliper": 15.0,
        "clamps or weights": 40.0,
        "card": 3.0,
        "go and no-go sticks": 10.0,
        "knife": 15.0,
        "straightedge": 10.0,
        "feelers": 5.0,
        "track gauge": 10.0,
        "weights": 40.0,
        "file": 15.0,
        "steel rule": 5.0,
        "masking tape": 5.0,
        "tweezers": 8.0,
    }
)
SOURCE = "common practice, no source"
_PHASES = (Phase.SET, Phase.TRACK)
_TOUCHING = 0.5  # mm: what is nearer is joined to the part, or lies against it
_LONG = 3.0  # a part so many times as long as wide is worked at along its sides only


@dataclass(frozen=True, slots=True, kw_only=True)
class Beside:
    """The least opening beside a part while a step works at it.

    Parameters
    ----------
    step : str
        The step's id.
    part : str
        The part's id.
    room : float
        The least opening; infinite where nothing stands beside it. [mm]
    thing : str
        What stands there: a part's id, or the name of what stands fast.
    is_part : bool
        Whether that is a part of the bridge.
    hand : float
        Room that a hand needs. [mm]
    tools : tuple of (str, bool)
        Tools of the step, and whether each has room.
    """

    step: str
    part: str
    room: float
    thing: str
    is_part: bool
    hand: float
    tools: tuple[tuple[str, bool], ...]

    @property
    def admits_hand(self) -> bool:
        """Whether a hand goes in."""
        return self.room >= self.hand


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Thing:
    """Something with an outline in plan and two heights."""

    name: str
    owner: str
    outline: BaseGeometry
    low: float
    high: float
    is_part: bool = True


def _thing(name: str, owner: str, corners: FloatArray, *, is_part: bool = True) -> _Thing:
    return _Thing(
        name=name,
        owner=owner,
        outline=MultiPoint(corners[:, :2]).convex_hull,
        low=float(corners[:, 2].min()),
        high=float(corners[:, 2].max()),
        is_part=is_part,
    )


def with_room(build: Build, structures: Structures, fixed: Mapping[str, FloatArray], *, hand: float) -> Build:
    """Say at each step how much room there is beside what it works at.

    Parameters
    ----------
    build : Build
        The steps.
    structures : Structures
        The fitted bridge.
    fixed : mapping of str to ndarray, shape (n, 3)
        Corners of what stands fast, by name. [mm]
    hand : float
        Room that a hand needs. [mm]

    Returns
    -------
    Build
        With a line at each step of setting, and notes on tools that have no room.
    """
    found = openings_beside(build.steps, structures.shapes, fixed, hand=hand, joined=_joined(structures))
    steps = tuple(
        replace(s, lines=s.lines + told_beside(tuple(o for o in found if o.step == s.id)))
        for s in build.steps
    )
    return replace(build, steps=steps, findings=build.findings + beside_findings(found))


def _joined(structures: Structures) -> dict[str, frozenset[str]]:
    """Return for each span and support those whose parts make joints with its own."""
    ends = {s.axis.given.name: {s.axis.given.start, s.axis.given.end} for s in structures.spans}
    found = {name: {name, *at, *(n for n, other in ends.items() if at & other)} for name, at in ends.items()}
    for fitted in structures.supports:
        name = fitted.given.name
        found[name] = {n for n, at in ends.items() if name in at}
    return {name: frozenset(others) for name, others in found.items()}


def openings_beside(
    steps: tuple[Step, ...],
    shapes: tuple[Shape, ...],
    fixed: Mapping[str, FloatArray],
    *,
    hand: float,
    joined: Mapping[str, frozenset[str]],
) -> tuple[Beside, ...]:
    """Return the least opening beside each part that the steps of setting work at.

    Parameters
    ----------
    steps : tuple of Step
        All steps, in working order.
    shapes : tuple of Shape
        The finished parts.
    fixed : mapping of str to ndarray, shape (n, 3)
        Corners of what stands fast, by name. [mm]
    hand : float
        Room that a hand needs. [mm]
    joined : mapping of str to frozenset of str
        For each span and support those, itself perhaps among them, whose parts make joints with its own.

    Returns
    -------
    tuple of Beside
        By step, then by part.
    """
    parts = {s.part: _thing(s.part, s.part.partition("/")[0], s.vertices) for s in shapes}
    fast = [_thing(name, "", corners, is_part=False) for name, corners in fixed.items()]
    standing: dict[str, _Thing] = {}
    found: list[Beside] = []
    for step in steps:
        if step.phase not in _PHASES:
            continue
        at = [one for one in parts.values() if _is_at(step, one.name)]
        standing |= {one.name: one for one in at}
        at = [one for one in at if "/footing of " not in one.name]  # it goes where its shaft or column goes
        others = [*standing.values(), *fast]
        for one in at:
            beside = [t for t in others if t is not one and t.owner not in joined.get(one.owner, ())]
            found.append(_least(step, one, beside, hand=hand))
    return tuple(found)


def _is_at(step: Step, part: str) -> bool:
    """Whether a step works at a part: it uses the part or a piece of it, or packs on it."""
    cap = f"{part.removesuffix('/cap')}/" if part.endswith("/cap") else ""
    return any(
        p == part or p.startswith(f"{part}/") or (cap != "" and p.startswith(cap) and p.endswith("/packing"))
        for p in step.pieces
    )


def _least(step: Step, one: _Thing, others: list[_Thing], *, hand: float) -> Beside:
    sides = _sides(one.outline)
    room, thing = np.inf, None
    for other in others:
        if min(one.high, other.high) - max(one.low, other.low) < _TOUCHING:
            continue
        near = other.outline if sides is None else other.outline.intersection(sides)
        apart = float(one.outline.distance(near)) if not near.is_empty else np.inf
        if _TOUCHING < apart < room:
            room, thing = apart, other
    return Beside(
        step=step.id,
        part=one.name,
        room=room,
        thing=thing.name if thing else "",
        is_part=thing is None or thing.is_part,
        hand=hand,
        tools=tuple((tool, room >= TOOL_ROOM[tool]) for tool in step.tools if tool in TOOL_ROOM),
    )


def _sides(outline: BaseGeometry) -> BaseGeometry | None:
    """Return the strip across a long outline, as far as it reaches; None for one that is not long."""
    ring = shapely.get_coordinates(outline.minimum_rotated_rectangle)
    if len(ring) < 5:
        return None
    a, b = ring[1] - ring[0], ring[2] - ring[1]
    if np.hypot(*a) < np.hypot(*b):
        a, b, ring = b, a, ring[1:]
    if np.hypot(*a) < _LONG * np.hypot(*b):
        return None
    far = b / np.hypot(*b) * 1e4
    return Polygon([ring[0] - far, ring[1] - far, ring[1] + far, ring[0] + far])


def told_beside(openings: tuple[Beside, ...]) -> tuple[Told, ...]:
    """Say the openings of one step.

    Parameters
    ----------
    openings : tuple of Beside
        Those of the step.

    Returns
    -------
    tuple of Told
        A sentence for each part that has no room for a hand or a tool; one for all where there is none.
    """
    narrow = [o for o in openings if not (o.admits_hand and all(fits for _, fits in o.tools))]
    if openings and not narrow:
        near = openings[0].hand
        return (told("Nothing stands within {0}, a hand's room, beside what is worked at.", rough(near)),)
    return tuple(_told(o) for o in narrow)


def _told(one: Beside) -> Told:
    goes = "a hand goes in there" if one.admits_hand else "too little for a hand there"
    yes, no = ([tool for tool, fits in one.tools if fits is want] for want in (True, False))
    text = "Least room beside {0}: {1}, to {2}: " + goes
    if yes:
        text += f"; enough for: {', '.join(yes)}"
    if no:
        text += f"; too little for: {', '.join(no)}"
    return told(f"{text}.", place(one.part), rough(one.room), _neighbour(one))


def _neighbour(one: Beside) -> Filling:
    return place(one.thing) if one.is_part else word(one.thing)


def beside_findings(openings: tuple[Beside, ...]) -> tuple[Finding, ...]:
    """Return a note for each part beside which a tool that a step needs has no room.

    Parameters
    ----------
    openings : tuple of Beside
        Of all steps.

    Returns
    -------
    tuple of Finding
        One a part, for the step with the least room.
    """
    worst: dict[str, Beside] = {}
    for one in openings:
        short = any(not fits for _, fits in one.tools)
        if short and (one.part not in worst or one.room < worst[one.part].room):
            worst[one.part] = one
    return tuple(
        Finding(
            code="BU106",
            severity=Severity.NOTE,
            where=one.part,
            text=f"no room beside it for {' and '.join(t for t, fits in one.tools if not fits)}, which the"
            f" step {one.step} asks for: {one.room:.0f} mm to {one.thing.replace('/', ', ')}",
            value=one.room,
            limit=max(TOOL_ROOM[t] for t, fits in one.tools if not fits),
            remedy="Hold it otherwise, such as with tape, a wedge or long tweezers; try it before the glue",
            source=SOURCE,
        )
        for one in worst.values()
    )
