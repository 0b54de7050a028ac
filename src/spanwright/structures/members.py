"""The finished shape of every member: girders with stiffeners and rivets, ties, handrails, caps, columns.

Each member is a *template*: corners in a frame of its own (along, left, up) whose coordinates are
linear in the member's measured sizes. A pose (origin, direction, slope) puts it in place.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from spanwright.estimation import derived as dv
from spanwright.estimation.derived import Derived
from spanwright.structures.shapes import Shape

FloatArray = np.ndarray
IntArray = np.ndarray

_KEPT = 16  # templates of a kind: members of one size share theirs, and an edit changes few

_BOX = np.array(
    [
        [0, 2, 1],
        [1, 2, 3],
        [4, 5, 6],
        [5, 7, 6],
        [0, 1, 4],
        [1, 5, 4],
        [2, 6, 3],
        [3, 6, 7],
        [0, 4, 2],
        [2, 4, 6],
        [1, 3, 5],
        [3, 7, 5],
    ]
)


class Template:
    """Collects corners whose coordinates are linear in named sizes.

    Parameters
    ----------
    sizes : tuple of str
        Names of the sizes.
    """

    def __init__(self, sizes: tuple[str, ...]) -> None:
        self.sizes = sizes
        self._corners: list[FloatArray] = []
        self._triangles: list[FloatArray] = []
        self._count = 0
        self._table: tuple[FloatArray, IntArray] | None = None

    def length(self, constant: float = 0.0, **factors: float) -> FloatArray:
        """Return a coordinate as ``constant + sum(factor * size)``.

        Parameters
        ----------
        constant : float
            Fixed part. [mm]
        **factors : float
            Factor of each named size. [1]

        Returns
        -------
        ndarray, shape (1 + sizes,)
            Its coefficients. [any]
        """
        row = np.zeros(1 + len(self.sizes))
        row[0] = constant
        for name, factor in factors.items():
            row[1 + self.sizes.index(name)] = factor
        return row

    def box(
        self,
        along: tuple[FloatArray, FloatArray],
        left: tuple[FloatArray, FloatArray],
        up: tuple[FloatArray, FloatArray],
    ) -> None:
        """Add a box.

        Parameters
        ----------
        along : tuple of ndarray
            From and to, along the member. [mm]
        left : tuple of ndarray
            From and to, to the left. [mm]
        up : tuple of ndarray
            From and to, upward. [mm]
        """
        corners = [[along[i], left[j], up[k]] for k in (0, 1) for j in (0, 1) for i in (0, 1)]
        self._add(np.array(corners), _BOX)

    def taper(
        self,
        foot: tuple[FloatArray, FloatArray],
        top: tuple[FloatArray, FloatArray],
        up: tuple[FloatArray, FloatArray],
    ) -> None:
        """Add a block that tapers evenly from its foot to its top, centred on along = left = 0.

        Parameters
        ----------
        foot : tuple of ndarray
            Its full sizes along and to the left, at the foot. [mm]
        top : tuple of ndarray
            The same at the top. [mm]
        up : tuple of ndarray
            From and to, upward. [mm]
        """
        corners = [
            [along * (i - 0.5), left * (j - 0.5), up[k]]
            for k, (along, left) in enumerate((foot, top))
            for j in (0, 1)
            for i in (0, 1)
        ]
        self._add(np.array(corners), _BOX)

    def stud(self, along: FloatArray, left: FloatArray, up: FloatArray, radius: float, height: float) -> None:
        """Add a rivet or bolt head: a six-sided cone on a face, pointing up (or down, height negative).

        Parameters
        ----------
        along : ndarray
            Its place along the member. [mm]
        left : ndarray
            Its place to the left. [mm]
        up : ndarray
            Height of the face. [mm]
        radius : float
            Of its foot. [mm]
        height : float
            How far it stands out; negative downward. [mm]
        """
        ring = []
        for turn in np.arange(6) * (np.pi / 3.0):
            a, b = along.copy(), left.copy()
            a[0] += radius * np.cos(turn)
            b[0] += radius * np.sin(turn)
            ring.append([a, b, up])
        tip = up.copy()
        tip[0] += height
        sides = [[k, (k + 1) % 6, 6] for k in range(6)]
        foot = [[0, k + 1, k] for k in range(1, 5)]
        triangles = np.array(sides + foot)
        self._add(np.array([*ring, [along, left, tip]]), triangles if height > 0 else triangles[:, ::-1])

    def _add(self, corners: FloatArray, triangles: FloatArray) -> None:
        self._corners.append(corners)
        self._triangles.append(triangles + self._count)
        self._count += len(corners)

    def place(self, part: str, pose: Pose, sizes: dict[str, Derived]) -> Shape:
        """Put the template in place.

        Parameters
        ----------
        part : str
            Stable id of the part.
        pose : Pose
            Origin, direction, slope.
        sizes : dict
            The named sizes.

        Returns
        -------
        Shape
            The finished shape.
        """
        controls = dv.stack(
            [
                *(pose.x, pose.y, pose.z, pose.ahead_x, pose.ahead_y, pose.slope, pose.roll),
                *(sizes[n] for n in self.sizes),
            ]
        )
        corners, triangles = self._whole()
        vertices, sensitivity = _placed(corners, controls.value)
        return Shape(
            part=part, vertices=vertices, triangles=triangles, controls=controls, sensitivity=sensitivity
        )

    def _whole(self) -> tuple[FloatArray, IntArray]:
        """All corners, shape (v, 3, 1 + sizes), and all triangles; a template that is placed is complete."""
        if self._table is None:
            self._table = np.concatenate(self._corners), np.concatenate(self._triangles)
        return self._table


def _placed(corners: FloatArray, controls: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Corners of a template in place, shape (v, 3), and their derivatives to the controls, (v, 3, m)."""
    ahead_x, ahead_y, slope, roll = controls[3:7]
    along, aside, high = (corners[:, k] @ np.append(1.0, controls[7:]) for k in range(3))
    c, s = np.cos(roll), np.sin(roll)
    left, up = aside * c - high * s, aside * s + high * c
    vertices = np.stack(
        [
            controls[0] + along * ahead_x - left * ahead_y,
            controls[1] + along * ahead_y + left * ahead_x,
            controls[2] + along * slope + up,
        ],
        axis=1,
    )
    by = np.zeros((len(corners), 3, len(controls)))
    by[:, 0, 0] = by[:, 1, 1] = by[:, 2, 2] = 1.0
    by[:, 0, 3], by[:, 1, 3] = along, left
    by[:, 0, 4], by[:, 1, 4] = -left, along
    by[:, 2, 5] = along
    by[:, 0, 6], by[:, 1, 6], by[:, 2, 6] = up * ahead_y, -up * ahead_x, left
    along, aside, high = (corners[:, k, 1:] for k in range(3))
    left, up = aside * c - high * s, aside * s + high * c
    by[:, 0, 7:] = along * ahead_x - left * ahead_y
    by[:, 1, 7:] = along * ahead_y + left * ahead_x
    by[:, 2, 7:] = along * slope + up
    return vertices, by


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Pose:
    """Where a member lies.

    Parameters
    ----------
    x : Derived
        Origin, first coordinate.
    y : Derived
        Origin, second coordinate.
    z : Derived
        Origin, height.
    ahead_x : Derived
        Unit vector along it, first component.
    ahead_y : Derived
        Unit vector along it, second component.
    slope : Derived
        Rise along it.
    roll : Derived
        Turned about its own length, positive when its left side is up.
    """

    x: Derived
    y: Derived
    z: Derived
    ahead_x: Derived
    ahead_y: Derived
    slope: Derived
    roll: Derived


