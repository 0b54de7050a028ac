"""Witnesses as choices: what was found once is held, and the gap is a smooth function of the inputs.

With station, body point, triangle, weights and normal held, the gap is ``n . (P - B)``, P the point of
the part and B the point of the body. At the inputs of the search this is the distance found; its
derivative is that of the least gap (envelope theorem). Where the two overlap, the witness is the contact
after the part was moved along d until free, and the signed gap is ``n . (P - B) / (n . d)`` with the part
where it stands: the travel that is missing, negative.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from spanwright.alignment.line import Line
from spanwright.clearance.freeing import Travel
from spanwright.clearance.sweep import derived_body_point
from spanwright.clearance.vehicles import Vehicle, size_shift
from spanwright.clearance.witness import Witness
from spanwright.estimation.derived import Derived, dot
from spanwright.estimation.inputs import Inputs
from spanwright.structures.shapes import Shape, point_on

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
        body_point=witness.body_point - size_shift(vehicle, witness.body_point, inputs).value,
        triangle=witness.triangle,
        weights=witness.weights,
        normal=witness.normal,
        direction=witness.normal if travel is None else travel.direction,
        travel="" if travel is None else travel.word,
        side=witness.side,
        surveyed=witness.surveyed,
    )


def held_gaps(
    line: Line, vehicle: Vehicle, pairs: list[tuple[Shape, Held]], *, inputs: Inputs
) -> list[Derived]:
    """Return the signed gap at each of many held witnesses, with derivatives, all in one go.

    Parameters
    ----------
    line : Line
        The line.
    vehicle : Vehicle
        The vehicle, with nominal sizes.
    pairs : list of (Shape, Held)
        Parts and witnesses.
    inputs : Inputs
        The base inputs.

    Returns
    -------
    list of Derived
        One scalar a pair.
    """
    gaps: dict[int, Derived] = {}
    for number, body in enumerate(vehicle.bodies):
        rows = [k for k, (_, held) in enumerate(pairs) if held.body == number]
        if not rows:
            continue
        stations = np.array([pairs[k][1].station for k in rows])
        points = np.array([pairs[k][1].body_point for k in rows])
        on_body = derived_body_point(line, body, vehicle, stations, xyz=points, inputs=inputs)
        for place, k in enumerate(rows):
            shape, held = pairs[k]
            room = dot(held.normal, point_on(shape, held.triangle, held.weights) - on_body[place])
            gaps[k] = room / float(held.normal @ held.direction)
    return [gaps[k] for k in range(len(pairs))]
