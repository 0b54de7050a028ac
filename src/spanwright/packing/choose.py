"""Which sheets at which bearing: the best of all stacks that the shelf allows, with proof.

Read in this order: :func:`stacks_of` lists every stack that can be built; :func:`choose` picks one for each
bearing so that the sum of distances from the wanted heights is least, then the number of layers (for fewer
layers the sum may grow a little, if the builder says so);
:func:`parts_to_take_out` answers where no heights at all will do.

Each stack at each bearing is a yes-or-no unknown, which keeps the relaxed problem tight: without limits and
with a full shelf its first solution is whole already. Solved by branch and cut (HiGHS, by way of SciPy).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import combinations_with_replacement
from typing import Any

import numpy as np

from spanwright.errors import NotConvergedError
from spanwright.packing.needs import Needs, Rule

FloatArray = np.ndarray

#: Sums of distances this near to each other count as equal when layers are saved. [mm]
EQUAL = 1e-5
#: A solution is proven best if nothing can be better by more than this. [mm]
PROVEN = 1e-4
#: Time for one solution; there are four at most. [s]
PATIENCE = 5.0
#: Nobody lifts a railhead so far by packing. [mm]
FAR = 100.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheets:
    """The shelf as numbers.

    Parameters
    ----------
    thickness : tuple of float
        Of each sheet. [mm]
    counts : tuple of float
        How many pieces there are of each; infinite for as many as wanted. [1]
    glue : float
        Of one glue line; every layer has one. [mm]
    layers : int
        Most layers at one bearing.
    near : float
        To save layers, the sum of distances may grow by so much for each bearing that is packed. [mm]
    """

    thickness: tuple[float, ...]
    counts: tuple[float, ...]
    glue: float
    layers: int
    near: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Choice:
    """What goes under each bearing.

    Parameters
    ----------
    stacks : tuple of (tuple of int or None)
        How many pieces of each sheet at each bearing; None where nothing is to be packed yet.
    lifts : ndarray, shape (n,)
        How far each seat then stands above its wanted height. [mm]
    total : float
        Sum of the distances from the wanted heights. [mm]
    short_by : float
        No other choice can have a sum smaller by more than this; 0 if this one is proven best. [mm]
    unsettled : float
        Limits could perhaps be missed by less, in all by so many times a limit; 0 if this is proven least.
        [1]
    missed : tuple of (Rule, float)
        Limits that could not be kept, and by how much. [mixed]
    """

    stacks: tuple[tuple[int, ...] | None, ...]
    lifts: FloatArray
    total: float
    short_by: float
    unsettled: float = 0.0
    missed: tuple[tuple[Rule, float], ...] = ()

    @property
    def is_proven(self) -> bool:
        """Whether nothing better is possible."""
        return self.short_by <= PROVEN and self.unsettled <= PROVEN


def stacks_of(sheets: Sheets) -> FloatArray:
    """List every stack that can be built at one bearing.

    Parameters
    ----------
    sheets : Sheets
        The shelf.

    Returns
    -------
    ndarray of int, shape (m, sheets)
        Pieces of each sheet; the first row is the empty stack.
    """
    kinds = len(sheets.thickness)
    rows = []
    for layers in range(sheets.layers + 1):
        for picked in combinations_with_replacement(range(kinds), layers):
            row = np.bincount(np.array(picked, dtype=int), minlength=kinds)
            if np.all(row <= np.array(sheets.counts)):
                rows.append(row)
    return np.array(rows, dtype=int)


def thicknesses(stacks: FloatArray, sheets: Sheets) -> FloatArray:
    """Return how thick stacks come out.

    Parameters
    ----------
    stacks : ndarray of int, shape (m, sheets)
        Pieces of each sheet.
    sheets : Sheets
        The shelf.

    Returns
    -------
    ndarray, shape (m,)
        Sheets and glue lines. [mm]
    """
    total: FloatArray = stacks @ (np.array(sheets.thickness) + sheets.glue)
    return total


class _Problem:
    """Columns, rows and bounds of one mixed-integer problem, gathered piece by piece."""

    def __init__(self) -> None:
        self.low: list[float] = []
        self.high: list[float] = []
        self.whole: list[int] = []
        self.rows: list[tuple[dict[int, float], float, float]] = []

    def column(self, low: float, high: float, *, whole: bool = False) -> int:
        self.low.append(low)
        self.high.append(high)
        self.whole.append(int(whole))
        return len(self.low) - 1

    def row(self, terms: dict[int, float], low: float, high: float) -> None:
        self.rows.append((terms, low, high))

    def solve(self, cost: dict[int, float], patience: float) -> Any:
        from scipy.optimize import Bounds, LinearConstraint, milp  # takes most of a second to load
        from scipy.sparse import csr_array

        c = np.zeros(len(self.low))
        c[list(cost)] = list(cost.values())
        places = [(n, k, v) for n, (terms, _, _) in enumerate(self.rows) for k, v in terms.items()]
        at = np.array([(n, k) for n, k, _ in places], dtype=int).reshape(-1, 2).T
        matrix = csr_array(
            (np.array([v for _, _, v in places]), (at[0], at[1])), shape=(len(self.rows), len(c))
        )
        within = LinearConstraint(matrix, [r[1] for r in self.rows], [r[2] for r in self.rows])
        return milp(
            c,
            integrality=np.array(self.whole),
            bounds=Bounds(np.array(self.low), np.array(self.high)),
            constraints=within,
            options={"time_limit": patience, "mip_rel_gap": 0.0},
        )


def _lift_terms(lift: list[dict[int, float]], row: FloatArray) -> dict[int, float]:
    """Put the terms of the lifts into a limit's row."""
    terms: dict[int, float] = {}
    for n in np.flatnonzero(row):
        for k, v in lift[n].items():
            terms[k] = terms.get(k, 0.0) + float(row[n]) * v
    return terms


