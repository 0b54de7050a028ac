"""What the structures stage takes: spans, supports and layers, each size as measured."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from spanwright.estimation.inputs import Size


class SupportKind(Enum):
    """Kinds of support."""

    ABUTMENT = "abutment"
    PIER = "pier"
    STRADDLE_BENT = "straddle bent"


class CapForm(Enum):
    """Where the cap of a straddle bent lies."""

    UNDER = "under the bearings"
    LEVEL = "level with the girders"


class TrimEnd(Enum):
    """Which end of a kit's shaft is cut off."""

    TOP = "top"
    FOOT = "foot"


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """One straight deck-girder span: two girders, four bearings.

    Parameters
    ----------
    name : str
        The builder's name.
    start : str
        Support at the start.
    end : str
        Support at the end.
    length : Size
        Girder length over all.
    depth_left : Size
        Depth of the left girder, cover plates included.
    depth_right : Size
        Depth of the right girder.
    spacing : Size
        Distance between the girder centre lines.
    flange : Size
        Flange width.
    shoe : Size
        Height of a shoe with its peg home.
    shoe_along : Size
        Length of a shoe along the girder.
    bearing_inset : Size
        From the girder's end to the middle of its shoe.
    handrail_side : str
        ``left``, ``right``, ``both`` or empty.
    handrail_offset : Size or None
        From the span's axis to the near face of the handrail.
    handrail_height : Size or None
        Top of the handrail above the tie top.
    stiffeners : int
        Web stiffeners on each face of a girder.
    plate : float
        Thickness of flanges, webs and stiffeners. [mm]
    rivet_pitch : float
        Distance of the rivets under the bottom flange; 0 for none. [mm]
    rivet_height : float
        How far a rivet head stands out. [mm]
    """

    name: str
    start: str
    end: str
    length: Size
    depth_left: Size
    depth_right: Size
    spacing: Size
    flange: Size
    shoe: Size
    shoe_along: Size
    bearing_inset: Size
    handrail_side: str = ""
    handrail_offset: Size | None = None
    handrail_height: Size | None = None
    stiffeners: int = 8
    plate: float = 0.5
    rivet_pitch: float = 3.0
    rivet_height: float = 0.15


@dataclass(frozen=True, slots=True, kw_only=True)
class Support:
    """One support. Sizes that its kind has no use for are None.

    Parameters
    ----------
    name : str
        The builder's name.
    kind : SupportKind
        Abutment, pier or straddle bent.
    bases : tuple of str
        Marks on the surface that it is glued to: one, or left and right column for a bent.
    shift : str
        Base input (may move, no doubt): along the upper line from the place first found.
    cap : Size
        Thickness (abutment, pier: of the cap or seat stone; bent: depth of the cap).
    cap_along : Size
        Cap size along the upper line.
    cap_across : Size or None
        Cap size across the upper line; a bent's cap follows from its columns.
    footing : Size or None
        Thickness of the footing.
    shaft_along : Size or None
        Shaft or column size along the upper line; of a battered shaft at its top as it comes.
    shaft_across : Size or None
        Shaft or column size across, taken at the same place.
    stock : Size or None
        Height of the kit's shaft before trimming.
    batter : float
        Run over rise of each face of the shaft, which tapers towards its top; 0 for upright faces. [1]
    trim : TrimEnd
        Which end of the kit's shaft is cut off.
    cut : tuple of str
        Base inputs (value 0) of how truly each shaft is cut, left column before right.
    form : CapForm
        Bent only: where the cap lies.
    clear_left : Size or None
        Bent: from the lower track's centre to the left column's near face, as set out.
    clear_right : Size or None
        Bent: the same to the right.
    turn : float
        Bent: cap turned from square to the lower line, left positive. [rad]
    set_out : str
        Base input (value 0): how truly the support is set out along the line.
    set_out_across : str
        Base input (value 0): how truly it, and the span ends on it, are set out across the line.
    along : float or None
        Distance along the upper line from the crossing, where the builder fixes it; None to follow
        from the girders. [mm]
    """

    name: str
    kind: SupportKind
    bases: tuple[str, ...]
    shift: str
    cap: Size
    cap_along: Size
    cap_across: Size | None = None
    footing: Size | None = None
    shaft_along: Size | None = None
    shaft_across: Size | None = None
    stock: Size | None = None
    batter: float = 0.0
    trim: TrimEnd = TrimEnd.FOOT
    cut: tuple[str, ...] = ()
    form: CapForm = CapForm.UNDER
    clear_left: Size | None = None
    clear_right: Size | None = None
    turn: float = 0.0
    set_out: str = ""
    set_out_across: str = ""
    along: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Packing:
    """The one layer that takes up what is left.

    Parameters
    ----------
    thinnest : float
        Thinnest packing that can be made. [mm]
    most : float
        Thickest that still looks right. [mm]
    """

    thinnest: float
    most: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """A support that is cut already: what was decided of it is held.

    Parameters
    ----------
    support : str
        Its name.
    lengths : tuple of float
        What its shafts were to be cut to, left column before right. [mm]
    station : float or None
        Where on the upper line it was set out; None until it is. [mm]
    """

    support: str
    lengths: tuple[float, ...]
    station: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class StructuresInput:
    """All that the structures stage takes.

    Parameters
    ----------
    upper : str
        The line that is carried.
    lower : str
        The line that is crossed.
    spans : tuple of Span
        In growing station of the upper line, end to end.
    supports : tuple of Support
        In growing station of the upper line.
    rail : Size
        Rail height.
    tie : Size
        Tie thickness on the bridge.
    dap : Size or None
        How deep the ties are notched over the girders.
    tie_overhang : float
        How far a tie reaches beyond the outer flange edge at the least. [mm]
    tie_width : float
        Tie size along the line. [mm]
    tie_pitch : float
        Distance of tie centres. [mm]
    packing : Packing
        The packing layer.
    end_gap : float
        Wanted gap between girder ends on the inner side over a support. [mm]
    edge : float
        Least distance from a shoe to the edge of its cap. [mm]
    k : float
        Coverage factor for sizes that are cut to the safe side. [1]
    standing : tuple of Standing
        Supports that are cut already.
    """

    upper: str
    lower: str
    spans: tuple[Span, ...]
    supports: tuple[Support, ...]
    rail: Size
    tie: Size
    packing: Packing
    dap: Size | None = None
    tie_overhang: float = 0.0
    tie_width: float = 1.5
    tie_pitch: float = 3.0
    end_gap: float = 0.5
    edge: float = 0.5
    k: float = 2.0
    standing: tuple[Standing, ...] = ()
