"""Piers, abutments and the straddle bent: where they stand, how long each shaft is cut, what finds room.

A support that is glued down cannot be lowered; its height is corrected by packing. So each shaft is cut
*low*: by the doubt (k times) of what it must reach, and by the thinnest packing that can be made.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from spanwright.alignment.line import Line, track_point
from spanwright.estimation import derived as dv
from spanwright.estimation.derived import Derived
from spanwright.estimation.drawing.together import near_equal
from spanwright.estimation.inputs import Inputs, Size, size
from spanwright.findings import Finding, Severity
from spanwright.structures.given import CapForm, StructuresInput, Support, SupportKind, TrimEnd
from spanwright.structures.heights import Bearing
from spanwright.structures.room import Cap, Footprint, Seat, find_room, room_findings
from spanwright.structures.spans import SpanAxis
from spanwright.survey.stage import AdjustedSurvey

#: Cut sizes are rounded down to this. [mm]
CUT_STEP = 0.1
#: A shaft this much wider than its cap is flush with it: no knife or file shows less. [mm]
FLUSH = 0.01
#: How far a bent's cap reaches beyond its columns. [mm]
CAP_OVERHANG = 1.0


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
class ShaftSizes:
    """Plan sizes of a shaft at its two ends, as they are once it is cut.

    Parameters
    ----------
    top_along : Derived
        At the top, along the upper line.
    top_across : Derived
        At the top, across.
    foot_along : Derived
        At the foot, along.
    foot_across : Derived
        At the foot, across.
    """

    top_along: Derived
    top_across: Derived
    foot_along: Derived
    foot_across: Derived


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
        along = inputs.derived(support.set_out) if support.set_out else _or_nil(inputs, None)
        angle = track.heading[0] + support.turn
        across = dv.stack([-dv.sin(angle), dv.cos(angle)])
        half = _or_nil(inputs, support.shaft_across) * 0.5
        reach = (size(inputs, support.clear_left) + half, -(size(inputs, support.clear_right) + half))
        x = track.x[0] + dv.cos(track.heading)[0] * along
        y = track.y[0] + dv.sin(track.heading)[0] * along
        columns = tuple(dv.stack([x + across[0] * r, y + across[1] * r]) for r in reach)
        centre = (columns[0] + columns[1]) * 0.5
        return Footprint(x=centre[0], y=centre[1], across=across, columns=columns)
    track = track_point(upper, np.array([stations[0]]))
    out = dv.stack([-dv.sin(track.heading)[0], dv.cos(track.heading)[0]])
    shift = axes[0].shift * (1.0 / len(axes))
    for axis in axes[1:]:
        shift = shift + axis.shift * (1.0 / len(axes))
    ahead = inputs.derived(support.set_out) if support.set_out else _or_nil(inputs, None)
    if support.set_out_across:
        shift = shift + inputs.derived(support.set_out_across)
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
    bases = [_base(support, survey, k) for k in range(len(print_.columns))]
    # each shaft is sawn by itself: one that came out long says nothing of the other
    truly = [inputs.derived(key) for key in support.cut] or [_or_nil(inputs, None)] * len(bases)
    # what each column must reach: at each bearing the seat, or the girder top where girders frame in
    dap = _or_nil(inputs, given.dap)
    targets = [b.girder_top - dap if level else b.seat for b in bearings]
    wanted = [[t - given.packing.thinnest - cap - footing - base for t in targets] for base in bases]
    if cut_lengths is None:
        cut_lengths = _decide(wanted, bases, (truly, inputs, given.k))
    names = ("shaft",) if len(bases) == 1 else ("column left", "column right")
    cuts = []
    for k, base in enumerate(bases):
        built = truly[k] + cut_lengths[k]
        stock = size(inputs, support.stock) if support.stock else None
        cuts.append(
            Cut(
                id=f"{support.name}/{names[k]}",
                base=base,
                wanted=min(wanted[k], key=lambda w: float(w.value)),
                length=cut_lengths[k],
                trimmed=None if stock is None else stock - built,
                built=built,
            )
        )
    tops = [c.base + footing + c.built + cap for c in cuts]
    cap_top = tops[0] if len(tops) == 1 else (tops[0] + tops[1]) * 0.5
    top = _top_at(print_, tops)
    shoes = {s.name: size(inputs, s.shoe_along) for s in given.spans}
    seats, between = find_room(
        Cap(
            place=print_,
            half=size(inputs, support.cap_along) * 0.5,
            half_across=cap_length(support, inputs, print_) * 0.5,
            top=top,
            level=level,
            dap=dap,
        ),
        bearings,
        shoes,
    )
    findings = [
        *room_findings(support, given, inputs.spread, seats, between=between),
        *_cut_findings(cuts),
        *_narrow_findings(support, wanted[0], inputs),
        *_cap_findings(support, inputs, cuts[0]),
    ]
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
    wanted: list[list[Derived]], bases: list[Derived], doubt: tuple[list[Derived], Inputs, float]
) -> tuple[float, ...]:
    """Find the common safe level of the cap, then each column's length, rounded down."""
    truly, inputs, k = doubt
    margin = min(
        float(w.value) - k * float((w - cut_error).sd(inputs.spread)) + float(base.value)
        for row, base, cut_error in zip(wanted, bases, truly, strict=True)
        for w in row
    )
    return tuple(float(np.floor((margin - float(base.value)) / CUT_STEP + 1e-9) * CUT_STEP) for base in bases)


