"""Every number of the structures stage by its stable id, and the findings about spans."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from spanwright.estimation.derived import Derived
from spanwright.estimation.inputs import Inputs
from spanwright.estimation.quantity import Quantity
from spanwright.findings import Finding, Severity
from spanwright.structures.given import StructuresInput
from spanwright.structures.heights import SpanHeights
from spanwright.structures.spans import SpanAxis, end_gap, jog, kink
from spanwright.structures.supports import FittedSupport

#: A span that rocks by more than this is a finding (common practice, no source). [mm]
ROCKS = 0.1
#: A step in plan between the axes of two spans that is worth a finding (common practice, no source). [mm]
JOGS = 0.5


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FittedSpan:
    """One span, fitted.

    Parameters
    ----------
    axis : SpanAxis
        In plan.
    heights : SpanHeights
        Its four bearings.
    tie_length : float
        Length of its ties. [mm]
    """

    axis: SpanAxis
    heights: SpanHeights
    tie_length: float


class _Listed:
    """Collects numbers and findings."""

    def __init__(self, inputs: Inputs, k: float) -> None:
        self.inputs = inputs
        self.k = k
        self.numbers: list[Quantity] = []
        self.findings: list[Finding] = []

    def add(self, key: str, label: str, value: Derived, unit: str = "mm") -> None:
        self.numbers.append(Quantity(id=key, label=label, unit=unit, value=value.padded(len(self.inputs))))

    def lower_bound(self, value: Derived) -> float:
        return float(value.value) - self.k * float(value.sd(self.inputs.spread))


def list_numbers(
    given: StructuresInput,
    inputs: Inputs,
    spans: tuple[FittedSpan, ...],
    supports: tuple[FittedSupport, ...],
) -> tuple[tuple[Quantity, ...], tuple[Finding, ...]]:
    """List every number by its id, and what is to be said of spans and supports.

    Parameters
    ----------
    given : StructuresInput
        For the coverage factor.
    inputs : Inputs
        The base inputs, with the unseen ones.
    spans : tuple of FittedSpan
        In station order.
    supports : tuple of FittedSupport
        In station order.

    Returns
    -------
    numbers : tuple of Quantity
        By span, then where spans meet, then by support.
    findings : tuple of Finding
        Of spans first, then of supports.
    """
    listed = _Listed(inputs, given.k)
    for span in spans:
        _span(listed, span)
    for before, after in pairwise(spans):
        _meeting(listed, before.axis, after.axis)
    for support in supports:
        _support(listed, support)
    return tuple(listed.numbers), tuple(listed.findings)


def _span(listed: _Listed, span: FittedSpan) -> None:
    name, axis, heights = span.axis.given.name, span.axis, span.heights
    listed.add(f"{name}/pitch", "pitch", axis.pitch)
    listed.add(f"{name}/shift", "axis shifted to the left of the chord", axis.shift)
    listed.add(f"{name}/middle ordinate", "middle ordinate of the track", axis.middle_ordinate)
    listed.add(f"{name}/worst offset", "track farthest from the axis", axis.worst_offset)
    listed.add(
        f"{name}/vertical middle ordinate",
        "track above its chord at mid span",
        heights.vertical_middle_ordinate,
    )
    listed.add(f"{name}/rocks by", "would rock by", heights.rocks_by)
    rocks = abs(float(heights.rocks_by.value))
    if rocks > ROCKS:
        listed.findings.append(
            Finding(
                code="ST101",
                severity=Severity.NOTE,
                where=name,
                text=(
                    "the track over this span is twisted: a rigid span on seats that follow it "
                    f"rocks by {rocks:.2f} mm"
                ),
                value=rocks,
                limit=ROCKS,
                remedy="The seats are given in one plane; take up the quarters under the ties as listed",
                source="common practice, no source",
            )
        )
    for b in heights.bearings:
        listed.add(f"{b.id}/railhead", "railhead over the bearing", b.railhead)
        listed.add(f"{b.id}/girder top", "top of girder", b.girder_top)
        listed.add(f"{b.id}/seat", "seat", b.seat)
        listed.add(f"{b.id}/rail over girder", "track centre left of the girder", b.rail_over_girder)


def _meeting(listed: _Listed, before: SpanAxis, after: SpanAxis) -> None:
    where = after.given.start
    listed.add(f"{where}/kink", "kink between the spans", kink(before, after), "rad")
    step = jog(before, after)
    listed.add(f"{where}/jog", "step between the axes", step)
    for side, sign in (("left", 1.0), ("right", -1.0)):
        gap = end_gap(before, after, sign, listed.inputs)
        listed.add(f"{where}/end gap {side}", f"gap between girder ends, {side}", gap)
        if listed.lower_bound(gap) < 0.0:
            listed.findings.append(
                Finding(
                    code="ST102",
                    severity=Severity.WARNING if float(gap.value) >= 0.0 else Severity.STOP,
                    where=where,
                    text=(
                        f"girder ends may touch on the {side} side"
                        if float(gap.value) >= 0.0
                        else f"girder ends run into each other on the {side} side"
                    ),
                    value=float(gap.value),
                    limit=0.0,
                    remedy="A larger pitch or a larger end gap",
                )
            )
    if abs(float(step.value)) > JOGS:
        listed.findings.append(
            Finding(
                code="ST103",
                severity=Severity.NOTE,
                where=where,
                text=f"the axes of the two spans miss each other by {abs(float(step.value)):.2f} mm",
                value=float(step.value),
                limit=JOGS,
                remedy="Let them share their end points, or widen the cap",
                source="common practice, no source",
            )
        )


def _support(listed: _Listed, support: FittedSupport) -> None:
    name = support.given.name
    listed.add(f"{name}/cap top", "top of cap", support.cap_top)
    listed.add(f"{name}/soffit", "underside of cap", support.soffit)
    for cut in support.cuts:
        listed.add(f"{cut.id}/wanted", "length that leaves the thinnest packing", cut.wanted)
        listed.add(f"{cut.id}/length", "length when cut", cut.built)
        listed.add(f"{cut.id}/base", "base", cut.base)
        if cut.trimmed is not None:
            listed.add(f"{cut.id}/trimmed", "comes off the kit's shaft", cut.trimmed)
    for seat in support.seats:
        listed.add(f"{seat.bearing}/packing", "packing", seat.packing)
        if seat.edge is not None:
            listed.add(f"{seat.bearing}/edge", "shoe to the edge of the cap", seat.edge)
        if seat.face is not None:
            listed.add(f"{seat.bearing}/face", "girder's end to the cap's face", seat.face)
    if support.between is not None:
        listed.add(f"{name}/between shoes", "between the shoes of the two spans", support.between)
    listed.findings += support.findings
