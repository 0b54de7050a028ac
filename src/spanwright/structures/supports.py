"""Piers, abutments and the straddle bent: where they stand, how long each shaft is cut, what finds room.

A support that is glued down cannot be lowered; its height is corrected by packing. So each shaft is cut
*low*: by the doubt (k times) of what it must reach, and by the thinnest packing that can be made.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from spanwright.alignment.line import Line, track_point
from spanwright.estimation import derived as dv
from spanwright.estimation.derived import Derived
from spanwright.estimation.inputs import Inputs, Size, size
from spanwright.findings import Finding, Severity
from spanwright.structures.given import CapForm, StructuresInput, Support, SupportKind
from spanwright.structures.heights import Bearing
from spanwright.structures.spans import SpanAxis
from spanwright.survey.stage import AdjustedSurvey

#: Cut sizes are rounded down to this. [mm]
CUT_STEP = 0.1


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
class Cut:
    """One shaft or column and how long it is cut.

    Parameters
    ----------
    id : str
        Stable id, such as ``pier 1/shaft``.
    base : Derived
        Height of what it is glued to.
    wanted : Derived
        Length that would leave just the thinnest packing at the lowest bearing.
    length : float
        Length to cut: lower by k times the doubt, rounded down. [mm]
    trimmed : Derived or None
        What comes off the kit's shaft.
    built : Derived
        Length as it will be: the cut size and how truly it is cut.
    """

    id: str
    base: Derived
    wanted: Derived
    length: float
    trimmed: Derived | None
    built: Derived


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
        From the shoe to the nearest edge of the cap, square to the cap; None where girders frame in.
    """

    bearing: str
    packing: Derived
    edge: Derived | None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FittedSupport:
    """One support, fitted.

    Parameters
    ----------
    given : Support
        As given.
    station : float
        On the upper line. [mm]
    footprint : Footprint
        Where it stands.
    cap_top : Derived
        Height of the top of its cap as it will be built.
    soffit : Derived
        Height of the underside of its cap.
    cuts : tuple of Cut
        Its shafts or columns.
    seats : tuple of Seat
        One for each bearing that rests on it.
    between : Derived or None
        Gap between the shoes of two spans.
    starts : bool
        True where the bridge starts here: no span ends at it.
    findings : tuple of Finding
        What does not find room.
    """

    given: Support
    station: float
    footprint: Footprint
    cap_top: Derived
    soffit: Derived
    cuts: tuple[Cut, ...]
    seats: tuple[Seat, ...]
    between: Derived | None
    starts: bool
    findings: tuple[Finding, ...]


def _or_nil(inputs: Inputs, of: Size | None) -> Derived:
    return size(inputs, of) if of else dv.constant(0.0, len(inputs))


def footprint(
    support: Support,
    inputs: Inputs,
    lines: tuple[Line, Line],
    stations: tuple[float, float],
    axes: tuple[SpanAxis, ...],
) -> Footprint:
    """Place a support in plan.

    Parameters
    ----------
    support : Support
        As given.
    inputs : Inputs
        The base inputs.
    lines : tuple of Line
        Upper and lower line.
    stations : tuple of float
        Of the support on the upper line, and of the crossing on the lower. [mm]
    axes : tuple of SpanAxis
        The one or two spans that meet here.

    Returns
    -------
    Footprint
        A bent's columns are set out square (or turned) from the lower line; a pier or an abutment
        stands square under the upper line, shifted as its spans are.
    """
    upper, lower = lines
    if support.kind is SupportKind.STRADDLE_BENT and support.clear_left and support.clear_right:
        track = track_point(lower, np.array([stations[1]]))
        there = track_point(upper, np.array([stations[0]]))
        angle = track.heading[0] + support.turn
        across = dv.stack([-dv.sin(angle), dv.cos(angle)])
        half = _or_nil(inputs, support.shaft_across) * 0.5
        reach = (size(inputs, support.clear_left) + half, -(size(inputs, support.clear_right) + half))
        columns = tuple(
            dv.stack([track.x[0] + across[0] * r, track.y[0] + across[1] * r]) for r in reach
        )
        centre = (columns[0] + columns[1]) * 0.5
        facing = np.cos(float(angle.value) - float(there.heading.value[0]))
        if facing < 0.0:  # the cap's left end is the upper line's left
            across, columns = -across, (columns[1], columns[0])
        return Footprint(x=centre[0], y=centre[1], across=across, columns=columns)
    track = track_point(upper, np.array([stations[0]]))
    out = dv.stack([-dv.sin(track.heading)[0], dv.cos(track.heading)[0]])
    shift = axes[0].shift * (1.0 / len(axes))
    for axis in axes[1:]:
        shift = shift + axis.shift * (1.0 / len(axes))
    ahead = inputs.derived(support.set_out) if support.set_out else _or_nil(inputs, None)
    if support.kind is SupportKind.ABUTMENT:  # its seat reaches from the backwall under the span
        inward = 0.5 if axes[0].given.start == support.name else -0.5
        ahead = ahead + size(inputs, support.cap_along) * inward
    x = track.x[0] + out[0] * shift + out[1] * ahead
    y = track.y[0] + out[1] * shift - out[0] * ahead
    return Footprint(x=x, y=y, across=out, columns=(dv.stack([x, y]),))


