"""What finds room on a cap: packing at each bearing, shoes and edges, the shoes of two spans."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from spanwright.estimation.derived import Derived
from spanwright.estimation.spread import Spread
from spanwright.findings import Finding, Severity
from spanwright.structures.given import StructuresInput, Support
from spanwright.structures.heights import Bearing

FloatArray = np.ndarray

#: A girder's end nearer to the face of a cap than this is worth a word (common practice, no source). [mm]
CLOSE = 0.1


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Footprint:
    """Where a support stands in plan.

    Parameters
    ----------
    x : Derived
        Centre of the cap, first coordinate.
    y : Derived
        Centre of the cap, second coordinate.
    across : Derived
        Unit vector along the cap, to the left of the upper line, shape (2,).
    columns : tuple of Derived
        Centres of the shafts or columns, each shape (2,).
    """

    x: Derived
    y: Derived
    across: Derived
    columns: tuple[Derived, ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Seat:
    """Packing and room at one bearing.

    Parameters
    ----------
    bearing : str
        The bearing's id.
    packing : Derived
        Thickness that will be left for the packing.
    edge : Derived or None
        From the shoe to the nearest edge of the cap; None where girders frame in.
    face : Derived or None
        From the girder's end to the face of the cap that it frames into; None where it stands on the cap.
    """

    bearing: str
    packing: Derived
    edge: Derived | None
    face: Derived | None = None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Cap:
    """The top of a support.

    Parameters
    ----------
    place : Footprint
        Where it lies.
    half : Derived
        Half its size square to itself.
    half_across : Derived
        Half its length.
    top : callable
        Height of its top at a distance to the left of its middle.
    level : bool
        True where girders frame into its face instead of standing on it.
    dap : Derived
        How far ties hang below the girder tops.
    """

    place: Footprint
    half: Derived
    half_across: Derived
    top: Callable[[Derived], Derived]
    level: bool
    dap: Derived


def find_room(
    cap: Cap, bearings: tuple[Bearing, ...], shoes: dict[str, Derived]
) -> tuple[tuple[Seat, ...], Derived | None]:
    """Return packing and edge distance at each bearing, and the gap between two spans' shoes.

    Parameters
    ----------
    cap : Cap
        The cap.
    bearings : tuple of Bearing
        What stands on it, or frames into it.
    shoes : dict
        Length of a shoe by span.

    Returns
    -------
    seats : tuple of Seat
        One a bearing.
    between : Derived or None
        The least gap between shoes of two spans on the same side; None where there are none.
    """
    seats = []
    standing: dict[str, list[tuple[Derived, Derived]]] = {}
    across = cap.place.across
    for b in bearings:
        ahead, sideways = _in_cap(cap, b.x, b.y)
        forward = 1.0 if float(ahead.value) >= 0.0 else -1.0
        top = cap.top(sideways)
        if cap.level:
            corners = [_in_cap(cap, x, y)[0] * forward - cap.half for x, y in b.corners]
            face = min(corners, key=lambda d: float(d.value))
            seats.append(Seat(bearing=b.id, packing=b.girder_top - cap.dap - top, edge=None, face=face))
            continue
        shoe = shoes[b.span] * 0.5
        # a shoe that stands askew reaches further: along and across the cap
        straight = b.along[0] * across[1] - b.along[1] * across[0]
        askew = b.along[0] * across[0] + b.along[1] * across[1]
        straight = straight * (1.0 if float(straight.value) >= 0.0 else -1.0)
        askew = askew * (1.0 if float(askew.value) >= 0.0 else -1.0)
        outward = 1.0 if float(sideways.value) >= 0.0 else -1.0
        edges = (
            cap.half - ahead * forward - shoe * straight - b.half_flange * askew,
            cap.half_across - sideways * outward - shoe * askew - b.half_flange * straight,
        )
        edge = min(edges, key=lambda d: float(d.value))
        seats.append(Seat(bearing=b.id, packing=b.seat - top, edge=edge))
        standing.setdefault(b.side, []).append((ahead, shoe))
    gaps = []
    for side in standing.values():
        for (a, half_a), (b_, half_b) in combinations(side, 2):
            gaps.append((b_ - a) * (1.0 if b_.value > a.value else -1.0) - half_a - half_b)
    return tuple(seats), min(gaps, key=lambda d: float(d.value)) if gaps else None


def _in_cap(cap: Cap, x: Derived, y: Derived) -> tuple[Derived, Derived]:
    """How far a plan point lies ahead of the cap's middle, square to it, and to the left along it."""
    across = cap.place.across
    dx, dy = x - cap.place.x, y - cap.place.y
    return dx * across[1] - dy * across[0], dx * across[0] + dy * across[1]