class _Stacking:
    """The columns of the choice: stacks of the bearings that are known, free lifts of the others."""

    def __init__(self, needs: Needs, sheets: Sheets, *, widest: FloatArray) -> None:
        self.problem = _Problem()
        self.needs = needs
        self.stacks = stacks_of(sheets)
        self.thick = thicknesses(self.stacks, sheets)
        self.used: list[dict[int, float]] = [{} for _ in sheets.thickness]
        self.lift: list[dict[int, float]] = []
        self.cost: dict[int, float] = {}
        self.layers: dict[int, float] = {}
        self.chosen: list[list[tuple[int, int]] | None] = []
        self.bought: dict[int, int] = {}
        for n, need in enumerate(needs.needs):
            if need.is_known:
                self._known(float(need.wanted.value), float(widest[n]))
            else:
                self._free(float(needs.lowest[n]))
        for terms, count in zip(self.used, sheets.counts, strict=True):
            if terms and np.isfinite(count):
                self.problem.row(terms, -np.inf, count)

    def _known(self, wanted: float, widest: float) -> None:
        off = self.thick - wanted
        own = [
            (self.problem.column(0.0, 1.0, whole=True), int(c)) for c in np.flatnonzero(np.abs(off) <= widest)
        ]
        self.problem.row({k: 1.0 for k, _ in own}, 1.0, 1.0)
        self.lift.append({k: float(off[c]) for k, c in own})
        for k, c in own:
            self.cost[k] = float(abs(off[c]))
            self.layers[k] = float(self.stacks[c].sum())
            for kind in np.flatnonzero(self.stacks[c]):
                self.used[kind][k] = float(self.stacks[c][kind])
        self.chosen.append(own)

    def _free(self, lowest: float) -> None:
        up, down = self.problem.column(0.0, FAR), self.problem.column(0.0, FAR)
        self.lift.append({up: 1.0, down: -1.0})
        self.cost |= {up: 1.0, down: 1.0}
        if np.isfinite(lowest):
            self.problem.row(self.lift[-1], lowest, np.inf)
        self.chosen.append(None)

    @property
    def packed(self) -> int:
        """How many bearings are packed."""
        return sum(own is not None for own in self.chosen)

    def answer(self, x: FloatArray, *, short_by: float = 0.0, unsettled: float = 0.0) -> Choice:
        """Read the choice off a solution; heights are reckoned anew from the pieces."""
        picked: list[tuple[int, ...] | None] = []
        lifts = np.zeros(len(self.lift))
        for n, own in enumerate(self.chosen):
            if own is None:
                picked.append(None)
                lifts[n] = sum(v * x[k] for k, v in self.lift[n].items())
                continue
            column, stack = max(own, key=lambda pair: x[pair[0]])
            picked.append(tuple(int(v) for v in self.stacks[stack]))
            lifts[n] = self.lift[n][column]
        missed = tuple(
            (rule, abs(rule.value(lifts)) - rule.limit) for rule in self.needs.rules if rule.is_missed(lifts)
        )
        total = float(np.abs(lifts).sum())
        return Choice(
            stacks=tuple(picked),
            lifts=lifts,
            total=total,
            short_by=short_by if short_by > PROVEN else 0.0,
            unsettled=unsettled if unsettled > PROVEN else 0.0,
            missed=missed,
        )


