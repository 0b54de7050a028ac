"""Trucks between the outer two of a body: how far they must slide to stay on the track.

The outer trucks place the body. A truck between them is on the track wherever the body is, so it must be
free to slide sideways under the body: by the versine of the line over the outer truck centres, less that of
its own wheelbase. On an arc that is about ``a b / 2R`` for distances a and b to the outer trucks. A truck
that cannot slide so far lifts off, or pushes the others off.

Read :func:`following_findings` first.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from spanwright.alignment.line import Line
from spanwright.clearance.sweep import derived_half, derived_trucks, poses, truck_centre
from spanwright.clearance.vehicles import Body, Vehicle, sized, truck_spacing
from spanwright.errors import NotConvergedError
from spanwright.estimation import derived as dv
from spanwright.estimation.derived import Derived
from spanwright.estimation.inputs import Inputs
from spanwright.findings import Finding, Severity

FloatArray = np.ndarray

_STEP = 1.0  # mm between poses that are looked at; a slide grows over half a truck spacing
_ROUNDS = 20
_DONE = 1e-9  # mm


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Slide:
    """Where a truck between the outer two must slide furthest.

    Parameters
    ----------
    body : Body
        The body.
    number : int
        Which of the trucks between, from the rear, counted from 0. [1]
    station : float
        Station of that truck. [mm]
    slide : Derived
        To the left of the middle of the body.
    """

    body: Body
    number: int
    station: float
    slide: Derived


def slides(line: Line, body: Body, s: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return how far the trucks between the outer two stand off the middle of the body.

    Parameters
    ----------
    line : Line
        The line.
    body : Body
        The body.
    s : ndarray, shape (n,)
        Pose stations. [mm]

    Returns
    -------
    stations : ndarray, shape (n, m)
        Stations of the trucks between, from the rear. [mm]
    aside : ndarray, shape (n, m)
        To the left of the middle of the body. [mm]

    Raises
    ------
    NotConvergedError
        If a truck finds no place beside its pivot.
    """
    at = poses(line, body, s)
    forward = at.axes[:, 0]
    level = np.column_stack([-forward[:, 1], forward[:, 0]]) / np.hypot(*forward[:, :2].T)[:, None]
    stations, aside = np.empty((len(s), len(body.between))), np.empty((len(s), len(body.between)))
    for k, offset in enumerate(body.between):
        t, move = at.station + offset, np.full(len(s), np.inf)
        for _ in range(_ROUNDS):
            centre, slope = truck_centre(line, t, body.truck_wheelbase)
            move = (np.sum((centre - at.origin) * forward, axis=1) - offset) / np.sum(slope * forward, axis=1)
            if not np.max(np.abs(move)) > _DONE:
                break
            t = t - move
        else:
            raise NotConvergedError(
                "a truck between the outer two finds no place on the line",
                code="CL026",
                where=f"{line.name}, {body.name}",
                value=float(np.max(np.abs(move))),
                limit=f"{_DONE:g} mm",
                hint="Are the trucks further apart than the curve allows?",
            )
        stations[:, k] = t
        aside[:, k] = np.sum((centre - at.origin)[:, :2] * level, axis=1)
    return stations, aside


def worst_slides(line: Line, vehicle: Vehicle, inputs: Inputs) -> tuple[Slide, ...]:
    """Return the furthest slide of each truck between the outer two, on the surveyed line.

    Parameters
    ----------
    line : Line
        The line.
    vehicle : Vehicle
        The vehicle, with nominal sizes.
    inputs : Inputs
        The base inputs.

    Returns
    -------
    tuple of Slide
        By body, then from the rear; none for a vehicle on two trucks.
    """
    low, high = line.surveyed
    found = []
    for body, now in zip(vehicle.bodies, sized(vehicle, inputs).bodies, strict=True):
        if not body.between:
            continue
        s = np.linspace(low, high, max(2, int(np.ceil((high - low) / _STEP)) + 1))
        stations, aside = slides(line, now, s)
        for k in range(len(body.between)):
            worst = int(np.argmax(np.abs(aside[:, k])))
            slide = derived_slide(line, vehicle, body, s[worst], number=k, inputs=inputs)
            found.append(Slide(body=body, number=k, station=float(stations[worst, k]), slide=slide))
    return tuple(found)


