"""What a clearance gauge is: a profile square to the track, and how it widens on curves.

A profile is a polygon of (left of centre, height above railhead), stepped and concave ones too. It is
laid along a line as it stands: square to the track and leaned with its cant. It is an overlay: it is never
added to the throw of a vehicle, and no verdict rests on it.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

import numpy as np

from spanwright.errors import InputError
from spanwright.geometry import convex

FloatArray = np.ndarray


class GaugeOf(Enum):
    """What a profile bounds."""

    STRUCTURE = "structure"
    VEHICLE = "vehicle"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Widening:
    """How much wider a gauge is on each side of a curve, as a published table prints it.

    Parameters
    ----------
    name : str
        The table and the group of vehicles.
    radii : ndarray, shape (k,)
        Radii of the table, growing. [mm]
    each_side : ndarray, shape (k,)
        Widening on each side at these radii. [mm]
    full_for : float
        The whole widening is kept so far beyond the curve that asks for it. [mm]
    gone_after : float
        From there it falls evenly, to nothing at this distance. [mm]
    """

    name: str
    radii: FloatArray
    each_side: FloatArray
    full_for: float
    gone_after: float

    def __post_init__(self) -> None:
        radii, each = np.array(self.radii, dtype=float), np.array(self.each_side, dtype=float)
        grow = len(radii) > 0 and bool(np.all(np.diff(radii) > 0)) and radii[0] > 0
        if not (grow and radii.shape == each.shape and np.all(each >= 0)):
            raise InputError(
                "a table of widenings is not in order",
                code="CL015",
                where=self.name,
                value=radii.tolist(),
                limit="growing radii above 0, one widening of 0 or more for each",
                hint="List the rows from the sharpest curve to the flattest",
            )
        if not 0 <= self.full_for < self.gone_after:
            raise InputError(
                "the lead-in of a widening is not in order",
                code="CL015",
                where=self.name,
                value=(self.full_for, self.gone_after),
                limit="0 or more, and the second longer",
                hint="First how far the whole widening is kept, then where it ends",
            )
        for key, value in (("radii", radii), ("each_side", each)):
            value.setflags(write=False)
            object.__setattr__(self, key, value)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Gauge:
    """A profile to hold against the parts.

    Parameters
    ----------
    id : str
        Its name, such as ``NEM 102 H0, group C``.
    polygon : ndarray, shape (m, 2)
        (left of centre, height above railhead) in order around it, on straight track. [mm]
    of : GaugeOf
        Whether structures must stay outside it or vehicles inside.
    widening : Widening or None
        What is added on curves; None if the profile is the same everywhere.
    lines : tuple of str
        Lines that it is laid along; empty for all.
    source : str
        Where it comes from; "common practice, no source" where there is none.
    status : str
        How it came to be here: ``read``, ``secondary``, ``memory``, ``common practice``, ``own``.
    note : str
        What of the source was not seen, and what to beware of.
    """

    id: str
    polygon: FloatArray
    of: GaugeOf = GaugeOf.STRUCTURE
    widening: Widening | None = None
    lines: tuple[str, ...] = ()
    source: str = "common practice, no source"
    status: str = "common practice"
    note: str = ""

    def __post_init__(self) -> None:
        polygon = np.array(self.polygon, dtype=float)
        ordered = polygon.ndim == 2 and polygon.shape[1:] == (2,) and len(polygon) >= 3
        if not ordered or not np.all(np.isfinite(polygon)):
            raise InputError(
                "a gauge needs three corners at least, each with two numbers",
                code="CL016",
                where=self.id,
                value=polygon.tolist(),
                limit="(left of centre, height above railhead), three or more",
                hint="List the corners in order around it",
            )
        if not convex.is_simple(polygon) or convex.area(polygon) == 0:
            raise InputError(
                "the sides of the gauge cross or enclose nothing",
                code="CL017",
                where=self.id,
                value=polygon.tolist(),
                hint="List the corners in order around it",
            )
        if convex.area(polygon) < 0:
            polygon = polygon[::-1].copy()
        polygon.setflags(write=False)
        object.__setattr__(self, "polygon", polygon)
