"""How likely each word is once a gap's readings are taken, before any of them is.

What a reading will say is not known, but how far it can move the gap is, and what doubt it leaves. The
verdict rule itself then says for which surprises the word is *clear*, *tight* or *foul*. For one reading all
numbers of the gap move along one line, the lengths of uncut shafts following in steps, so the surprises at
which the word changes are found exactly; for several the rest is averaged over a lattice.

Read :func:`asked`, then :func:`outlook`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from spanwright.advice.chances import STILL, Lengths, chances, rounded_down
from spanwright.advice.normal import surprises
from spanwright.advice.recut import Uncut, following
from spanwright.clearance.stage import Gap
from spanwright.clearance.verdict import WORDS, places
from spanwright.estimation.foresight import along_first, foresee
from spanwright.estimation.inputs import Inputs
from spanwright.findings import Verdict
from spanwright.structures.supports import CUT_STEP

FloatArray = np.ndarray

#: So many directions of surprise beside the first are looked along; what lies beyond is too small to matter.
_BESIDE = 3
#: Standard deviation of what rounding down takes off. [mm]
_ROUNDING = CUT_STEP / float(np.sqrt(12.0))


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
        if np.any(np.abs(lever) > STILL):
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
        One case a reading. Exact where no reading was taken before; if one was, good enough to choose by:
        lengths follow evenly then, half a step below what they are before they are rounded.
    """
    last = _surprise(gap, read, sds)
    variance = np.einsum("mn,mn->m", gap.rows, gap.rows) - last**2
    before = np.broadcast_to(gap.slopes, (len(read), *gap.slopes.shape))
    slopes = np.concatenate([before, last[..., None]], axis=-1)
    then = _then(gap, slopes, np.sqrt(np.maximum(variance, 0.0)), cut=cut)
    parts = _chances(gap, _evened(then) if gap.slopes.shape[1] else then, np.zeros((1, 0)))
    return Cases(chances=parts[:, 0], after=then.doubts[:, gap.number])


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
    then = _then(gap, gap.slopes[None], now[None], cut=cut)
    parts = _chances(gap, then, surprises(min(gap.slopes.shape[1] - 1, _BESIDE)))[0].mean(axis=0)
    as_is = _word(gap, then.values + (rounded_down(then.wanted) - then.now) @ then.lever.T, then.doubts)[0]
    return Outlook(
        chances={w: min(float(part), 1.0) for w, part in zip(WORDS, parts, strict=True)},
        after=float(then.doubts[0, gap.number]),
        as_is=WORDS[int(as_is)],
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Then:
    """A gap's m numbers and the s uncut shafts once readings are taken, in each of c cases of r surprises.

    Values are with the lengths held; their slopes too.
    """

    values: FloatArray  # (c, m)
    slopes: FloatArray  # (c, m, r)
    doubts: FloatArray  # (c, m)
    wanted: FloatArray  # (c, s): lengths before they are rounded
    follow: FloatArray  # (c, s, r)
    now: FloatArray  # (s,): lengths as decided now
    lever: FloatArray  # (m, s)


def _then(gap: Asked, slopes: FloatArray, doubts: FloatArray, *, cut: bool) -> _Then:
    m, (count, _, r) = len(gap.values), slopes.shape
    wanted, follow = [np.zeros((count, 0))], [np.zeros((count, 0, r))]
    now, lever = [np.zeros(0)], [np.zeros((m, 0))]
    for shafts, start, before, own in () if cut else gap.levers:
        rows = slice(start, start + len(shafts.rows))
        lengths, with_it = following(shafts, slopes[:, rows], doubts[:, rows], before, gap.factors[1])
        wanted.append(lengths)
        follow.append(with_it)
        now.append(shafts.lengths)
        lever.append(own)
    return _Then(
        values=np.broadcast_to(gap.values, (count, m)),
        slopes=slopes[:, :m],
        doubts=doubts[:, :m],
        wanted=np.concatenate(wanted, axis=1),
        follow=np.concatenate(follow, axis=1),
        now=np.concatenate(now),
        lever=np.concatenate(lever, axis=1),
    )


def _evened(then: _Then) -> _Then:
    """Let lengths follow evenly, rounding counted as half a step, and none be left to follow."""
    longer = then.wanted - 0.5 * CUT_STEP - then.now
    return replace(
        then,
        values=then.values + longer @ then.lever.T,
        slopes=then.slopes + then.lever @ then.follow,
        wanted=then.wanted[:, :0],
        follow=then.follow[:, :0],
        now=then.now[:0],
        lever=then.lever[:, :0],
    )


def _word(gap: Asked, values: FloatArray, doubts: FloatArray) -> FloatArray:
    own, grown = slice(None, gap.split), slice(gap.split, None)
    return places(
        values[..., own], doubts[..., own], values[..., grown], doubts[..., grown], k=gap.factors[0]
    )


def _chances(gap: Asked, then: _Then, others: FloatArray) -> FloatArray:
    """Return the probability of each word, shape (c, q, 4), at q places of the surprises beside the first."""
    m = then.values.shape[1]
    turned = _turned(then)
    beside = turned[..., 1 : 1 + others.shape[1]]
    first, shifts = turned[..., 0], beside @ others[:, : beside.shape[-1]].T
    count, q = len(first), len(others)

    def cases(one: FloatArray, by: FloatArray | float = 0.0) -> FloatArray:
        return np.reshape(
            np.broadcast_to((one[..., None] + by), (*one.shape, q)).swapaxes(1, 2), (count * q, -1)
        )

    lengths = Lengths(
        wanted=cases(then.wanted, shifts[:, m:]), follow=cases(first[:, m:]), now=then.now, lever=then.lever
    )
    values = cases(then.values, shifts[:, :m])
    parts = chances(
        values, cases(first[:, :m]), cases(then.doubts), lengths, split=gap.split, k=gap.factors[0]
    )
    return parts.reshape(count, q, -1)


def _turned(then: _Then) -> FloatArray:
    """Return slopes of the numbers, lengths held, and of the lengths, shape (c, m + s, r); r is 1 or more.

    The surprises are turned so that the first moves the numbers most, the lengths following, and the
    second most of what is left. What the rounding of a length leaves behind is moved as well, but no
    further than a step.
    """
    if then.slopes.shape[-1] < 2:
        held = np.concatenate([then.slopes, then.follow], axis=1)
        return held if held.shape[-1] else np.zeros((*held.shape[:-1], 1))
    m = then.values.shape[1]
    spread = np.sqrt(np.einsum("csr,csr->cs", then.follow, then.follow))
    most = _ROUNDING / np.maximum(spread, _ROUNDING) * np.max(np.abs(then.lever), axis=0)
    weights = np.maximum(most, STILL)[..., None]
    net = then.slopes + then.lever @ then.follow
    turned = along_first(np.concatenate([net, weights * then.follow], axis=1))
    follow = turned[:, m:] / weights
    return np.concatenate([turned[:, :m] - then.lever @ follow, follow], axis=1)
