"""What is left of the gaps under the spans once they stand as they are packed.

A span that packing leaves off its wanted height takes its girders, ties and walks with it. To the trains on
the line below it comes nearer, or farther away, by as much as if their line were raised: the derivative of a
gap to the height of that line is known. Trains on the span itself ride with it. Read :func:`gaps_as_packed`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from spanwright.clearance.stage import Gap
from spanwright.clearance.verdict import decide
from spanwright.estimation.derived import Derived
from spanwright.estimation.inputs import Inputs
from spanwright.estimation.spread import Spread
from spanwright.findings import Finding, Severity, Verdict
from spanwright.packing.stage import PackingResult
from spanwright.structures.heights import Bearing

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
    verdict : Verdict
        The word then.
    """

    gap: Gap
    value: Derived
    u: float
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
    gaps: tuple[Gap, ...],
    inputs: Inputs,
    *,
    raised: str,
    k: float,
) -> tuple[PackedGap, ...]:
    """Return the gaps of the line below to every span that packing leaves off its wanted height.

    Parameters
    ----------
    result : PackingResult
        Packing as it is chosen.
    bearings : tuple of Bearing
        Of the spans.
    gaps : tuple of Gap
        As planned.
    inputs : Inputs
        The base inputs.
    raised : str
        Base input: how far the line below is raised.
    k : float
        Coverage factor. [1]

    Returns
    -------
    tuple of PackedGap
        Those that change; none where nothing is packed.

    Notes
    -----
    To first order in the lifts, with all that a gap and the packing share. A span stands in the plane that
    fits its four lifts best; where a gap has several closest places, each but the first is reckoned with the
    least lift of the four. A bearing that waits for its packing is taken at what the others ask of it,
    without doubt of its own. A gap that is not proven for another reason than its numbers (a suspect reading,
    track that is not surveyed) stays so.
    """
    if result.choice is None or not raised:
        return ()
    column, planes = inputs.column(raised), {}
    for span in dict.fromkeys(b.span for b in bearings):
        mine = [b for b in bearings if b.span == span]
        lifts = [_lift(result, b.id, len(inputs)) for b in mine]
        if any(abs(float(lift.value)) >= _SEEN for lift in lifts):
            planes[f"{span}/"] = mine, lifts
    found = []
    for gap in gaps:
        span = gap.part.partition("/")[0] + "/"
        if span in planes and not gap.beyond_reach and np.isfinite(float(gap.gap.value)):
            one = _packed(gap, planes[span], column, inputs.spread, k=k)
            if one is not None:
                found.append(one)
    return tuple(found)


def _lift(result: PackingResult, bearing: str, n: int) -> Derived:
    packed = next(b for b in result.bearings if b.need.bearing == bearing)
    return (packed.off if packed.off is not None else packed.need.wanted * 0.0 + packed.lift).padded(n)


def _packed(
    gap: Gap, stands: tuple[list[Bearing], list[Derived]], column: int, spread: Spread, *, k: float
) -> PackedGap | None:
    bearings, lifts = stands
    places = np.array([[1.0, float(b.x.value), float(b.y.value)] for b in bearings])
    weights = np.array([1.0, gap.where[0], gap.where[1]]) @ np.linalg.pinv(places)
    here = lifts[0] * float(weights[0])
    for lift, weight in zip(lifts[1:], weights[1:], strict=True):
        here = here + lift * float(weight)
    least = min(lifts, key=lambda lift: float(lift.value))

    def then(witnesses: tuple[Derived, ...]) -> list[Derived]:
        return [one + (here if n == 0 else least) * _falls(one, column) for n, one in enumerate(witnesses)]

    own, margins = then(gap.witness_gaps or (gap.gap,)), then(gap.witness_margins or (gap.margin_gap,))
    if abs(float(own[0].value - gap.gap.value)) < _SEEN:
        return None
    doubts = [[gap.wider * float(one.sd(spread)) for one in some] for some in (own, margins)]
    verdict = decide(
        [float(one.value) for one in own],
        doubts[0],
        [float(one.value) for one in margins],
        doubts[1],
        k=k,
    )
    if gap.reason and verdict is not Verdict.FOUL:
        verdict = gap.verdict
    first = min(range(len(own)), key=lambda n: float(own[n].value))
    return PackedGap(gap=gap, value=own[first], u=doubts[0][first], verdict=verdict)


def _falls(gap: Derived, column: int) -> float:
    """Return by how much a gap opens where the part over it is lifted by one: the line below falls as far."""
    return -float(gap.jac[column])


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
    more = "less" if one.change < 0.0 else "more"
    return Finding(
        code="PK106",
        severity=Severity.WARNING,
        where=one.gap.id,
        text=f"the span stands off its wanted height as packed: the gap is then {value:.2f} mm,"
        f" {abs(one.change):.2f} mm {more} than planned, and {one.verdict.value}, no longer"
        f" {one.gap.verdict.value}",
        value=value,
        limit=planned,
        remedy="Have a sheet on the shelf that brings this span nearer to its height, or move the part",
    )
