"""How likely each word is once a gap's readings are taken, before any of them is.

What a reading will say is not known, but how far it can move the gap is, and what doubt it leaves. The
verdict rule itself then says for which surprises the word is *clear*, *tight* or *foul*. For one reading all
numbers of the gap move along one line, so the surprises at which the word changes are found exactly; for
several the rest is averaged by Gauss-Hermite quadrature.

Read :func:`asked`, then :func:`outlook`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from spanwright.advice.normal import below
from spanwright.advice.recut import Uncut, following
from spanwright.clearance.stage import Gap
from spanwright.clearance.verdict import WORDS, joint_factor, places
from spanwright.estimation.foresight import along_first, foresee
from spanwright.estimation.inputs import Inputs
from spanwright.findings import Verdict

FloatArray = np.ndarray

#: Nodes for the second and third direction of surprise; what lies beyond is too small to matter.
_NODES = (9, 5)
#: A direction that moves the numbers less than this is not looked along. [mm]
_STILL = 1e-6
#: Surprises beyond this many doubts are not counted. [1]
_FAR = 9.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Outlook:
    """What is foretold of a gap once readings are taken.

    Parameters
    ----------
    chances : dict of Verdict to float
        Probability of each word; they add up to 1. [1]
    after : float
        Standard uncertainty of the number that matters, then. [mm]
    as_is : Verdict
        The word if everything reads just as foretold.
    """

    chances: dict[Verdict, float]
    after: float
    as_is: Verdict

    def settled(self, now: Verdict) -> float:
        """Return how likely it is that the question is settled.

        Parameters
        ----------
        now : Verdict
            The word now: of *not proven* any other word is wanted, of *tight* that the margin is kept, or
            that the train touches.

        Returns
        -------
        float
            Probability. [1]
        """
        return float(settled(np.array([self.chances[word] for word in WORDS]), now))


def settled(chances: FloatArray, now: Verdict) -> FloatArray:
    """Return how likely it is that a question is settled.

    Parameters
    ----------
    chances : ndarray, shape (..., 4)
        Probability of each of :data:`spanwright.clearance.verdict.WORDS`. [1]
    now : Verdict
        The word now: of *not proven* any other word is wanted, of *tight* that the margin is kept, or that
        the train touches.

    Returns
    -------
    ndarray, shape (...)
        Probability. [1]
    """
    wanted = {Verdict.CLEAR, Verdict.FOUL} | ({Verdict.TIGHT} if now is Verdict.NOT_PROVEN else set())
    return np.minimum(chances[..., [word in wanted for word in WORDS]].sum(axis=-1), 1.0)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Asked:
    """One gap, ready to be asked about; some readings may count as taken.

    Parameters
    ----------
    verdict : Verdict
        Its word now.
    values : ndarray, shape (m,)
        The gap at its closest points, then beyond the margin. [mm]
    split : int
        How many values are of the gap itself.
    levers : tuple
        For each support that is not cut: its shafts, where its rows begin, the doubts of its rows now, and
        how far each value follows each length, shape (m, c). [1]
    rows : ndarray, shape (m + q, n)
        Derivatives of the values times the root of the inputs' covariance, then those of the shafts. [mm]
    slopes : ndarray, shape (m + q, r)
        How far these shift with the surprises of the readings that count as taken. [mm]
    factors : tuple of float
        Coverage factor of the verdicts, and that by which shafts are cut low. [1]
    number : int
        Which value's doubt matters most.
    """

    verdict: Verdict
    values: FloatArray
    split: int
    levers: tuple[tuple[Uncut, int, FloatArray, FloatArray], ...]
    rows: FloatArray
    slopes: FloatArray
    factors: tuple[float, float]
    number: int

    @property
    def doubt(self) -> float:
        """Standard uncertainty of the number that matters."""
        return float(np.linalg.norm(self.rows[self.number]))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Cases:
    """What is foretold in each of several cases.

    Parameters
    ----------
    chances : ndarray, shape (c, 4)
        Probability of each of :data:`spanwright.clearance.verdict.WORDS`. [1]
    after : ndarray, shape (c,)
        Standard uncertainty of the number that matters. [mm]
    """

    chances: FloatArray
    after: FloatArray


def asked(gap: Gap, inputs: Inputs, shafts: list[Uncut], *, k: float, low: float) -> Asked:
    """Make a gap ready.

    Parameters
    ----------
    gap : Gap
        The gap.
    inputs : Inputs
        The base inputs.
    shafts : list of Uncut
        What is not cut yet.
    k : float
        Coverage factor of the verdicts. [1]
    low : float
        Coverage factor by which shafts are cut low. [1]

    Returns
    -------
    Asked
        The gap. The number that matters is what is left beyond the margin; the gap where nothing is.
    """
    n = len(inputs)
    own, beyond = gap.witness_gaps, gap.witness_margins or (gap.margin_gap,)
    numbers = [number.padded(n) for number in (*own, *beyond)]
    jac = np.array([number.jac for number in numbers])
    wide = gap.wider * jac  # as the word takes it
    levers: list[tuple[Uncut, int, FloatArray, FloatArray]] = []
    rows = [inputs.spread.scaled(wide)]
    at = len(numbers)
    for one in shafts:
        lever = jac[:, one.columns]
        if np.any(np.abs(lever) > _STILL):
            rows.append(inputs.spread.scaled(one.rows))
            levers.append((one, at, np.linalg.norm(rows[-1], axis=1), lever))
            at += len(one.rows)
    every = np.concatenate(rows)
    return Asked(
        verdict=gap.verdict,
        values=np.array([float(number.value) for number in numbers]),
        split=len(own),
        levers=tuple(levers),
        rows=every,
        slopes=np.zeros((len(every), 0)),
        factors=(k, low),
        number=len(own) if float(gap.margin_gap.value) > 0.0 else 0,
    )


def with_reading(rows: FloatArray, read: FloatArray, sd: float) -> FloatArray:
    """Return rows as they are once a reading is taken.

    Parameters
    ----------
    rows : ndarray, shape (m, n)
        Derivatives of numbers times the root of the inputs' covariance. [any]
    read : ndarray, shape (n,)
        The same of what is read. [any]
    sd : float
        Standard uncertainty of the reading. [any]

    Returns
    -------
    ndarray, shape (m, n)
        Their products are the covariances that are left. [any]
    """
    own = float(read @ read)
    if own <= 0.0:
        return rows
    shrunk = 1.0 - sd / float(np.hypot(sd, np.sqrt(own)))
    return np.asarray(rows - np.outer(rows @ read * (shrunk / own), read))


def taken(gap: Asked, read: FloatArray, sd: float) -> Asked:
    """Count one more reading as taken.

    Parameters
    ----------
    gap : Asked
        The gap.
    read : ndarray, shape (n,)
        Derivatives of what is read times the root of the inputs' covariance, that of the readings before
        it taken off. [any]
    sd : float
        Standard uncertainty of the reading. [any]

    Returns
    -------
    Asked
        The gap then.
    """
    slopes = np.concatenate([gap.slopes, _surprise(gap, read[None], np.array([sd]))[0][:, None]], axis=1)
    return replace(gap, rows=with_reading(gap.rows, read, sd), slopes=slopes)


def all_perfect(gap: Asked, read: FloatArray) -> Asked:
    """Count many readings as taken, each without any doubt.

    Parameters
    ----------
    gap : Asked
        The gap.
    read : ndarray, shape (r, n)
        Derivatives of what is read times the root of the inputs' covariance. [any]

    Returns
    -------
    Asked
        The gap then; its rows hold no more than the doubts.
    """
    found = foresee(gap.rows, read, np.zeros(len(read)))
    return replace(gap, rows=found.doubts[:, None], slopes=found.slopes)


def _surprise(gap: Asked, read: FloatArray, sds: FloatArray) -> FloatArray:
    """Return how far the rows shift with the surprise of each of several readings, shape (c, rows)."""
    wide = np.sqrt(np.einsum("cn,cn->c", read, read) + sds**2)
    return np.divide(
        read @ gap.rows.T, wide[:, None], out=np.zeros((len(read), len(gap.rows))), where=wide[:, None] > 0.0
    )


def outlooks(gap: Asked, read: FloatArray, sds: FloatArray, *, cut: bool = False) -> Cases:
    """Foretell the word once one more reading is taken, for each of many; along the first surprise only.

    Parameters
    ----------
    gap : Asked
        The gap.
    read : ndarray, shape (c, n)
        Derivatives of what would be read times the root of the inputs' covariance, that of what was taken
        taken off. [any]
    sds : ndarray, shape (c,)
        Standard uncertainty of each reading. [any]
    cut : bool
        The readings are taken when the shafts are cut: their lengths do not follow any more.

    Returns
    -------
    Cases
        One case a reading. Exact where no reading was taken before.
    """
    last = _surprise(gap, read, sds)
    variance = np.einsum("mn,mn->m", gap.rows, gap.rows) - last**2
    before = np.broadcast_to(gap.slopes, (len(read), *gap.slopes.shape))
    slopes = np.concatenate([before, last[..., None]], axis=-1)
    values, slopes, doubts = _then(gap, slopes, np.sqrt(np.maximum(variance, 0.0)), cut=cut)
    first = slopes[..., 0] if slopes.shape[-1] == 1 else along_first(slopes)[..., 0]
    return Cases(chances=_chances(gap, values, doubts, first), after=doubts[:, gap.number])


def outlook(gap: Asked, *, cut: bool = False) -> Outlook:
    """Foretell the word once the readings that count as taken are.

    Parameters
    ----------
    gap : Asked
        The gap.
    cut : bool
        The readings are taken when the shafts are cut: their lengths do not follow any more.

    Returns
    -------
    Outlook
        Probabilities and doubt.
    """
    now = np.linalg.norm(gap.rows, axis=1)
    values, slopes, doubts = (one[0] for one in _then(gap, gap.slopes[None], now[None], cut=cut))
    turned = along_first(slopes)
    first = turned[:, 0] if turned.shape[1] else np.zeros(len(values))
    shifts, weights = _others(turned)
    many = (len(shifts), len(values))
    parts = _chances(gap, values + shifts, np.broadcast_to(doubts, many), np.broadcast_to(first, many))
    return Outlook(
        chances={w: min(float(part), 1.0) for w, part in zip(WORDS, weights @ parts, strict=True)},
        after=float(doubts[gap.number]),
        as_is=WORDS[int(_word(gap, values, doubts))],
    )


def _then(
    gap: Asked, slopes: FloatArray, doubts: FloatArray, *, cut: bool
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return values, slopes and doubts of the gap's own numbers, the lengths of uncut shafts following."""
    m = len(gap.values)
    values, own = np.broadcast_to(gap.values, (len(slopes), m)), slopes[:, :m]
    for shafts, start, before, lever in () if cut else gap.levers:
        rows = slice(start, start + len(shafts.rows))
        shift, follow = following(shafts, slopes[:, rows], doubts[:, rows], before, gap.factors[1])
        values = values + shift @ lever.T
        own = own + lever @ follow
    return values, own, doubts[:, :m]


