"""How far a part that a vehicle strikes must move to be free: the size of a foul and of its remedy.

The part is moved up, left or right (left and right square to the track at the place, level) until no
pose of the vehicle touches it any more. Copies of the part at many travels are searched together, first
in coarse steps out to the limit, then between the last foul and the first free one, again and again.

What is found is a place where the part is free and just short of which it is not. An opening narrower
than the coarse steps may be passed over, and a longer travel reported: on the safe side.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from spanwright.alignment import line as al
from spanwright.clearance.least_gap import are_free, find
from spanwright.clearance.witness import Prepared, Witness
from spanwright.geometry import chain as ch
from spanwright.structures.shapes import Shape

FloatArray = np.ndarray

_STEP = 2.0  # mm: first steps out
_PARTS = 9  # what an interval between foul and free is cut into
_LOOK = 2.0  # mm: how far the search looks for the part while it moves
_AT_ONCE = 4  # steps out that are looked at together
_CLEARLY = 0.1  # mm: so much farther out a foul place must be than a free one, more than any tolerance
_SQUARE = 0.05  # least cosine between travel and contact normal for a travel with derivatives


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Travel:
    """The travel of a part in one direction that frees it.

    Parameters
    ----------
    word : str
        up, left or right, seen along growing station.
    direction : ndarray, shape (3,)
        Unit vector in the layout frame. [1]
    distance : float
        Travel to contact; ``inf`` where the part is not free within the limit. [mm]
    contact : Witness or None
        Where the moved part just clears the vehicle; its part point is that of the moved part.
    """

    word: str
    direction: FloatArray
    distance: float
    contact: Witness | None


def directions(prepared: Prepared, struck: Witness) -> tuple[tuple[str, FloatArray], ...]:
    """Return the directions in which a struck part may be moved.

    Parameters
    ----------
    prepared : Prepared
        The vehicle on its line.
    struck : Witness
        A common point of vehicle and part.

    Returns
    -------
    tuple of (str, ndarray)
        Words and unit vectors; left and right are square to the track beside the common point.
    """
    chain = prepared.line.chain
    s = ch.nearest(chain, struck.part_point[None, :2], np.array([struck.station]))
    heading = float(al.position_at(prepared.line, s)[1][0])
    left = np.array([-np.sin(heading), np.cos(heading), 0.0])
    return ("up", np.array([0.0, 0.0, 1.0])), ("left", left), ("right", -left)


def freeing_travel(
    prepared: Prepared, shape: Shape, struck: Witness, *, limit: float = 40.0
) -> tuple[Travel, ...]:
    """Return the travel up, left and right that frees a struck part over all poses.

    Parameters
    ----------
    prepared : Prepared
        The vehicle on its line.
    shape : Shape
        The part where it stands.
    struck : Witness
        A common point of vehicle and part.
    limit : float
        Travels beyond this are not looked for. [mm]

    Returns
    -------
    tuple of Travel
        One a direction; ``inf`` where the part is not free within the limit.
    """
    looking = replace(prepared, settings=replace(prepared.settings, reach=_LOOK, also_within=0.0))
    ways = directions(prepared, struck)
    steps = np.append(np.arange(_STEP, limit, _STEP), limit)
    vectors = [d for _, d in ways]
    brackets = _narrowed(
        looking, shape, vectors, trials=[steps] * len(ways), brackets=[(0.0, np.inf)] * len(ways)
    )
    inner = np.arange(1, _PARTS) / _PARTS
    while any(_is_open(b, looking.settings.tolerance) for b in brackets):
        trials = [
            foul + (free - foul) * inner
            if _is_open((foul, free), looking.settings.tolerance)
            else np.zeros(0)
            for foul, free in brackets
        ]
        brackets = _narrowed(looking, shape, vectors, trials=trials, brackets=brackets)
    return tuple(
        _travel(looking, shape, word, direction=d, free=free)
        for (word, d), (_, free) in zip(ways, brackets, strict=True)
    )


def _is_open(bracket: tuple[float, float], tolerance: float) -> bool:
    return tolerance < bracket[1] - bracket[0] < np.inf


def _narrowed(
    looking: Prepared,
    shape: Shape,
    vectors: list[FloatArray],
    *,
    trials: list[FloatArray],
    brackets: list[tuple[float, float]],
) -> list[tuple[float, float]]:
    """Try many travels at once; each bracket (foul, free) closes around its first free trial."""
    moves = np.concatenate([along[:, None] * d for d, along in zip(vectors, trials, strict=True)])
    told = np.split(are_free(looking, shape, moves), np.cumsum([len(along) for along in trials])[:-1])
    narrowed = []
    for along, is_free, (foul, free) in zip(trials, told, brackets, strict=True):
        stops = np.concatenate([[foul], along, [free]])
        first = int(np.argmax(np.append(is_free, True)))
        narrowed.append((float(stops[first]), float(stops[first + 1])))
    return narrowed


def _moved(shape: Shape, by: FloatArray) -> Shape:
    return replace(shape, vertices=shape.vertices + by)


def _travel(looking: Prepared, shape: Shape, word: str, *, direction: FloatArray, free: float) -> Travel:
    """Find the contact at a free place and the travel that would just touch it."""
    tolerance = looking.settings.tolerance
    for extra in (0.0, 1.0, 2.0, 4.0):  # within the tolerance the search may have passed over a touch
        if not np.isfinite(free):
            break
        at = free + extra * tolerance
        contact = find(looking, (_moved(shape, at * direction),))[0]
        along = float(contact.normal @ direction)
        if contact.gap > 0 and along >= _SQUARE:
            return Travel(word=word, direction=direction, distance=at - contact.gap / along, contact=contact)
    return Travel(word=word, direction=direction, distance=np.inf, contact=None)


def least_freeing(prepared: Prepared, shape: Shape, struck: Witness, *, limit: float = 40.0) -> Travel | None:
    """Return the least travel that frees a struck part: the least of :func:`freeing_travel`.

    No more is looked at than that takes: a direction is dropped as soon as it is foul farther out than
    another is free.

    Parameters
    ----------
    prepared : Prepared
        The vehicle on its line.
    shape : Shape
        The part where it stands.
    struck : Witness
        A common point of vehicle and part.
    limit : float
        Travels beyond this are not looked for. [mm]

    Returns
    -------
    Travel or None
        None where no direction frees it within the limit.
    """
    looking = replace(prepared, settings=replace(prepared.settings, reach=_LOOK, also_within=0.0))
    ways = list(directions(prepared, struck))
    while ways:
        brackets = _raced(looking, shape, [d for _, d in ways], limit)
        travels = {
            word: _travel(looking, shape, word, direction=d, free=free)
            for (word, d), (foul, free) in zip(ways, brackets, strict=True)
            if np.isfinite(free) and not _is_beaten(foul, brackets)
        }
        if all(t.contact is not None for t in travels.values()):
            return least_travel(tuple(travels.values()))
        # one that touches edgeways only is no travel, and has beaten none
        ways = [way for way in ways if way[0] not in travels or travels[way[0]].contact is not None]
    return None


def _raced(
    looking: Prepared, shape: Shape, vectors: list[FloatArray], limit: float
) -> list[tuple[float, float]]:
    """Narrow what is foul and what is free in each direction, as long as it may be the least."""
    steps = np.append(np.arange(_STEP, limit, _STEP), limit)
    brackets = [(0.0, np.inf)] * len(vectors)
    for start in range(0, len(steps), _AT_ONCE):
        portion = steps[start : start + _AT_ONCE]
        trials = [
            portion if np.isinf(free) and not _is_beaten(foul, brackets) else np.zeros(0)
            for foul, free in brackets
        ]
        if any(len(along) for along in trials):
            brackets = _narrowed(looking, shape, vectors, trials=trials, brackets=brackets)
    inner = np.arange(1, _PARTS) / _PARTS
    while True:
        trials = [
            foul + (free - foul) * inner
            if _is_open((foul, free), looking.settings.tolerance) and not _is_beaten(foul, brackets)
            else np.zeros(0)
            for foul, free in brackets
        ]
        if not any(len(along) for along in trials):
            return brackets
        brackets = _narrowed(looking, shape, vectors, trials=trials, brackets=brackets)


def _is_beaten(foul: float, brackets: list[tuple[float, float]]) -> bool:
    return foul > min(free for _, free in brackets) + _CLEARLY


def least_travel(travels: tuple[Travel, ...]) -> Travel | None:
    """Return the shortest travel that frees the part.

    Parameters
    ----------
    travels : tuple of Travel
        One a direction.

    Returns
    -------
    Travel or None
        None where no direction frees it within the limit.
    """
    possible = [t for t in travels if t.contact is not None]
    return min(possible, key=lambda t: t.distance) if possible else None