def _base(support: Support, survey: AdjustedSurvey, number: int) -> Derived:
    name = support.bases[min(number, len(support.bases) - 1)]
    return survey.value(f"{name}.z")


def fit_support(
    support: Support,
    given: StructuresInput,
    inputs: Inputs,
    survey: AdjustedSurvey,
    *,
    place: tuple[Footprint, float],
    bearings: tuple[Bearing, ...],
    shoes: dict[str, Derived],
    cut_lengths: tuple[float, ...] | None,
) -> FittedSupport:
    """Find cut sizes, packing and room of one support.

    Parameters
    ----------
    support : Support
        As given.
    given : StructuresInput
        Layers and settings.
    inputs : Inputs
        The base inputs, with the unseen ones.
    survey : AdjustedSurvey
        Heights of the bases.
    place : tuple
        Footprint and station.
    bearings : tuple of Bearing
        The bearings that this support carries.
    shoes : dict
        Length of a shoe by span.
    cut_lengths : tuple of float or None
        Cut lengths that were decided before; None to decide now. [mm]

    Returns
    -------
    FittedSupport
        The support with its findings.
    """
    print_, station = place
    level = support.kind is SupportKind.STRADDLE_BENT and support.form is CapForm.LEVEL
    cap = size(inputs, support.cap)
    footing = _or_nil(inputs, support.footing)
    cut_error = inputs.derived(support.cut) if support.cut else _or_nil(inputs, None)
    bases = [_base(support, survey, k) for k in range(len(print_.columns))]
    # what each column must reach: at each bearing the seat, or the girder top where girders frame in
    targets = [b.girder_top if level else b.seat for b in bearings]
    lift = inputs.derived(support.raise_by) if support.raise_by else _or_nil(inputs, None)
    wanted = [[t + lift - given.packing.thinnest - cap - footing - base for t in targets] for base in bases]
    lowest = [min(range(len(row)), key=lambda i, r=row: float(r[i].value)) for row in wanted]
    if cut_lengths is None:
        cut_lengths = _decide(wanted, cut_error, bases, inputs, given.k)
    names = ("shaft",) if len(bases) == 1 else ("column left", "column right")
    cuts = []
    for k, base in enumerate(bases):
        built = cut_error + cut_lengths[k]
        stock = size(inputs, support.stock) if support.stock else None
        cuts.append(
            Cut(
                id=f"{support.name}/{names[k]}",
                base=base,
                wanted=wanted[k][lowest[k]],
                length=cut_lengths[k],
                trimmed=None if stock is None else stock - built,
                built=built,
            )
        )
    tops = [c.base + footing + c.built + cap for c in cuts]
    cap_top = tops[0] if len(tops) == 1 else (tops[0] + tops[1]) * 0.5
    seats, between, findings = _room(support, given, inputs, print_, bearings, shoes, tops, level)
    findings += _cut_findings(support, given, cuts, seats, inputs)
    return FittedSupport(
        given=support,
        station=station,
        footprint=print_,
        cap_top=cap_top,
        soffit=cap_top - cap,
        cuts=tuple(cuts),
        seats=seats,
        between=between,
        starts=all(b.end == "start" for b in bearings),
        findings=tuple(findings),
    )


def _decide(
    wanted: list[list[Derived]], cut_error: Derived, bases: list[Derived], inputs: Inputs, k: float
) -> tuple[float, ...]:
    """Common safe level of the cap, then each column's length, rounded down."""
    margin = min(
        float(w.value) - k * float((w - cut_error).sd(inputs.sds)) + float(base.value)
        for row, base in zip(wanted, bases, strict=True)
        for w in row
    )
    return tuple(
        float(np.floor((margin - float(base.value)) / CUT_STEP + 1e-9) * CUT_STEP) for base in bases
    )