def room_findings(
    support: Support,
    given: StructuresInput,
    spread: Spread,
    seats: tuple[Seat, ...],
    *,
    between: Derived | None,
) -> list[Finding]:
    """Say what does not find room, or may not.

    Parameters
    ----------
    support : Support
        The support.
    given : StructuresInput
        What is wanted: edge distance, packing, k.
    spread : Spread
        Spread of the base inputs.
    seats : tuple of Seat
        Packing and edges.
    between : Derived or None
        Gap between the shoes of two spans.

    Returns
    -------
    list of Finding
        Empty if all find room.
    """
    found = []
    most = given.packing.most
    for seat in seats:
        if seat.edge is not None:
            edge = float(seat.edge.value)
            if edge - given.k * float(seat.edge.sd(spread)) < given.edge:
                where = f"{edge:.2f} mm inside" if edge >= 0.0 else f"{-edge:.2f} mm beyond"
                found.append(
                    Finding(
                        code="ST110",
                        severity=Severity.WARNING if edge >= 0.0 else Severity.STOP,
                        where=seat.bearing,
                        text=(
                            f"the shoe ends {where} the cap's edge; wanted {given.edge:.2f} mm inside, proven"
                        ),
                        value=edge,
                        limit=given.edge,
                        remedy="A wider cap, a shorter shoe, or a smaller end gap",
                    )
                )
        if seat.face is not None:
            face = float(seat.face.value)
            if face < CLOSE:  # a girder is set against the face it frames into, not by measure
                found.append(
                    Finding(
                        code="ST113",
                        severity=Severity.WARNING if face >= 0.0 else Severity.STOP,
                        where=seat.bearing,
                        text=(
                            f"the girder's end stands {face:.2f} mm off the cap's face"
                            if face >= 0.0
                            else f"the girder's end runs {-face:.2f} mm into the cap"
                        ),
                        value=face,
                        limit=0.0,
                        remedy="Cut the girder's end to the skew, a shorter girder, or shift the support",
                    )
                )
        packing = float(seat.packing.value)
        if packing + given.k * float(seat.packing.sd(spread)) > most:
            found.append(
                Finding(
                    code="ST122",
                    severity=Severity.WARNING,
                    where=seat.bearing,
                    text=(
                        f"packing of {packing:.2f} mm {'is' if packing > most else 'may become'} "
                        f"thicker than the {most:.2f} mm that look right"
                    ),
                    value=packing,
                    limit=most,
                    remedy=(
                        "Put a plinth or a thicker cap on it, or make the shaft again"
                        if support.name in {s.support for s in given.standing}
                        else "Step the cap, or measure the heights here better before the shaft is cut"
                    ),
                )
            )
    if between is not None and float(between.value) - given.k * float(between.sd(spread)) < 0.0:
        found.append(
            Finding(
                code="ST111",
                severity=Severity.WARNING if float(between.value) >= 0.0 else Severity.STOP,
                where=support.name,
                text="the shoes of the two spans do not find room beside each other",
                value=float(between.value),
                limit=0.0,
                remedy="A larger pitch, shorter shoes, or the bearings further in",
            )
        )
    return found
