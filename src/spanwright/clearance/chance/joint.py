"""The least of several doubtful gaps, and how likely all gaps of a job keep their words together.

A gap with several near equal witnesses is the least of them, and that is not first order: the witnesses are
drawn jointly, each linear in the base inputs, and the least is taken in each draw. What they share
stays shared, between the witnesses of one gap and between the gaps of the job. Read :func:`gap_chances` and
:func:`joint_risk`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from spanwright.clearance.stage import ClearanceResult, Gap
from spanwright.estimation.derived import Derived
from spanwright.estimation.drawing.coverage import Chance, Drawn
from spanwright.estimation.drawing.together import DRAWS, Method, any_below, least_of
from spanwright.estimation.spread import Spread
from spanwright.findings import Verdict


@dataclass(frozen=True, slots=True, kw_only=True)
class GapChance:
    """What is known of one gap, and how likely it is short.

    Parameters
    ----------
    gap : str
        The gap's id.
    places : int
        Near equal witnesses of the gap.
    method : Method
        First order for one witness, draws for several and where draws of the whole plan made it wider.
    least : Drawn
        The gap: the least over its witnesses.
    touches : Chance
        That it is less than nothing.
    short : Chance
        That the wanted margin is not kept.
    """

    gap: str
    places: int
    method: Method
    least: Drawn
    touches: Chance
    short: Chance


@dataclass(frozen=True, slots=True, kw_only=True)
class JointRisk:
    """How likely it is that some word of the job is not kept.

    Parameters
    ----------
    clear : int
        Gaps called clear.
    passing : int
        Gaps called clear or tight.
    short : Chance
        That at least one gap called clear has less than its wanted margin.
    touches : Chance
        That at least one gap called clear or tight touches.
    short_sum : float
        Bound on the first by adding up the risks of all witnesses, whatever they share. [1]
    touches_sum : float
        The same for the second. [1]
    """

    clear: int
    passing: int
    short: Chance
    touches: Chance
    short_sum: float
    touches_sum: float


def joint_risk(result: ClearanceResult, spread: Spread, *, draws: int = DRAWS) -> JointRisk:
    """Return the joint risk of all gaps that are called clear or tight.

    Parameters
    ----------
    result : ClearanceResult
        All gaps.
    spread : Spread
        Of the base inputs.
    draws : int
        How many draws.

    Returns
    -------
    JointRisk
        By draws that keep what the gaps share, and the bounds by adding up.
    """
    clear = [g for g in result.gaps if g.verdict is Verdict.CLEAR]
    passing = [g for g in result.gaps if g.verdict in (Verdict.CLEAR, Verdict.TIGHT)]
    margins = [_wide(w, g) for g in clear for w in g.witness_margins]
    gaps = [_wide(w, g) for g in passing for w in g.witness_gaps]
    short, short_sum = any_below(margins, spread, draws=draws)
    touches, touches_sum = any_below(gaps, spread, draws=draws)
    return JointRisk(
        clear=len(clear),
        passing=len(passing),
        short=short,
        touches=touches,
        short_sum=short_sum,
        touches_sum=touches_sum,
    )


def gap_chances(
    gaps: Sequence[Gap], spread: Spread, *, k: float, draws: int = DRAWS
) -> tuple[GapChance, ...]:
    """Return what is known of each gap, its witnesses drawn jointly where there are several.

    Parameters
    ----------
    gaps : sequence of Gap
        Those that are wanted.
    spread : Spread
        Of the base inputs.
    k : float
        Coverage factor; the intervals hold as often as k doubts of a normal law. [1]
    draws : int
        How many draws.

    Returns
    -------
    tuple of GapChance
        Of the gaps that have a number and a doubt, in the same order.
    """
    known = [g for g in gaps if not g.beyond_reach and np.isfinite(g.gap.value) and g.witness_gaps]
    return tuple(_gap_chance(gap, spread, k, draws) for gap in known)


def _gap_chance(gap: Gap, spread: Spread, k: float, draws: int) -> GapChance:
    """Draw the witnesses of one gap: always the same draws, whichever gaps are wanted besides."""
    own = [_wide(w, gap) for w in gap.witness_gaps]
    margins = [_wide(w, gap) for w in gap.witness_margins]
    least, method = least_of(own, spread, k=k, draws=draws)
    return GapChance(
        gap=gap.id,
        places=len(own),
        method=method if gap.wider == 1.0 else Method.DRAWS,
        least=least,
        touches=any_below(own, spread, draws=draws)[0],
        short=any_below(margins, spread, draws=draws)[0],
    )


def _wide(number: Derived, gap: Gap) -> Derived:
    """Give a number of a gap the doubt that the gap's word rests on."""
    return number if gap.wider == 1.0 else Derived(number.value, number.jac * gap.wider)
