"""Vehicles as the clearance stage sees them: bodies on two trucks, each a few prisms.

Body frame: origin midway between the truck centres at railhead level, x forward (growing station),
y to the left, z up. A section is a simple polygon of (left of centre, height above railhead).

Running play and margins grow the body (they are worst cases, never part of the doubt); the errors of
the measured sizes are base inputs and shift the points of the body (:func:`size_shift`).
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np

from spanwright.errors import InputError
from spanwright.estimation.derived import Derived, constant, stack
from spanwright.estimation.inputs import Inputs
from spanwright.geometry import convex
from spanwright.geometry.distance import ConvexPrism

FloatArray = np.ndarray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Prism:
    """A cross-section drawn out lengthwise.

    Parameters
    ----------
    rear : float
        Rear end along the body from the midpoint between its truck centres, forward positive. [mm]
    front : float
        Front end. [mm]
    section : ndarray, shape (m, 2)
        Simple polygon of (left of centre, height above railhead); concave allowed. [mm]
    """

    rear: float
    front: float
    section: FloatArray

    def __post_init__(self) -> None:
        section = np.array(self.section, dtype=float)
        if section.ndim != 2 or section.shape[1:] != (2,) or len(section) < 3:
            raise InputError(
                "a section needs three corners at least, each with two numbers",
                code="CL001",
                where="section",
                value=section.shape,
                limit="(3 or more, 2)",
                hint="List the corners as (left of centre, height above railhead)",
            )
        if not np.all(np.isfinite(section)) or not np.isfinite([self.rear, self.front]).all():
            raise InputError(
                "a size is not a finite number", code="CL002", where="section", value=section.tolist()
            )
        if not convex.is_simple(section) or convex.area(section) == 0:
            raise InputError(
                "the sides of the section cross or enclose nothing",
                code="CL003",
                where="section",
                value=section.tolist(),
                hint="List the corners in order around the section",
            )
        if section[:, 1].min() < 0:
            raise InputError(
                "the section reaches below the railhead",
                code="CL004",
                where="section",
                value=float(section[:, 1].min()),
                limit="0 or more",
                hint="Heights count from the railhead up",
            )
        if not self.front > self.rear:
            raise InputError(
                "the front end is not ahead of the rear end",
                code="CL005",
                where="prism",
                value=(self.rear, self.front),
                limit="rear < front",
                hint="Lengths count forward from the midpoint between the truck centres",
            )
        section.setflags(write=False)
        object.__setattr__(self, "section", section)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Body:
    """One rigid body on two trucks; of three trucks the outer two sweep it, and the middle one follows.

    Parameters
    ----------
    name : str
        The body's name in its vehicle.
    truck_spacing : float
        Distance in space between the truck centres. [mm]
    truck_wheelbase : float
        Outer wheelbase of each truck; 0 sets the truck centre right on the line. [mm]
    prisms : tuple of Prism
        The solid: all prisms together.
    between : tuple of float
        Where the trucks between the outer two pivot, forward of the midpoint, from the rear. [mm]
    between_play : float or None
        How far each of them can slide to each side; None where it is not known. [mm]
    """

    name: str
    truck_spacing: float
    truck_wheelbase: float = 0.0
    prisms: tuple[Prism, ...]
    between: tuple[float, ...] = ()
    between_play: float | None = None

    def __post_init__(self) -> None:
        if not (np.isfinite(self.truck_spacing) and self.truck_spacing > 0):
            raise InputError(
                "the truck spacing is not positive",
                code="CL006",
                where=self.name,
                value=self.truck_spacing,
                limit="more than 0",
                hint="For a rigid wheelbase give the distance of the outermost flanged axles",
            )
        if not 0 <= self.truck_wheelbase < self.truck_spacing:
            raise InputError(
                "the truck wheelbase is negative or longer than the truck spacing",
                code="CL007",
                where=self.name,
                value=self.truck_wheelbase,
                limit=f"0 to {self.truck_spacing:g}",
                hint="Give the wheelbase of one truck, not of the vehicle",
            )
        if any(not abs(x) < 0.5 * self.truck_spacing for x in self.between):
            raise InputError(
                "a truck between the outer two does not stand between them",
                code="CL025",
                where=self.name,
                value=self.between,
                limit=f"within {0.5 * self.truck_spacing:g} mm of the midpoint",
                hint="Count forward from midway between the outer truck centres",
            )
        if not self.prisms:
            raise InputError(
                "a body without any section",
                code="CL008",
                where=self.name,
                value=0,
                hint="Give one prism at least",
            )

    @property
    def rear(self) -> float:
        """Rear end of the body, in mm."""
        return min(p.rear for p in self.prisms)

    @property
    def front(self) -> float:
        """Front end of the body, in mm."""
        return max(p.front for p in self.prisms)


@dataclass(frozen=True, slots=True, kw_only=True)
class Play:
    """Worst case running play; it grows the body and is never in the doubt.

    Parameters
    ----------
    lateral : float
        Sideways play at the railhead, to each side. [mm]
    roll : float
        Rocking to each side about the track centre at railhead level. [rad]
    """

    lateral: float = 0.0
    roll: float = 0.0

    def __post_init__(self) -> None:
        if not (self.lateral >= 0 and 0 <= self.roll < 0.5):
            raise InputError(
                "running play is negative or beyond all measure",
                code="CL009",
                where="play",
                value=(self.lateral, self.roll),
                limit="0 or more; roll below 0.5 rad",
                hint="Play counts to each side, roll in radians",
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class VehicleInputs:
    """Ids of the base inputs that hold the errors of a vehicle's measured sizes; empty means exact.

    Parameters
    ----------
    width : str
        Error of the full width.
    height : str
        Error of the height above railhead.
    length : str
        Error of the body length.
    trucks : str
        Error of the truck spacing.
    """

    width: str = ""
    height: str = ""
    length: str = ""
    trucks: str = ""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Vehicle:
    """A vehicle: one body, or an articulated set.

    The bodies of an articulated set share trucks. Each body is still swept by its own truck pair:
    where a body stands depends on its own two trucks only, and as every pose of every body along the
    line is looked at, the set's poses are all among them.

    Parameters
    ----------
    id : str
        Stable id.
    name : str
        Name in the builder's words.
    bodies : tuple of Body
        The bodies, in order.
    play : Play
        Worst case running play.
    size_inputs : VehicleInputs
        Which base inputs hold the errors of the sizes.
    notes : tuple of str
        What is to be said of its sizes wherever it is judged, such as that they come from the handbook.
    """

    id: str
    name: str
    bodies: tuple[Body, ...]
    play: Play = field(default_factory=Play)
    size_inputs: VehicleInputs = field(default_factory=VehicleInputs)
    notes: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if not self.bodies:
            raise InputError(
                "a vehicle without any body",
                code="CL010",
                where=self.id,
                value=0,
                hint="Give one body at least",
            )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Piece:
    """A convex part of a body's solid.

    Parameters
    ----------
    prism : int
        Number of the body's prism that it belongs to.
    solid : ConvexPrism
        The piece in the body frame.
    """

    prism: int
    solid: ConvexPrism


def pieces(body: Body, play: Play) -> tuple[Piece, ...]:
    """Return the convex pieces whose union is the body grown by its running play.

    Each piece of a section is rolled both ways about the middle of the rail heads and moved to both
    sides, and filled between, as the body sways through every place between its extremes. Rolling
    lifts the far corner of a roof too: by half width times sin(roll).

    Parameters
    ----------
    body : Body
        The body.
    play : Play
        Running play.

    Returns
    -------
    tuple of Piece
        Their union holds the grown body (short of it by r roll^2 / 8 along the rocking arc: microns).
    """
    found = []
    for k, prism in enumerate(body.prisms):
        for polygon in convex.decompose(prism.section):
            c, r = np.cos(play.roll), np.sin(play.roll)
            turns = [np.array([[c, -turn], [turn, c]]) for turn in (-r, r)]
            rolled = np.vstack([polygon, *(polygon @ turn.T for turn in turns)])
            aside = np.array([play.lateral, 0.0])
            grown = convex.hull(np.vstack([rolled - aside, rolled + aside]))
            found.append(Piece(prism=k, solid=ConvexPrism(rear=prism.rear, front=prism.front, polygon=grown)))
    return tuple(found)


def grow(body: Body, side: float, above: float) -> Body:
    """Return a body grown by margins: its gap being positive means that the margins are kept.

    Parameters
    ----------
    body : Body
        The body.
    side : float
        Margin to each side. [mm]
    above : float
        Margin upwards. [mm]

    Returns
    -------
    Body
        Each convex piece of each section is the hull of itself moved sideways both ways, and the same
        moved up. Pieces become prisms of their own.
    """
    moves = np.array([[-side, 0.0], [side, 0.0], [-side, above], [side, above]])
    prisms = []
    for prism in body.prisms:
        for polygon in convex.decompose(prism.section):
            section = convex.hull((polygon[None] + moves[:, None]).reshape(-1, 2))
            prisms.append(replace(prism, section=section))
    return replace(body, prisms=tuple(prisms))


def _size(inputs: Inputs, key: str) -> Derived:
    return inputs.derived(key) if key else constant(0.0, len(inputs))


def size_factors(xyz: FloatArray) -> FloatArray:
    """Return by how much errors of length, width and height move points of a body along its axes.

    Parameters
    ----------
    xyz : ndarray, shape (..., 3)
        Points (forward, left, up). [mm]

    Returns
    -------
    ndarray, shape (..., 3)
        Half of the length and of the width outward; all of the height. [1]
    """
    return np.concatenate([0.5 * np.sign(xyz[..., :2]), np.ones_like(xyz[..., :1])], axis=-1)


def size_shift(vehicle: Vehicle, xyz: FloatArray, inputs: Inputs) -> Derived:
    """Return how the errors of the measured sizes shift points of a body, in the body frame.

    Parameters
    ----------
    vehicle : Vehicle
        The vehicle.
    xyz : ndarray, shape (..., 3)
        Points (forward, left, up). [mm]
    inputs : Inputs
        The base inputs.

    Returns
    -------
    Derived
        Shape (..., 3): half the length error outward, half the width error outward, the height error.
    """
    sizes, factors = vehicle.size_inputs, size_factors(xyz)
    shift = stack(
        [
            _size(inputs, key) * factors[..., k]
            for k, key in enumerate((sizes.length, sizes.width, sizes.height))
        ]
    )
    return Derived(np.moveaxis(shift.value, 0, -1), np.moveaxis(shift.jac, 0, -2))


def truck_spacing(vehicle: Vehicle, body: Body, inputs: Inputs) -> Derived:
    """Return the truck spacing with its error.

    Parameters
    ----------
    vehicle : Vehicle
        The vehicle.
    body : Body
        One of its bodies.
    inputs : Inputs
        The base inputs.

    Returns
    -------
    Derived
        Scalar.
    """
    return _size(inputs, vehicle.size_inputs.trucks) + body.truck_spacing


def sized(vehicle: Vehicle, inputs: Inputs) -> Vehicle:
    """Return the vehicle with the size errors at their present values put into its sizes.

    The errors stand at 0 until a later reading tells of them; then the search must see them.

    Parameters
    ----------
    vehicle : Vehicle
        Nominal sizes.
    inputs : Inputs
        The base inputs.

    Returns
    -------
    Vehicle
        The same object where all errors are 0.
    """
    names = vehicle.size_inputs
    width, height, length, trucks = (
        float(_size(inputs, key).value) for key in (names.width, names.height, names.length, names.trucks)
    )
    if width == height == length == trucks == 0.0:
        return vehicle

    def moved(prism: Prism) -> Prism:
        y, z = prism.section.T
        return Prism(
            rear=prism.rear + 0.5 * length * float(np.sign(prism.rear)),
            front=prism.front + 0.5 * length * float(np.sign(prism.front)),
            section=np.column_stack([y + 0.5 * width * np.sign(y), np.maximum(z + height, 0.0)]),
        )

    bodies = tuple(
        replace(b, truck_spacing=b.truck_spacing + trucks, prisms=tuple(map(moved, b.prisms)))
        for b in vehicle.bodies
    )
    return replace(vehicle, bodies=bodies)
