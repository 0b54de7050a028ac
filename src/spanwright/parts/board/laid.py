"""The track as it lies on the board: what a pattern shows so that it can be laid to the rails."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from spanwright.alignment.line import Line, position_at
from spanwright.parts.board.outline import Outline, RailMark, Track
from spanwright.parts.given import Subroadbed

FloatArray = np.ndarray

#: The pattern reaches so far over the rails beyond each end cut, to lie fast. [mm]
APPROACH = 35.0
#: A tick reaches so far beyond the slot on each side. [mm]
TICK = 1.2
_SAMPLE = 2.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Tick:
    """Where a survey mark crosses a slot.

    Parameters
    ----------
    name : str
        The mark's name.
    side : str
        ``left`` or ``right``: on which rail.
    points : ndarray, shape (2, 2)
        From the side of the track's centre outward, square to the track. [mm]
    """

    name: str
    side: str
    points: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LaidTrack:
    """The track as it lies on the board, from a little before the opening to a little beyond it.

    Parameters
    ----------
    centre : ndarray, shape (n, 2)
        Track centre. [mm]
    rails : tuple of ndarray, shape (n, 2)
        Middles of the left and the right rail's head. [mm]
    slots : tuple of ndarray, shape (2 n, 2)
        Outlines of the slots through which the rails come. [mm]
    ties : tuple of ndarray, shape (4, 2)
        Outlines of the ties; where they stand along the track is not surveyed. [mm]
    ticks : tuple of Tick
        Survey marks within reach.
    edges : tuple of ndarray, shape (n, 2)
        The board's edges, those that there are. [mm]
    """

    centre: FloatArray
    rails: tuple[FloatArray, FloatArray]
    slots: tuple[FloatArray, FloatArray]
    ties: tuple[FloatArray, ...]
    ticks: tuple[Tick, ...]
    edges: tuple[FloatArray, ...]


def square_off(line: Line, stations: FloatArray, left: float) -> FloatArray:
    """Return plan points beside the track's centre.

    Parameters
    ----------
    line : Line
        The line.
    stations : ndarray, shape (n,)
        Stations of their feet. [mm]
    left : float
        How far to the left. [mm]

    Returns
    -------
    ndarray, shape (n, 2)
        The points. [mm]
    """
    at, heading = position_at(line, stations)
    return at + left * np.stack([-np.sin(heading), np.cos(heading)], axis=1)


def laid_track(given: Subroadbed, track: Track, found: Outline, origin: str) -> LaidTrack:
    """Return rails, slots, ties and ticks from a little before the opening to a little beyond it.

    Parameters
    ----------
    given : Subroadbed
        Slots, ties and edges.
    track : Track
        The track with its marks.
    found : Outline
        The finished line.
    origin : str
        The mark at which a tie is drawn; empty for none.

    Returns
    -------
    LaidTrack
        Where they lie.
    """
    line = track.line
    low, high = (float(e.value) for e in found.ends)
    # beyond the survey nobody knows where the rails are: a slot there would mislead
    low = max(low - APPROACH, min(line.surveyed[0], low))
    high = min(high + APPROACH, max(line.surveyed[1], high))
    stations = np.linspace(low, high, int(np.ceil((high - low) / _SAMPLE)) + 1)
    half = 0.5 * float(line.head_distance.value)
    rails = (square_off(line, stations, half), square_off(line, stations, -half))
    wide = 0.5 * given.slot
    slots = [
        np.concatenate([square_off(line, stations, at + wide), square_off(line, stations, at - wide)[::-1]])
        for at in (half, -half)
    ]
    ties = []
    if given.ties:
        start = next((float(m.station.value) for m in track.marks if m.name == origin), low)
        first = np.ceil((low + 0.5 * given.ties.width - start) / given.ties.pitch) * given.ties.pitch + start
        for s in np.arange(first, high - 0.5 * given.ties.width + 1e-9, given.ties.pitch):
            at, heading = position_at(line, np.array([s]))
            ahead = np.array([np.cos(heading[0]), np.sin(heading[0])]) * 0.5 * given.ties.width
            left = np.array([-np.sin(heading[0]), np.cos(heading[0])]) * 0.5 * given.ties.length
            ties.append(
                np.array([at[0] + a * ahead + b * left for a, b in ((-1, -1), (1, -1), (1, 1), (-1, 1))])
            )
    edges = [square_off(line, stations, at) for at in (given.edge_left, -given.edge_right) if np.isfinite(at)]
    return LaidTrack(
        centre=square_off(line, stations, 0.0),
        rails=rails,
        slots=(slots[0], slots[1]),
        ties=tuple(ties),
        ticks=tuple(
            _tick(line, m, side, sign * half, sign * (wide + TICK))
            for m in track.marks
            if low <= float(m.station.value) <= high
            for side, sign in (("left", 1.0), ("right", -1.0))
            if m.rail.value in (side, "both")
        ),
        edges=tuple(edges),
    )


def _tick(line: Line, mark: RailMark, side: str, rail: float, reach: float) -> Tick:
    station = np.array([float(mark.station.value)])
    ends = [square_off(line, station, rail - reach), square_off(line, station, rail + reach)]
    return Tick(name=mark.name, side=side, points=np.concatenate(ends))
