"""Witnesses as choices: what was found once is held, and the gap is a smooth function of the inputs.

With station, body point, triangle, weights and normal held, the gap is ``n . (P - B)``, P the point of
the part and B the point of the body. At the inputs of the search this is the distance found; its
derivative is that of the least gap (envelope theorem). Where the two overlap, the witness is the contact
after the part was moved along d until free, and the signed gap is ``n . (P - B) / (n . d)`` with the part
where it stands: the travel that is missing, negative.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from spanwright.alignment.line import Line
from spanwright.clearance.engine.levers import levers, numbers_of
from spanwright.clearance.freeing import Travel
from spanwright.clearance.sweep import Poses, body_points, poses
from spanwright.clearance.vehicles import Vehicle, VehicleInputs, size_factors
from spanwright.clearance.witness import Witness
from spanwright.estimation.derived import Derived
from spanwright.estimation.inputs import Inputs
from spanwright.structures.shapes import Shape

FloatArray = np.ndarray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Held:
    """One witness that is held.

    Parameters
    ----------
    body : int
        Number of the body in its vehicle.
    prism : int
        Number of the prism in its body.
    station : float
        Pose station. [mm]
    body_point : ndarray, shape (3,)
        Point of the body in its frame, by nominal sizes. [mm]
    triangle : int
        Triangle of the part.
    weights : ndarray, shape (3,)
        Barycentric weights of the part's point. [1]
    normal : ndarray, shape (3,)
        From body to part. [1]
    direction : ndarray, shape (3,)
        Travel that frees the part; equal to the normal where they do not overlap. [1]
    travel : str
        up, left or right where they overlap; empty where they do not.
    side : str
        Side of the body.
    surveyed : bool
        Whether the whole body is on surveyed track.
    """

    body: int
    prism: int
    station: float
    body_point: FloatArray
    triangle: int
    weights: FloatArray
    normal: FloatArray
    direction: FloatArray
    travel: str
    side: str
    surveyed: bool


def hold(witness: Witness, vehicle: Vehicle, inputs: Inputs, *, travel: Travel | None = None) -> Held:
    """Return a witness as a choice.

    Parameters
    ----------
    witness : Witness
        From the search with the sizes at their present values.
    vehicle : Vehicle
        The vehicle.
    inputs : Inputs
        The base inputs.
    travel : Travel, optional
        The travel that led to this contact, where they overlap.

    Returns
    -------
    Held
        The body point counts from nominal sizes.
    """
    return Held(
        body=witness.body,
        prism=witness.prism,
        station=witness.station,
        body_point=witness.body_point - _shift(vehicle, witness.body_point, inputs),
        triangle=witness.triangle,
        weights=witness.weights,
        normal=witness.normal,
        direction=witness.normal if travel is None else travel.direction,
        travel="" if travel is None else travel.word,
        side=witness.side,
        surveyed=witness.surveyed,
    )


def held_gaps(
    line: Line, vehicles: Sequence[tuple[Vehicle, list[tuple[Shape, Held]]]], *, inputs: Inputs
) -> Iterator[Derived]:
    """Return the signed gaps at the held witnesses of many vehicles on one line, with derivatives.

    Parameters
    ----------
    line : Line
        The line.
    vehicles : sequence of (Vehicle, list of (Shape, Held))
        Vehicles with nominal sizes, each with parts and witnesses.
    inputs : Inputs
        The base inputs.

    Yields
    ------
    Derived
        One a vehicle: an array of as many gaps as it has pairs.
    """
    pairs = [(vehicle, shape, held) for vehicle, own in vehicles for shape, held in own]
    if not pairs:
        yield from (Derived(np.zeros(0), np.zeros((0, len(inputs)))) for _ in vehicles)
        return
    gaps = _reckon(line, pairs, inputs)
    start = 0
    for vehicle, own in vehicles:
        rows = slice(start, start + len(own))
        start = rows.stop
        jac = np.zeros((len(own), len(inputs)))
        jac[:, gaps.columns] = gaps.jac[rows]
        names = vehicle.size_inputs
        for key, by in zip((*_sizes(names), names.trucks), gaps.by_size[rows].T, strict=True):
            if key:
                jac[:, inputs.column(key)] += by
        yield Derived(gaps.value[rows], jac)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Gaps:
    """Gaps with their derivatives to the inputs that lines and parts know of, and to the vehicle's sizes."""

    value: FloatArray
    columns: np.ndarray
    jac: FloatArray
    by_size: FloatArray


