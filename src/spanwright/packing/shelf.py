"""What is given: the sheets on the builder's shelf, and the limits that the railhead must keep."""

from __future__ import annotations

from dataclasses import dataclass

from spanwright.estimation.inputs import Size

#: Most layers under one shoe, if the builder does not say (common practice, no source).
LAYERS = 3
#: More sheets or layers than these make more stacks than can be gone through.
MOST_SHEETS, MOST_LAYERS = 12, 6


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """One thickness of sheet, strip, card or tape.

    Parameters
    ----------
    name : str
        What it is called on the shelf.
    thickness : Size
        As measured.
    count : int or None
        How many pieces can be cut from it; None for as many as wanted.
    """

    name: str
    thickness: Size
    count: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Shelf:
    """What packing is built up from.

    Parameters
    ----------
    sheets : tuple of Sheet
        At least one.
    glue : Size or None
        Thickness of one glue line; None to count none.
    layers : int
        Most layers at one bearing.
    near : float
        To save layers, the sum of distances may grow by so much for each bearing that is packed. [mm]
    """

    sheets: tuple[Sheet, ...]
    glue: Size | None = None
    layers: int = LAYERS
    near: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """What the railhead over the spans must keep.

    Parameters
    ----------
    grade_change : float
        Largest change of grade between neighbouring spans, and to the track at both ends. [1]
    twist : float
        Most that one of a span's four bearings may be out of the plane of the others. [mm]
    step : float
        Most that the railhead may stand off its wanted height at a bearing, and off that of the next span
        on the same support. [mm]
    known : float
        A bearing is packed once the standard uncertainty of its packing is this or less. [mm]
    """

    grade_change: float
    twist: float
    step: float
    known: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PackingInput:
    """All that the packing stage takes from the builder.

    Parameters
    ----------
    limits : Limits
        Of the railhead.
    shelf : Shelf or None
        None if nothing is said of it: then there is no list of sheets.
    units : tuple of tuple of str
        Names of spans that are joined into one rigid unit, each in station order.
    """

    limits: Limits
    shelf: Shelf | None = None
    units: tuple[tuple[str, ...], ...] = ()
