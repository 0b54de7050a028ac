"""What readings of the plan's numbers teach: tested first, then used, all that they share kept.

Each reading in its turn is held against what the plan and the readings before it foretell. One that misses by
more than its doubt allows is shown and not used, until the builder stands by it; then how truly the part
itself was made is taken as unknown, since it is there that the plan and the part have come apart.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from spanwright.build.as_built import AsBuilt
from spanwright.drawings.speech import Words
from spanwright.errors import InputError, NotConvergedError
from spanwright.estimation import derived as dv
from spanwright.estimation.condition import Learnt, innovations, learn
from spanwright.estimation.derived import Derived
from spanwright.estimation.inputs import Inputs
from spanwright.measured.given import Measured
from spanwright.measured.numbers import finished_row, id_of, number_read, plain, shown
from spanwright.measured.possible import refuse_impossible, refuse_outcome
from spanwright.measured.there import Leans, There

FloatArray = np.ndarray

#: A reading that misses by more of its doubts contradicts: one in a thousand does so by chance.
CONTRADICTS = 3.29
#: How truly a part was made that the builder knows to be otherwise than planned. [mm]
UNKNOWN = 10.0
#: A part of what was read that is at least this much of the largest one is where a slip is looked for. [1]
_OWN = 0.5
#: A slip of the making moves what was read by at least this part of itself; else it is none of that part. [1]
_FELT = 0.25
#: Earlier readings that say as much as this of the same thing are named where one contradicts. [1]
_ALIKE = 0.9
_MAKING = ("cut", "setting out")
_PASSES, _SETTLED = 8, 1e-3


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Tested:
    """One reading held against what was foretold.

    Parameters
    ----------
    reading : Measured
        The reading.
    foretold : float
        What the plan and the readings before it said that the tool would show. [any]
    spread : float
        Standard uncertainty of the number itself before this reading, the tool's errors left out. [any]
    doubt : float
        Standard uncertainty of what was foretold and of the reading together. [any]
    misses : float
        By how many of these doubts it misses. [1]
    used : bool
        Whether it was used.
    leans : tuple of Leans
        Supports on whose shafts as they were cut, or on whose place, it leans.
    against : tuple of str
        If it is not used: ids of the earlier readings of the same thing.
    repeats : str
        Id of the earlier entry that it is word for word; it is not used again.
    may_slip : bool
        Whether something was made, or stands on ground, that could be quite otherwise than planned.
    """

    reading: Measured
    foretold: float
    spread: float
    doubt: float
    misses: float
    used: bool
    leans: tuple[Leans, ...] = ()
    against: tuple[str, ...] = ()
    repeats: str = ""
    may_slip: bool = True


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Outcome:
    """One reading of finished work, held against what was planned. It teaches nothing of the plan.

    Parameters
    ----------
    reading : Measured
        The reading.
    row : str
        Id of the as-built row.
    planned : float
        What should come out. [mm]
    off : float
        By how much more came out. [mm]
    passes : bool
        Whether that is within the row's limits.
    otherwise : str
        What to do if it is not.
    """

    reading: Measured
    row: str
    planned: float
    off: float
    passes: bool
    otherwise: str


@dataclass(frozen=True, slots=True, kw_only=True)
class NotThere:
    """One reading of a part that is not there: not cut or set yet, or taken out. It does not count.

    Parameters
    ----------
    reading : Measured
        The reading.
    leans : Leans
        What it leans on that is not there.
    """

    reading: Measured
    leans: Leans


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Taught:
    """All that the readings of a plan's numbers have taught.

    Parameters
    ----------
    learnt : Learnt or None
        Of the base inputs; None if no reading was used.
    unknown : tuple of str
        Base inputs whose doubt was taken as very wide: how truly a part was made that came out otherwise.
    tested : tuple of Tested
        Every reading that could teach, in order.
    outcomes : tuple of Outcome
        Every reading of finished work, in order.
    not_there : tuple of NotThere
        Every reading of a part that is not there, in order.
    """

    learnt: Learnt | None
    unknown: tuple[str, ...]
    tested: tuple[Tested, ...]
    outcomes: tuple[Outcome, ...] = ()
    not_there: tuple[NotThere, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Known:
    """What a plan knows of its own numbers.

    Parameters
    ----------
    numbers : dict of str to Derived
        All that can be read and teaches something.
    rows : tuple of AsBuilt
        Rows of the as-built sheets.
    inputs : Inputs
        The base inputs, with the unseen ones.
    """

    numbers: dict[str, Derived]
    rows: tuple[AsBuilt, ...]
    inputs: Inputs


Numbers = Callable[[Taught | None], Known]


def taught_inputs(inputs: Inputs, taught: Taught | None) -> Inputs:
    """Return the base inputs as the readings leave them.

    Parameters
    ----------
    inputs : Inputs
        As given by the job.
    taught : Taught or None
        What was taught; None for nothing.

    Returns
    -------
    Inputs
        Moved, with their spread.
    """
    if taught is None:
        return inputs
    return inputs.widened(taught.unknown, UNKNOWN).knowing(taught.learnt)


def teach(readings: tuple[Measured, ...], numbers: Numbers, words: Words, there: There) -> Taught:
    """Test all readings, then let those that hold teach.

    Parameters
    ----------
    readings : tuple of Measured
        In the order in which they were taken.
    numbers : callable
        Derives the plan anew with what was taught so far, and returns what it knows of its own numbers.
    words : Words
        The builder's words for the sides.
    there : There
        Which supports are cut, and which stand. A reading that leans on what is not there does not count:
        what will be cut or set, or cut anew, comes out otherwise than what was read.

    Returns
    -------
    Taught
        What was learnt, and how each reading fared.

    Raises
    ------
    InputError
        If a reading names what the plan does not have, or cannot have been read.
    NotConvergedError
        If plan and readings do not settle.
    """
    first = known = numbers(None)
    finished = {r.id: row for r in readings if (row := finished_row(first.rows, r.number, words))}
    readings, ends = (tuple(r for r in readings if (r.id in finished) is wanted) for wanted in (False, True))
    for reading in readings:
        refuse_impossible(reading, known.numbers, first.inputs, words, first.rows)
    for reading in ends:
        refuse_outcome(reading, finished[reading.id], words)
    said = {reading.id: number_read(known.numbers, reading, words) for reading in readings}
    leans = {key: there.leant_on(row, first.inputs) for key, row in said.items()}
    gone = {key: [one for one in some if one not in there.made] for key, some in leans.items()}
    not_there = tuple(NotThere(reading=r, leans=gone[r.id][0]) for r in readings if gone[r.id])
    readings = tuple(r for r in readings if not gone[r.id])
    bare = [said[r.id] for r in readings]
    rows = [shown(row, known.numbers, r) for row, r in zip(bare, readings, strict=True)]
    slips = [_slips(r, row, known, words, there) for r, row in zip(readings, bare, strict=True)]
    used, unknown, tested = _tested(readings, rows, bare, slips, first.inputs)
    tested = tuple(replace(one, leans=leans[one.reading.id]) for one in tested)
    wide = first.inputs.widened(unknown, UNKNOWN)
    taught = Taught(
        learnt=None,
        unknown=unknown,
        tested=tested,
        outcomes=_outcomes(ends, finished, first),
        not_there=not_there,
    )
    if not used:
        return taught
    kept = [readings[k] for k in used]
    read, doubts = np.array([r.value for r in kept]), np.array([r.sd for r in kept])
    prior = tuple(item.id for item in wide.items), wide.sds
    at = np.zeros(len(wide))
    for _ in range(_PASSES):
        learnt = learn(_stack(known.numbers, kept, words), read, doubts, prior=prior, at=at)
        taught = replace(taught, learnt=learnt, outcomes=_outcomes(ends, finished, known))
        change = np.divide(learnt.moves - at, wide.sds, out=np.zeros(len(at)), where=wide.sds > 0.0)
        if np.max(np.abs(change)) < _SETTLED:
            return taught
        known = numbers(taught)
        at = learnt.moves
    raise NotConvergedError(
        "plan and as-built readings do not settle on one another",
        code="ME003",
        where=", ".join(r.id for r in kept[:3]),
        hint="Look for a reading of the wrong thing or in the wrong unit",
    )


def _outcomes(
    readings: tuple[Measured, ...], finished: dict[str, AsBuilt], known: Known
) -> tuple[Outcome, ...]:
    """Hold readings of finished work against what the plan says now."""
    now = {row.id: row for row in known.rows}
    found = []
    for reading in readings:
        row = now.get(finished[reading.id].id, finished[reading.id])
        if reading.above and plain(reading.above) not in plain(repr(row.surface)):
            raise InputError(
                "finished work is read from the base of its own support",
                code="ME004",
                where=reading.id,
                value=reading.above,
                hint="Measure it from there, and leave above out",
            )
        planned = float(row.planned.value)
        low = -np.inf if row.low is None else row.low
        high = np.inf if row.high is None else row.high
        found.append(
            Outcome(
                reading=reading,
                row=row.id,
                planned=planned,
                off=reading.value - planned,
                passes=bool(low <= reading.value <= high),
                otherwise=row.otherwise,
            )
        )
    return tuple(found)


def _stack(known: dict[str, Derived], kept: list[Measured], words: Words) -> Derived:
    return dv.stack([shown(number_read(known, reading, words), known, reading) for reading in kept])


def _making(row: Derived, inputs: Inputs) -> list[int]:
    """Return the columns of how truly the part was made that a reading speaks of."""
    own = np.array([item.kind in _MAKING for item in inputs.items]) * np.abs(row.jac)
    return [int(k) for k in np.flatnonzero((own >= _FELT) & (own >= _OWN * own.max()))]


def _slips(reading: Measured, row: Derived, known: Known, words: Words, there: There) -> list[int]:
    """Return the columns of what may be quite otherwise than planned if the builder stands by a reading.

    How truly the part was made; where a base is gauged from, how high the ground was read there.
    """
    making = _making(row, known.inputs)
    if making or reading.above:
        return making
    key = id_of(known.numbers, reading.number, words, where=reading.id)
    return [known.inputs.column(one) for one in there.ground_under(key)]


def _tested(
    readings: tuple[Measured, ...],
    rows: list[Derived],
    bare: list[Derived],
    slips: list[list[int]],
    inputs: Inputs,
) -> tuple[list[int], tuple[str, ...], tuple[Tested, ...]]:
    """Hold each reading against what went before: which are used, what is unknown, how each fared.

    The rows are what the tools would show, the bare ones the numbers without the tools' errors; slips are the
    inputs that may be quite otherwise than planned where the builder stands by a reading.
    """
    sds = inputs.sds.copy()
    used: list[int] = []
    unknown: list[str] = []
    tested = []
    for k, reading in enumerate(readings):
        repeats = next((readings[i].id for i in used if _is_repeat(readings[i], reading)), "")
        trial = [*used, k]
        stacked = dv.stack([rows[i] for i in trial])
        read = np.array([readings[i].value for i in trial])
        doubts = np.array([readings[i].sd for i in trial])
        misses = float(innovations(stacked, read, doubts, sds)[-1])
        doubt = _doubt_of_last(stacked, doubts, sds)
        holds = abs(misses) <= CONTRADICTS and not repeats
        expected = reading.value - misses * doubt
        columns = slips[k] if reading.certain and not (holds or repeats) else []
        wide = sds.copy()
        wide[columns] = np.maximum(wide[columns], UNKNOWN)
        explained = bool(columns) and abs(innovations(stacked, read, doubts, wide)[-1]) <= CONTRADICTS
        against = [] if holds or explained or repeats else [i for i in used if _alike(bare[i], bare[k], wide)]
        tested.append(
            Tested(
                reading=reading,
                foretold=expected,
                spread=_spread_before(bare[k], [rows[i] for i in used], doubts[:-1], sds),
                doubt=doubt,
                misses=misses,
                used=holds or explained,
                against=tuple(readings[i].id for i in against),
                repeats=repeats,
                may_slip=bool(slips[k]),
            )
        )
        if holds or explained:
            used.append(k)
        if explained:
            sds = wide
            unknown += [inputs.items[c].id for c in columns]
    return used, tuple(dict.fromkeys(unknown)), tuple(tested)


def _is_repeat(one: Measured, other: Measured) -> bool:
    """Tell whether two entries are one reading entered twice, word for word: it would count double.

    Not where the builder stands by the second: a coarse tool may show the same twice.
    """
    return not other.certain and (plain(one.number), plain(one.above), one.value, one.tool) == (
        plain(other.number),
        plain(other.above),
        other.value,
        other.tool,
    )


def _alike(one: Derived, other: Derived, sds: FloatArray) -> bool:
    """Tell whether two readings are of the same thing."""
    a, b = (row.padded(len(sds)).jac * sds for row in (one, other))
    return bool(abs(a @ b) >= _ALIKE * np.linalg.norm(a) * np.linalg.norm(b) > 0.0)


def _spread_before(number: Derived, earlier: list[Derived], doubts: FloatArray, sds: FloatArray) -> float:
    """Return the standard uncertainty of a number once earlier readings are known."""
    own = number.padded(len(sds)).jac * sds
    if not earlier:
        return float(np.linalg.norm(own))
    rows = dv.stack(earlier).padded(len(sds)).jac * sds
    told = np.linalg.solve(np.linalg.cholesky(rows @ rows.T + np.diag(doubts**2)), rows @ own)
    return float(np.sqrt(max(own @ own - told @ told, 0.0)))


def _doubt_of_last(stacked: Derived, doubts: FloatArray, sds: FloatArray) -> float:
    rows = stacked.padded(len(sds)).jac * sds
    return float(np.linalg.cholesky(rows @ rows.T + np.diag(doubts**2))[-1, -1])