def _reckon(line: Line, pairs: list[tuple[Vehicle, Shape, Held]], inputs: Inputs) -> _Gaps:
    normal = np.array([held.normal for _, _, held in pairs])
    square = np.einsum("ni,ni->n", normal, np.array([held.direction for _, _, held in pairs]))
    at, sizes, xyz = _stand(line, pairs, inputs)
    found = levers(line, at, sizes, xyz=xyz, along=normal)
    value = -np.einsum("ni,ni->n", normal, body_points(at, xyz))
    lines = numbers_of(line, inputs)
    parts = _by_part(pairs)
    known = np.any(lines != 0.0, axis=0)
    for shape in parts:
        known[: shape.controls.jac.shape[1]] |= np.any(shape.controls.jac != 0.0, axis=0)
    columns = np.flatnonzero(known)
    jac = -found.by_line @ lines[:, columns]
    for shape, rows in parts.items():
        weights = np.array([pairs[k][2].weights for k in rows])
        corners = shape.triangles[[pairs[k][2].triangle for k in rows]]
        value[rows] += np.einsum("nc,nci,ni->n", weights, shape.vertices[corners], normal[rows])
        by_controls = np.einsum("nc,ncim,ni->nm", weights, shape.sensitivity[corners], normal[rows])
        jac[rows] += by_controls @ shape.controls.padded(len(inputs)).jac[:, columns]
    nominal = np.array([held.body_point for _, _, held in pairs])
    by_size = np.column_stack([found.by_point * size_factors(nominal), found.by_spacing])
    return _Gaps(
        value=value / square,
        columns=columns,
        jac=jac / square[:, None],
        by_size=-by_size / square[:, None],
    )


def _stand(
    line: Line, pairs: list[tuple[Vehicle, Shape, Held]], inputs: Inputs
) -> tuple[Poses, FloatArray, FloatArray]:
    """Poses at all witnesses, truck spacings and wheelbases, and body points with present sizes."""
    n = len(pairs)
    half, origin, axes = np.empty(n), np.empty((n, 3)), np.empty((n, 3, 3))
    sizes = np.empty((n, 2))
    station = np.array([held.station for _, _, held in pairs])
    xyz = np.array([held.body_point for _, _, held in pairs])
    alike: dict[tuple[Vehicle, int], list[int]] = {}
    for k, (vehicle, _, held) in enumerate(pairs):
        alike.setdefault((vehicle, held.body), []).append(k)
    for (vehicle, number), rows in alike.items():
        body = vehicle.bodies[number]
        body = replace(body, truck_spacing=body.truck_spacing + _error(inputs, vehicle.size_inputs.trucks))
        at = poses(line, body, station[rows])
        half[rows], origin[rows], axes[rows] = at.half, at.origin, at.axes
        sizes[rows] = body.truck_spacing, body.truck_wheelbase
        xyz[rows] += _shift(vehicle, xyz[rows], inputs)
    return Poses(station=station, half=half, origin=origin, axes=axes), sizes, xyz


def _by_part(pairs: list[tuple[Vehicle, Shape, Held]]) -> dict[Shape, list[int]]:
    parts: dict[Shape, list[int]] = {}
    for k, (_, shape, _) in enumerate(pairs):
        parts.setdefault(shape, []).append(k)
    return parts


def _sizes(names: VehicleInputs) -> tuple[str, str, str]:
    return names.length, names.width, names.height


def _error(inputs: Inputs, key: str) -> float:
    return inputs[key].value if key else 0.0


def _shift(vehicle: Vehicle, xyz: FloatArray, inputs: Inputs) -> FloatArray:
    return size_factors(xyz) * [_error(inputs, key) for key in _sizes(vehicle.size_inputs)]
