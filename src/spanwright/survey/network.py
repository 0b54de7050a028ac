"""From marks and readings to a least-squares problem: which unknowns, which equations, which datum.

Unknowns are ``mark.x``, ``mark.y``, ``mark.z`` where a reading asks for them, ``mark.c`` (cant) where
a cross level was read, and one for each tool error that several readings share. A shared error is
also observed: as nil, with its own doubt.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import pi

import numpy as np

from spanwright.errors import InputError
from spanwright.estimation import derived as dv
from spanwright.estimation import jets
from spanwright.estimation.adjust import Batch, Problem
from spanwright.estimation.derived import Derived
from spanwright.estimation.inputs import Inputs
from spanwright.estimation.jets import Jet
from spanwright.survey.equations import ANGULAR, AXES, EQUATIONS
from spanwright.survey.readings import DatumKind, Kind, Reading, SurveyInput

FloatArray = np.ndarray

ANGLES = frozenset({Kind.ANGLE, Kind.BEARING, Kind.LEVEL_ANGLE, Kind.CROSS_LEVEL_ANGLE})


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Network:
    """Which unknown is which, and what was observed.

    Parameters
    ----------
    names : tuple of str
        Names of the unknowns: ``mark.axis`` or the id of a shared error.
    readings : tuple of Reading
        The readings in use, in the order of the observations.
    shared : tuple of str
        Shared errors, observed as nil after the readings.
    observed : Derived
        What was read, brought to the marks' own surfaces, shape (n,).
    sds : ndarray, shape (n,)
        Standard uncertainties of what was read. [any]
    free : ndarray, shape (u,)
        True for the unknowns that the datum does not hold. [1]
    held : ndarray, shape (u,)
        Values of those it holds; 0 elsewhere. [mm]
    """

    names: tuple[str, ...]
    readings: tuple[Reading, ...]
    shared: tuple[str, ...]
    observed: Derived
    sds: FloatArray
    free: FloatArray
    held: FloatArray


def _needs(reading: Reading) -> list[str]:
    return [f"{m}.{axis}" for m, axes in zip(reading.marks, AXES[reading.kind], strict=True) for axis in axes]


def _known(given: SurveyInput) -> None:
    names = {mark.name for mark in given.marks}
    ids: set[str] = set()
    for reading in given.readings:
        if reading.id in ids:
            raise InputError("two readings have the same id", code="SU001", where=reading.id)
        ids.add(reading.id)
        if len(reading.marks) != len(AXES[reading.kind]):
            raise InputError(
                f"a {reading.kind.value} names {len(AXES[reading.kind])} marks",
                code="SU002",
                where=reading.id,
                value=", ".join(reading.marks),
            )
        for mark in reading.marks:
            if mark not in names:
                raise InputError(
                    "there is no mark of this name",
                    code="SU003",
                    where=reading.id,
                    value=mark,
                    hint="List it under marks or mend the name",
                )
        if len(set(reading.marks)) != len(reading.marks):
            raise InputError(
                "a reading names the same mark twice", code="SU004", where=reading.id, value=reading.marks[0]
            )


def build_network(given: SurveyInput, inputs: Inputs) -> Network:
    """List unknowns and observations, and apply the datum.

    Parameters
    ----------
    given : SurveyInput
        Marks, readings, datum.
    inputs : Inputs
        Base inputs; holds the readings' values and doubts.

    Returns
    -------
    Network
        Ready for :func:`build_problem`.

    Raises
    ------
    InputError
        If a reading names a mark that is not there, or the datum does.
    """
    _known(given)
    readings = tuple(r for r in given.readings if r.id not in given.set_aside)
    if not readings:
        raise InputError(
            "there are no readings", code="SU005", where="survey", hint="Enter what was measured"
        )
    shared = tuple(s for s in given.shared if any(s in (r.scale, r.zero) for r in readings))
    names = list(dict.fromkeys(name for r in readings for name in _needs(r)))
    held_values = _datum(given, names)
    for name in held_values:
        if name not in names:
            names.append(name)
    order = {mark.name: k for k, mark in enumerate(given.marks)}
    names.sort(key=lambda n: (order[n.rpartition(".")[0]], n.rpartition(".")[2]))
    names += list(shared)
    rows = []
    for r in readings:
        value = inputs.derived(r.id)
        for key, factor in r.drops:
            value = value + inputs.derived(key) * factor
        rows.append(value)
    rows += [inputs.derived(s) for s in shared]
    observed = dv.stack(rows)
    sds = observed.sd(inputs.sds)
    for r, sd in zip(readings, sds, strict=False):
        if not sd > 0:
            raise InputError("a reading needs a doubt above nil", code="SU006", where=r.id, value=float(sd))
    free = np.array([n not in held_values for n in names])
    held = np.array([held_values.get(n, 0.0) for n in names])
    return Network(
        names=tuple(names), readings=readings, shared=shared, observed=observed, sds=sds, free=free, held=held
    )


def _datum(given: SurveyInput, names: list[str]) -> dict[str, float]:
    """Return what the datum holds, by unknown."""
    datum = given.datum
    marks = {mark.name for mark in given.marks}
    axes = {n.rpartition(".")[2] for n in names}
    plan, heights = bool(axes & {"x", "y"}), "z" in axes
    wanted: list[tuple[str, str, float]] = []
    if datum.kind is DatumKind.FIXED:
        wanted = list(datum.fixed)
        held = {axis for _, axis, _ in wanted}
        if plan and not held & {"x", "y"}:
            raise InputError("the datum holds no place in plan", code="SU007", where="datum")
        if heights and "z" not in held:
            raise InputError("the datum holds no height", code="SU008", where="datum")
    elif datum.kind is DatumKind.MINIMAL:
        places = [(datum.at, "x", 0.0), (datum.at, "y", 0.0), (datum.towards, "y", 0.0)]
        wanted = (places if plan else []) + ([(datum.height, "z", 0.0)] if heights else [])
    else:
        _check_free(given, names)
    for mark, _, _ in wanted:
        if mark not in marks:
            raise InputError(
                "the datum names a mark that is not there",
                code="SU009",
                where="datum",
                value=mark or "(nothing)",
                hint="Name a mark that is listed under marks",
            )
    if datum.kind is DatumKind.MINIMAL and plan and datum.at == datum.towards:
        raise InputError("the datum needs two different marks", code="SU010", where="datum", value=datum.at)
    return {f"{mark}.{axis}": value for mark, axis, value in wanted}


#: Readings that know a direction of the frame, or a place in it.
FRAMED = frozenset(
    {
        Kind.BEARING,
        Kind.COORDINATE_X,
        Kind.COORDINATE_Y,
        Kind.COORDINATE_Z,
        Kind.PLUMB_X,
        Kind.PLUMB_Y,
    }
)


def _check_free(given: SurveyInput, names: list[str]) -> None:
    """Refuse a free datum where the readings or the missing rough places contradict it."""
    if any(r.kind in FRAMED for r in given.readings):
        raise InputError(
            "a free datum cannot be used with bearings, coordinates or plumbs",
            code="SU011",
            where="datum",
            hint="Choose a minimal or a fixed datum",
        )
    rough = {mark.name for mark in given.marks if mark.rough is not None}
    placed = {n.rpartition(".")[0] for n in names if n.endswith((".x", ".y"))}
    if placed - rough:
        raise InputError(
            "a free datum needs a rough place for every mark: they are its frame",
            code="SU012",
            where="datum",
            value=", ".join(sorted(placed - rough)),
            hint="Give rough places, or choose a minimal datum",
        )


def _equation(kind: Kind, reach: FloatArray, rails: FloatArray) -> Callable[[list[Jet]], Jet]:
    if kind is Kind.CROSS_LEVEL_ANGLE:
        return lambda q: jets.arcsin(q[0] / rails)
    if kind is Kind.CROSS_LEVEL_FEELER:
        return lambda q: q[0] * (reach / rails)
    return EQUATIONS[kind]


def _with_tool(
    equation: Callable[[list[Jet]], Jet], *, scaled: bool, zeroed: bool
) -> Callable[[list[Jet]], Jet]:
    """Return what the tool shows: ``true (1 + scale) + zero``."""
    extra = int(scaled) + int(zeroed)

    def shown(q: list[Jet]) -> Jet:
        true = equation(q[: len(q) - extra])
        if scaled:
            true = true + true * q[len(q) - extra]
        return true + q[-1] if zeroed else true

    return shown if extra else equation


def build_problem(network: Network, start: FloatArray) -> Problem:
    """Turn a network into a least-squares problem.

    Parameters
    ----------
    network : Network
        Unknowns and observations.
    start : ndarray, shape (u,)
        Rough values of all unknowns. [any]

    Returns
    -------
    Problem
        For :func:`spanwright.estimation.adjust.adjust`.
    """
    index = {name: k for k, name in enumerate(network.names)}
    groups: dict[tuple[Kind, bool, bool], list[int]] = {}
    for row, r in enumerate(network.readings):
        groups.setdefault((r.kind, bool(r.scale), bool(r.zero)), []).append(row)
    batches = []
    for (kind, scaled, zeroed), rows in groups.items():
        members = [network.readings[row] for row in rows]
        unknowns = []
        for r in members:
            local = _needs(r) + ([r.scale] if scaled else []) + ([r.zero] if zeroed else [])
            unknowns.append([index[name] for name in local])
        equation = _equation(
            kind, np.array([r.reach for r in members]), np.array([r.rail_distance for r in members])
        )
        batches.append(
            Batch(
                rows=np.array(rows),
                unknowns=np.array(unknowns),
                function=_with_tool(equation, scaled=scaled, zeroed=zeroed),
                turn=2.0 * pi if kind in ANGULAR else 0.0,
            )
        )
    count = len(network.readings)
    if network.shared:
        batches.append(
            Batch(
                rows=np.arange(count, count + len(network.shared)),
                unknowns=np.array([[index[s]] for s in network.shared]),
                function=EQUATIONS[Kind.COORDINATE_X],
            )
        )
    return Problem(
        start=np.where(network.free, start, network.held),
        free=network.free,
        batches=tuple(batches),
        observed=network.observed.value,
        sds=network.sds,
        names=tuple(n.rpartition(".")[0] if "." in n else n for n in network.names),
        constraints=np.zeros((len(network.names), 0)),
    )


def centred_heights(network: Network, values: FloatArray) -> FloatArray:
    """Return the same values with heights about a mean of nought: the height frame of a free net.

    Parameters
    ----------
    network : Network
        The net.
    values : ndarray, shape (u,)
        Rough values of all unknowns. [any]

    Returns
    -------
    ndarray, shape (u,)
        With centred heights. [any]
    """
    heights = np.array([n.endswith(".z") for n in network.names])
    centred = values.copy()
    if heights.any():
        centred[heights] -= centred[heights].mean()
    return centred


def inner_constraints(network: Network, values: FloatArray) -> FloatArray:
    """Return the directions that a free net must not move in: shifts, turn, common height.

    Parameters
    ----------
    network : Network
        The net.
    values : ndarray, shape (u,)
        Rough values of all unknowns. [any]

    Returns
    -------
    ndarray, shape (u, d)
        One column a freedom. [any]

    Notes
    -----
    Helmert's inner constraints; W. F. Caspary, *Concepts of Network and Deformation Analysis*,
    University of New South Wales, 1987, ch. 3 (title and chapter from memory).
    """
    axes = np.array([n.rpartition(".")[2] if "." in n else "" for n in network.names])
    marks = [n.rpartition(".")[0] for n in network.names]
    columns = []
    if (axes == "x").any():
        columns += [(axes == "x").astype(float), (axes == "y").astype(float)]
        at = dict(zip(network.names, values, strict=True))
        cx, cy = values[axes == "x"].mean(), values[axes == "y"].mean()
        turn = np.zeros(len(axes))
        for k, mark in enumerate(marks):
            if axes[k] == "x":
                turn[k] = -(at.get(f"{mark}.y", cy) - cy)
            elif axes[k] == "y":
                turn[k] = at.get(f"{mark}.x", cx) - cx
        columns.append(turn)
    if (axes == "z").any():
        columns.append((axes == "z").astype(float))
    return np.column_stack(columns)
