"""Surfaces in small flat patches near a line, with their coordinates in the track.

A flat triangle is curved in track coordinates. How far it leaves the flat triangle between its corners is
seen at the middles of its sides; patches are halved until that no longer matters.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from spanwright.alignment import line as al
from spanwright.alignment.line import Line
from spanwright.clearance.gauges.track_frame import in_track
from spanwright.structures.shapes import Shape

FloatArray = np.ndarray
IntArray = np.ndarray

LONGEST = 12.0  # mm: sides of a patch at first
SAMPLE = 5.0  # mm: stations between which the nearest stretch of line is looked for
_PAIRS = 2_000_000  # distances that are held at a time


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Patches:
    """Patches of a part's surface.

    Parameters
    ----------
    triangle : ndarray of int, shape (n,)
        The triangle that each is a part of. [1]
    weights : ndarray, shape (n, 3, 3)
        Its corners as shares of the triangle's corners. [1]
    corners : ndarray, shape (n, 3, 3)
        Its corners in the layout frame. [mm]
    guess : ndarray, shape (n,)
        A station near it. [mm]
    """

    triangle: IntArray
    weights: FloatArray
    corners: FloatArray
    guess: FloatArray

    def __len__(self) -> int:
        """Return how many there are."""
        return len(self.triangle)


def moved(patches: Patches, chosen: FloatArray, guess: FloatArray | None = None) -> Patches:
    """Return some of the patches, with better stations to look near.

    Parameters
    ----------
    patches : Patches
        The patches.
    chosen : ndarray
        Which, by mask or number. [1]
    guess : ndarray, shape (n,), optional
        A station near each of all the patches; without it they keep their own. [mm]

    Returns
    -------
    Patches
        Those chosen.
    """
    return Patches(
        triangle=patches.triangle[chosen],
        weights=patches.weights[chosen],
        corners=patches.corners[chosen],
        guess=(patches.guess if guess is None else guess)[chosen],
    )


def halved(patches: Patches) -> Patches:
    """Cut each patch in two at the middle of its longest side.

    Parameters
    ----------
    patches : Patches
        The patches.

    Returns
    -------
    Patches
        Twice as many.
    """
    sides = patches.corners - np.roll(patches.corners, -1, axis=1)
    first = np.argmax(np.sum(sides**2, axis=2), axis=1)
    order = (first[:, None] + np.arange(3)) % 3
    rows = np.arange(len(patches))[:, None]

    def both(values: FloatArray) -> FloatArray:
        a, b, c = np.moveaxis(values[rows, order], 1, 0)
        middle = 0.5 * (a + b)
        return np.concatenate([np.stack([a, middle, c], axis=1), np.stack([middle, b, c], axis=1)])

    return Patches(
        triangle=np.tile(patches.triangle, 2),
        weights=both(patches.weights),
        corners=both(patches.corners),
        guess=np.tile(patches.guess, 2),
    )


def _size(corners: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Centres of patches and how far their corners are from them."""
    centre = corners.mean(axis=1)
    return centre, np.sqrt(np.max(np.sum((corners - centre[:, None]) ** 2, axis=2), axis=1))


def patches_near(line: Line, shape: Shape, run: tuple[float, float], far: float) -> Patches:
    """Return the patches of a part that may lie within a distance of the line.

    A patch stands once for each stretch of line that passes it, as a line may pass the same part twice.

    Parameters
    ----------
    line : Line
        The line.
    shape : Shape
        The part.
    run : tuple of float
        First and last station that counts. [mm]
    far : float
        Surfaces further than this from the track centre are left out. [mm]

    Returns
    -------
    Patches
        With sides of 12 mm at most.
    """
    stations = np.linspace(*run, max(2, int(np.ceil((run[1] - run[0]) / SAMPLE)) + 1))
    plan, _ = al.position_at(line, stations)
    track = np.column_stack([plan, al.height_at(line, stations)])
    n = len(shape.triangles)
    left = Patches(
        triangle=np.arange(n),
        weights=np.repeat(np.eye(3)[None], n, axis=0),
        corners=shape.vertices[shape.triangles],
        guess=np.zeros(n),
    )
    found: list[Patches] = []
    while len(left):
        centre, size = _size(left.corners)
        limit = far + size + 0.5 * SAMPLE
        long = np.max(np.sum((left.corners - np.roll(left.corners, -1, axis=1)) ** 2, axis=2), axis=1)
        small = long <= LONGEST**2
        which, where = _passes(centre, limit, track)
        near = np.zeros(len(left), dtype=bool)
        near[which] = True
        wanted = small[which]
        picked = moved(left, which[wanted])
        found.append(replace(picked, guess=stations[where[wanted]]))
        left = halved(moved(left, near & ~small))
    if not found:
        return left
    return Patches(
        triangle=np.concatenate([f.triangle for f in found]),
        weights=np.concatenate([f.weights for f in found]),
        corners=np.concatenate([f.corners for f in found]),
        guess=np.concatenate([f.guess for f in found]),
    )


def _passes(centre: FloatArray, limit: FloatArray, track: FloatArray) -> tuple[IntArray, IntArray]:
    """Pairs of point and sampled station where the track is nearest and within the point's limit."""
    rows, columns = [np.zeros(0, dtype=int)], [np.zeros(0, dtype=int)]
    step = max(1, _PAIRS // len(track))
    for first in range(0, len(centre), step):
        square = np.sum((centre[first : first + step, None] - track[None]) ** 2, axis=2)
        padded = np.pad(square, ((0, 0), (1, 1)), constant_values=np.inf)
        lowest = (square <= padded[:, 2:]) & (square < padded[:, :-2])
        i, j = np.nonzero(lowest & (square <= limit[first : first + step, None] ** 2))
        rows.append(i + first)
        columns.append(j)
    return np.concatenate(rows), np.concatenate(columns)


def six_points(line: Line, patches: Patches) -> tuple[FloatArray, FloatArray]:
    """Return the corners and side middles of patches in the track, and how far from flat they are.

    Parameters
    ----------
    line : Line
        The line.
    patches : Patches
        The patches.

    Returns
    -------
    points : ndarray, shape (n, 6, 3)
        Station, left, height: three corners, then the middles of the sides that follow them. [mm]
    bow : ndarray, shape (n,)
        Twice what the curved patch leaves the flat one by, judged at the middles. [mm]
    """
    n = len(patches)
    middles = 0.5 * (patches.corners + np.roll(patches.corners, -1, axis=1))
    world = np.concatenate([patches.corners, middles], axis=1)
    points = in_track(line, world.reshape(-1, 3), np.repeat(patches.guess, 6)).reshape(n, 6, 3)
    flat = 0.5 * (points[:, :3] + np.roll(points[:, :3], -1, axis=1))
    off = np.sqrt(np.max(np.sum((points[:, 3:, 1:] - flat[:, :, 1:]) ** 2, axis=2), axis=1))
    return points, 2.0 * (4.0 / 3.0) * off
