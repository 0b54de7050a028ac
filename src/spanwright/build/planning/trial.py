"""The test run as readings: where each line's trains come nearest, gauged while a vehicle stands there.

A gap that is gauged is a reading of the plan like any other: when the bridge stands it tells more of rails,
girders and caps than any other, and a card that does not pass tells it as well as a feeler.
"""

from __future__ import annotations

from spanwright.build.as_built import AsBuilt
from spanwright.build.telling import place, told, word
from spanwright.clearance.stage import ClearanceResult, Gap
from spanwright.findings import Verdict

TRIED = "test run/"
_MOST = 6  # gaps of each line (common practice, no source)


def list_trials(clearance: ClearanceResult | None, *, k: float) -> tuple[AsBuilt, ...]:
    """List the gaps to gauge in the test run.

    Parameters
    ----------
    clearance : ClearanceResult or None
        Gaps, if trains were reckoned.
    k : float
        Coverage factor. [1]

    Returns
    -------
    tuple of AsBuilt
        For each line the gaps that leave least of their margin, doubt taken off: all that are not clear, and
        the nearest one in any case, at most six.
    """

    def left_over(gap: Gap) -> float:
        return float(gap.margin_gap.value) - k * gap.margin_u

    gaps = [g for g in (clearance.gaps if clearance else ()) if not g.beyond_reach and g.surveyed]
    rows = []
    for line in dict.fromkeys(g.line for g in gaps):
        near = sorted((g for g in gaps if g.line == line), key=left_over)
        open_ = [g for g in near if g.verdict is not Verdict.CLEAR][:_MOST]
        rows += [_row(g) for g in open_ or near[:1]]
    return tuple(rows)


def _row(gap: Gap) -> AsBuilt:
    return AsBuilt(
        id=f"{TRIED}{gap.vehicle} on {gap.line}/{gap.part}",
        number=gap.id,
        belongs="test run",
        what=told("least gap of the {0} on line {1}", word(gap.vehicle), word(gap.line)),
        surface=told("{0}; 0 where it just touches", place(gap.part)),
        tool="feelers, or card of known thickness",
        planned=gap.gap,
        low=0.0,
        high=None,
        otherwise="It touches: no train there; enter it, and see spanwright remedies.",
    )
