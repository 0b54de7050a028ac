"""What is left of the gaps under the spans once they stand as they are packed.

A span that packing leaves off its wanted height takes its girders and ties with it: as a rigid body
that stands in the plane of its lifts. Every place where a train comes closest to it is held with its normal,
so how far the gap opens there is plain geometry. Trains on the span itself ride with it. Read
:func:`gaps_as_packed`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from spanwright.clearance.held import Held
from spanwright.clearance.stage import ClearanceResult, Gap
from spanwright.clearance.verdict import decide
from spanwright.estimation.derived import Derived
from spanwright.estimation.inputs import Inputs
from spanwright.estimation.spread import Spread
from spanwright.findings import Finding, Severity, Verdict
from spanwright.packing.stage import PackingResult
from spanwright.structures.heights import Bearing
from spanwright.structures.shapes import Shape, point_on

FloatArray = np.ndarray

#: Gaps that change by less are as they were. [mm]
_SEEN = 0.005
#: The words, the worst last.
_ORDER = (Verdict.CLEAR, Verdict.TIGHT, Verdict.NOT_PROVEN, Verdict.FOUL)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PackedGap:
    """One gap under a span that stands as it is packed.

    Parameters
    ----------
    gap : Gap
        As planned, the span at its wanted height.
    value : Derived
        As packed.
    u : float
        Standard uncertainty of that, made wider if that of the gap is. [mm]
    margin : Derived
        As packed, of the vehicle grown by its margins.
    verdict : Verdict
        The word then.
    """

    gap: Gap
    value: Derived
    u: float
    margin: Derived
    verdict: Verdict

    @property
    def change(self) -> float:
        """How much more there is than as planned, in mm."""
        return float(self.value.value - self.gap.gap.value)

    @property
    def is_worse(self) -> bool:
        """Whether the word is worse than as planned."""
        return _ORDER.index(self.verdict) > _ORDER.index(self.gap.verdict)


def gaps_as_packed(
    result: PackingResult,
    bearings: tuple[Bearing, ...],
    clearance: ClearanceResult,
    shapes: tuple[Shape, ...],
    inputs: Inputs,
    *,
    upper: str,
    k: float,
) -> tuple[PackedGap, ...]:
    """Return the gaps to every span as it is packed, of trains on all lines but the one that it carries.

    Parameters
    ----------
    result : PackingResult
        Packing as it is chosen.
    bearings : tuple of Bearing
        Of the spans.
    clearance : ClearanceResult
        The gaps as planned, with their witnesses.
    shapes : tuple of Shape
        The finished parts.
    inputs : Inputs
        The base inputs.
    upper : str
        Name of the line that the spans carry.
    k : float
        Coverage factor. [1]

    Returns
    -------
    tuple of PackedGap
        Those that change, or whose word does; none where nothing is packed.

    Notes
    -----
    To first order in the lifts, with all that a gap and the packing share, each closest place by itself. A
    span stands in the plane that fits its four lifts best: a point of it is lifted as that plane is there,
    and where the plane leans, moves level by its height over the seats times the lean. A bearing that waits
    for its packing is taken at what the others ask of it, without doubt of its own. A gap that is not proven
    for another reason than its numbers (a suspect reading, track that is not surveyed) stays so.
    """
    if result.choice is None:
        return ()
    spans = {}
    for span in dict.fromkeys(b.span for b in bearings):
        mine = tuple(b for b in bearings if b.span == span)
        spans[span] = _Stands.of(mine, tuple(_lift(result, b.id, len(inputs)) for b in mine))
    parts = {shape.part: shape for shape in shapes}
    found = []
    for gap in clearance.gaps:
        stands = spans.get(gap.part.partition("/")[0])
        if stands is None or gap.line == upper or gap.beyond_reach or not np.isfinite(float(gap.gap.value)):
            continue
        held, part = clearance.choices[gap.id], parts[gap.part]
        own = stands.then(gap.witness_gaps, held.gap, part)
        margins = stands.then(gap.witness_margins, held.margin, part)
        one = _judged(gap, own, margins, inputs.spread, k=k)
        if one is not None:
            found.append(one)
    return tuple(found)


@dataclass(frozen=True, slots=True, eq=False)
class _Stands:
    """How a span stands: the lifts of its bearings, what of each is in their plane, and its seats' height."""

    lifts: tuple[Derived, ...]
    plane: FloatArray  # shape (3, n): height at the origin, lean along x and along y, by each lift
    seat: float

    @classmethod
    def of(cls, bearings: tuple[Bearing, ...], lifts: tuple[Derived, ...]) -> _Stands:
        places = np.array([[1.0, float(b.x.value), float(b.y.value)] for b in bearings])
        seat = float(np.mean([float(b.seat.value) for b in bearings]))
        return cls(lifts, np.linalg.pinv(places), seat)

    def then(self, gaps: tuple[Derived, ...], held: tuple[Held, ...], part: Shape) -> list[Derived]:
        """Return gaps at held witnesses with the span as it stands; bounds, without witness, as they are."""
        if not held:
            return list(gaps)
        return [self._opened(gap, one, part) for gap, one in zip(gaps, held, strict=True)]

    def _opened(self, gap: Derived, held: Held, part: Shape) -> Derived:
        x, y, z = point_on(part, held.triangle, held.weights).value
        level, lean_x, lean_y = self.plane
        over = z - self.seat
        moved = np.array([-over * lean_x, -over * lean_y, level + x * lean_x + y * lean_y])
        opens = held.normal @ moved / (held.normal @ held.direction)
        for lift, by in zip(self.lifts, opens, strict=True):
            gap = gap + lift * float(by)
        return gap


