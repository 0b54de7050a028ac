"""One vehicle on its line against every part: the witnesses that are then held.

This is the costly part of the stage, and runs know nothing of one another: they may be searched side by
side, in processes of their own. Read :func:`search_run` first.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from spanwright.alignment.line import Line
from spanwright.clearance.freeing import least_freeing
from spanwright.clearance.given import ClearanceInput, Run
from spanwright.clearance.held import Held, hold
from spanwright.clearance.least_gap import find, half_of, prepare, with_body_of
from spanwright.clearance.vehicles import Vehicle, grow, sized
from spanwright.clearance.witness import Prepared, SearchSettings, Witness
from spanwright.estimation.inputs import Inputs
from spanwright.findings import Finding, Severity
from spanwright.structures.shapes import Shape

_CLOSE = 3.0  # mm of margin gap below which both halves of a train are looked at
_TRAINS = 32  # whose poses are kept: at an edit the same ones run on the same lines
_SAME = 0.5  # mm on the body: nearer witnesses are one


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class HeldGap:
    """What is held of one vehicle and part.

    Parameters
    ----------
    gap : tuple of Held
        Witnesses of the gap, the least first; empty beyond reach, or where no travel frees the part.
    margin : tuple of Held
        The same for the vehicle grown by its margins.
    beyond_reach : bool
        The gap is more than the reach of the search.
    wider : float
        How many times its first-order doubt the gap's doubt is taken, where draws of the whole plan said
        that derivatives alone promise too much; 1 or more. [1]
    """

    gap: tuple[Held, ...]
    margin: tuple[Held, ...]
    beyond_reach: bool = False
    wider: float = 1.0


def parts_beside(shapes: tuple[Shape, ...], line: str) -> tuple[Shape, ...]:
    """Return the parts that matter to the trains of a line.

    Parameters
    ----------
    shapes : tuple of Shape
        All parts; one that is ``over`` a line matters to that line only.
    line : str
        Name of the line.

    Returns
    -------
    tuple of Shape
        In the same order.
    """
    return tuple(s for s in shapes if s.over in ("", line))


def unjudged_findings(runs: tuple[Run, ...], bridged: tuple[str, str]) -> tuple[Finding, ...]:
    """Say whose trains are not held against the spans: those of a third line.

    Parameters
    ----------
    runs : tuple of Run
        Vehicles on their lines.
    bridged : tuple of str
        The line over the bridge and the line below it.

    Returns
    -------
    tuple of Finding
        One for each such line.
    """
    return tuple(
        Finding(
            code="CL110",
            severity=Severity.WARNING,
            where=line,
            text=(
                "its trains are held against supports and portals, not against girders, ties and handrails: "
                f"those only against trains of {' and '.join(bridged)}"
            ),
            remedy="Name a span that its trains pass under or beside as a portal, in [[portals]]",
        )
        for line in dict.fromkeys(run.line for run in runs)
        if line not in bridged
    )


def gap_id(run: Run, shape: Shape) -> str:
    """Return the id of a gap.

    Parameters
    ----------
    run : Run
        The vehicle and its line.
    shape : Shape
        The part.

    Returns
    -------
    str
        ``clearance/<line>/<vehicle>/<part>``.
    """
    return f"clearance/{run.line}/{run.vehicle.id}/{shape.part}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """A vehicle on its line, and what is known of it already.

    Parameters
    ----------
    run : Run
        The vehicle and its line.
    known : frozenset of str
        Parts against which it need not be searched.
    """

    run: Run
    known: frozenset[str]


def search_run(
    inputs: Inputs,
    lines: dict[str, Line],
    shapes: tuple[Shape, ...],
    settings: ClearanceInput,
    wanted: Wanted,
) -> list[HeldGap]:
    """Search one vehicle on its line, as it is and grown by its margins.

    Parameters
    ----------
    inputs : Inputs
        The base inputs.
    lines : dict of str to Line
        The lines by name.
    shapes : tuple of Shape
        All finished parts.
    settings : ClearanceInput
        Margins and how the search looks.
    wanted : Wanted
        The vehicle and its line.

    Returns
    -------
    list of HeldGap
        One for each part that matters to the line and is not known.
    """
    run = wanted.run
    line, vehicle = lines[run.line], run.vehicle
    shapes = tuple(s for s in parts_beside(shapes, run.line) if s.part not in wanted.known)
    prepared = _prepared(line, sized(vehicle, inputs), settings.search)
    grown = _grown(prepared, settings.margin_side, settings.margin_above)
    plain = _by_part(_found(prepared, shapes))
    near = tuple(s for s in shapes if not plain[s.part][0].beyond_reach)
    widened = _by_part(find(grown, near, shapes))
    # under a soffit the closest point of the other half of the train is kept too: its doubt may be larger
    close = tuple(s for s in near if _is_close_above(widened[s.part][0]))
    for ready, found in ((prepared, plain), (grown, widened)) if close else ():
        for side in (1.0, -1.0):
            more = _by_part(find(_half(ready, side), close, shapes))
            _add(found, more, settings.search.also_within)
    result = []
    for shape in shapes:
        if plain[shape.part][0].beyond_reach:
            result.append(HeldGap(gap=(), margin=(), beyond_reach=True))
            continue
        sets = (
            _held_set(
                inputs, vehicle, ready, shape, witnesses=witnesses[shape.part], limit=settings.freeing_limit
            )
            for ready, witnesses in ((prepared, plain), (grown, widened))
        )
        gap, margin = sets
        result.append(HeldGap(gap=gap, margin=margin))
    return result


@lru_cache(maxsize=_TRAINS)
def _prepared(line: Line, vehicle: Vehicle, settings: SearchSettings) -> Prepared:
    return prepare(line, vehicle, settings)


@lru_cache(maxsize=_TRAINS)
def _found(prepared: Prepared, shapes: tuple[Shape, ...]) -> tuple[Witness, ...]:
    """Search the vehicle as it is; where only margins have changed, it was."""
    return find(prepared, shapes)


@lru_cache(maxsize=_TRAINS)
def _grown(prepared: Prepared, side: float, above: float) -> Prepared:
    vehicle = prepared.vehicle
    bodies = tuple(grow(body, side, above) for body in vehicle.bodies)
    return with_body_of(prepared, replace(vehicle, bodies=bodies))


@lru_cache(maxsize=4 * _TRAINS)
def _half(prepared: Prepared, side: float) -> Prepared:
    return half_of(prepared, side)


def _is_close_above(witness: Witness) -> bool:
    return 0.0 < witness.gap < _CLOSE and witness.side == "above"


def _add(found: dict[str, list[Witness]], more: dict[str, list[Witness]], within: float) -> None:
    """Add witnesses that are near the least gap and not the same as one that is there."""
    for part, witnesses in more.items():
        for w in witnesses:
            near = not w.beyond_reach and 0.0 < w.gap <= found[part][0].gap + within
            if near and not any(np.linalg.norm(w.body_point - k.body_point) < _SAME for k in found[part]):
                found[part].append(w)


def _by_part(witnesses: tuple[Witness, ...]) -> dict[str, list[Witness]]:
    table: dict[str, list[Witness]] = {}
    for witness in witnesses:
        table.setdefault(witness.part, []).append(witness)
    return table


def _held_set(
    inputs: Inputs,
    vehicle: Vehicle,
    prepared: Prepared,
    shape: Shape,
    *,
    witnesses: list[Witness],
    limit: float,
) -> tuple[Held, ...]:
    """Witnesses as choices; an overlap becomes the contact after the least travel."""
    if witnesses[0].gap > 0:
        return tuple(hold(w, vehicle, inputs) for w in witnesses)
    travel = least_freeing(prepared, shape, witnesses[0], limit=limit)
    if travel is None or travel.contact is None:
        return ()
    return (hold(travel.contact, vehicle, inputs, travel=travel),)
