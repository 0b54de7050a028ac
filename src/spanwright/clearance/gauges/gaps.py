"""The least gap of each part to a gauge that is laid along a line.

The gap is measured in the section: the plane square to the track through a point of the part. It is the
distance from that point to the outline of the gauge there, positive outside, negative inside; the least of
all points of the part's surface is its gap. A part that stands in the gauge has the depth of its deepest
point as its gap, below nil.

The surface is cut into patches that are all but flat in track coordinates. A flat patch has an exact
distance; what is too curved to be decided, or reaches inside, is halved until the least gap is known to
the tolerance. Read :func:`gauge_gaps` first.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from spanwright.alignment.line import Line
from spanwright.clearance.gauges.given import Gauge
from spanwright.clearance.gauges.patches import Patches, halved, moved, patches_near, six_points
from spanwright.clearance.gauges.profile import outward, signed_distance, triangle_bound
from spanwright.clearance.gauges.track_frame import derived_in_track, in_track
from spanwright.clearance.gauges.widened import Along, widening_along
from spanwright.errors import NotConvergedError
from spanwright.estimation.derived import Derived, constant
from spanwright.estimation.inputs import Inputs
from spanwright.structures.shapes import Shape, point_on

FloatArray = np.ndarray

#: The gap is known to this. [mm]
TOLERANCE = 0.01
#: Gaps beyond this are only said to be more. [mm]
REACH = 25.0
#: The line's straight continuation is looked at so far past its ends. [mm]
BEYOND = 100.0
_MOST = 400_000  # patches at a time
#: How much faster than the point itself the distance may change: cant ramps, lead-in of a widening.
_STRETCH = 1.25


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class GaugeGap:
    """The closest approach of a part to a gauge.

    Parameters
    ----------
    id : str
        ``gauge/<gauge>/<line>/<part>``.
    gauge : str
        The gauge's id.
    line : str
        Name of the line.
    part : str
        The part's id.
    gap : Derived
        In the section; negative is the depth of the deepest point inside; the reach, as a lower bound,
        where ``beyond_reach``.
    u : float
        Standard uncertainty of the gap; the gauge itself has none. [mm]
    is_inside : bool
        Whether the part stands in the gauge.
    side : str
        Where the point lies from the nearest point of the gauge: ``left``, ``right``, ``above``, ``below``.
    station : float
        Station of the section. [mm]
    where : ndarray, shape (3,)
        The part's point in the layout frame. [mm]
    in_section : ndarray, shape (2,)
        The same, left of centre and above the railhead. [mm]
    on_gauge : ndarray, shape (2,)
        The nearest point of the gauge's outline. [mm]
    each_side : float
        Widening of the gauge on each side there. [mm]
    surveyed : bool
        Whether the section lies between the first and the last mark of the line.
    beyond_reach : bool
        The gap is only known to be more than the value.
    widening_printed : bool
        False where the line has a sharper curve than the gauge's table of widenings has.
    note : str
        What of the gauge's source was not seen, and what its table does not print for this line.
    """

    id: str
    gauge: str
    line: str
    part: str
    gap: Derived
    u: float
    is_inside: bool
    side: str
    station: float
    where: FloatArray
    in_section: FloatArray
    on_gauge: FloatArray
    each_side: float
    surveyed: bool
    beyond_reach: bool
    widening_printed: bool
    note: str


def gauge_gaps(
    line: Line, gauge: Gauge, shapes: tuple[Shape, ...], inputs: Inputs, *, reach: float = REACH
) -> tuple[GaugeGap, ...]:
    """Return the least gap of every part to a gauge along a line.

    Parameters
    ----------
    line : Line
        The line; it runs on straight for 100 mm beyond its ends, said to be not surveyed.
    gauge : Gauge
        The gauge.
    shapes : tuple of Shape
        The finished parts that matter to the line.
    inputs : Inputs
        The base inputs.
    reach : float
        Gaps beyond this are only said to be more. [mm]

    Returns
    -------
    tuple of GaugeGap
        One a part, in their order.

    Raises
    ------
    NotConvergedError
        If the gauge is wider than a curve's radius, or a gap cannot be narrowed down.
    """
    run = (line.surveyed[0] - BEYOND, line.surveyed[1] + BEYOND)
    along = widening_along(line, gauge, run)
    note = gauge.note
    if along.sharpest > 0.0:
        note = f"{unprinted(gauge, along)}. {note}".strip()
    laid = _Laid(line, gauge, along, reach, note)
    return tuple(_told(_least(laid, shape), laid, shape, inputs) for shape in shapes)


def unprinted(gauge: Gauge, along: Along) -> str:
    """Return what to say of a curve that is sharper than the table of widenings goes.

    Parameters
    ----------
    gauge : Gauge
        The gauge.
    along : Along
        Its widening along the line.

    Returns
    -------
    str
        One sentence without its full stop; empty if the table goes far enough.
    """
    if gauge.widening is None or along.sharpest == 0.0:
        return ""
    return (
        f"{gauge.widening.name} prints no widening for a radius of {along.sharpest:.0f} mm: that of"
        f" {gauge.widening.radii[0]:.0f} mm is used, which is less than the curve needs"
    )


@dataclass(frozen=True, slots=True, eq=False)
class _Laid:
    """A gauge along a line, and what is asked of it."""

    line: Line
    gauge: Gauge
    along: Along
    reach: float
    note: str

    def distances(self, points: FloatArray) -> FloatArray:
        """Signed distances of points in the track; those past the ends of the run do not count."""
        flat = points.reshape(-1, 3)
        found = signed_distance(flat[:, 1:], self.gauge.polygon, self.along.at(flat[:, 0]))
        return np.where(self.counts(points), found.reshape(points.shape[:-1]), np.inf)

    def counts(self, points: FloatArray) -> FloatArray:
        """Whether points in the track lie beside the run."""
        s, stations = points[..., 0], self.along.stations
        return (s >= stations[0]) & (s <= stations[-1])


@dataclass(frozen=True, slots=True, eq=False)
class _Found:
    """The point of a part that has the least signed distance."""

    triangle: int
    weights: FloatArray
    local: FloatArray
    distance: float


def _worth_it(laid: _Laid, patches: Patches) -> Patches:
    """Drop the patches that cannot hold the least distance, by the distance of their centres."""
    centre = patches.corners.mean(axis=1)
    size = np.sqrt(np.max(np.sum((patches.corners - centre[:, None]) ** 2, axis=2), axis=1))
    local = in_track(laid.line, centre, patches.guess)
    best = min(laid.reach, float(np.min(laid.distances(local), initial=np.inf)))
    each = laid.along.at(local[:, 0])
    here = signed_distance(local[:, 1:], laid.gauge.polygon, each)  # past the ends too: a corner may count
    return moved(patches, here - _STRETCH * size < best, local[:, 0])


def _least(laid: _Laid, shape: Shape) -> _Found | None:
    """Halve patches until the least signed distance is known; None beyond reach."""
    stations, polygon = laid.along.stations, laid.gauge.polygon
    corner = np.abs(polygon) + np.array([float(np.max(laid.along.each_side)), 0.0])
    far = float(np.max(np.hypot(*corner.T))) + laid.reach
    patches = patches_near(laid.line, shape, (float(stations[0]), float(stations[-1])), far)
    if len(patches):
        patches = _worth_it(laid, patches)
    best: _Found | None = None
    while len(patches):
        if len(patches) > _MOST:
            raise NotConvergedError(
                "the gap to a gauge cannot be narrowed down",
                code="CL024",
                where=f"{laid.gauge.id}, {shape.part}",
                value=len(patches),
                limit=f"{_MOST} patches",
                hint="Report it: the part or the gauge is out of the ordinary",
            )
        points, bow = six_points(laid.line, patches)
        here = laid.distances(points)
        k, j = np.unravel_index(int(np.argmin(here)), here.shape)
        if here[k, j] < (best.distance if best else laid.reach):
            shares = patches.weights[k]
            weights = shares[j] if j < 3 else 0.5 * (shares[j - 3] + shares[(j - 2) % 3])
            best = _Found(int(patches.triangle[k]), weights, points[k, j], float(here[k, j]))
        bound = triangle_bound(points[:, :3, 1:], polygon, _widest(laid.along, points)) - bow
        open_ = laid.counts(points).any(axis=1)
        open_ &= bound < (best.distance if best else laid.reach) - TOLERANCE
        patches = halved(moved(patches, open_, points[:, :, 0].mean(axis=1)))
    return best


def _widest(along: Along, points: FloatArray) -> FloatArray:
    """Return the widest that the gauge can be beside each patch, between its six points too."""
    steepest = float(np.max(np.abs(np.diff(along.each_side)))) / float(along.stations[1] - along.stations[0])
    return np.max(along.at(points[..., 0]), axis=1) + 0.25 * steepest * np.ptp(points[..., 0], axis=1)


_SIDES = ((0, 1.0, "left"), (0, -1.0, "right"), (1, 1.0, "above"), (1, -1.0, "below"))


def _told(found: _Found | None, laid: _Laid, shape: Shape, inputs: Inputs) -> GaugeGap:
    line, gauge = laid.line, laid.gauge
    nowhere = np.full(2, np.nan)
    told = GaugeGap(
        id=f"gauge/{gauge.id}/{line.name}/{shape.part}",
        gauge=gauge.id,
        line=line.name,
        part=shape.part,
        gap=constant(laid.reach, len(inputs)),
        u=0.0,
        is_inside=False,
        side="",
        station=float("nan"),
        where=np.full(3, np.nan),
        in_section=nowhere,
        on_gauge=nowhere,
        each_side=float("nan"),
        surveyed=False,
        beyond_reach=True,
        widening_printed=laid.along.sharpest == 0.0,
        note=laid.note,
    )
    if found is None:
        return told
    s = float(found.local[0])
    each, before, after = (float(laid.along.at(np.array([s + d]))[0]) for d in (0.0, -0.5, 0.5))
    direction, nearest = outward(found.local[1:], gauge.polygon, each)
    point = point_on(shape, found.triangle, found.weights)
    local = derived_in_track(line, point, s)
    widens = abs(float(direction[0])) * (after - before)
    gap = Derived(
        np.array(found.distance),
        direction[0] * local.jac[1] + direction[1] * local.jac[2] - widens * local.jac[0],
    )
    return replace(
        told,
        gap=gap,
        u=float(gap.sd(inputs.spread)),
        is_inside=found.distance < 0.0,
        side=max(_SIDES, key=lambda item: item[1] * float(direction[item[0]]))[2],
        station=s,
        where=point.value,
        in_section=found.local[1:],
        on_gauge=nearest,
        each_side=each,
        surveyed=bool(line.surveyed[0] <= s <= line.surveyed[1]),
        beyond_reach=False,
    )
