"""The structures stage: lines in, a bridge that fits the curve out.

Order to read: :func:`fit_structures`, then ``spans`` (plan), ``heights`` (the build-up at every
bearing), ``supports`` (cut sizes, packing, room), ``members`` and ``assembly`` (finished shapes).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from spanwright.alignment.crossing import Crossing
from spanwright.alignment.line import Line, derived_height, position_at
from spanwright.alignment.stage import Alignments
from spanwright.errors import InputError
from spanwright.estimation.derived import Derived
from spanwright.estimation.inputs import Inputs, size
from spanwright.estimation.quantity import Quantity
from spanwright.findings import Finding
from spanwright.geometry.chain import nearest
from spanwright.structures.assembly import span_shapes, support_shapes
from spanwright.structures.given import StructuresInput, SupportKind
from spanwright.structures.heights import Bearing, span_heights
from spanwright.structures.numbers import FittedSpan, list_numbers
from spanwright.structures.shapes import Shape
from spanwright.structures.spans import SpanAxis, arrange, span_axis
from spanwright.structures.supports import FittedSupport, fit_support, footprint
from spanwright.survey.stage import AdjustedSurvey


@dataclass(frozen=True, slots=True, kw_only=True)
class Arrangement:
    """Decisions that are kept when the stage is differentiated or replayed.

    Parameters
    ----------
    crossing : str
        Id of the crossing that is bridged.
    stations : tuple of (str, float)
        Stations of the supports on the upper line. [mm]
    slides : tuple of float
        How far each span's girders stand ahead of the middle between its supports. [mm]
    lower_station : float
        Station of the bent on the lower line. [mm]
    cuts : tuple of (str, tuple of float)
        Cut lengths of each support's shafts. [mm]
    tie_lengths : tuple of float
        Of each span. [mm]
    """

    crossing: str
    stations: tuple[tuple[str, float], ...]
    slides: tuple[float, ...]
    lower_station: float
    cuts: tuple[tuple[str, tuple[float, ...]], ...]
    tie_lengths: tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Structures:
    """All that the structures stage knows.

    Parameters
    ----------
    spans : tuple of FittedSpan
        In station order.
    supports : tuple of FittedSupport
        In station order.
    shapes : tuple of Shape
        Every finished part.
    quantities : tuple of Quantity
        Every number of the stage, by stable id.
    choices : Arrangement
        What was decided.
    findings : tuple of Finding
        What the builder should know.
    """

    spans: tuple[FittedSpan, ...]
    supports: tuple[FittedSupport, ...]
    shapes: tuple[Shape, ...]
    quantities: tuple[Quantity, ...]
    choices: Arrangement
    findings: tuple[Finding, ...]

    @property
    def bearings(self) -> tuple[Bearing, ...]:
        """All bearings in station order."""
        return tuple(b for span in self.spans for b in span.heights.bearings)


def fit_structures(
    given: StructuresInput,
    survey: AdjustedSurvey,
    alignments: Alignments,
    choices: Arrangement | None = None,
) -> Structures:
    """Fit the bridge.

    Parameters
    ----------
    given : StructuresInput
        Spans, supports, layers.
    survey : AdjustedSurvey
        Heights of what supports are glued to.
    alignments : Alignments
        The lines and crossings.
    choices : Arrangement, optional
        Decisions of an earlier run.

    Returns
    -------
    Structures
        Spans, supports, heights, shapes.

    Raises
    ------
    InputError
        If the lines do not cross or spans and supports do not form a bridge.
    """
    inputs = alignments.inputs
    upper, lower = alignments.line(given.upper), alignments.line(given.lower)
    crossing = _crossing(given, alignments, choices)
    if choices:
        stations, slides = choices.stations, choices.slides
    else:
        at_crossing = (float(crossing.centre.upper_station.value), float(crossing.angle.value))
        stations, slides = arrange(given, inputs, upper, at_crossing)
        set_out = {s.support: s.station for s in given.standing if s.station is not None}
        stations = tuple((name, set_out.get(name, station)) for name, station in stations)
    at = dict(stations)
    lower_station = choices.lower_station if choices else _beside_lower(given, at, (upper, lower), crossing)
    aside = {s.name: inputs.derived(s.set_out_across) if s.set_out_across else 0.0 for s in given.supports}
    axes = [
        span_axis(
            s, inputs, upper, (at[s.start], at[s.end]), slide=slide, aside=(aside[s.start], aside[s.end])
        )
        for s, slide in zip(given.spans, slides, strict=True)
    ]
    heights = [span_heights(given, inputs, upper, axis) for axis in axes]
    tie_lengths = choices.tie_lengths if choices else tuple(_tie_length(given, inputs, a) for a in axes)
    bearings = [b for h in heights for b in h.bearings]
    held = dict(choices.cuts) if choices else {s.support: s.lengths for s in given.standing}
    supports = []
    for support in given.supports:
        mine = tuple(a for a in axes if support.name in (a.given.start, a.given.end))
        place = footprint(support, inputs, (upper, lower), (at[support.name], lower_station), mine)
        supports.append(
            fit_support(
                support,
                given,
                inputs,
                survey,
                place=(place, at[support.name]),
                bearings=tuple(b for b in bearings if b.support == support.name),
                cut_lengths=held.get(support.name),
            )
        )
    spans = tuple(
        FittedSpan(axis=a, heights=h, tie_length=t)
        for a, h, t in zip(axes, heights, tie_lengths, strict=True)
    )
    shapes = [
        s for span in spans for s in span_shapes(given, inputs, span.axis, span.heights, span.tie_length)
    ]
    for fitted in supports:
        shapes += support_shapes(inputs, fitted, _approach(given, inputs, upper, fitted.station))
    arrangement = Arrangement(
        crossing=crossing.id,
        stations=stations,
        slides=slides,
        lower_station=lower_station,
        cuts=tuple((s.given.name, tuple(c.length for c in s.cuts)) for s in supports),
        tie_lengths=tie_lengths,
    )
    quantities, findings = list_numbers(given, inputs, spans, tuple(supports))
    return Structures(
        spans=spans,
        supports=tuple(supports),
        shapes=tuple(shapes),
        quantities=quantities,
        choices=arrangement,
        findings=findings,
    )


def _crossing(given: StructuresInput, alignments: Alignments, choices: Arrangement | None) -> Crossing:
    found = [c for c in alignments.crossings if {c.upper, c.lower} == {given.upper, given.lower}]
    if choices:
        found = [c for c in found if c.id == choices.crossing]
    if not found:
        raise InputError(
            "the two lines do not cross within the survey",
            code="ST010",
            where="bridge",
            value=f"{given.upper} over {given.lower}",
            hint="Mark and measure both lines past the crossing",
        )
    crossing = found[0]
    if crossing.upper != given.upper:
        raise InputError(
            "the line that is carried lies below the other",
            code="ST011",
            where="bridge",
            value=f"{float(crossing.centre.separation.value):.1f} mm",
            limit=f"{given.upper} on top",
            hint=next(
                (f.text for f in alignments.findings if f.code == "AL104"),
                "Swap upper and lower, or look for a slip in the heights",
            ),
        )
    if np.cos(float(crossing.angle.value)) < 0.0:
        raise InputError(
            "the marks of the two lines are listed in opposite directions",
            code="ST012",
            where="bridge",
            value=f"{np.degrees(float(crossing.angle.value)):.0f} deg from {given.lower} to {given.upper}",
            limit="90 deg at most",
            hint="List the marks of one line the other way round, so that both sides mean the same for both",
        )
    return crossing


def _beside_lower(
    given: StructuresInput, at: dict[str, float], lines: tuple[Line, Line], crossing: Crossing
) -> float:
    """Station on the lower line beside the bent: at the crossing, or where a shift has taken it."""
    bent = next((s.name for s in given.supports if s.kind is SupportKind.STRADDLE_BENT), None)
    if bent is None:
        return round(float(crossing.centre.lower_station.value), 1)
    upper, lower = lines
    point, _ = position_at(upper, np.array([at[bent]]))
    guess = crossing.centre.lower_station.value.reshape(1)
    return round(float(nearest(lower.chain, point, guess)[0]), 1)


def _tie_length(given: StructuresInput, inputs: Inputs, axis: SpanAxis) -> float:
    """Girder spacing, flange, twice the largest offset of the track, twice the overhang; up to 0.5 mm."""
    span = axis.given
    length = float(size(inputs, span.spacing).value) + float(size(inputs, span.flange).value)
    length += 2.0 * abs(float(axis.worst_offset.value)) + 2.0 * given.tie_overhang
    return float(np.ceil(length * 2.0) / 2.0)


def _approach(given: StructuresInput, inputs: Inputs, upper: Line, station: float) -> Derived:
    return derived_height(upper, np.array([station]))[0] - size(inputs, given.rail) - size(inputs, given.tie)