def cap_length(support: Support, inputs: Inputs, place: Footprint) -> Derived:
    """Return the length of a cap: as given, or for a bent from column to column and a little over.

    Parameters
    ----------
    support : Support
        As given.
    inputs : Inputs
        The base inputs.
    place : Footprint
        Where it stands.

    Returns
    -------
    Derived
        Length along the cap.
    """
    if len(place.columns) == 2:
        apart = place.columns[0] - place.columns[1]
        width = dv.sqrt(apart[0] * apart[0] + apart[1] * apart[1])
        return width + _or_nil(inputs, support.shaft_across) + 2.0 * CAP_OVERHANG
    return size(inputs, support.cap_across or support.shaft_across or support.cap_along)


def shaft_sizes(support: Support, inputs: Inputs, cut: Cut) -> ShaftSizes:
    """Return how wide a shaft is at its two ends once it is cut.

    A battered shaft is measured at its top as it comes. Trimmed at the foot it keeps that top; trimmed at
    the top, the new top lies lower down, where it is wider.

    Parameters
    ----------
    support : Support
        As given.
    inputs : Inputs
        The base inputs.
    cut : Cut
        The shaft's length and what comes off.

    Returns
    -------
    ShaftSizes
        Widths at top and foot.

    Notes
    -----
    With batter b (run over rise, each face) a length h makes ``2 b h`` in width.
    """
    along = size(inputs, support.shaft_along or support.cap_along)
    across = size(inputs, support.shaft_across or support.cap_across or support.cap_along)
    if support.batter == 0.0:
        return ShaftSizes(top_along=along, top_across=across, foot_along=along, foot_across=across)
    if support.trim is TrimEnd.TOP and cut.trimmed is not None:
        wider = cut.trimmed * (2.0 * support.batter)
        along, across = along + wider, across + wider
    spread = cut.built * (2.0 * support.batter)
    return ShaftSizes(
        top_along=along, top_across=across, foot_along=along + spread, foot_across=across + spread
    )


def _top_at(place: Footprint, tops: list[Derived]) -> Callable[[Derived], Derived]:
    """Height of the cap's top at a distance to the left of its middle; straight from column to column."""
    if len(tops) == 1:
        return lambda _: tops[0]
    apart = place.columns[0] - place.columns[1]
    width = dv.sqrt(apart[0] * apart[0] + apart[1] * apart[1])
    return lambda sideways: tops[1] + (tops[0] - tops[1]) * (sideways / width + 0.5)


def _cut_findings(cuts: list[Cut]) -> list[Finding]:
    found = []
    for cut in cuts:
        if cut.length <= 0.0:
            found.append(
                Finding(
                    code="ST120",
                    severity=Severity.STOP,
                    where=cut.id,
                    text="there is no height left for the shaft",
                    value=cut.length,
                    limit=0.0,
                    remedy=(
                        "A thinner cap, a shallower girder, the cap level with the girders, or raise the line"
                    ),
                )
            )
        if cut.trimmed is not None and float(cut.trimmed.value) < 0.0:
            found.append(
                Finding(
                    code="ST121",
                    severity=Severity.STOP,
                    where=cut.id,
                    text="the kit's shaft is too short",
                    value=float(cut.trimmed.value),
                    limit=0.0,
                    remedy="Stand it on a plinth, or pack more than the packing layer allows",
                )
            )
    return found


def _narrow_findings(support: Support, wanted: list[Derived], inputs: Inputs) -> list[Finding]:
    """Say where several bearings are so near equal that any of them may be the lowest."""
    near = len(near_equal(wanted, inputs.spread))
    if near < 2:
        return []
    return [
        Finding(
            code="ST124",
            severity=Severity.NOTE,
            where=support.name,
            text=f"which of {near} bearings is the lowest is won narrowly: any of them may turn out to be",
            value=float(near),
            limit=1.0,
            remedy="Look at how low it comes out over all of them: spanwright check draws the least",
        )
    ]


def _cap_findings(support: Support, inputs: Inputs, cut: Cut) -> list[Finding]:
    """Say where a cap is narrower than the shaft that it lies on; a bent's cap is not meant to cover."""
    if support.kind is SupportKind.STRADDLE_BENT:
        return []
    shaft = shaft_sizes(support, inputs, cut)
    caps = {
        "along": (size(inputs, support.cap_along), shaft.top_along),
        "across": (size(inputs, support.cap_across or support.cap_along), shaft.top_across),
    }
    found = []
    for way, (cap, top) in caps.items():
        over = float((top - cap).value)
        if over > FLUSH:
            wide = float(top.value)
            found.append(
                Finding(
                    code="ST123",
                    severity=Severity.WARNING,
                    where=cut.id,
                    text=f"the shaft's top is {wide:.2f} mm {way} the line, {over:.2f} mm more than its cap",
                    value=wide,
                    limit=float(cap.value),
                    remedy="A wider cap, or trim the shaft at its foot, or dress its top down to the cap",
                )
            )
    return found
