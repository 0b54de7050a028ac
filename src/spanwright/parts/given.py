"""What the parts stage takes beside the earlier stages' results: the board that is opened, and settings."""

from __future__ import annotations

from dataclasses import dataclass

from spanwright.estimation.inputs import Size


@dataclass(frozen=True, slots=True, kw_only=True)
class Obstruction:
    """Something at or under the board that the saw must not meet.

    Parameters
    ----------
    name : str
        What it is.
    mark : str
        The mark of the upper line that it was measured from.
    along : tuple of float
        From where to where along the line, forward of the mark. [mm]
    across : tuple of float
        From where to where across the line, left of the track's centre. [mm]
    sd : float
        Standard uncertainty of these. [mm]
    """

    name: str
    mark: str
    along: tuple[float, float]
    across: tuple[float, float]
    sd: float


@dataclass(frozen=True, slots=True, kw_only=True)
class LaidTies:
    """The ties of the track on the board, to see that a pattern lies square.

    Parameters
    ----------
    length : float
        Tie length. [mm]
    width : float
        Tie size along the line. [mm]
    pitch : float
        Distance of tie centres. [mm]
    """

    length: float
    width: float
    pitch: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Subroadbed:
    """The board under the upper line, which is opened where the bridge goes.

    Parameters
    ----------
    thickness : Size
        Board and roadbed together, all that the saw goes through.
    kerf : float
        Width of the saw cut. [mm]
    lean : float
        How far the blade may lean. [rad]
    room : float
        Least distance wanted from the bridge to the edge of the opening. [mm]
    slot : float
        Width of the slots in a pattern through which the rails come. [mm]
    ties : LaidTies or None
        The laid ties; None if they were not measured.
    edge_left : float
        From the track's centre to the board's left edge; infinite if it does not end there. [mm]
    edge_right : float
        The same to the right. [mm]
    pilots : tuple of str
        Two marks beside which the pilot holes are drilled; empty to choose them.
    obstructions : tuple of Obstruction
        What the saw must not meet.
    every : float
        Distance of the ordinates along the rail. [mm]
    whole : float
        Pilot holes stand a whole number of these off the rail. [mm]
    """

    thickness: Size
    kerf: float
    lean: float
    room: float
    slot: float
    ties: LaidTies | None = None
    edge_left: float = float("inf")
    edge_right: float = float("inf")
    pilots: tuple[str, ...] = ()
    obstructions: tuple[Obstruction, ...] = ()
    every: float = 25.0
    whole: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class PartsInput:
    """What the parts stage is asked.

    Parameters
    ----------
    subroadbed : Subroadbed or None
        The board to open; None if nothing is cut.
    units : tuple of tuple of str
        Names of spans that are joined into one rigid unit, each in station order.
    tolerance : float
        A seat may be so far off its height, either way, before packing is changed. [mm]
    hand : float
        Room that a hand needs. [mm]
    """

    subroadbed: Subroadbed | None = None
    units: tuple[tuple[str, ...], ...] = ()
    tolerance: float = 0.15
    hand: float = 90.0