def _keep(problem: _Problem, rules: tuple[Rule, ...], lift: list[dict[int, float]]) -> None:
    """Add every limit, each in units of itself."""
    for rule in rules:
        terms = {k: v / rule.limit for k, v in _lift_terms(lift, rule.row).items()}
        base = rule.base / rule.limit
        problem.row(terms, -1.0 - base, 1.0 - base)


def _nearly_keep(
    problem: _Problem, rules: tuple[Rule, ...], lift: list[dict[int, float]]
) -> dict[int, float]:
    """Add every limit with a column by which it may be missed; return those columns."""
    missed: dict[int, float] = {}
    for rule in rules:
        terms = {k: v / rule.limit for k, v in _lift_terms(lift, rule.row).items()}
        base = rule.base / rule.limit
        over = problem.column(0.0, np.inf)
        missed[over] = 1.0
        problem.row({**terms, over: 1.0}, -1.0 - base, np.inf)
        problem.row({**terms, over: -1.0}, -np.inf, 1.0 - base)
    return missed


def choose(
    needs: Needs, sheets: Sheets, *, elastic: bool = False, patience: float = PATIENCE
) -> Choice | None:
    """Choose a stack for every bearing that is known well enough.

    Bearings that are not known yet may take any height, at its distance from what is wanted.

    Parameters
    ----------
    needs : Needs
        Bearings and limits.
    sheets : Sheets
        The shelf.
    elastic : bool
        True to let limits be missed, by as little as can be in all.
    patience : float
        Time for one solution. [s]

    Returns
    -------
    Choice or None
        None if no choice keeps the limits.

    Raises
    ------
    NotConvergedError
        If nothing was found in time.
    """
    widest = np.full(len(needs.needs), np.inf) if elastic else _widest(needs)
    work = _Stacking(needs, sheets, widest=widest)
    if any(own == [] for own in work.chosen):
        return None
    least: Any = None
    if elastic:  # first miss the limits as little as can be, then come near
        missed = _nearly_keep(work.problem, needs.rules, work.lift)
        least = _solved(work.problem, missed, patience)
        if least is None:
            return None
        work.problem.row(missed, -np.inf, float(least.fun) + EQUAL)
    else:
        _keep(work.problem, needs.rules, work.lift)
    found = _solved(work.problem, work.cost, patience, instead=least)
    if found is None:
        return None
    cost = float(sum(v * found.x[k] for k, v in work.cost.items()))
    short_by = max(cost - float(found.mip_dual_bound), 0.0) if found is not least else cost
    unsettled = float(least.fun - least.mip_dual_bound) if elastic else 0.0
    if short_by > PROVEN or unsettled > PROVEN:
        return work.answer(found.x, short_by=short_by, unsettled=unsettled)
    if not work.layers:
        return work.answer(found.x)
    return work.answer(_fewer_layers(work, found, cost + sheets.near * work.packed, patience))


def _fewer_layers(work: _Stacking, found: Any, most: float, patience: float) -> FloatArray:
    """Return the solution with the fewest layers of those whose sum is near enough, of these the nearest."""
    work.problem.row(work.cost, -np.inf, most + EQUAL)
    fewest = _solved(work.problem, work.layers, patience, instead=found)
    if fewest is None or fewest is found:
        return np.asarray(found.x)
    layers = sum(v * fewest.x[k] for k, v in work.layers.items())
    work.problem.row(work.layers, -np.inf, round(layers))
    nearest = _solved(work.problem, work.cost, patience, instead=fewest)
    return np.asarray(fewest.x if nearest is None else nearest.x)


