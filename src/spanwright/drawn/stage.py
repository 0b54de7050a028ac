"""Derive whole plans at drawn inputs, and hold wider the doubt of what promises too much.

Inputs are drawn in pairs, a draw and its mirror image: the mean of both less the plan's own value is a second
difference along that draw, and all curvature takes part, along a number's own gradient and across it. Where
the departures are more than a tenth of a number's doubt, its doubt is told by draws (JCGM 101:2008): the few
trials are spread over many cheap draws by a response surface. Where a gap's word then promises more than is
true, its doubt is held wider, as a choice of the plan. Read :func:`try_plan` and :func:`widened`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial
from statistics import NormalDist

import numpy as np

from spanwright.clearance.stage import Gap, Mapping
from spanwright.clearance.verdict import joint_factor
from spanwright.drawn.trials import asked, foretold, trial, watched_gaps, watched_numbers
from spanwright.estimation.derived import Derived
from spanwright.estimation.drawing.coverage import Drawn, told
from spanwright.estimation.drawing.draws import draw, moves, stream
from spanwright.estimation.drawing.surface import Surface, bent, fit_surface
from spanwright.estimation.drawing.together import DRAWS, Method
from spanwright.estimation.spread import Spread
from spanwright.findings import Verdict
from spanwright.job import Plan, derive

FloatArray = np.ndarray

#: Pairs of trials unless said otherwise.
PAIRS = 12
#: Departures of more than this part of the doubt are told by draws. [1]
BENDS = 0.1
#: Where a gap that no travel frees is put, in its doubts below its value. [1]
_WORST = 10.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Tried:
    """One number after the trials.

    Parameters
    ----------
    id : str
        Id of the number, or of the gap.
    label : str
        In plain words.
    what : str
        ``number``, ``gap`` or ``margin gap``.
    value : float
        Its value in the plan. [any]
    u : float
        Its standard uncertainty to first order; of the least, where there are several witnesses. [any]
    surface : Surface or None
        How it bends; None if too few trials tell.
    method : Method
        Whether derivatives do.
    told : Drawn
        What is then known of it; where it bends its range reaches as far as draws or derivatives say.
    """

    id: str
    label: str
    what: str
    value: float
    u: float
    surface: Surface | None
    method: Method
    told: Drawn


@dataclass(frozen=True, slots=True, kw_only=True)
class Trials:
    """All trials of a plan.

    Parameters
    ----------
    made : int
        Whole plans derived.
    failed : int
        Of them, those that could not be derived at the drawn inputs.
    numbers : tuple of Tried
        Numbers of the bridge, then gaps and margin gaps.
    wider : tuple of (str, float)
        Gaps whose word promises too much, and how much wider their doubt must be held.
    words : tuple of (str, Verdict)
        Word of each of these gaps before its doubt was held wider.
    """

    made: int
    failed: int
    numbers: tuple[Tried, ...]
    wider: tuple[tuple[str, float], ...]
    words: tuple[tuple[str, Verdict], ...] = ()


def try_plan(plan: Plan, *, pairs: int = PAIRS, each: Mapping = map) -> Trials:
    """Derive whole plans at drawn inputs.

    Parameters
    ----------
    plan : Plan
        The plan.
    pairs : int
        Pairs of trials.
    each : callable
        Works through the trials as ``map`` does; that of a pool of processes uses several cores.

    Returns
    -------
    Trials
        How each number bends, and which gaps must be held wider.
    """
    spread = plan.inputs.spread
    half = moves(spread, stream().standard_normal((pairs, len(plan.inputs))))
    by = np.concatenate([half, -half])
    found = np.array(list(each(partial(trial, asked(plan)), list(by))))
    k = plan.job.clearance.k if plan.job.clearance else 2.0
    numbers = watched_numbers(plan)
    tried = [
        _tried(_Watched(q.id, q.label, "number", (q.value,)), by, found[:, row], spread, k)[0]
        for row, q in enumerate(numbers)
    ]
    wider, words = [], []
    for row, gap in enumerate(watched_gaps(plan)):
        column = len(numbers) + 2 * row
        own, its = _tried(_Watched(gap.id, "", "gap", gap.witness_gaps), by, found[:, column], spread, k)
        tried.append(own)
        drawn = {"gap": its}
        if np.isfinite(gap.margin_gap.value):
            margins = _Watched(gap.id, "", "margin gap", gap.witness_margins)
            margin, drawn["margin gap"] = _tried(margins, by, found[:, column + 1], spread, k)
            tried.append(margin)
        factor = _factor(gap, drawn, spread, k)
        if factor > 1.0:
            wider.append((gap.id, factor))
            words.append((gap.id, gap.verdict))
    return Trials(
        made=len(by),
        failed=int(np.sum(np.all(np.isnan(found), axis=1))) if found.shape[1] else 0,
        numbers=tuple(tried),
        wider=tuple(wider),
        words=tuple(words),
    )


@dataclass(frozen=True, slots=True)
class _Watched:
    """A number, or the witnesses of a gap, with its name."""

    id: str
    label: str
    what: str
    numbers: tuple[Derived, ...]


def _tried(
    watched: _Watched, by: FloatArray, found: FloatArray, spread: Spread, k: float
) -> tuple[Tried, FloatArray | None]:
    """Judge one number by its trials; draws of it as it is, if derivatives do not do."""
    values = np.array([float(number.value) for number in watched.numbers])
    value, p = float(values.min()), 2.0 * NormalDist().cdf(k) - 1.0
    rows = spread.scaled(np.stack([n.padded(len(spread.sds)).jac for n in watched.numbers]))
    rng = stream()
    straight = draw(values, rows, DRAWS, rng).min(axis=1)
    several = len(values) > 1
    u = float(np.std(straight)) if several else float(np.linalg.norm(rows[0]))
    # where no travel frees it the gap is worse than any number: put far on the wrong side
    found = np.where(np.isneginf(found), value - _WORST * u, found)
    surface = fit_surface((foretold(watched.numbers, by) - value) / u, (found - value) / u)
    method, drawn = (Method.DRAWS if several else Method.FIRST_ORDER), None
    least = (
        told(straight, p)
        if several
        else Drawn(mean=value, u=u, low=value - k * u, high=value + k * u, draws=0)
    )
    if surface is not None and surface.bend > BENDS:
        drawn = value + u * bent(surface, (straight - value) / u, rng)
        method, least = Method.DRAWS, _both(told(drawn, p), least)
    return (
        Tried(
            id=watched.id,
            label=watched.label,
            what=watched.what,
            value=value,
            u=u,
            surface=surface,
            method=method,
            told=least,
        ),
        drawn,
    )


def _both(drawn: Drawn, straight: Drawn) -> Drawn:
    """Let the range reach as far as either says: a parabola of few trials can bend too much."""
    return replace(drawn, low=min(drawn.low, straight.low), high=max(drawn.high, straight.high))


def _factor(gap: Gap, drawn: dict[str, FloatArray | None], spread: Spread, k: float) -> float:
    """How much wider the doubt must be so that the gap's word promises no more than the draws say.

    A word promises that a least number is on one side of nothing but for a risk of ``1 - Phi(k)``. The draws
    have that quantile somewhere; the word's bound, the least of ``value - k_m u`` over m witnesses, is put
    there.
    """
    risk = NormalDist().cdf(-k)
    if gap.verdict is Verdict.CLEAR:
        numbers, draws, sign = gap.witness_margins, drawn.get("margin gap"), 1.0
    elif gap.verdict is Verdict.TIGHT:
        numbers, draws, sign = gap.witness_gaps, drawn["gap"], 1.0
    elif gap.verdict is Verdict.FOUL:
        numbers, draws, sign = gap.witness_gaps[:1], drawn["gap"], -1.0
    else:
        return 1.0
    if draws is None:
        return 1.0
    quantile = float(np.quantile(sign * draws, risk))
    many = joint_factor(k, len(gap.witness_gaps if sign < 0.0 else numbers))
    room = [(sign * float(n.value) - quantile) / (many * float(n.sd(spread))) for n in numbers]
    return max(1.0, min(room))


def widened(plan: Plan, trials: Trials, *, each: Mapping = map) -> Plan:
    """Return the plan with the doubts held wider that the trials ask for.

    Parameters
    ----------
    plan : Plan
        The plan.
    trials : Trials
        Of this plan.
    each : callable
        As for :func:`spanwright.job.derive`.

    Returns
    -------
    Plan
        The same plan if nothing is asked; its choices replay it.
    """
    held = plan.choices.clearance
    if not trials.wider or held is None:
        return plan
    wide = {key: replace(held[key], wider=max(held[key].wider, factor)) for key, factor in trials.wider}
    return derive(plan.job, replace(plan.choices, clearance=held | wide), each)