@lru_cache(maxsize=_KEPT)
def girder_template(length: float, stiffeners: int, plate: float, rivets: tuple[float, float]) -> Template:
    """Return an I girder whose top is the plane up = 0 and whose start is along = 0.

    Parameters
    ----------
    length : float
        Nominal length, for the number of rivets only. [mm]
    stiffeners : int
        On each face of the web.
    plate : float
        Thickness of the plates. [mm]
    rivets : tuple of float
        Pitch and height of the rivets under the bottom flange; pitch 0 for none. [mm]

    Returns
    -------
    Template
        Sizes ``length``, ``depth``, ``flange``.
    """
    t = Template(("length", "depth", "flange"))
    ends = (t.length(), t.length(length=1.0))
    wide = (t.length(flange=-0.5), t.length(flange=0.5))
    bottom = (t.length(depth=-1.0), t.length(plate, depth=-1.0))
    inside = (bottom[1], t.length(-plate))
    t.box(ends, wide, (t.length(-plate), t.length()))
    t.box(ends, wide, bottom)
    t.box(ends, (t.length(-0.5 * plate), t.length(0.5 * plate)), inside)
    for k in range(stiffeners):
        f = k / (stiffeners - 1) if stiffeners > 1 else 0.5
        shift = plate * (1.0 - 2.0 * f)
        along = (t.length(shift - 0.5 * plate, length=f), t.length(shift + 0.5 * plate, length=f))
        t.box(along, (t.length(0.5 * plate), t.length(flange=0.45)), inside)
        t.box(along, (t.length(flange=-0.45), t.length(-0.5 * plate)), inside)
    pitch, height = rivets
    count = int(length / pitch) - 1 if pitch > 0.0 else 0
    for k in range(count):
        at = t.length(length=(k + 1.0) / (count + 1.0))
        for side in (-0.3, 0.3):
            t.stud(at, t.length(flange=side), t.length(depth=-1.0), 2.0 * height, -height)
    return t