def _word(gap: Asked, values: FloatArray, doubts: FloatArray) -> FloatArray:
    own, grown = slice(None, gap.split), slice(gap.split, None)
    return places(
        values[..., own], doubts[..., own], values[..., grown], doubts[..., grown], k=gap.factors[0]
    )


def _chances(gap: Asked, values: FloatArray, doubts: FloatArray, first: FloatArray) -> FloatArray:
    """Return the probability of each word in each case, shape (c, 4), the numbers moving along one line."""
    m, k = len(gap.values), gap.factors[0]
    factors = np.repeat(
        [joint_factor(k, gap.split), joint_factor(k, m - gap.split)], [gap.split, m - gap.split]
    )
    limits = np.concatenate([factors * doubts, -factors * doubts, np.zeros_like(doubts)], axis=1)
    slope = np.tile(first, 3)
    moves = np.abs(slope) > _STILL
    edges = np.divide(limits - np.tile(values, 3), slope, out=np.full(limits.shape, _FAR), where=moves)
    edges = np.sort(np.clip(edges, -_FAR, _FAR), axis=1)
    ends = np.full((len(values), 1), _FAR)
    bounds = np.concatenate([-ends, edges, ends], axis=1)
    middles = 0.5 * (bounds[:, :-1] + bounds[:, 1:])
    moved = values[:, None] + middles[..., None] * first[:, None]
    words = _word(gap, moved, doubts[:, None])
    parts = np.diff(below(bounds), axis=1)
    return np.stack([np.where(words == place, parts, 0.0).sum(axis=1) for place in range(len(WORDS))], axis=1)


def _others(turned: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return shifts by the directions after the first, with their weights."""
    shifts, weights = np.zeros((1, len(turned))), np.ones(1)
    for column, count in zip(turned.T[1:], _NODES, strict=False):
        if np.max(np.abs(column)) > _STILL:
            nodes, parts = np.polynomial.hermite_e.hermegauss(count)
            shifts = (shifts[:, None] + nodes[:, None] * column).reshape(-1, len(turned))
            weights = np.outer(weights, parts / parts.sum()).ravel()
    return shifts, weights