def pieces_short(needs: Needs, sheets: Sheets, *, patience: float = PATIENCE) -> tuple[int, ...] | None:
    """Say how many more pieces of each sheet would let every limit be kept, fewest in all.

    Parameters
    ----------
    needs : Needs
        Bearings and limits.
    sheets : Sheets
        The shelf, which is too small.
    patience : float
        Time for the solution. [s]

    Returns
    -------
    tuple of int, or None
        Of each sheet; None if no number of pieces would do, or none was found in time.
    """
    more = replace(sheets, counts=tuple(np.inf for _ in sheets.counts))
    work = _Stacking(needs, more, widest=_widest(needs))
    if any(own == [] for own in work.chosen):
        return None
    _keep(work.problem, needs.rules, work.lift)
    extra = {}
    for kind, (terms, count) in enumerate(zip(work.used, sheets.counts, strict=True)):
        if np.isfinite(count):
            column = work.problem.column(0.0, np.inf, whole=True)
            extra[column] = 1.0
            work.problem.row({**terms, column: -1.0}, -np.inf, count)
            work.bought[kind] = column
    try:
        found = _solved(work.problem, extra, patience)
    except NotConvergedError:
        return None
    if found is None:
        return None
    return tuple(
        round(float(found.x[work.bought[kind]])) if kind in work.bought else 0
        for kind in range(len(sheets.counts))
    )


def _widest(needs: Needs) -> FloatArray:
    """Return how far each bearing may be off by its own limit: other stacks need not be looked at."""
    widest = np.full(len(needs.needs), np.inf)
    for rule in needs.rules:
        if np.count_nonzero(rule.row) == 1:
            n = int(np.flatnonzero(rule.row)[0])
            widest[n] = rule.limit / abs(rule.row[n]) + EQUAL
    return widest


def _solved(problem: _Problem, cost: dict[int, float], patience: float, *, instead: Any = None) -> Any:
    """Return a solution, or what is to stand instead if none is found in time; None if there is none."""
    found = problem.solve(cost, patience)
    if found.status == 2:
        return None
    if found.x is None and instead is None:
        raise NotConvergedError(
            "no packing was found in time",
            code="PK001",
            where="packing",
            value=found.message,
            hint="Fewer sheets on the shelf, or fewer layers",
        )
    return instead if found.x is None else found


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TakenOut:
    """What must be taken out so that the railhead can keep its limits.

    Parameters
    ----------
    supports : tuple of str
        Fewest that will do; empty if even all of them would not.
    lifts : ndarray, shape (n,)
        Of the bearings, with as little taken off as can be. [mm]
    """

    supports: tuple[str, ...]
    lifts: FloatArray


def parts_to_take_out(needs: Needs, *, patience: float = PATIENCE) -> TakenOut:
    """Name the fewest supports, and of those the least, that stand too high for any railhead.

    A support that is taken out can be made again to any height.

    Parameters
    ----------
    needs : Needs
        Bearings and limits that no railhead keeps.
    patience : float
        Time for one solution. [s]

    Returns
    -------
    TakenOut
        Supports by name.

    Raises
    ------
    NotConvergedError
        If nothing was found in time.
    """
    problem = _Problem()
    out = {name: problem.column(0.0, 1.0, whole=True) for name in needs.supports}
    lift: list[dict[int, float]] = []
    taken: dict[int, float] = {}
    for n, need in enumerate(needs.needs):
        e = problem.column(-FAR, FAR)
        lift.append({e: 1.0})
        if np.isfinite(needs.lowest[n]):
            off = problem.column(0.0, 2.0 * FAR)
            taken[off] = 1.0
            problem.row({e: 1.0, off: 1.0}, float(needs.lowest[n]), np.inf)
            problem.row({off: 1.0, out[need.support]: -2.0 * FAR}, -np.inf, 0.0)
    _keep(problem, needs.rules, lift)
    fewest = _solved(problem, dict.fromkeys(out.values(), 1.0), patience)
    if fewest is None:
        return TakenOut(supports=(), lifts=np.zeros(len(needs.needs)))
    problem.row(dict.fromkeys(out.values(), 1.0), -np.inf, round(float(fewest.fun)))
    least = _solved(problem, taken, patience)
    found = fewest if least is None else least
    names = tuple(name for name, k in out.items() if found.x[k] > 0.5)
    return TakenOut(supports=names, lifts=np.array([found.x[next(iter(t))] for t in lift]))
