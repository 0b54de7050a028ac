"""How far shafts that are not cut yet follow a reading: they are cut by what is known then.

A shaft is cut low by its doubt. A reading that is taken before the saw moves what the shaft must reach and
shrinks that doubt, so the shaft is cut to another length, and every gap that hangs on it changes with it.
Foretelling a verdict while holding the length would be wrong by as much.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from spanwright.estimation.inputs import Inputs
from spanwright.structures.stage import Structures
from spanwright.structures.supports import Cut, FittedSupport

FloatArray = np.ndarray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Uncut:
    """The shafts of one support that are not cut yet.

    Parameters
    ----------
    columns : tuple of int
        Columns of the base inputs of how truly each is cut: a gap's derivatives to their lengths.
    rows : ndarray, shape (1 + 2 c, n)
        Derivatives of the level that the cap must reach; of each base; of each length wanted, less how truly
        it is cut. [any]
    cap : float
        Level that the cut lengths aim at, before they are rounded down. [mm]
    bases : ndarray, shape (c,)
        Heights of the bases. [mm]
    lengths : ndarray, shape (c,)
        Lengths as decided now. [mm]
    """

    columns: tuple[int, ...]
    rows: FloatArray
    cap: float
    bases: FloatArray
    lengths: FloatArray


def uncut_shafts(
    structures: Structures | None, inputs: Inputs, standing: frozenset[str], k: float
) -> list[Uncut]:
    """Return what is still to be cut.

    Parameters
    ----------
    structures : Structures or None
        The bridge.
    inputs : Inputs
        The base inputs.
    standing : frozenset of str
        Supports that are cut.
    k : float
        Coverage factor by which shafts are cut low. [1]

    Returns
    -------
    list of Uncut
        By support.
    """
    if structures is None:
        return []
    return [
        _uncut(support, inputs, k)
        for support in structures.supports
        if support.given.name not in standing and support.given.cut
    ]


def _uncut(support: FittedSupport, inputs: Inputs, k: float) -> Uncut:
    n = len(inputs)
    truly = [inputs.derived(key) for key in support.given.cut]
    less = [(cut.wanted - own).padded(n) for cut, own in zip(support.cuts, truly, strict=True)]
    lows = [_low(cut, k * float(row.sd(inputs.spread))) for cut, row in zip(support.cuts, less, strict=True)]
    governing = support.cuts[int(np.argmin(lows))]
    level = (governing.wanted + governing.base).padded(n)
    return Uncut(
        columns=tuple(inputs.column(key) for key in support.given.cut),
        rows=np.array([level.jac, *(c.base.padded(n).jac for c in support.cuts), *(r.jac for r in less)]),
        cap=min(lows),
        bases=np.array([float(c.base.value) for c in support.cuts]),
        lengths=np.array([c.length for c in support.cuts]),
    )


def _low(cut: Cut, wide: float) -> float:
    return float(cut.wanted.value) - wide + float(cut.base.value)


def following(
    shafts: Uncut, slopes: FloatArray, doubts: FloatArray, before: FloatArray, k: float
) -> tuple[FloatArray, FloatArray]:
    """Return how lengths follow readings, for many cases at once.

    Parameters
    ----------
    shafts : Uncut
        One support's.
    slopes : ndarray, shape (..., 1 + 2 c, r)
        How far its rows shift with each of r surprises. [mm]
    doubts : ndarray, shape (..., 1 + 2 c)
        Doubts of its rows then. [mm]
    before : ndarray, shape (1 + 2 c,)
        Doubts of its rows now. [mm]
    k : float
        Coverage factor. [1]

    Returns
    -------
    wanted : ndarray, shape (..., c)
        Lengths before they are rounded down, if all reads just as foretold. [mm]
    follow : ndarray, shape (..., c, r)
        By how much more with each surprise. [mm]
    """
    c = len(shafts.lengths)
    gain = k * (np.max(before[1 + c :]) - np.max(doubts[..., 1 + c :], axis=-1))
    follow = slopes[..., :1, :] - slopes[..., 1 : 1 + c, :]
    return shafts.cap + gain[..., None] - shafts.bases, follow