@lru_cache(maxsize=_KEPT)
def ties_template(count: int, width: float, length: float) -> Template:
    """Return the ties of one span, undersides on up = 0, the span's start at along = 0.

    Parameters
    ----------
    count : int
        How many, evenly spaced, the outer ones flush with the span's ends.
    width : float
        Tie size along the span. [mm]
    length : float
        Tie length. [mm]

    Returns
    -------
    Template
        Sizes ``length`` (of the span), ``tie`` (thickness).
    """
    t = Template(("length", "tie"))
    for f in np.linspace(0.0, 1.0, count):
        middle = 0.5 * width * (1.0 - 2.0 * f)
        t.box(
            (t.length(middle - 0.5 * width, length=f), t.length(middle + 0.5 * width, length=f)),
            (t.length(-0.5 * length), t.length(0.5 * length)),
            (t.length(), t.length(tie=1.0)),
        )
    return t


@lru_cache(maxsize=_KEPT)
def handrail_template(posts: int, thick: float, side: float) -> Template:
    """Return a handrail beside a span: posts and two rails; the axis is left = 0, ties start at up = 0.

    Parameters
    ----------
    posts : int
        How many posts.
    thick : float
        Thickness of posts and rails. [mm]
    side : float
        1 to the left of the span, -1 to its right. [1]

    Returns
    -------
    Template
        Sizes ``length`` (of the span), ``out`` (axis to the near face), ``tie`` (thickness, on which it
        stands) and ``height``.
    """
    t = Template(("length", "out", "tie", "height"))
    near, far = t.length(out=side), t.length(thick * side, out=side)
    body = (near, far) if side > 0.0 else (far, near)
    for f in np.linspace(0.0, 1.0, posts):
        along = (t.length(-thick * f, length=f), t.length(thick * (1.0 - f), length=f))
        t.box(along, body, (t.length(tie=1.0), t.length(tie=1.0, height=1.0)))
    ends = (t.length(), t.length(length=1.0))
    top = t.length(tie=1.0, height=1.0)
    middle = t.length(tie=1.0, height=0.5)
    t.box(ends, body, (top - t.length(thick), top))
    t.box(ends, body, (middle - t.length(0.5 * thick), middle + t.length(0.5 * thick)))
    return t