def _lift(result: PackingResult, bearing: str, n: int) -> Derived:
    packed = next(b for b in result.bearings if b.need.bearing == bearing)
    return (packed.off if packed.off is not None else packed.need.wanted * 0.0 + packed.lift).padded(n)


def _judged(
    gap: Gap, own: list[Derived], margins: list[Derived], spread: Spread, *, k: float
) -> PackedGap | None:
    """Judge a gap by its closest places as they are then; None where neither numbers nor word change."""
    values, doubts = _told(own, gap.wider, spread)
    grown, grown_doubts = _told(margins, gap.wider, spread)
    verdict = decide(values, doubts, grown, grown_doubts, k=k)
    if gap.reason and verdict is not Verdict.FOUL:
        verdict = gap.verdict
    first, margin = values.index(min(values)), grown.index(min(grown))
    if (
        _is_as_planned(values[first], gap.gap)
        and _is_as_planned(grown[margin], gap.margin_gap)
        and verdict is gap.verdict
    ):
        return None
    return PackedGap(gap=gap, value=own[first], u=doubts[first], margin=margins[margin], verdict=verdict)


def _is_as_planned(then: float, planned: Derived) -> bool:
    before = float(planned.value)
    return then == before or abs(then - before) < _SEEN  # equal: no travel frees it, minus infinity


def _told(numbers: list[Derived], wider: float, spread: Spread) -> tuple[list[float], list[float]]:
    return [float(one.value) for one in numbers], [wider * float(one.sd(spread)) for one in numbers]


def packed_findings(gaps: tuple[PackedGap, ...]) -> tuple[Finding, ...]:
    """Say which gaps have a worse word as packed than as planned.

    Parameters
    ----------
    gaps : tuple of PackedGap
        Gaps under spans as they are packed.

    Returns
    -------
    tuple of Finding
        A warning for each.
    """
    return tuple(_finding(one) for one in gaps if one.is_worse)


def _finding(one: PackedGap) -> Finding:
    value, planned = float(one.value.value), float(one.gap.gap.value)
    more = f"{abs(one.change):.2f} mm {'less' if one.change < 0.0 else 'more'} than planned"
    return Finding(
        code="PK106",
        severity=Severity.WARNING,
        where=one.gap.id,
        text=f"the span stands off its wanted height as packed, or is less sure of it: the gap is then"
        f" {value:.2f} mm, {more}, and {one.verdict.value}, no longer {one.gap.verdict.value}",
        value=value,
        limit=planned,
        remedy="Have a sheet on the shelf that brings this span nearer to its height, or move the part",
    )