def derived_slide(
    line: Line, vehicle: Vehicle, body: Body, s: float, *, number: int, inputs: Inputs
) -> Derived:
    """Return the slide of one truck at one pose with derivatives, the pose station held.

    Parameters
    ----------
    line : Line
        The line.
    vehicle : Vehicle
        The vehicle, which names the inputs of the size errors.
    body : Body
        The body, with nominal sizes.
    s : float
        Pose station. [mm]
    number : int
        Which of the trucks between, from the rear, counted from 0. [1]
    inputs : Inputs
        The base inputs.

    Returns
    -------
    Derived
        Scalar, to the left of the middle of the body. The truck's place along the body is held.
    """
    at, wide = np.array([s]), body.truck_wheelbase
    half = derived_half(line, body, truck_spacing(vehicle, body, inputs), at)
    ahead, behind = derived_trucks(line, half + at, wide)[0], derived_trucks(line, at - half, wide)[0]
    chord, origin = ahead - behind, (ahead + behind) * 0.5
    square = chord * chord
    forward = chord / dv.sqrt(square[0] + square[1] + square[2])
    stations, _ = slides(line, sized(vehicle, inputs).bodies[vehicle.bodies.index(body)], at)
    t = stations[:, number]
    held = derived_trucks(line, dv.constant(t, len(inputs)), wide)[0]
    along = (held - origin) * forward
    slope = truck_centre(line, t, wide)[1]
    ahead_of = along[0] + along[1] + along[2]
    pace = np.sum(slope * forward.value.T, axis=1)
    centre = derived_trucks(line, Derived(t, -ahead_of.jac / pace[:, None]), wide)[0]
    off = centre - origin
    level = dv.sqrt(chord[0] * chord[0] + chord[1] * chord[1])
    return ((off[1] * chord[0] - off[0] * chord[1]) / level)[0]


def following_findings(line: Line, vehicle: Vehicle, inputs: Inputs, *, k: float) -> tuple[Finding, ...]:
    """Return what is to be said of the trucks between the outer two on a line.

    Parameters
    ----------
    line : Line
        The line.
    vehicle : Vehicle
        The vehicle.
    inputs : Inputs
        The base inputs.
    k : float
        Coverage factor. [1]

    Returns
    -------
    tuple of Finding
        A note on how far each must slide where the play is not stated; a warning where the play that is
        stated is too little, or may be; nothing where it is enough.
    """
    told = []
    for one in worst_slides(line, vehicle, inputs):
        need, doubt = abs(float(one.slide.value)), k * float(one.slide.sd(inputs.spread))
        play = one.body.between_play
        if play is not None and need + doubt <= play:
            continue
        text = (
            f"{_which(one, vehicle)} must slide {need:.2f} ± {doubt:.2f} mm to one side where {line.name} is"
            f" tightest for it, {one.station:.0f} mm along"
        )
        remedy = "Measure how far it can slide to each side and enter it as middle_play"
        if play is not None:
            word = "it has" if need - doubt > play else "not proven that it can: it has"
            text += f"; {word} {play:.2f} mm"
            remedy = "Give it more play, or keep the vehicle off this line"
        told.append(
            Finding(
                code="CL108",
                severity=Severity.NOTE if play is None else Severity.WARNING,
                where=vehicle.id,
                text=text,
                value=need,
                limit=play,
                remedy=remedy,
            )
        )
    return tuple(told)


def _which(one: Slide, vehicle: Vehicle) -> str:
    of = f" of {one.body.name}" if len(vehicle.bodies) > 1 else ""
    if len(one.body.between) == 1:
        return f"the middle truck{of}"
    return f"truck {one.number + 2} of {len(one.body.between) + 2}{of}"
