"""What a search takes and gives: settings, prepared poses, witnesses."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from spanwright.alignment.line import Line, position_at
from spanwright.clearance.engine.motion import Grid
from spanwright.clearance.vehicles import Body, Piece, Vehicle
from spanwright.errors import InputError
from spanwright.structures.shapes import Shape

FloatArray = np.ndarray
BoolArray = np.ndarray


@dataclass(frozen=True, slots=True, kw_only=True)
class SearchSettings:
    """How exact and how far a search looks.

    Parameters
    ----------
    tolerance : float
        A gap reported is never larger than the true one by more than this. [mm]
    reach : float
        Gaps beyond this are only said to be beyond it. [mm]
    also_within : float
        Further distinct witnesses are kept up to this above the least gap; 0 keeps none. [mm]
    """

    tolerance: float = 0.005
    reach: float = 25.0
    also_within: float = 0.0

    def __post_init__(self) -> None:
        if not (self.tolerance > 0 and self.reach > 0 and self.also_within >= 0):
            raise InputError(
                "a setting of the search is not positive",
                code="CL011",
                where="search settings",
                value=(self.tolerance, self.reach, self.also_within),
                limit="more than 0",
                hint="0.005 mm and 25 mm do for most jobs",
            )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Witness:
    """Where a vehicle comes closest to a part.

    Parameters
    ----------
    part : str
        The part's id.
    vehicle : str
        The vehicle's id.
    body : int
        Number of the body in its vehicle.
    prism : int
        Number of the prism in its body.
    station : float
        Pose station. [mm]
    gap : float
        Least distance; 0 where they overlap; the reach where it is beyond it. [mm]
    body_point : ndarray, shape (3,)
        Closest point of the body (play included) in its frame. [mm]
    part_point : ndarray, shape (3,)
        Closest point of the part in the layout frame. [mm]
    triangle : int
        Triangle of the part; -1 when beyond reach.
    weights : ndarray, shape (3,)
        Barycentric weights of the point in it. [1]
    normal : ndarray, shape (3,)
        From the body to the part, unit length; zero where they overlap. [1]
    side : str
        Which side of the body: left, right, above, below, ahead or behind.
    surveyed : bool
        False if a truck or an end of the body is beyond the surveyed part of the line.
    beyond_reach : bool
        True if the gap is only known to be more than the reach.
    """

    part: str
    vehicle: str
    body: int
    prism: int
    station: float
    gap: float
    body_point: FloatArray
    part_point: FloatArray
    triangle: int
    weights: FloatArray
    normal: FloatArray
    side: str
    surveyed: bool
    beyond_reach: bool


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Prepared:
    """What all searches of one vehicle on one line share.

    Parameters
    ----------
    line : Line
        The line.
    vehicle : Vehicle
        The vehicle.
    pieces : tuple of tuple of Piece
        Convex pieces of each body, grown by play.
    grids : tuple of Grid
        Poses of each body.
    settings : SearchSettings
        How exact and how far.
    """

    line: Line
    vehicle: Vehicle
    pieces: tuple[tuple[Piece, ...], ...]
    grids: tuple[Grid, ...]
    settings: SearchSettings


def side_of(direction: FloatArray) -> str:
    """Return the word for a direction in the body frame.

    Parameters
    ----------
    direction : ndarray, shape (3,)
        Forward, left, up. [1]

    Returns
    -------
    str
        left, right, above, below, ahead or behind: the largest component.
    """
    axis = int(np.argmax(np.abs(direction)))
    return (("behind", "ahead"), ("right", "left"), ("below", "above"))[axis][int(direction[axis] > 0)]


def is_surveyed(line: Line, body: Body, s: FloatArray) -> BoolArray:
    """Return whether both trucks and both ends of a body are on the surveyed part of the line.

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
    ndarray of bool, shape (n,)
        True where all of it is.
    """
    trucks = 0.5 * (body.truck_spacing + body.truck_wheelbase)
    first, last = s + min(body.rear, -trucks), s + max(body.front, trucks)
    return (first >= line.surveyed[0]) & (last <= line.surveyed[1])


def stands_beyond(line: Line, vehicle: Vehicle, shape: Shape, reach: float) -> bool:
    """Return whether a part stands where trains run on ground that was not surveyed.

    Nobody knows how the line goes on beyond its last mark. A part is beside such ground where one of
    its corners lies past an end and within reach of the line's straight continuation, or where its
    nearest corner lies past an end and within a body's length of it.

    Parameters
    ----------
    line : Line
        The line.
    vehicle : Vehicle
        The vehicle.
    shape : Shape
        The part.
    reach : float
        Gaps beyond this do not matter. [mm]

    Returns
    -------
    bool
        True where a gap cannot be called surveyed.
    """
    if not _reaches_past(line, shape):
        return False
    (at, ahead), plan = _ends(line), shape.vertices[:, :2]
    past = np.einsum("vek,ek->ev", plan[:, None] - at, ahead)
    half = max(float(np.abs(p.section[:, 0]).max()) for b in vehicle.bodies for p in b.prisms)
    length = max(b.front - b.rear for b in vehicle.bodies)
    inside = _walked(line)
    nearest = plan[int(np.argmin(np.min(np.linalg.norm(plan[:, None] - inside[None], axis=2), axis=1)))]
    closest = np.min(np.linalg.norm(nearest - inside, axis=1))
    for origin, way, beyond in zip(at, ahead, past, strict=True):
        aside = np.abs((plan - origin) @ np.array([-way[1], way[0]]))
        if np.any((beyond > 0.0) & (aside < half + reach)):
            return True
        gap = nearest - origin
        if gap @ way > 0.0 and np.linalg.norm(gap) < min(length, closest + 1.0):
            return True
    return False


@lru_cache(maxsize=256)  # lines and parts are frozen; every vehicle asks for these
def _reaches_past(line: Line, shape: Shape) -> bool:
    at, ahead = _ends(line)
    return bool(np.any(np.einsum("vek,ek->ev", shape.vertices[:, None, :2] - at, ahead) > 0.0))


@lru_cache(maxsize=8)
def _ends(line: Line) -> tuple[FloatArray, FloatArray]:
    """Both ends in plan and the ways out of them."""
    at, heading = position_at(line, np.array(line.surveyed))
    return at, np.array([-1.0, 1.0])[:, None] * np.stack([np.cos(heading), np.sin(heading)], axis=1)


@lru_cache(maxsize=8)
def _walked(line: Line) -> FloatArray:
    first, last = line.surveyed
    return position_at(line, np.linspace(first, last, max(3, int((last - first) / 10.0) + 2)))[0]