@lru_cache(maxsize=_KEPT)
def cap_template(plate: float, stiffeners: int) -> Template:
    """Return a bent's cap, a plated box beam, top on up = 0, along from its left end to its right.

    Parameters
    ----------
    plate : float
        How far its flanges and stiffeners stand out. [mm]
    stiffeners : int
        On each face.

    Returns
    -------
    Template
        Sizes ``length``, ``depth``, ``wide``; the flanges are the full width, the web box narrower.
    """
    t = Template(("length", "depth", "wide"))
    ends = (t.length(), t.length(length=1.0))
    wide = (t.length(wide=-0.5), t.length(wide=0.5))
    web = (t.length(plate, wide=-0.5), t.length(-plate, wide=0.5))
    t.box(ends, wide, (t.length(-plate), t.length()))
    t.box(ends, wide, (t.length(depth=-1.0), t.length(plate, depth=-1.0)))
    t.box(ends, web, (t.length(plate, depth=-1.0), t.length(-plate)))
    for k in range(stiffeners):
        at = t.length(length=(k + 1.0) / (stiffeners + 1.0))
        along = (at - t.length(0.5 * plate), at + t.length(0.5 * plate))
        inside = (t.length(plate, depth=-1.0), t.length(-plate))
        t.box(along, (wide[0], web[0]), inside)
        t.box(along, (web[1], wide[1]), inside)
        for side in (-0.35, 0.35):
            t.stud(at, t.length(wide=side), t.length(depth=-1.0), 0.3, -0.15)
    return t


@lru_cache(maxsize=_KEPT)
def column_template(plate: float) -> Template:
    """Return a rolled column on a base plate with four bolts, foot on up = 0, centred.

    Parameters
    ----------
    plate : float
        Thickness of its plates. [mm]

    Returns
    -------
    Template
        Sizes ``deep`` (along), ``wide`` (left to right), ``height``.
    """
    t = Template(("deep", "wide", "height"))
    full = (t.length(), t.length(height=1.0))
    deep = (t.length(deep=-0.5), t.length(deep=0.5))
    t.box(deep, (t.length(wide=-0.5), t.length(plate, wide=-0.5)), full)
    t.box(deep, (t.length(-plate, wide=0.5), t.length(wide=0.5)), full)
    t.box(
        (t.length(-0.5 * plate), t.length(0.5 * plate)),
        (t.length(plate, wide=-0.5), t.length(-plate, wide=0.5)),
        full,
    )
    foot = (t.length(-1.0, deep=-0.5), t.length(1.0, deep=0.5))
    t.box(foot, (t.length(wide=-0.5), t.length(wide=0.5)), (t.length(), t.length(plate)))
    for a in (-0.5, 0.5):
        for b in (-0.3, 0.3):
            at = t.length(0.55 * (1.0 if a > 0 else -1.0), deep=a)
            t.stud(at, t.length(wide=b), t.length(plate), 0.35, 0.5)
    return t


@lru_cache(maxsize=1)
def block_template() -> Template:
    """Return a plain block, foot on up = 0, centred.

    Returns
    -------
    Template
        Sizes ``deep`` (along), ``wide`` (left to right), ``height``.
    """
    t = Template(("deep", "wide", "height"))
    t.box(
        (t.length(deep=-0.5), t.length(deep=0.5)),
        (t.length(wide=-0.5), t.length(wide=0.5)),
        (t.length(), t.length(height=1.0)),
    )
    return t


@lru_cache(maxsize=1)
def taper_template() -> Template:
    """Return a block whose four faces lean in by the same batter, foot on up = 0, centred.

    Returns
    -------
    Template
        Sizes ``deep`` (along) and ``wide`` (left to right) at the foot, ``deep_top``, ``wide_top`` at the
        top, ``height``.
    """
    t = Template(("deep", "wide", "deep_top", "wide_top", "height"))
    t.taper(
        (t.length(deep=1.0), t.length(wide=1.0)),
        (t.length(deep_top=1.0), t.length(wide_top=1.0)),
        (t.length(), t.length(height=1.0)),
    )
    return t
