"""How likely each word is along one surprise, with the lengths of uncut shafts stepping.

Lengths are rounded when they are decided, so they follow a surprise in steps: between two steps a gap's
numbers move with the surprise as they do with the length held, at a step they jump. Where a shaft's length
makes up for what a reading moves, that is all that is left of it, and to take its average for it would call
certain what is not.

Read :func:`chances` first.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from spanwright.advice.normal import below
from spanwright.clearance.verdict import joint_factor
from spanwright.structures.supports import CUT_STEP

FloatArray = np.ndarray

#: A number that moves less than this with a surprise of one is taken to stand still. [mm]
STILL = 1e-6
#: Surprises beyond this many doubts are not counted. [1]
_FAR = 7.0
#: Decided lengths are rounded down with this to spare, in steps. [1]
_SPARE = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Lengths:
    """What the shafts that are not cut yet will be cut to, in each of c cases.

    Parameters
    ----------
    wanted : ndarray, shape (c, s)
        Before they are rounded down, if the reading says just what is foretold. [mm]
    follow : ndarray, shape (c, s)
        How far that moves with the surprise. [mm]
    now : ndarray, shape (s,)
        As decided now. [mm]
    lever : ndarray, shape (m, s)
        How far each number of the gap follows each length. [1]
    """

    wanted: FloatArray
    follow: FloatArray
    now: FloatArray
    lever: FloatArray


def chances(
    values: FloatArray, slopes: FloatArray, doubts: FloatArray, lengths: Lengths, *, split: int, k: float
) -> FloatArray:
    """Return the probability of each word in each case, the numbers moving along one line between steps.

    Parameters
    ----------
    values : ndarray, shape (c, m)
        The gap at its closest points, then beyond the margin, with the lengths as decided now. [mm]
    slopes : ndarray, shape (c, m)
        How far they move with the surprise, those lengths held. [mm]
    doubts : ndarray, shape (c, m)
        Their standard uncertainties, the reading taken. [mm]
    lengths : Lengths
        What the shafts will be cut to.
    split : int
        How many values are of the gap itself.
    k : float
        Coverage factor of the verdicts. [1]

    Returns
    -------
    ndarray, shape (c, 4)
        In the order of :data:`spanwright.clearance.verdict.WORDS`. [1]

    Notes
    -----
    Exact for one surprise: a word asks each of some numbers to be past a limit, so between two steps it
    holds in one interval of the surprise, or outside one.
    """
    case, low, high, longer = _between_steps(lengths)
    at, by, wide = values[case] + longer @ lengths.lever.T, slopes[case], doubts[case]
    wide = wide * np.repeat(
        [joint_factor(k, split), joint_factor(k, values.shape[1] - split)], [split, values.shape[1] - split]
    )
    own, grown = slice(None, split), slice(split, None)
    kept = _above(at[:, grown] - wide[:, grown], by[:, grown], (low, high))
    free = _above(at[:, own] + wide[:, own], by[:, own], (low, high))
    passes = _above(at[:, own] - wide[:, own], by[:, own], (low, high))
    clear = _part(kept)
    foul = below(high) - below(low) - _part(free) - clear + _part(_both(kept, free))
    tight = _part(passes) - _part(_both(kept, passes))
    open_ = below(high) - below(low) - clear - foul - tight
    parts = np.stack([clear, tight, foul, open_], axis=1)
    found = np.zeros((len(values), 4))
    np.add.at(found, case, np.maximum(parts, 0.0))
    return found


def rounded_down(lengths: FloatArray) -> FloatArray:
    """Return lengths as a shaft is cut.

    Parameters
    ----------
    lengths : ndarray
        Any shape. [mm]

    Returns
    -------
    ndarray, same shape
        Down to the step. [mm]
    """
    return np.asarray(np.floor(lengths / CUT_STEP + _SPARE) * CUT_STEP)


def _between_steps(lengths: Lengths) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Part the surprises where a length steps; return case, both ends, and how much longer, by piece."""
    count = lengths.wanted.shape[0]
    at, by = lengths.wanted / CUT_STEP + _SPARE, lengths.follow / CUT_STEP
    reach = int(_FAR * float(np.max(np.abs(by), initial=0.0))) + 1
    steps = np.floor(at)[..., None] + np.arange(1 - reach, reach + 1) - at[..., None]
    moves = np.abs(by[..., None]) > STILL
    edges = np.divide(steps, by[..., None], out=np.full(steps.shape, _FAR), where=moves)
    ends = np.full((count, 1), _FAR)
    bounds = np.sort(np.clip(edges.reshape(count, -1), -_FAR, _FAR), axis=1)
    bounds = np.concatenate([-ends, bounds, ends], axis=1)
    case, place = np.nonzero(bounds[:, 1:] > bounds[:, :-1])
    low, high = bounds[case, place], bounds[case, place + 1]
    middle = 0.5 * (low + high)[:, None]
    return case, low, high, rounded_down(lengths.wanted[case] + lengths.follow[case] * middle) - lengths.now


def _above(
    values: FloatArray, slopes: FloatArray, ends: tuple[FloatArray, FloatArray]
) -> tuple[FloatArray, FloatArray]:
    """Return where all of some numbers are nought or more, for each row: from, to (not beyond from)."""
    moves = np.abs(slopes) > STILL
    at = np.divide(-values, slopes, out=np.where(values >= 0.0, -np.inf, np.inf), where=moves)
    low = np.maximum(ends[0], np.where(moves & (slopes < 0.0), -np.inf, at).max(axis=1))
    high = np.minimum(ends[1], np.where(moves & (slopes < 0.0), at, np.inf).min(axis=1))
    return low, np.maximum(high, low)


def _both(one: tuple[FloatArray, FloatArray], other: tuple[FloatArray, FloatArray]) -> tuple[FloatArray, ...]:
    low = np.maximum(one[0], other[0])
    return low, np.maximum(np.minimum(one[1], other[1]), low)


def _part(interval: tuple[FloatArray, ...]) -> FloatArray:
    return below(interval[1]) - below(interval[0])
