"""The least of several doubtful gaps, and how likely all gaps of a job keep their words together.

A gap with several near equal witnesses is the least of them, and that is not first order: the witnesses are
drawn jointly, each linear in the base inputs, and the least is taken in each draw. What they share
stays shared, between the witnesses of one gap and between the gaps of the job. Read :func:`gap_chances` and
:func:`joint_risk`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from statistics import NormalDist

import numpy as np

from spanwright.clearance.stage import ClearanceResult, Gap
from spanwright.estimation.derived import Derived
from spanwright.estimation.drawing.coverage import Chance, Drawn, chance, told
from spanwright.estimation.drawing.draws import draw, stream
from spanwright.estimation.spread import Spread
from spanwright.findings import Verdict

FloatArray = np.ndarray

#: Draws of the linear gaps; cheap.
DRAWS = 10_000
#: A gap that is further from its limit than this many doubts is not drawn: 1 in 10^11.
_FAR = 6.7


class Method(Enum):
    """How a doubt was found."""

    FIRST_ORDER = "first order"
    DRAWS = "draws"


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
    short, short_sum = _some_below([_wide(w, g) for g in clear for w in g.witness_margins], spread, draws)
    touches, touches_sum = _some_below([_wide(w, g) for g in passing for w in g.witness_gaps], spread, draws)
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
    values, rows = _stacked([_wide(w, gap) for w in gap.witness_gaps], spread)
    doubts = _lengths(rows)
    places = len(values)
    if places == 1:
        u = float(doubts[0])
        least = Drawn(
            mean=float(values[0]), u=u, low=float(values[0]) - k * u, high=float(values[0]) + k * u, draws=0
        )
        touches = _one(float(values[0]), u)
    else:
        drawn = draw(values, rows, draws, stream()).min(axis=1)
        least = told(drawn, 2.0 * NormalDist().cdf(k) - 1.0)
        touches = chance(drawn < 0.0) if _is_near(values, doubts) else _sum(values, doubts)
    return GapChance(
        gap=gap.id,
        places=places,
        method=Method.FIRST_ORDER if places == 1 and gap.wider == 1.0 else Method.DRAWS,
        least=least,
        touches=touches,
        short=_short(gap, spread, draws),
    )


def _short(gap: Gap, spread: Spread, draws: int) -> Chance:
    """Chance that the margin is not kept."""
    values, rows = _stacked([_wide(w, gap) for w in gap.witness_margins], spread)
    if not len(values) or not np.all(np.isfinite(values)):  # no travel frees it
        return Chance(part=1.0, at_most=1.0, draws=0)
    doubts = _lengths(rows)
    if len(values) == 1:
        return _one(float(values[0]), float(doubts[0]))
    if not _is_near(values, doubts):
        return _sum(values, doubts)
    return chance(draw(values, rows, draws, stream()).min(axis=1) < 0.0)


def _wide(number: Derived, gap: Gap) -> Derived:
    """Give a number of a gap the doubt that the gap's word rests on."""
    return number if gap.wider == 1.0 else Derived(number.value, number.jac * gap.wider)


def _stacked(numbers: Sequence[Derived], spread: Spread) -> tuple[FloatArray, FloatArray]:
    """Values, and derivatives times the root of the inputs' covariance."""
    jac = np.zeros((len(numbers), len(spread.sds)))
    for row, number in zip(jac, numbers, strict=True):
        row[: number.jac.shape[-1]] = number.jac
    return np.array([float(number.value) for number in numbers]), spread.scaled(jac)


def _lengths(rows: FloatArray) -> FloatArray:
    return np.sqrt(np.einsum("mn,mn->m", rows, rows))


def _is_near(values: FloatArray, doubts: FloatArray) -> bool:
    return bool(np.any(values < _FAR * doubts))


def _phi(value: float, doubt: float) -> float:
    """Chance that a normal number is less than nothing."""
    if doubt <= 0.0:
        return float(value < 0.0)
    return 0.5 * math.erfc(value / doubt / math.sqrt(2.0))


def _one(value: float, doubt: float) -> Chance:
    part = _phi(value, doubt)
    return Chance(part=part, at_most=part, draws=0)


def _sum(values: FloatArray, doubts: FloatArray) -> Chance:
    """Bound by adding up, for what is too far off to be met in any draw."""
    total = min(sum(_phi(float(v), float(u)) for v, u in zip(values, doubts, strict=True)), 1.0)
    return Chance(part=total, at_most=total, draws=0)


def _some_below(numbers: list[Derived], spread: Spread, draws: int) -> tuple[Chance, float]:
    """Chance that any of the numbers is less than nothing, and the sum of their own chances."""
    values, rows = _stacked(numbers, spread)
    doubts = _lengths(rows)
    bound = _sum(values, doubts)
    near = values < _FAR * doubts
    if np.count_nonzero(near) < 2:
        return bound, bound.part
    return chance(np.any(draw(values[near], rows[near], draws, stream()) < 0.0, axis=1)), bound.part