def _room(
    support: Support,
    given: StructuresInput,
    inputs: Inputs,
    place: Footprint,
    bearings: tuple[Bearing, ...],
    shoes: dict[str, Derived],
    tops: list[Derived],
    level: bool,
) -> tuple[tuple[Seat, ...], Derived | None, list[Finding]]:
    """Packing at each bearing, distance of each shoe to the cap's edge, gap between two spans' shoes."""
    half = size(inputs, support.cap_along) * 0.5
    seats, findings = [], []
    beside: dict[str, list[tuple[Derived, Derived]]] = {}
    for b in bearings:
        dx, dy = b.x - place.x, b.y - place.y
        ahead = dx * place.across[1] - dy * place.across[0]
        sideways = dx * place.across[0] + dy * place.across[1]
        top = tops[0]
        if len(tops) == 2:
            apart = place.columns[0] - place.columns[1]
            part = sideways / dv.sqrt(apart[0] * apart[0] + apart[1] * apart[1]) + 0.5
            top = tops[1] + (tops[0] - tops[1]) * part
        target = b.girder_top if level else b.seat
        packing = target - top
        shoe = shoes[b.span] * 0.5
        direction = 1.0 if float(ahead.value) >= 0.0 else -1.0
        if level:  # the girder frames into the cap's face: no shoe on it
            seats.append(Seat(bearing=b.id, packing=packing, edge=None))
            continue
        edge = half - ahead * direction - shoe
        beside.setdefault(b.side, []).append((ahead, shoe))
        seats.append(Seat(bearing=b.id, packing=packing, edge=edge))
        if float(edge.value) - given.k * float(edge.sd(inputs.sds)) < given.edge:
            findings.append(
                Finding(
                    code="ST110", severity=Severity.WARNING, where=b.id,
                    text=f"the shoe comes within {float(edge.value):.2f} mm of the cap's edge",
                    value=float(edge.value), limit=given.edge,
                    remedy="A wider cap, a shorter shoe, or a smaller end gap",
                )
            )
    between = None
    gaps = [(b - a) * (1.0 if b.value > a.value else -1.0) - p - q for (a, p), (b, q) in _pairs(beside)]
    if gaps:
        between = min(gaps, key=lambda d: float(d.value))
        if float(between.value) - given.k * float(between.sd(inputs.sds)) < 0.0:
            findings.append(
                Finding(
                    code="ST111", severity=Severity.WARNING, where=support.name,
                    text="the shoes of the two spans do not find room beside each other",
                    value=float(between.value), limit=0.0,
                    remedy="A larger pitch, shorter shoes, or the bearings further in",
                )
            )
    return tuple(seats), between, findings


def _pairs(
    beside: dict[str, list[tuple[Derived, Derived]]],
) -> list[tuple[tuple[Derived, Derived], tuple[Derived, Derived]]]:
    """Shoes of two spans on the same side of a support."""
    return [(shoes[0], shoes[1]) for shoes in beside.values() if len(shoes) == 2]


def _cut_findings(
    support: Support, given: StructuresInput, cuts: list[Cut], seats: tuple[Seat, ...], inputs: Inputs
) -> list[Finding]:
    found = []
    for cut in cuts:
        if cut.length <= 0.0:
            found.append(
                Finding(
                    code="ST120", severity=Severity.STOP, where=cut.id,
                    text="there is no height left for the shaft", value=cut.length, limit=0.0,
                    remedy="A thinner cap, a shallower girder, the cap level with the girders, or raise the line",
                )
            )
        if cut.trimmed is not None and float(cut.trimmed.value) < 0.0:
            found.append(
                Finding(
                    code="ST121", severity=Severity.STOP, where=cut.id,
                    text="the kit's shaft is too short", value=float(cut.trimmed.value), limit=0.0,
                    remedy="Stand it on a plinth, or pack more than the packing layer allows",
                )
            )
    for seat in seats:
        p, u = float(seat.packing.value), float(seat.packing.sd(inputs.sds))
        if p + given.k * u > given.packing.most:
            found.append(
                Finding(
                    code="ST122", severity=Severity.WARNING, where=seat.bearing,
                    text=f"packing of {p:.2f} mm may become thicker than looks right",
                    value=p, limit=given.packing.most,
                    remedy="Step the cap, or measure the heights here better before the shaft is cut",
                )
            )
    return found
