"""What a step is, and what it waits for."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from math import isfinite

from spanwright.build.telling import Told, rough, told
from spanwright.parts.pieces import CAUTIONS, Hazard

#: Hours; all of them common practice, no source: the maker's own words on the tin come first.
GLUE_HOURS = 24.0
PRIMER_HOURS = 4.0
PAINT_HOURS = 24.0
PLASTER_HOURS = 12.0
RAIL_GLUE_HOURS = 24.0


class Phase(Enum):
    """Parts of the work, in the order in which they come."""

    SETTLE = "settle"
    OPEN = "open the board"
    MAKE = "make and dry fit"
    FINISH = "finish off the layout"
    SET = "glue and set"
    TRACK = "track and trains"


class Cure(Enum):
    """What sets, dries or cures while nothing may be done to it; the word of the job file."""

    GLUE = "glue"
    RAIL_GLUE = "rail glue"
    PLASTER = "plaster"
    PRIMER = "primer"
    PAINT = "paint"
    WEATHERING = "weathering"


@dataclass(frozen=True, slots=True, kw_only=True)
class Wait:
    """Time that must pass before anything that needs the step.

    Parameters
    ----------
    hours : float
        How long. [any]
    cure : Cure
        What cures.
    of : str
        The same, said at the step.
    source : str
        Where the time comes from.
    """

    hours: float
    cure: Cure
    of: str
    source: str = "common practice, no source; the maker's words come first"


@dataclass(frozen=True, slots=True, kw_only=True)
class Access:
    """A way for a hand to where the work is.

    Parameters
    ----------
    way : str
        Which way in.
    width : float
        Room in width; infinite where nothing is in the way. [mm]
    height : float
        Room in height; infinite where nothing is in the way. [mm]
    hand : float
        Room that a hand needs. [mm]
    """

    way: str
    width: float
    height: float
    hand: float

    @property
    def admits_hand(self) -> bool:
        """Whether a hand goes in this way."""
        return min(self.width, self.height) >= self.hand


def told_way(access: Access) -> Told:
    """Say a way in, its room and whether a hand goes in.

    Parameters
    ----------
    access : Access
        The way.

    Returns
    -------
    Told
        A sentence.
    """
    wide, high = access.width, access.height
    word = "a hand goes in" if access.admits_hand else "no hand goes in: long tweezers, tools on a stick"
    if isfinite(wide) and isfinite(high):
        return told(f"Way in {access.way}: {{0}} by {{1}}; {word}.", rough(wide), rough(high))
    if isfinite(wide) or isfinite(high):
        return told(f"Way in {access.way}: {{0}} one way; {word}.", rough(min(wide, high)))
    return told(f"Way in {access.way}: nothing of the bridge stands before it; {word}.")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Step:
    """One step.

    Parameters
    ----------
    id : str
        Stable id.
    title : Told
        What is done.
    phase : Phase
        Part of the work.
    lines : tuple of Told
        What to do, one after another.
    needs : tuple of str
        Steps that must be done, and cured, before.
    pieces : tuple of str
        Pieces of the parts list that are used.
    cuts : tuple of str
        Those of them that are cut, trimmed or sawn here: what does not come back.
    waits_for : tuple of str
        Readings that must be in before.
    gives : tuple of str
        Readings that are taken at its end.
    tools : tuple of str
        What is at hand.
    sheets : tuple of str
        Drawings that are used.
    minutes : float
        Hands-on time, common practice, no source. [any]
    waits : tuple of Wait
        What must cure after it.
    measures : bool
        Whether the step is nothing but measuring.
    reads_wet : bool
        Whether its readings are taken before what it waits for has set.
    access : tuple of Access
        Ways in for a hand; empty where nothing is in the way.
    hazards : tuple of Hazard
        What can hurt.
    """

    id: str
    title: Told
    phase: Phase
    lines: tuple[Told, ...]
    needs: tuple[str, ...] = ()
    pieces: tuple[str, ...] = ()
    cuts: tuple[str, ...] = ()
    waits_for: tuple[str, ...] = ()
    gives: tuple[str, ...] = ()
    tools: tuple[str, ...] = ()
    sheets: tuple[str, ...] = ()
    minutes: float = 0.0
    waits: tuple[Wait, ...] = ()
    measures: bool = False
    reads_wet: bool = False
    access: tuple[Access, ...] = ()
    hazards: tuple[Hazard, ...] = ()

    @property
    def cautions(self) -> tuple[str, ...]:
        """One line for each thing that can hurt."""
        return tuple(CAUTIONS[h] for h in self.hazards)
